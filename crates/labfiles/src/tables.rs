//! A lab's file to tables, whatever form it came in.

use crate::problem::Problem;
use crate::table::Table;
use crate::{exchange, long, sniff, tidy};

/// Reads a file of text (CSV and the like, wide or with a row a value) or of the exchange standard
/// into tables with a row a sample; each then goes through `propose`, `questions` and `read`.
///
/// # Errors
/// Those of [`sniff`](crate::sniff) and [`exchange`](crate::exchange), and a row of our own form that was changed.
pub fn tables(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    if exchange::is_document(bytes) {
        return exchange::exchange(file_name, bytes);
    }
    turned(sniff::sniff(file_name, bytes)?).map(|t| vec![t])
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
