//! Cells as text with the place they stood in: what lies between a file's bytes and its meaning.

use csv::StringRecord;

/// One row of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    number: usize,
    cells: StringRecord,
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
                .map(|(number, cells)| Row { number, cells })
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
