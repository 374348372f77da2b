//! Tables that the grower added as files: checked, then kept in the book and read before the others.

use crate::{Result, WorkError};
use agronomy::reading::{self, Fault, Systems};
use farmbook::Book;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// What the files of a table of soil-test classes are.
pub const KIND: &str = "readings";
const ABOUT: &str = "system.csv";
const BANDS: &str = "bands.csv";

/// A table as its files came.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnFiles {
    /// The folder’s name, which is the table’s id.
    pub folder: String,
    pub system: String,
    pub bands: String,
}

impl OwnFiles {
    fn table(&self) -> reading::OwnTable<'_> {
        reading::OwnTable {
            folder: &self.folder,
            system: &self.system,
            bands: &self.bands,
        }
    }

    fn files(&self) -> BTreeMap<String, String> {
        BTreeMap::from([
            (ABOUT.to_owned(), self.system.clone()),
            (BANDS.to_owned(), self.bands.clone()),
        ])
    }
}

fn kept(book: &Book) -> Result<Vec<OwnFiles>> {
    Ok(book
        .own_tables()?
        .into_iter()
        .filter(|t| t.kind == KIND)
        .map(|mut t| OwnFiles {
            system: t.files.remove(ABOUT).unwrap_or_default(),
            bands: t.files.remove(BANDS).unwrap_or_default(),
            folder: t.name,
        })
        .collect())
}

/// The tables that come with the program, the grower’s own before them.
///
/// # Errors
/// A table of the book that this version cannot read any more: its first fault, in a sentence.
pub fn systems(book: &Book) -> Result<Arc<Systems>> {
    let kept = kept(book)?;
    let tables: Vec<_> = kept.iter().map(OwnFiles::table).collect();
    if tables.is_empty() {
        // Pages ask often: what comes with the program is shared.
        static SHIPPED: OnceLock<Arc<Systems>> = OnceLock::new();
        return Ok(Arc::clone(
            SHIPPED.get_or_init(|| Arc::new(reading::systems().clone())),
        ));
    }
    reading::systems()
        .with(&tables)
        .map(Arc::new)
        .map_err(|faults| said(&faults))
}

fn said(faults: &[Fault]) -> WorkError {
    WorkError::Said(faults.iter().find(|f| f.stops).map_or_else(
        || "A table of your own cannot be read.".to_owned(),
        ToString::to_string,
    ))
}

/// Every fault of a table, beside the tables that come with the program.
pub fn check(files: &OwnFiles) -> Vec<Fault> {
    reading::check_table(&files.table(), reading::systems())
}

/// Keeps a table in the book, in place of one with the same id; gives what is worth a look.
///
/// # Errors
/// The first fault that stops it; nothing is kept then.
pub fn add(book: &mut Book, files: &OwnFiles) -> Result<Vec<Fault>> {
    let faults = check(files);
    if faults.iter().any(|f| f.stops) {
        return Err(said(&faults));
    }
    book.set_own_table(&files.folder, KIND, &files.files())?;
    Ok(faults)
}
