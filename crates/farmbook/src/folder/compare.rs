//! Two books side by side, row by row.

use super::{ColumnAbout, columns, describe, tables};
use crate::{Book, Id, Result};
use rusqlite::types::Value as Sql;
use rusqlite::{Rows, Statement};
use serde::Serialize;
use std::collections::BTreeMap;

/// One cell that differs, or a row that one of two books lacks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    pub table: String,
    /// What the table holds.
    pub what: String,
    pub row: Id,
    /// The block that the row is of; none where it is of none.
    pub block: Option<Id>,
    /// The name of the row’s block, material, file or the like, where it has one.
    pub name: String,
    /// Empty where the whole row is there on one side only.
    pub column: String,
    /// None: there is no such row, or no value.
    pub here: Option<String>,
    pub there: Option<String>,
}

/// Columns that tell a person which row is meant.
const NAMES: [&str; 7] = [
    "name",
    "file_name",
    "sample",
    "label",
    "crop",
    "material",
    "what",
];
/// How two books came to be what they are is no difference between them.
const APART: [&str; 3] = ["change", "entry", "kept"];

type Row = BTreeMap<String, Option<String>>;

impl Book {
    /// What differs between this book and another, table by table, row by row; the journals are not
    /// compared, and of kept bytes only those that rows name.
    ///
    /// # Errors
    /// One of them cannot be read.
    pub fn differences(&self, other: &Self) -> Result<Vec<Difference>> {
        let mut out = Vec::new();
        self.each_difference(other, |d| out.push(d))?;
        Ok(out)
    }

    /// The same one after the other, so that two large books that have little in common need no room for
    /// all of it.
    ///
    /// # Errors
    /// One of them cannot be read.
    pub fn each_difference(&self, other: &Self, mut tell: impl FnMut(Difference)) -> Result<()> {
        let mut all = tables(&self.conn)?;
        all.extend(tables(&other.conn)?);
        all.sort();
        all.dedup();
        for table in all.iter().filter(|t| !APART.contains(&t.as_str())) {
            let (ours, theirs) = (columns(&self.conn, table)?, columns(&other.conn, table)?);
            let (mut here, mut there) =
                (select(self, table, &ours)?, select(other, table, &theirs)?);
            let mut a = here.as_mut().map(|s| s.query([])).transpose()?;
            let mut b = there.as_mut().map(|s| s.query([])).transpose()?;
            let (mut x, mut y) = (next(&mut a, &ours)?, next(&mut b, &theirs)?);
            // Both come in the order of their numbers.
            loop {
                let (id, take) = match (&x, &y) {
                    (None, None) => break,
                    (Some((id, _)), None) => (*id, (true, false)),
                    (None, Some((id, _))) => (*id, (false, true)),
                    (Some((i, _)), Some((j, _))) => (*i.min(j), (i <= j, j <= i)),
                };
                let ours_now = x.as_ref().filter(|_| take.0).map(|(_, row)| row);
                let theirs_now = y.as_ref().filter(|_| take.1).map(|(_, row)| row);
                one(table, id, ours_now, theirs_now, &mut tell);
                if take.0 {
                    x = next(&mut a, &ours)?;
                }
                if take.1 {
                    y = next(&mut b, &theirs)?;
                }
            }
        }
        Ok(())
    }
}

/// A look at every row of a table; none where the book has no such table.
fn select<'a>(
    book: &'a Book,
    table: &str,
    columns: &[ColumnAbout],
) -> Result<Option<Statement<'a>>> {
    if columns.is_empty() {
        return Ok(None);
    }
    let sql = format!("SELECT * FROM {table} ORDER BY 1");
    Ok(Some(book.conn.prepare(&sql)?))
}

fn one(
    table: &str,
    id: Id,
    here: Option<&Row>,
    there: Option<&Row>,
    tell: &mut impl FnMut(Difference),
) {
    let named = |row: &Row| {
        NAMES
            .iter()
            .find_map(|n| row.get(*n).cloned().flatten())
            .unwrap_or_default()
    };
    let of_block = |row: &Row| row.get("block_id").cloned().flatten()?.parse().ok();
    let block = match table {
        "block" => Some(id),
        _ => here.or(there).and_then(of_block),
    };
    let difference =
        |column: &str, here: Option<String>, there: Option<String>, name: String| Difference {
            table: table.to_owned(),
            what: describe::table(table),
            row: id,
            block,
            name,
            column: column.to_owned(),
            here,
            there,
        };
    match (here, there) {
        (Some(a), Some(b)) => {
            let mut columns: Vec<&String> = a.keys().chain(b.keys()).collect();
            columns.sort();
            columns.dedup();
            for column in columns {
                let (x, y) = (
                    a.get(column).cloned().flatten(),
                    b.get(column).cloned().flatten(),
                );
                if x != y {
                    tell(difference(column, x, y, named(a)));
                }
            }
        }
        (Some(a), None) => tell(difference("", Some(named(a)), None, named(a))),
        (None, Some(b)) => tell(difference("", None, Some(named(b)), named(b))),
        (None, None) => {}
    }
}

fn next(rows: &mut Option<Rows<'_>>, columns: &[ColumnAbout]) -> Result<Option<(Id, Row)>> {
    let Some(rows) = rows else {
        return Ok(None);
    };
    let Some(row) = rows.next()? else {
        return Ok(None);
    };
    let mut cells = Row::new();
    for (i, column) in columns.iter().enumerate() {
        let shown = match row.get::<_, Sql>(i)? {
            Sql::Null => None,
            Sql::Integer(v) => Some(v.to_string()),
            Sql::Real(v) => Some(format!("{v:?}")),
            Sql::Text(v) => Some(v),
            Sql::Blob(v) => Some(crate::kept::sha256(&v)),
        };
        cells.insert(column.name.clone(), shown);
    }
    Ok(Some((row.get(0)?, cells)))
}
