//! Workbooks before and after a bulk run, which itself knows CSV only.

use anyhow::{Context, bail};
use rust_xlsxwriter::Workbook;
use std::path::Path;

/// The most rows that a sheet holds, the header among them.
const MOST_ROWS: u32 = 1_048_576;

/// Whether a name ends as a workbook does.
pub(crate) fn is_workbook(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("xlsx") || e.eq_ignore_ascii_case("ods"))
}

/// Writes the best table of a workbook as CSV, the row above its header and below left as they are.
pub(crate) fn to_csv(workbook: &Path, csv: &Path) -> anyhow::Result<()> {
    let bytes = std::fs::read(workbook)
        .with_context(|| format!("{} cannot be read", workbook.display()))?;
    let name = workbook
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let tables = labfiles::workbook(&name, &bytes).map_err(|p| anyhow::anyhow!("{p}"))?;
    let Some(table) = tables.first() else {
        bail!("{name}: found no table, expected a header and at least one sample.");
    };
    let width = table.rows().iter().map(labfiles::Row::width).max();
    let mut out = csv::Writer::from_path(csv)?;
    for row in table.rows() {
        out.write_record((0..width.unwrap_or(0)).map(|c| row.cell(c)))?;
    }
    Ok(out.flush()?)
}

/// Writes a CSV file as a workbook: numbers as numbers, everything else as text.
pub(crate) fn from_csv(csv: &Path, workbook: &Path) -> anyhow::Result<()> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_path(csv)?;
    for (r, record) in (0u32..).zip(rows.records()) {
        if r >= MOST_ROWS {
            bail!(
                "A sheet holds {MOST_ROWS} rows and there are more; end the output’s name in .csv."
            );
        }
        for (c, cell) in (0u16..).zip(record?.iter()) {
            match cell.parse::<f64>() {
                Ok(number) if number.is_finite() => sheet.write_number(r, c, number)?,
                _ if cell.is_empty() => continue,
                _ => sheet.write_string(r, c, cell)?,
            };
        }
    }
    crate::write::whole(workbook, &book.save_to_buffer()?)
        .with_context(|| format!("{} cannot be written", workbook.display()))
}
