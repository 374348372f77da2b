use crate::change::Table;
use crate::kept::sha256;
use crate::row::get;
use crate::{Book, Error, Id, Result, valid};
use rusqlite::Row;
use serde::{Deserialize, Serialize};

const MOST_BYTES: usize = 20 * 1024 * 1024;

/// A file that belongs to the record, kept byte for byte: a delivery note, a bill, a certificate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Paper {
    pub id: Id,
    pub file_name: String,
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// RFC 3339 with offset.
    pub received_at: String,
}

fn read(row: &Row<'_>) -> Result<Paper> {
    Ok(Paper {
        id: get(row, "id")?,
        file_name: get(row, "file_name")?,
        sha256: get(row, "sha256")?,
        bytes: get::<i64>(row, "bytes")?.unsigned_abs(),
        received_at: get(row, "received_at")?,
    })
}

impl Book {
    /// Keeps a paper and gives its number; the same bytes have one number.
    ///
    /// # Errors
    /// An empty file, one of more than 20 MB, or a name that cannot be.
    pub fn keep_paper(&mut self, file_name: &str, bytes: &[u8]) -> Result<Id> {
        let file_name = valid::name("The file’s name", file_name)?;
        if bytes.is_empty() {
            return Err(Error::invalid(format!("“{file_name}”"), "more than empty"));
        }
        if bytes.len() > MOST_BYTES {
            return Err(Error::invalid(format!("“{file_name}”"), "at most 20 MB"));
        }
        let sql = "SELECT * FROM paper WHERE sha256 = ?1";
        if let Some(paper) = self.first(sql, [sha256(bytes)], read)? {
            return Ok(paper.id);
        }
        self.change(&format!("Kept the paper “{file_name}”"), |book| {
            let sha = book.keep(bytes)?;
            let size = i64::try_from(bytes.len()).unwrap_or(i64::MAX);
            let received_at = book.now();
            book.insert(
                Table::Paper,
                &[
                    ("file_name", file_name.clone().into()),
                    ("sha256", sha.into()),
                    ("bytes", size.into()),
                    ("received_at", received_at.into()),
                ],
            )
        })
    }

    pub fn paper(&self, id: Id) -> Result<Paper> {
        self.first("SELECT * FROM paper WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("paper with number", id))
    }

    pub fn papers(&self) -> Result<Vec<Paper>> {
        self.list("SELECT * FROM paper ORDER BY id", [], read)
    }

    /// The paper as it was kept.
    pub fn paper_bytes(&self, id: Id) -> Result<Vec<u8>> {
        let paper = self.paper(id)?;
        self.kept(&paper.sha256)
    }
}
