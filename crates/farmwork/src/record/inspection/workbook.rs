//! The record as files for other programs.

use super::{Cell, Inspection, Part};
use crate::{Result, WorkError};
use rust_xlsxwriter::{Format, Workbook, XlsxError};

fn said(e: impl std::fmt::Display) -> WorkError {
    WorkError::Said(format!("The file could not be written: {e}."))
}

/// One table as CSV.
///
/// # Errors
/// No known input leads there.
pub fn csv(part: &Part) -> Result<Vec<u8>> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(&part.head).map_err(said)?;
    for row in &part.rows {
        out.write_record(row.iter().map(harmless)).map_err(said)?;
    }
    out.into_inner().map_err(said)
}

/// A text that a spreadsheet would take for a formula gets a mark before it.
fn harmless(cell: &Cell) -> String {
    let text = cell.bare();
    if !cell.is_number() && text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text
    }
}

/// Every table as a workbook, a sheet each. Numbers are numbers, everything else is text; nothing is a
/// formula.
///
/// # Errors
/// More rows than a sheet holds.
pub fn xlsx(all: &Inspection) -> Result<Vec<u8>> {
    sheets(all).map_err(said)
}

fn sheets(all: &Inspection) -> std::result::Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let bold = Format::new().set_bold();
    for part in all.parts() {
        let sheet = book
            .add_worksheet()
            .set_name(crate::words::capital(part.key))?;
        for (c, head) in (0u16..).zip(&part.head) {
            sheet.write_string_with_format(0, c, *head, &bold)?;
        }
        sheet.set_freeze_panes(1, 0)?;
        for (r, row) in (1u32..).zip(&part.rows) {
            for (c, cell) in (0u16..).zip(row) {
                match cell {
                    Cell::Text(text) if text.is_empty() => {}
                    Cell::Text(text) => {
                        sheet.write_string(r, c, text)?;
                    }
                    Cell::Weight(w) => {
                        sheet.write_number(r, c, w.to_pounds())?;
                    }
                    Cell::Number(n) => {
                        sheet.write_number(r, c, *n)?;
                    }
                    Cell::Money(cents) => {
                        sheet.write_number(r, c, *cents as f64 / 100.0)?;
                    }
                }
            }
        }
        sheet.autofit();
    }
    let sheet = book.add_worksheet().set_name("To look at")?;
    for (r, doubt) in (0u32..).zip(&all.doubts) {
        sheet.write_string(r, 0, doubt)?;
    }
    book.save_to_buffer()
}
