//! Two books side by side, row by row.

use super::{columns, describe, tables};
use crate::{Book, Id, Result};
use rusqlite::types::Value as Sql;
use serde::Serialize;
use std::collections::BTreeMap;

/// One cell that differs, or a row that one of two books lacks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    pub table: String,
    /// What the table holds.
    pub what: String,
    pub row: Id,
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
        let mut all = tables(&self.conn)?;
        all.extend(tables(&other.conn)?);
        all.sort();
        all.dedup();
        for table in all.iter().filter(|t| !APART.contains(&t.as_str())) {
            let (here, there) = (rows(self, table)?, rows(other, table)?);
            let mut numbers: Vec<&Id> = here.keys().chain(there.keys()).collect();
            numbers.sort_unstable();
            numbers.dedup();
            for id in numbers {
                one(table, *id, here.get(id), there.get(id), &mut out);
            }
        }
        Ok(out)
    }
}

fn one(table: &str, id: Id, here: Option<&Row>, there: Option<&Row>, out: &mut Vec<Difference>) {
    let named = |row: &Row| {
        NAMES
            .iter()
            .find_map(|n| row.get(*n).cloned().flatten())
            .unwrap_or_default()
    };
    let difference =
        |column: &str, here: Option<String>, there: Option<String>, name: String| Difference {
            table: table.to_owned(),
            what: describe::table(table),
            row: id,
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
                    out.push(difference(column, x, y, named(a)));
                }
            }
        }
        (Some(a), None) => out.push(difference("", Some(named(a)), None, named(a))),
        (None, Some(b)) => out.push(difference("", None, Some(named(b)), named(b))),
        (None, None) => {}
    }
}

fn rows(book: &Book, table: &str) -> Result<BTreeMap<Id, Row>> {
    let columns = columns(&book.conn, table)?;
    if columns.is_empty() {
        return Ok(BTreeMap::new());
    }
    let mut statement = book
        .conn
        .prepare(&format!("SELECT * FROM {table} ORDER BY 1"))?;
    let found = statement.query_map([], |row| {
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
        Ok((row.get(0)?, cells))
    })?;
    Ok(found.collect::<rusqlite::Result<_>>()?)
}
