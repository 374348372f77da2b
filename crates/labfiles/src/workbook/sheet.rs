//! One sheet of a workbook: cells with their places, merged cells spread, as rows.

use super::refused::Refused;
use crate::limits::{Budget, MOST_CELLS, MOST_WIDE};
use crate::table::Row;
use std::borrow::Cow;
use std::ops::Range;

/// A rectangle of cells; rows from 1, columns from 0, both ends within.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Area {
    pub(crate) top: usize,
    pub(crate) bottom: usize,
    pub(crate) left: usize,
    pub(crate) right: usize,
}

#[derive(Debug, Clone, Copy)]
struct Cell {
    row: u32,
    column: u32,
    start: u32,
    end: u32,
}

/// A sheet as it is read.
#[derive(Debug)]
pub(crate) struct Sheet {
    pub(crate) name: String,
    pub(crate) hidden: bool,
    /// Numbers whose decimal mark is a point because the workbook keeps numbers, not digits.
    pub(crate) points: usize,
    text: String,
    cells: Vec<Cell>,
    merged: Vec<Area>,
}

/// The letters of a column counted from 0: A, B, ..., Z, AA.
pub(crate) fn letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut left = column + 1;
    while left > 0 {
        left -= 1;
        letters.push(b'A' + u8::try_from(left % 26).unwrap_or(0));
        left /= 26;
    }
    letters.iter().rev().map(|b| char::from(*b)).collect()
}

impl Sheet {
    pub(crate) fn new(name: &str, hidden: bool) -> Self {
        Self {
            name: name.to_owned(),
            hidden,
            points: 0,
            text: String::new(),
            cells: Vec::new(),
            merged: Vec::new(),
        }
    }

    /// Adds a cell; empty ones are passed over. Rows count from 1, columns from 0.
    pub(crate) fn put(
        &mut self,
        budget: &mut Budget,
        row: usize,
        column: usize,
        text: &str,
    ) -> Result<(), Refused> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(());
        }
        if column >= MOST_WIDE {
            return Err(self.wide(row, column));
        }
        if text.contains('\0') {
            return Err(Refused::new(
                format!("a zero byte in cell {}{row}", letters(column)),
                "text and numbers",
            ));
        }
        budget.text(text.len()).map_err(Refused::much)?;
        budget.cells(1).map_err(Refused::much)?;
        let start = self.text.len();
        self.text.push_str(&without_controls(text));
        let place = |n: usize| u32::try_from(n).map_err(|_| Refused::broken("a place too far off"));
        self.cells.push(Cell {
            row: place(row)?,
            column: place(column)?,
            start: place(start)?,
            end: place(self.text.len())?,
        });
        Ok(())
    }

    fn wide(&self, row: usize, column: usize) -> Refused {
        Refused::much(format!(
            "a cell in column {} of row {row}, beyond {MOST_WIDE} columns",
            letters(column)
        ))
    }

    /// Notes merged cells.
    pub(crate) fn merge(&mut self, area: Area) -> Result<(), Refused> {
        if area.top > area.bottom || area.left > area.right {
            return Err(Refused::broken("merged cells"));
        }
        self.merged.push(area);
        if self.merged.len() > MOST_CELLS / 10 {
            return Err(Refused::much("too many merged cells"));
        }
        Ok(())
    }

    /// The rows that hold something.
    pub(crate) fn rows(mut self, budget: &mut Budget) -> Result<Vec<Row>, Refused> {
        let by_place = |c: &Cell| (c.row, c.column);
        self.cells.sort_by_key(by_place);
        if let Some([one, _]) = self.cells.windows(2).find_map(|w| {
            <&[Cell; 2]>::try_from(w)
                .ok()
                .filter(|w| by_place(&w[0]) == by_place(&w[1]))
        }) {
            let name = letters(one.column as usize);
            return Err(Refused::broken(&format!(
                "cell {name}{} stands twice",
                one.row
            )));
        }
        let spread = self.spread(budget)?;
        self.merged = Vec::new();
        self.cells.extend(spread);
        self.cells.sort_by_key(by_place);
        let mut rows = Vec::new();
        for row in self.cells.chunk_by(|a, b| a.row == b.row) {
            let (Some(first), Some(last)) = (row.first(), row.last()) else {
                continue;
            };
            budget.row().map_err(Refused::much)?;
            let width = last.column as usize + 1;
            budget.cells(width - row.len()).map_err(Refused::much)?;
            let mut cells = vec![""; width];
            for cell in row {
                if let Some(place) = cells.get_mut(cell.column as usize) {
                    let range = cell.start as usize..cell.end as usize;
                    *place = self.text.get(range).unwrap_or_default();
                }
            }
            rows.push(Row::of(first.row as usize, cells));
        }
        Ok(rows)
    }

    /// The cells that merged ones stand for, without the first of each.
    ///
    /// A title or a note alone in its rows is one cell still: it only looks wide.
    fn spread(&self, budget: &mut Budget) -> Result<Vec<Cell>, Refused> {
        let mut more = Vec::new();
        let first = self.cells.iter().map(|c| c.column).min().unwrap_or(0) as usize;
        let width = self.cells.iter().map(|c| c.column).max().unwrap_or(0) as usize;
        let mut visited = 0_usize;
        for area in &self.merged {
            let Some(&from) = self.at(area.top).and_then(|row| {
                row.binary_search_by_key(&area.left, |c| c.column as usize)
                    .ok()
                    .and_then(|i| row.get(i))
            }) else {
                continue;
            };
            for row in self.between(area.top, area.bottom) {
                visited += row.len();
                let others = row.iter().any(|c| {
                    let column = c.column as usize;
                    column < area.left || column > area.right
                });
                let Some(number) = row.first().map(|c| c.row) else {
                    continue;
                };
                if visited > 4 * MOST_CELLS {
                    return Err(Refused::much("merged cells without end"));
                }
                if !others && area.left == first {
                    continue;
                }
                for column in area.left..=area.right.min(width) {
                    visited += 1;
                    let taken = row
                        .binary_search_by_key(&column, |c| c.column as usize)
                        .is_ok();
                    if !taken {
                        budget.cells(1).map_err(Refused::much)?;
                        budget
                            .text((from.end - from.start) as usize)
                            .map_err(Refused::much)?;
                        more.push(Cell {
                            row: number,
                            column: u32::try_from(column).unwrap_or(u32::MAX),
                            ..from
                        });
                    }
                }
            }
        }
        // Merged areas never overlap in a sound workbook; where they do, the first counts.
        more.sort_by_key(|c| (c.row, c.column));
        more.dedup_by_key(|c| (c.row, c.column));
        Ok(more)
    }

    fn at(&self, row: usize) -> Option<&[Cell]> {
        self.between(row, row).next()
    }

    /// The rows from one to another, each as its cells in order.
    fn between(&self, top: usize, bottom: usize) -> impl Iterator<Item = &[Cell]> {
        let place = |row: usize| self.cells.partition_point(|c| (c.row as usize) < row);
        let range: Range<usize> = place(top)..place(bottom.saturating_add(1));
        self.cells
            .get(range)
            .unwrap_or_default()
            .chunk_by(|a, b| a.row == b.row)
    }
}

fn without_controls(text: &str) -> Cow<'_, str> {
    if text.chars().any(char::is_control) {
        let clean = |c: char| if c.is_control() { ' ' } else { c };
        text.chars().map(clean).collect::<String>().into()
    } else {
        text.into()
    }
}
