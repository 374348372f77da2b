//! What is wrong with a table that a grower added: every fault at once, each in one sentence.

mod bands;
mod sheet;

use super::{OwnTable, Systems};
use crate::soil::Extractant;
use crate::table::TableError;
use bands::Row;
use serde::Serialize;
use sheet::Sheet;
use std::fmt;

/// One fault: where it is, what stands there and what should.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    pub file: String,
    /// Counted as a spreadsheet does: the header is row 1. None: the file as a whole.
    pub row: Option<usize>,
    pub column: Option<String>,
    pub found: String,
    pub expected: String,
    /// Whether the table cannot be used with it; otherwise it can, and is worth a look.
    pub stops: bool,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": found {}, expected {}.", self.found, self.expected)
    }
}

impl From<TableError> for Fault {
    fn from(e: TableError) -> Self {
        Self {
            file: e.table,
            row: Some(e.row),
            column: None,
            found: e.problem,
            expected: "a row that can be read".to_owned(),
            stops: true,
        }
    }
}

const ABOUT_NEEDED: &[&str] = &["id", "name", "region", "scope", "extractant"];
const ABOUT_MAYBE: &[&str] = &["default_group", "depth_in", "aim"];
const BANDS_NEEDED: &[&str] = &[
    "nutrient",
    "extractant",
    "group",
    "category",
    "level",
    "low",
    "high",
    "unit",
    "step",
    "source",
    "evidence",
];

/// Checks a grower's own table and returns every fault found, in the order of the files; none means that
/// the table can be used. `known` are the tables whose ids are taken.
pub fn check_table(table: &OwnTable<'_>, known: &Systems) -> Vec<Fault> {
    let about_file = format!("{}/system.csv", table.folder);
    let bands_file = format!("{}/bands.csv", table.folder);
    let mut faults = Vec::new();
    let about = Sheet::read(
        &about_file,
        table.system,
        ABOUT_NEEDED,
        ABOUT_MAYBE,
        &mut faults,
    );
    let bands = Sheet::read(&bands_file, table.bands, BANDS_NEEDED, &[], &mut faults);
    let rows: Vec<Row> = bands.as_ref().map_or_else(Vec::new, |sheet| {
        sheet
            .rows
            .iter()
            .map(|cells| Row::read(sheet, cells, &mut faults))
            .collect()
    });
    if let Some(sheet) = &bands {
        if sheet.rows.is_empty() {
            faults.push(sheet.whole("no rows", "at least one class"));
        }
        bands::together(sheet, &rows, &mut faults);
    }
    if let Some(sheet) = &about {
        check_about(sheet, table.folder, known, &rows, &mut faults);
    }
    // The small file first, each file from the top.
    faults.sort_by(|a, b| {
        (a.file != about_file, a.row, &a.column).cmp(&(b.file != about_file, b.row, &b.column))
    });
    faults
}

fn check_about(
    sheet: &Sheet,
    folder: &str,
    known: &Systems,
    rows: &[Row],
    faults: &mut Vec<Fault>,
) {
    if sheet.rows.len() != 1 {
        faults.push(sheet.whole(
            format!("{} rows", sheet.rows.len()),
            "exactly one row under the header",
        ));
    }
    let Some(cells) = sheet.rows.first() else {
        return;
    };
    let id = cells.get("id");
    let usable = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    if id.is_empty() || !id.chars().all(usable) {
        faults.push(sheet.at(
            cells,
            "id",
            "a short name of letters, digits, “_” and “-”, such as NY_OWN",
        ));
    } else {
        if known.by_id(id).is_some() {
            faults.push(sheet.at(cells, "id", "an id that no other table has"));
        }
        if id != folder {
            faults.push(sheet.at(cells, "id", format!("the folder’s name, “{folder}”")));
        }
    }
    for column in ["name", "region"] {
        if cells.get(column).is_empty() {
            faults.push(sheet.at(cells, column, "some words; a page shows them"));
        }
    }
    if cells.get("scope").is_empty() {
        faults.push(sheet.doubt(cells, "scope", "the crops or the ground it was printed for"));
    }
    let key = cells.get("extractant");
    match Extractant::from_key(key) {
        None => faults.push(sheet.at(cells, "extractant", extractants())),
        Some(e) if !rows.is_empty() && !rows.iter().any(|r| r.extractant == Some(e)) => {
            faults.push(sheet.doubt(cells, "extractant", "one that bands.csv has rows for"));
        }
        Some(_) => {}
    }
    let group = cells.get("default_group");
    if !group.is_empty() && !rows.iter().any(|r| r.group == group) {
        faults.push(sheet.at(cells, "default_group", "blank, or a group of bands.csv"));
    }
    let depth = cells.get("depth_in");
    if !depth.is_empty()
        && !depth
            .split('-')
            .all(|part| part.trim().parse::<f64>().is_ok_and(|d| d > 0.0))
    {
        faults.push(sheet.at(
            cells,
            "depth_in",
            "blank, inches, or two numbers with “-” between",
        ));
    }
}

fn extractants() -> String {
    format!("one of {}", Extractant::ALL.map(Extractant::key).join(", "))
}

#[cfg(test)]
mod tests;
