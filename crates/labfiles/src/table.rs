//! Cells as text with the place they stood in: what lies between a file's bytes and its meaning.

use csv::StringRecord;
use serde::{Deserialize, Serialize};

/// Where a cell stood on a page.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Origin {
    /// from 1
    pub page: usize,
    /// left, top, right, bottom; points from the page's top left
    pub corners: [f32; 4],
    /// Read off a picture: to be checked by a person beside the picture.
    pub check: bool,
}

/// One row of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    number: usize,
    cells: StringRecord,
    /// As many as there are cells where the row was read off a page, else none.
    origins: Vec<Option<Origin>>,
}

impl Row {
    /// The row as a spreadsheet counts it, from 1; blank rows are counted.
    pub fn number(&self) -> usize {
        self.number
    }

    /// The cell in a column counted from 0, without spaces around it; empty where the row is shorter.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", unwrapped)
    }

    /// Where the cell in a column counted from 0 stood on its page; none where the file has no pages.
    pub fn origin(&self, column: usize) -> Option<Origin> {
        self.origins.get(column).copied().flatten()
    }

    /// Whether the cell was read off a picture and has to be checked by a person.
    pub fn to_check(&self, column: usize) -> bool {
        self.origin(column).is_some_and(|o| o.check)
    }

    /// How many cells the row has.
    pub fn width(&self) -> usize {
        self.cells.len()
    }

    /// All cells, without spaces around them.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        self.cells.iter().map(unwrapped)
    }

    /// The cells that hold something, with their column counted from 0.
    pub fn filled(&self) -> impl Iterator<Item = (usize, &str)> {
        self.cells().enumerate().filter(|(_, c)| !c.is_empty())
    }
}

/// Labs write `="0012"` so that a spreadsheet keeps the zeros; that is text, not a formula.
fn unwrapped(cell: &str) -> &str {
    let cell = cell.trim();
    cell.strip_prefix("=\"")
        .and_then(|c| c.strip_suffix('"'))
        .filter(|c| !c.contains(['"', '(', '&']))
        .map_or(cell, str::trim)
}

/// A file as rows of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    file: String,
    encoding: String,
    delimiter: Option<char>,
    rows: Vec<Row>,
}

impl Table {
    /// A table from any reader of files. `rows` are (row number from 1, cells); rows without text
    /// are dropped.
    pub fn new(file: &str, rows: impl IntoIterator<Item = (usize, Vec<String>)>) -> Self {
        let rows = rows
            .into_iter()
            .map(|(number, cells)| (number, StringRecord::from(cells)));
        Self::from_records(file, "", None, rows)
    }

    /// A table read off pages: each cell with the place it stood in. Rows without text are dropped.
    pub fn with_origins(
        file: &str,
        rows: impl IntoIterator<Item = (usize, Vec<(String, Option<Origin>)>)>,
    ) -> Self {
        let rows = rows.into_iter().map(|(number, cells)| {
            let (texts, origins): (Vec<String>, Vec<Option<Origin>>) = cells.into_iter().unzip();
            Row {
                number,
                cells: StringRecord::from(texts),
                origins,
            }
        });
        Self {
            file: file.to_owned(),
            encoding: String::new(),
            delimiter: None,
            rows: rows.filter(|row| row.filled().next().is_some()).collect(),
        }
    }

    pub(crate) fn from_records(
        file: &str,
        encoding: &str,
        delimiter: Option<char>,
        rows: impl IntoIterator<Item = (usize, StringRecord)>,
    ) -> Self {
        Self {
            file: file.to_owned(),
            encoding: encoding.to_owned(),
            delimiter,
            rows: rows
                .into_iter()
                .map(|(number, cells)| Row {
                    number,
                    cells,
                    origins: Vec::new(),
                })
                .filter(|row| row.filled().next().is_some())
                .collect(),
        }
    }

    pub fn file(&self) -> &str {
        &self.file
    }

    /// The encoding of the text, such as `UTF-8` or `windows-1252`; empty where it has none.
    pub fn encoding(&self) -> &str {
        &self.encoding
    }

    /// What stood between the cells; none where the file has real cells.
    pub fn delimiter(&self) -> Option<char> {
        self.delimiter
    }

    /// The rows that hold something, in order.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The row with a number as a spreadsheet counts it.
    pub fn row(&self, number: usize) -> Option<&Row> {
        self.rows
            .binary_search_by_key(&number, Row::number)
            .ok()
            .and_then(|i| self.rows.get(i))
    }
}
