//! Reading a reference table: CSV text in, rows out, with a sentence for each bad row.

use crate::working::{Evidence, Source};
use serde::de::DeserializeOwned;
use thiserror::Error;

/// What is wrong with a reference table.
#[derive(Debug, Error, Clone, PartialEq, Eq)]
#[error("{table}, row {row}: {problem}")]
pub struct TableError {
    pub table: String,
    /// Counted from 1 with the header as row 1.
    pub row: usize,
    pub problem: String,
}

/// What is wrong with a row, counted from 0 without the header.
pub(crate) fn wrong(table: &str, i: usize, problem: String) -> TableError {
    TableError {
        table: table.to_owned(),
        row: i + 2,
        problem,
    }
}

/// Parses the rows of a table. Every row must fit `T`.
pub fn rows<T: DeserializeOwned>(table: &str, text: &str) -> Result<Vec<T>, TableError> {
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for (i, row) in reader.deserialize().enumerate() {
        rows.push(row.map_err(|e| wrong(table, i, e.to_string()))?);
    }
    Ok(rows)
}

/// The source of a row; an unknown evidence word is an error, never a default.
pub fn source(table: &str, row: usize, text: &str, evidence: &str) -> Result<Source, TableError> {
    Evidence::from_word(evidence)
        .map(|e| Source::new(text, e))
        .ok_or_else(|| TableError {
            table: table.to_owned(),
            row,
            problem: format!("“{evidence}” is not a mark of evidence"),
        })
}
