//! A lab's workbook (XLSX or ODS) to tables: one for each sheet, sheets with the same header joined.
//!
//! Both are read here rather than by a reader of whole workbooks, because such a reader makes room
//! for a sheet's whole rectangle and for all it unpacks before anyone can say stop, and drops the
//! number formats: 0.032 that the lab shows as 3.2 % would be read as 0.032.

mod join;
mod ods;
mod packed;
mod plain;
mod refused;
mod sheet;
mod shown;
mod xlsx;
mod xml;

pub(crate) use sheet::letters;

use crate::limits::{Budget, MOST_BYTES};
use crate::problem::Problem;
use crate::table::Table;
use packed::Packed;
use refused::Refused;

/// The mark of the container of old workbooks and of locked ones.
const OLD: &[u8] = b"\xD0\xCF\x11\xE0";
const MEANT: &str = "a spreadsheet workbook (.xlsx or .ods) or a text file";

/// Reads a workbook: one table for each sheet that holds anything, the one whose header is
/// understood best first, hidden sheets last. Cells are text as a person sees it: numbers with the
/// decimals shown and a point, days as `2026-03-04`, formulas as the value last worked out. Merged
/// cells count in each place. Sheets with the same header are one table, whose rows keep their own
/// numbers and sheets.
///
/// # Errors
/// A file that is no workbook, is damaged, locked, or larger than a lab's report; one sentence.
pub fn workbook(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    read(file_name, bytes).map_err(|refused| refused.of(file_name))
}

fn read(file: &str, bytes: &[u8]) -> Result<Vec<Table>, Refused> {
    if bytes.len() > MOST_BYTES {
        return Err(Refused::new(
            "more than 20 MB",
            "a lab's file of at most 20 MB",
        ));
    }
    if bytes.starts_with(OLD) {
        return Err(if is_locked(bytes) {
            Refused::locked()
        } else {
            Refused::new(
                "a workbook in the old form (.xls)",
                "the same saved as .xlsx or .ods: open it and use “save as”",
            )
        });
    }
    let mut packed = Packed::open(bytes)?;
    let mut budget = Budget::new();
    let sheets = match kind(&packed) {
        Kind::OfficeOpen => xlsx::sheets(&mut packed, &mut budget)?,
        Kind::OpenDocument => ods::sheets(&mut packed, &mut budget)?,
        Kind::Binary => {
            return Err(Refused::new(
                "a workbook in binary form (.xlsb)",
                "the same saved as .xlsx or .ods: open it and use “save as”",
            ));
        }
        Kind::None => return Err(Refused::new("a packed file that is no workbook", MEANT)),
    };
    let mut tables = Vec::new();
    for sheet in sheets {
        let (name, hidden, points) = (sheet.name.clone(), sheet.hidden, sheet.points);
        let rows = sheet.rows(&mut budget).map_err(|e| e.in_sheet(&name))?;
        let table = Table::from_rows(file, "", None, rows).in_sheet(&name, hidden, points);
        if !table.rows().is_empty() {
            tables.push(table);
        }
    }
    if tables.is_empty() {
        return Err(Refused::new(
            "a workbook without anything in its cells",
            "a header and at least one sample",
        ));
    }
    Ok(join::in_order(join::alike(tables)))
}

/// A locked workbook is a container with a stream of this name.
fn is_locked(bytes: &[u8]) -> bool {
    let name: Vec<u8> = "EncryptedPackage"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    memchr::memmem::find(bytes, &name).is_some()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    OfficeOpen,
    OpenDocument,
    Binary,
    None,
}

fn kind(packed: &Packed<'_>) -> Kind {
    let ends = |end: &str| packed.any(|n| n.to_ascii_lowercase().ends_with(end));
    if ends("workbook.xml") {
        Kind::OfficeOpen
    } else if ends("workbook.bin") {
        Kind::Binary
    } else if packed.has("content.xml") {
        Kind::OpenDocument
    } else {
        Kind::None
    }
}

/// Whether packed bytes are, or once were, a workbook: by the files listed, else by what is left.
pub(crate) fn looks_like(file_name: &str, bytes: &[u8]) -> bool {
    let part = |word: &str| memchr::memmem::find(bytes, word.as_bytes()).is_some();
    if bytes.starts_with(OLD) {
        let utf16: Vec<u8> = "Workbook"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        return is_locked(bytes) || memchr::memmem::find(bytes, &utf16).is_some();
    }
    if part("opendocument.spreadsheet") {
        return true;
    }
    match Packed::open(bytes).map(|p| (kind(&p), p)) {
        Ok((Kind::OfficeOpen | Kind::Binary, _)) => true,
        // Text documents and drawings have a content.xml too; the kind that is named tells spreadsheets,
        // also where it was packed small.
        Ok((Kind::OpenDocument, mut packed)) => ["mimetype", "META-INF/manifest.xml"]
            .into_iter()
            .filter_map(|name| packed.text(name).ok().flatten())
            .any(|text| text.contains("opendocument.spreadsheet")),
        Ok((Kind::None, _)) => false,
        Err(_) => {
            let name = file_name.to_lowercase();
            part("xl/") || name.ends_with(".xlsx") || name.ends_with(".ods")
        }
    }
}
