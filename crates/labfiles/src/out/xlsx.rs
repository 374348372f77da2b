use super::csv::rows;
use super::{Written, lines, number, of_sample};
use crate::table::Table;
use crate::tidy::{self, HEADER, OF_SAMPLE};
use agronomy::soil::Bound;
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};
use std::collections::BTreeMap;

/// Why a workbook could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    #[error("A workbook holds at most 1,048,575 rows; write fewer tests at a time.")]
    TooMany,
    #[error("The workbook could not be written ({0}); write the tests as CSV.")]
    Other(String),
}

impl From<XlsxError> for WriteError {
    fn from(e: XlsxError) -> Self {
        match e {
            XlsxError::RowColumnLimitError => Self::TooMany,
            other => Self::Other(other.to_string()),
        }
    }
}

/// The name of the sheet with a row a value, which is read back, and of the one with a row a
/// sample, which is for looking at.
const TIDY: &str = "Values";
const WIDE: &str = "Samples";
/// The first cell of the sheet with a row a sample: readers pass over it.
const COPY: &str = "A copy for looking at; the sheet “Values” is the one that is read.";

/// Whether a sheet is the one of our workbooks that only repeats the other: it is not to be read.
pub fn is_copy(table: &Table) -> bool {
    table.rows().first().is_some_and(|r| r.cell(0) == COPY)
}

/// All tests as a workbook of two sheets: a row a value, and a row a sample. Numbers are numbers,
/// everything else is text; nothing is a formula.
///
/// # Errors
/// More rows than a sheet holds.
pub fn workbook_xlsx(all: &[Written]) -> Result<Vec<u8>, WriteError> {
    let mut book = Workbook::new();
    let bold = Format::new().set_bold();
    let sheet = book.add_worksheet().set_name(TIDY)?;
    for (c, name) in (0u16..).zip(HEADER) {
        sheet.write_string_with_format(0, c, name, &bold)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    let values = all.iter().flat_map(|w| lines(&w.test));
    for ((r, row), line) in (1u32..).zip(rows(all)).zip(values) {
        for (c, text) in (0u16..).zip(&row) {
            // The value is a number where it has no sign.
            match line
                .value
                .filter(|v| HEADER.get(usize::from(c)) == Some(&"Value") && v.is_finite())
            {
                Some(v) if line.bound == Bound::Exact => {
                    sheet.write_number(r, c, v)?;
                }
                _ => text_cell(sheet, r, c, text)?,
            }
        }
    }
    sheet.autofit();
    wide(book.add_worksheet().set_name(WIDE)?, all, &bold)?;
    Ok(book.save_to_buffer()?)
}

fn text_cell(sheet: &mut Worksheet, row: u32, column: u16, text: &str) -> Result<(), XlsxError> {
    if !text.is_empty() {
        sheet.write_string(row, column, text)?;
    }
    Ok(())
}

fn wide(sheet: &mut Worksheet, all: &[Written], bold: &Format) -> Result<(), WriteError> {
    let first = &HEADER[OF_SAMPLE];
    let mut columns: BTreeMap<String, u16> = BTreeMap::new();
    let mut order: Vec<String> = Vec::new();
    sheet.write_string(0, 0, COPY)?;
    for (r, written) in (2u32..).zip(all) {
        let test = &written.test;
        for (c, cell) in (0u16..).zip(&of_sample(written)) {
            text_cell(sheet, r, c, cell)?;
        }
        let measured = test.measured.iter().map(|m| {
            let header = tidy::value_header(m.analyte, m.extractant, m.buffer);
            (header, m.value, m.bound)
        });
        let rates = test
            .recommended
            .iter()
            .map(|r| (tidy::rate_header(r.nutrient), r.lb_per_acre, Bound::Exact));
        for (header, value, bound) in measured.chain(rates) {
            let next = u16::try_from(first.len() + order.len()).map_err(|_| WriteError::TooMany)?;
            let c = *columns.entry(header.clone()).or_insert(next);
            if c == next {
                order.push(header);
            }
            match bound {
                Bound::Exact if value.is_finite() => {
                    sheet.write_number(r, c, value)?;
                }
                Bound::Exact => {}
                Bound::Below => text_cell(sheet, r, c, &format!("<{}", number(value)))?,
                Bound::Above => text_cell(sheet, r, c, &format!(">{}", number(value)))?,
            }
        }
    }
    let heads = first.iter().map(|n| (*n).to_owned()).chain(order);
    for (c, name) in (0u16..).zip(heads) {
        sheet.write_string_with_format(1, c, &name, bold)?;
    }
    sheet.set_freeze_panes(2, 1)?;
    Ok(())
}
