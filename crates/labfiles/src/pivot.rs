//! Single values to a table with a row a sample.

use crate::frame::{Frame, RowFacts, Turned};
use crate::layout::Meaning;
use crate::table::{Row, Table};
use std::collections::{BTreeMap, HashMap};

/// The most columns and the most cells of a turned table.
const MOST_COLUMNS: usize = 400;
const MOST_CELLS: usize = 1_500_000;

struct Head {
    text: String,
    meaning: Option<Meaning>,
}

/// One value on its way into a table.
pub(crate) struct Cell {
    pub(crate) text: String,
    /// Row of the file as it came.
    pub(crate) row: usize,
    pub(crate) printed: Option<Box<(String, String)>>,
}

#[derive(Default)]
struct Line {
    number: usize,
    /// With their columns, in the order in which they came. A sample has few.
    cells: Vec<(usize, Cell)>,
    facts: RowFacts,
}

impl Line {
    fn cell(&self, column: usize) -> Option<&Cell> {
        self.cells
            .iter()
            .find(|(c, _)| *c == column)
            .map(|(_, c)| c)
    }
}

/// Rows of the file that stay as they are, above the header or below the samples.
pub(crate) type Kept = Vec<(usize, Vec<String>)>;

#[derive(Default)]
pub(crate) struct Pivot {
    heads: Vec<Head>,
    by_key: HashMap<String, usize>,
    lines: Vec<Line>,
}

impl Pivot {
    /// The column with a key; made with its header where there is none.
    pub(crate) fn column(
        &mut self,
        key: &str,
        meaning: Option<Meaning>,
        header: impl FnOnce() -> String,
    ) -> usize {
        if let Some(at) = self.by_key.get(key) {
            return *at;
        }
        let text = header();
        self.heads.push(Head { text, meaning });
        self.by_key.insert(key.to_owned(), self.heads.len() - 1);
        self.heads.len() - 1
    }

    /// Begins a row; its number must be above those before it.
    pub(crate) fn line(&mut self, number: usize) -> usize {
        self.lines.push(Line {
            number,
            ..Line::default()
        });
        self.lines.len() - 1
    }

    /// Puts a value into a row. A second value for one column goes to a column of its own, about
    /// which the grower is asked.
    pub(crate) fn put(&mut self, line: usize, column: usize, cell: Cell) {
        let mut at = column;
        let mut times = 2;
        while self.has(line, at) {
            let (text, meaning) = self
                .heads
                .get(column)
                .map_or((String::new(), None), |h| (h.text.clone(), h.meaning));
            let header = match times {
                2 => format!("{text} · second value"),
                n => format!("{text} · value number {n}"),
            };
            at = self.column(&format!("{column}\0{times}"), meaning, || header);
            times += 1;
        }
        if let Some(line) = self.lines.get_mut(line) {
            line.cells.push((at, cell));
        }
    }

    /// Puts a text that is no value of the lab; the same text again is nothing new.
    pub(crate) fn say(&mut self, line: usize, column: usize, text: &str, row: usize) {
        let there = self.lines.get(line).and_then(|l| l.cell(column));
        let same = there.is_some_and(|c| c.text.trim() == text.trim());
        if !text.trim().is_empty() && !same {
            let text = text.to_owned();
            let printed = None;
            self.put(line, column, Cell { text, row, printed });
        }
    }

    pub(crate) fn facts(&mut self, line: usize) -> Option<&mut RowFacts> {
        self.lines.get_mut(line).map(|l| &mut l.facts)
    }

    pub(crate) fn has(&self, line: usize, column: usize) -> bool {
        self.lines
            .get(line)
            .is_some_and(|l| l.cell(column).is_some())
    }

    /// Whether the table has grown past what a lab's file can be.
    pub(crate) fn is_too_large(&self) -> bool {
        self.heads.len() > MOST_COLUMNS
            || self.heads.len().saturating_mul(self.lines.len()) > MOST_CELLS
    }

    /// The table: rows above, the header, a row a sample, rows below. With `exact` every column's
    /// meaning is known.
    pub(crate) fn table(
        self,
        file: &str,
        like: Option<&Table>,
        above: Kept,
        header_row: usize,
        below: Kept,
        lab: &str,
    ) -> Table {
        let meanings: Vec<Meaning> = self.heads.iter().filter_map(|h| h.meaning).collect();
        let exact = meanings.len() == self.heads.len();
        let mut frame = Frame {
            header: above.len(),
            lab: lab.to_owned(),
            meanings: if exact { meanings } else { Vec::new() },
            facts: BTreeMap::new(),
        };
        let width = self.heads.len();
        let plain = |(number, cells): (usize, Vec<String>)| {
            (
                Row::of(number, cells.iter().map(String::as_str)),
                Vec::new(),
            )
        };
        let mut rows: Vec<(Row, Vec<Turned>)> = above.into_iter().map(plain).collect();
        let heads: Vec<String> = self.heads.into_iter().map(|h| h.text).collect();
        rows.push((
            Row::of(header_row, heads.iter().map(String::as_str)),
            Vec::new(),
        ));
        for line in self.lines {
            let mut record: Vec<&str> = Vec::with_capacity(width);
            let mut origins = Vec::new();
            let mut cells: Vec<(usize, usize, Cell)> = line
                .cells
                .into_iter()
                .enumerate()
                .map(|(order, (column, cell))| (column, order, cell))
                .collect();
            cells.sort_by_key(|(column, ..)| *column);
            for (column, order, cell) in &cells {
                record.resize((*column).max(record.len()), "");
                record.push(&cell.text);
                if cell.row != line.number || cell.printed.is_some() {
                    origins.push(Turned {
                        column: *column,
                        row: cell.row,
                        order: *order,
                        printed: cell.printed.clone(),
                    });
                }
            }
            record.resize(width.max(record.len()), "");
            if line.facts != RowFacts::default() {
                frame.facts.insert(line.number, line.facts);
            }
            rows.push((Row::of(line.number, record), origins));
        }
        rows.extend(below.into_iter().map(plain));
        Table::framed(file, like, rows, frame)
    }
}
