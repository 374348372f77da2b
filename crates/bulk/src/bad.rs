//! Rows that cannot be used.

use crate::header::Header;
use crate::records::unquoted;

/// The first row of the side file.
pub(crate) const NAMES: &[u8] = b"row,column,found,expected,why,row_as_it_came\n";

/// What is wrong with a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// A cell that holds something else than it must
    Cell { at: usize, expected: &'static str },
    /// More or fewer fields than the header has names
    Fields,
}

/// A bad row; its number is counted from the begin of its piece.
#[derive(Debug)]
pub(crate) struct BadRow {
    pub(crate) row: u64,
    /// The line of the side file without the number
    pub(crate) line: Vec<u8>,
}

impl BadRow {
    pub(crate) fn new(
        header: &Header,
        row: u64,
        fault: Fault,
        record: &[u8],
        fields: &[&[u8]],
    ) -> Self {
        let (column, found, expected, why) = match fault {
            Fault::Fields => {
                let found = fields.len().to_string();
                let expected = format!("{} fields", header.names.len());
                let why = format!(
                    "The row has {found} fields and the header names {}: look for a comma too many, one too few, or a quote mark.",
                    header.names.len()
                );
                (String::new(), found, expected, why)
            }
            Fault::Cell { at, expected } => {
                let column = header.names.get(at).cloned().unwrap_or_default();
                let cell = unquoted(fields.get(at).copied().unwrap_or_default());
                let found = String::from_utf8_lossy(&cell).into_owned();
                let why = format!(
                    "Column {column} holds “{}” and must hold {expected}.",
                    found.trim()
                );
                (column, found, expected.to_owned(), why)
            }
        };
        let mut line = Vec::with_capacity(record.len() + 160);
        for cell in [column, found, expected, why] {
            line.push(b',');
            push_cell(&mut line, cell.as_bytes());
        }
        line.push(b',');
        push_cell(&mut line, record);
        line.push(b'\n');
        Self { row, line }
    }
}

/// Writes a cell, with quote marks where it needs them.
pub(crate) fn push_cell(out: &mut Vec<u8>, cell: &[u8]) {
    if !cell
        .iter()
        .any(|b| matches!(b, b',' | b'"' | b'\n' | b'\r'))
    {
        out.extend_from_slice(cell);
        return;
    }
    out.push(b'"');
    for b in cell {
        if *b == b'"' {
            out.push(b'"');
        }
        out.push(*b);
    }
    out.push(b'"');
}
