//! A lab's file to tables, whatever form it came in.

use crate::form::{FileForm, form};
use crate::limits::MOST_BYTES;
use crate::problem::Problem;
use crate::table::Table;
use crate::{exchange, long, out, sniff, tidy, workbook};

/// Reads a lab's file, by its form, into tables with a row a sample; each then goes through `propose`,
/// `questions` and `read`. The table that is understood best comes first, hidden sheets last.
///
/// # Errors
/// A form that is not read, what its reader refuses, and a row of our own form that was changed; one
/// sentence.
pub fn tables(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    let refuse = |found: &str, expected: &str| Err(Problem::of_file(file_name, found, expected));
    if bytes.len() > MOST_BYTES {
        return refuse("more than 20 MB", "a lab's file of at most 20 MB");
    }
    if exchange::is_document(bytes) {
        return exchange::exchange(file_name, bytes);
    }
    match form(file_name, bytes) {
        FileForm::Text => turned(sniff::sniff(file_name, bytes)?).map(|table| vec![table]),
        FileForm::Workbook => workbook::workbook(file_name, bytes)?
            .into_iter()
            // Our own workbook holds every value twice; the tidy sheet is the one that is read.
            .filter(|table| !out::is_copy(table))
            .map(turned)
            .collect(),
        FileForm::ExchangeXml | FileForm::ExchangeJson => exchange::exchange(file_name, bytes),
        FileForm::Other(what) if what == "an empty file" => {
            refuse("nothing", "a header and at least one sample")
        }
        other => refuse(
            other.says(),
            "a text file with commas, semicolons or tabs, or a workbook (.xlsx or .ods)",
        ),
    }
}

/// A table as read from a sheet or a text with a row a sample, turned if it has a row a value.
///
/// # Errors
/// A row of our own form that was changed into something else.
pub fn turned(table: Table) -> Result<Table, Problem> {
    match tidy::turned(&table) {
        Some(own) => own,
        None => Ok(long::widen(&table).unwrap_or(table)),
    }
}
