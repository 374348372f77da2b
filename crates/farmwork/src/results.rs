//! The tests of the book as files for other programs.

use crate::{Result, WorkError};
use farmbook::{Book, Id, StoredTest};
use labfiles::out::{self, Written};
use std::collections::HashMap;

/// What the file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileForm {
    Csv,
    Xlsx,
    Xml,
    Json,
}

impl FileForm {
    pub const ALL: [Self; 4] = [Self::Csv, Self::Xlsx, Self::Xml, Self::Json];

    /// The end of the file’s name.
    pub fn key(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Xlsx => "xlsx",
            Self::Xml => "xml",
            Self::Json => "json",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|f| f.key().eq_ignore_ascii_case(key))
    }

    pub fn says(self) -> &'static str {
        match self {
            Self::Csv => "CSV, a row a value",
            Self::Xlsx => "workbook (XLSX)",
            Self::Xml => "lab-data exchange, XML",
            Self::Json => "lab-data exchange, JSON",
        }
    }
}

/// The tests of one report, or of all of them, as they are used: what was decided is in them.
///
/// # Errors
/// No such report, or the book’s own.
pub fn written(book: &Book, report: Option<Id>) -> Result<Vec<Written>> {
    let blocks: HashMap<Id, String> = book
        .all_blocks()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let mut reports = match report {
        Some(id) => vec![book.report(id)?],
        None => book.reports()?,
    };
    reports.sort_by_key(|r| r.id);
    let mut all = Vec::new();
    for report in reports {
        let decided = book.settled(report.id)?;
        for test in book.tests_in(report.id)? {
            all.push(one(test, &report.lab, &blocks, &decided));
        }
    }
    Ok(all)
}

fn one(
    test: StoredTest,
    lab: &Option<String>,
    blocks: &HashMap<Id, String>,
    decided: &[farmbook::Settled],
) -> Written {
    Written {
        block: test.block.and_then(|id| blocks.get(&id).cloned()),
        sampled_on: test.sampled_on.map(|d| d.to_string()),
        lab: lab.clone(),
        texture: None,
        decided: crate::doubts::decided(
            decided
                .iter()
                .filter(|s| s.asked.starts_with(&format!("{}: ", test.sample)))
                .cloned()
                .collect(),
        )
        .into_iter()
        .map(|d| format!("{} ({})", d.asked, d.done))
        .collect(),
        test: test.test,
    }
}

/// The file’s bytes.
///
/// # Errors
/// No such report, more rows than a sheet of a workbook holds, or the book’s own.
pub fn bytes(book: &Book, report: Option<Id>, form: FileForm) -> Result<Vec<u8>> {
    let all = written(book, report)?;
    Ok(match form {
        FileForm::Csv => out::tidy_csv(&all),
        FileForm::Xlsx => out::workbook_xlsx(&all).map_err(|e| WorkError::Said(e.to_string()))?,
        FileForm::Xml => out::exchange_xml(&all),
        FileForm::Json => out::exchange_json(&all),
    })
}
