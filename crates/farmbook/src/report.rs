use crate::change::Table;
use crate::row::{date, get, json_or_none, to_json, word};
use crate::test_record::NewTest;
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use serde_json::Value;

const MOST_BYTES: usize = 64 * 1024 * 1024;

/// How far a lab's file has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReportStatus {
    /// Kept as it came; nothing read from it yet.
    Kept,
    /// Read into tests.
    Read,
    /// Read, with doubts that a person has still to look at.
    Doubtful,
}

impl ReportStatus {
    pub fn key(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Read => "read",
            Self::Doubtful => "doubtful",
        }
    }
}

/// A lab's file in the book, kept byte for byte.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReportFile {
    pub id: Id,
    pub file_name: String,
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// RFC 3339 with offset.
    pub received_at: String,
    pub lab: Option<String>,
    /// How its columns were read.
    pub layout: Option<Value>,
    pub sampled_on: Option<Date>,
    pub status: ReportStatus,
}

/// A lab's file to be put in the book.
#[derive(Debug, Clone, PartialEq)]
pub struct NewReport {
    pub file_name: String,
    pub bytes: Vec<u8>,
    pub lab: Option<String>,
    pub layout: Option<Value>,
    pub sampled_on: Option<Date>,
    pub status: ReportStatus,
}

fn read(row: &Row<'_>) -> Result<ReportFile> {
    Ok(ReportFile {
        id: get(row, "id")?,
        file_name: get(row, "file_name")?,
        sha256: get(row, "sha256")?,
        bytes: get::<i64>(row, "bytes")?.unsigned_abs(),
        received_at: get(row, "received_at")?,
        lab: get(row, "lab")?,
        layout: json_or_none(row, "layout")?,
        sampled_on: date(row, "sampled_on")?,
        status: word(&get::<String>(row, "status")?, "report.status")?,
    })
}

/// How the file was read: the part of a report that can change later.
fn reading_fields(
    lab: Option<&str>,
    layout: Option<&Value>,
    sampled_on: Option<Date>,
    status: ReportStatus,
) -> Result<Vec<(&'static str, Sql)>> {
    let lab = lab.map(|l| valid::name("The lab’s name", l)).transpose()?;
    Ok(vec![
        ("lab", lab.into()),
        ("layout", layout.map(to_json).transpose()?.into()),
        ("sampled_on", sampled_on.map(|d| d.to_string()).into()),
        ("status", status.key().to_owned().into()),
    ])
}

impl Book {
    /// Keeps a lab's file and the tests read from it, all or nothing. The same bytes are refused
    /// a second time.
    pub fn add_report(&mut self, report: &NewReport, tests: &[NewTest]) -> Result<Id> {
        let file_name = valid::name("The file’s name", &report.file_name)?;
        if report.bytes.is_empty() {
            return Err(Error::invalid(format!("“{file_name}”"), "more than empty"));
        }
        if report.bytes.len() > MOST_BYTES {
            return Err(Error::invalid(format!("“{file_name}”"), "at most 64 MB"));
        }
        let mut fields = reading_fields(
            report.lab.as_deref(),
            report.layout.as_ref(),
            report.sampled_on,
            report.status,
        )?;
        let count = match tests.len() {
            1 => "1 test".to_owned(),
            n => format!("{n} tests"),
        };
        let what = format!("Loaded “{file_name}” with {count}");
        self.change(&what, |book| {
            let sha = book.keep(&report.bytes)?;
            if let Some(first) = book.report_with(&sha)? {
                return Err(Error::SameFile {
                    file_name: file_name.clone(),
                    on: first.received_at.chars().take(10).collect(),
                    first: first.file_name,
                });
            }
            fields.extend([
                ("file_name", file_name.clone().into()),
                ("sha256", sha.into()),
                (
                    "bytes",
                    i64::try_from(report.bytes.len()).unwrap_or(i64::MAX).into(),
                ),
                ("received_at", book.now().into()),
            ]);
            let id = book.insert(Table::Report, &fields)?;
            book.insert_tests(id, tests)?;
            Ok(id)
        })
    }

    /// Reads a kept file anew: its tests and its layout take the place of the earlier ones.
    pub fn read_report_again(
        &mut self,
        id: Id,
        lab: Option<&str>,
        layout: Option<&Value>,
        sampled_on: Option<Date>,
        status: ReportStatus,
        tests: &[NewTest],
    ) -> Result<()> {
        let fields = reading_fields(lab, layout, sampled_on, status)?;
        let name = self.report(id)?.file_name;
        self.change(&format!("Read “{name}” again"), |book| {
            book.delete_tests(id)?;
            book.update(Table::Report, id, &fields)?;
            book.insert_tests(id, tests)
        })
    }

    /// Takes a report and its tests out. Its bytes stay, so that an undo brings all of it back.
    pub fn remove_report(&mut self, id: Id) -> Result<()> {
        let name = self.report(id)?.file_name;
        self.change(&format!("Took out report “{name}”"), |book| {
            book.delete_tests(id)?;
            book.delete_settled(id)?;
            book.reopen_boxes(id)?;
            book.delete(Table::Report, id)
        })
    }

    fn report_with(&self, sha: &str) -> Result<Option<ReportFile>> {
        self.first("SELECT * FROM report WHERE sha256 = ?1", [sha], read)
    }

    /// Whether these very bytes are in the book already, and as which report.
    pub fn report_of_bytes(&self, bytes: &[u8]) -> Result<Option<ReportFile>> {
        self.report_with(&crate::kept::sha256(bytes))
    }

    /// All reports, newest first.
    pub fn reports(&self) -> Result<Vec<ReportFile>> {
        self.list("SELECT * FROM report ORDER BY id DESC", [], read)
    }

    pub fn report(&self, id: Id) -> Result<ReportFile> {
        self.first("SELECT * FROM report WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("report with number", id))
    }

    /// The file as the lab sent it.
    pub fn report_bytes(&self, id: Id) -> Result<Vec<u8>> {
        let report = self.report(id)?;
        self.kept(&report.sha256)
    }
}
