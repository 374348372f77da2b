use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Result, valid};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// How files of one shape are read, as a person confirmed it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LabLayout {
    /// Tells files of this shape from others.
    pub fingerprint: String,
    pub lab: String,
    pub layout: Value,
    /// RFC 3339 with offset.
    pub confirmed_at: String,
}

fn read(row: &Row<'_>) -> Result<LabLayout> {
    Ok(LabLayout {
        fingerprint: get(row, "fingerprint")?,
        lab: get(row, "lab")?,
        layout: json(row, "layout")?,
        confirmed_at: get(row, "confirmed_at")?,
    })
}

impl Book {
    /// Remembers a confirmed layout in place of an earlier one with the same fingerprint.
    pub fn remember_layout(&mut self, fingerprint: &str, lab: &str, layout: &Value) -> Result<()> {
        if fingerprint.is_empty() || fingerprint.len() > 10_000 {
            return Err(Error::invalid("The layout’s fingerprint", "filled in"));
        }
        let lab = valid::name("The lab’s name", lab)?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("fingerprint", fingerprint.to_owned().into()),
            ("lab", lab.clone().into()),
            ("layout", to_json(layout)?.into()),
            ("confirmed_at", self.now().into()),
        ];
        self.change(
            &format!("Remembered how files of {lab} are read"),
            |book| match book.layout_row(fingerprint)? {
                Some(id) => book.update(Table::LabLayout, id, &fields),
                None => book.insert(Table::LabLayout, &fields).map(|_| ()),
            },
        )
    }

    pub fn forget_layout(&mut self, fingerprint: &str) -> Result<()> {
        let Some(id) = self.layout_row(fingerprint)? else {
            return Ok(());
        };
        self.change("Forgot how one lab’s files are read", |book| {
            book.delete(Table::LabLayout, id)
        })
    }

    fn layout_row(&self, fingerprint: &str) -> Result<Option<i64>> {
        let sql = "SELECT id FROM lab_layout WHERE fingerprint = ?1";
        self.first(sql, [fingerprint], |row| get(row, "id"))
    }

    pub fn layout(&self, fingerprint: &str) -> Result<Option<LabLayout>> {
        let sql = "SELECT * FROM lab_layout WHERE fingerprint = ?1";
        self.first(sql, [fingerprint], read)
    }

    pub fn layouts(&self) -> Result<Vec<LabLayout>> {
        self.list("SELECT * FROM lab_layout ORDER BY lab, id", [], read)
    }
}
