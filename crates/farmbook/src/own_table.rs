use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Result, valid};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The most that the files of one table may hold together, bytes.
const MOST_BYTES: usize = 1024 * 1024;

/// A published table that the grower added as files; what is in them is checked by whoever reads them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnTable {
    /// The table’s id; unique among the grower’s own.
    pub name: String,
    /// What the files are, e.g. `readings`.
    pub kind: String,
    /// File name to text, as the files came.
    pub files: BTreeMap<String, String>,
    /// RFC 3339 with offset.
    pub added_at: String,
}

fn read(row: &Row<'_>) -> Result<OwnTable> {
    Ok(OwnTable {
        name: get(row, "name")?,
        kind: get(row, "kind")?,
        files: json(row, "files")?,
        added_at: get(row, "added_at")?,
    })
}

impl Book {
    /// Keeps a table in place of an earlier one with the same name.
    ///
    /// # Errors
    /// A name that is empty or too long, no files, or files of more than 1 MB together.
    pub fn set_own_table(
        &mut self,
        name: &str,
        kind: &str,
        files: &BTreeMap<String, String>,
    ) -> Result<()> {
        let name = valid::name("The table’s id", name)?;
        let kind = valid::name("The kind of table", kind)?;
        let bytes: usize = files.values().map(String::len).sum();
        if files.is_empty() || bytes > MOST_BYTES {
            return Err(Error::invalid(
                "The table’s files",
                "there, and 1 MB together at most",
            ));
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("name", name.clone().into()),
            ("kind", kind.into()),
            ("files", to_json(files)?.into()),
            ("added_at", self.now().into()),
        ];
        self.change(&format!("Added the table {name}"), |book| {
            match book.own_table_row(&name)? {
                Some(id) => book.update(Table::Own, id, &fields),
                None => book.insert(Table::Own, &fields).map(|_| ()),
            }
        })
    }

    /// Takes a table out; undo brings it back.
    ///
    /// # Errors
    /// There is no table of that name.
    pub fn remove_own_table(&mut self, name: &str) -> Result<()> {
        let id = self
            .own_table_row(name)?
            .ok_or_else(|| Error::not_found("table of your own", name))?;
        self.change(&format!("Took out the table {name}"), |book| {
            book.delete(Table::Own, id)
        })
    }

    fn own_table_row(&self, name: &str) -> Result<Option<i64>> {
        let sql = "SELECT id FROM own_table WHERE name = ?1";
        self.first(sql, [name], |row| get(row, "id"))
    }

    /// Every table the grower added, by name.
    pub fn own_tables(&self) -> Result<Vec<OwnTable>> {
        self.list("SELECT * FROM own_table ORDER BY name", [], read)
    }
}
