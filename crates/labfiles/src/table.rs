//! Cells as text with the place they stood in: what lies between a file's bytes and its meaning.

use crate::frame::{Frame, RowFacts, Turned};
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
    /// Position in the table's sheets.
    sheet: u16,
    /// All cells' text, one after another, and where each ends: a file has millions of them.
    text: Box<str>,
    ends: Box<[u32]>,
    /// Where cells came from in a table that was turned, in order of columns.
    turned: Vec<Turned>,
    /// As many as there are cells where the row was read off a page, else none.
    origins: Vec<Option<Origin>>,
    /// The cells are ours: nothing in them is taken for a spreadsheet's formula.
    exact: bool,
}

impl Row {
    pub(crate) fn of<'a>(number: usize, cells: impl IntoIterator<Item = &'a str>) -> Self {
        let (mut text, mut ends) = (String::new(), Vec::new());
        for cell in cells {
            text.push_str(cell);
            ends.push(u32::try_from(text.len()).unwrap_or(u32::MAX));
        }
        Self {
            number,
            sheet: 0,
            text: text.into(),
            ends: ends.into(),
            turned: Vec::new(),
            origins: Vec::new(),
            exact: false,
        }
    }

    /// A row from all its text and where each cell ends in it.
    pub(crate) fn whole(number: usize, text: &str, ends: &[usize]) -> Self {
        Self {
            number,
            sheet: 0,
            text: text.into(),
            ends: ends
                .iter()
                .map(|end| u32::try_from(*end).unwrap_or(u32::MAX))
                .collect(),
            turned: Vec::new(),
            origins: Vec::new(),
            exact: false,
        }
    }

    /// The cell in a column as it stands in the file.
    fn raw(&self, column: usize) -> Option<&str> {
        let end = *self.ends.get(column)? as usize;
        let before = column.checked_sub(1).and_then(|c| self.ends.get(c));
        self.text.get(before.map_or(0, |e| *e as usize)..end)
    }

    /// The row as a spreadsheet counts it, from 1; blank rows are counted.
    pub fn number(&self) -> usize {
        self.number
    }

    /// The cell in a column counted from 0, without spaces around it; empty where the row is shorter.
    pub fn cell(&self, column: usize) -> &str {
        match self.raw(column) {
            Some(cell) if self.exact => cell.trim(),
            Some(cell) => unwrapped(cell),
            None => "",
        }
    }

    /// The row of the file in which a column's cell stood; in a table that was turned, cells of one
    /// row come from several.
    pub fn number_of(&self, column: usize) -> usize {
        self.turned_from(column).map_or(self.number, |o| o.row)
    }

    /// The number and unit that a lab printed, where the file gives them beside the value.
    pub(crate) fn printed(&self, column: usize) -> Option<(&str, &str)> {
        let printed = self.turned_from(column)?.printed.as_ref()?;
        Some((&printed.0, &printed.1))
    }

    /// The place of a column's cell among the sample's cells in the file.
    pub(crate) fn order(&self, column: usize) -> usize {
        self.turned_from(column).map_or(column, |o| o.order)
    }

    fn turned_from(&self, column: usize) -> Option<&Turned> {
        let at = self.turned.binary_search_by_key(&column, |o| o.column);
        at.ok().and_then(|at| self.turned.get(at))
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
        self.ends.len()
    }

    /// All cells, without spaces around them.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        (0..self.ends.len()).map(|column| self.cell(column))
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
    /// The sheets that the rows stand in; none where the file has no sheets.
    sheets: Vec<String>,
    hidden: bool,
    points: usize,
    rows: Vec<Row>,
    frame: Option<Frame>,
}

impl Table {
    /// A table from any reader of files. `rows` are (row number from 1, cells); rows without text
    /// are dropped.
    pub fn new(file: &str, rows: impl IntoIterator<Item = (usize, Vec<String>)>) -> Self {
        let rows = rows
            .into_iter()
            .map(|(number, cells)| Row::of(number, cells.iter().map(String::as_str)));
        Self::from_rows(file, "", None, rows)
    }

    /// A table read off pages: each cell with the place it stood in. Rows without text are dropped.
    pub fn with_origins(
        file: &str,
        rows: impl IntoIterator<Item = (usize, Vec<(String, Option<Origin>)>)>,
    ) -> Self {
        let rows = rows.into_iter().map(|(number, cells)| Row {
            origins: cells.iter().map(|(_, origin)| *origin).collect(),
            ..Row::of(number, cells.iter().map(|(text, _)| text.as_str()))
        });
        Self::from_rows(file, "", None, rows)
    }

    pub(crate) fn from_rows(
        file: &str,
        encoding: &str,
        delimiter: Option<char>,
        rows: impl IntoIterator<Item = Row>,
    ) -> Self {
        Self {
            file: file.to_owned(),
            encoding: encoding.to_owned(),
            delimiter,
            sheets: Vec::new(),
            hidden: false,
            points: 0,
            rows: rows
                .into_iter()
                .filter(|row| row.filled().next().is_some())
                .collect(),
            frame: None,
        }
    }

    /// A table that was turned by `pivot`: `rows` are (row number, cells, origins), the header at
    /// the position in `frame`. The encoding and delimiter are those of `like`.
    pub(crate) fn framed(
        file: &str,
        like: Option<&Self>,
        rows: Vec<(Row, Vec<Turned>)>,
        frame: Frame,
    ) -> Self {
        let exact = frame.is_exact();
        Self {
            file: file.to_owned(),
            encoding: like.map_or_else(String::new, |t| t.encoding.clone()),
            delimiter: like.and_then(|t| t.delimiter),
            sheets: like.map_or_else(Vec::new, |t| t.sheets.clone()),
            hidden: like.is_some_and(|t| t.hidden),
            points: like.map_or(0, |t| t.points),
            rows: rows
                .into_iter()
                .map(|(row, turned)| Row {
                    turned,
                    exact,
                    ..row
                })
                .collect(),
            frame: Some(frame),
        }
    }

    pub(crate) fn frame(&self) -> Option<&Frame> {
        self.frame.as_ref()
    }

    /// Whether the file is in our own form: the meaning of each column is known, and every row
    /// below the header is a sample whatever its name.
    pub(crate) fn is_exact(&self) -> bool {
        self.frame.as_ref().is_some_and(Frame::is_exact)
    }

    /// What the file says of the sample in a row beside its values.
    pub fn facts(&self, row: usize) -> Option<&RowFacts> {
        self.frame.as_ref()?.facts.get(&row)
    }

    /// The same table as one sheet of a workbook. `points` counts the numbers whose decimal mark is
    /// a point because the workbook keeps numbers, not digits.
    pub(crate) fn in_sheet(mut self, sheet: &str, hidden: bool, points: usize) -> Self {
        self.sheets = vec![sheet.to_owned()];
        self.hidden = hidden;
        self.points = points;
        self
    }

    /// Takes the rows of another sheet over, which keep their own numbers.
    pub(crate) fn join(&mut self, other: Self) {
        let Ok(sheet) = u16::try_from(self.sheets.len()) else {
            return;
        };
        self.sheets.extend(other.sheets.into_iter().take(1));
        self.points += other.points;
        let rows = other.rows.into_iter();
        self.rows.extend(rows.map(|row| Row { sheet, ..row }));
    }

    pub(crate) fn rows_mut(&mut self) -> &mut Vec<Row> {
        &mut self.rows
    }

    /// Whether numbers came with a decimal point that is sure to be one.
    pub(crate) fn has_points(&self) -> bool {
        self.points > 0
    }

    /// The sheets that the rows stand in; none where the file has no sheets.
    pub fn sheets(&self) -> &[String] {
        &self.sheets
    }

    /// The sheet that a row stands in.
    pub fn sheet_of(&self, row: &Row) -> Option<&str> {
        self.sheets.get(usize::from(row.sheet)).map(String::as_str)
    }

    /// Whether the workbook hides the sheet.
    pub fn is_hidden(&self) -> bool {
        self.hidden
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

    /// The row with a number as a spreadsheet counts it; the first of them where sheets are joined.
    pub fn row(&self, number: usize) -> Option<&Row> {
        if self.sheets.len() > 1 {
            return self.rows.iter().find(|r| r.number == number);
        }
        self.rows
            .binary_search_by_key(&number, Row::number)
            .ok()
            .and_then(|i| self.rows.get(i))
    }
}
