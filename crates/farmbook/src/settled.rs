use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Id, Result};
use rusqlite::types::Value as Sql;
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A key holds a sample’s name, which may be anything.
const LONGEST_KEY: usize = 2_000;

/// What a person decided of one doubt of a report.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settled {
    pub report: Id,
    /// Tells the doubt from the others of its report.
    pub key: String,
    /// The sentence it was asked with.
    pub asked: String,
    pub decision: Value,
    /// RFC 3339 with offset.
    pub settled_at: String,
}

fn read(row: &Row<'_>) -> Result<Settled> {
    Ok(Settled {
        report: get(row, "report_id")?,
        key: get(row, "key")?,
        asked: get(row, "asked")?,
        decision: json(row, "decision")?,
        settled_at: get(row, "settled_at")?,
    })
}

impl Book {
    /// Keeps a decision, in place of an earlier one on the same doubt.
    ///
    /// # Errors
    /// No such report, or a key that is empty or too long.
    pub fn settle(&mut self, report: Id, key: &str, asked: &str, decision: &Value) -> Result<()> {
        let name = self.report(report)?.file_name;
        if key.trim().is_empty() || key.len() > LONGEST_KEY {
            return Err(Error::invalid("The doubt’s key", "filled in"));
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("report_id", report.into()),
            ("key", key.to_owned().into()),
            ("asked", asked.to_owned().into()),
            ("decision", to_json(decision)?.into()),
            ("settled_at", self.now().into()),
        ];
        self.change(&format!("Decided a doubt of “{name}”"), |book| match book
            .settled_row(report, key)?
        {
            Some(id) => book.update(Table::Settled, id, &fields),
            None => book.insert(Table::Settled, &fields).map(|_| ()),
        })
    }

    /// Takes a decision back, so that the doubt is asked again; nothing happens where there was none.
    ///
    /// # Errors
    /// No such report.
    pub fn unsettle(&mut self, report: Id, key: &str) -> Result<()> {
        let name = self.report(report)?.file_name;
        self.change(
            &format!("Took back a decision on “{name}”"),
            |book| match book.settled_row(report, key)? {
                Some(id) => book.delete(Table::Settled, id),
                None => Ok(()),
            },
        )
    }

    fn settled_row(&self, report: Id, key: &str) -> Result<Option<Id>> {
        let sql = "SELECT id FROM settled WHERE report_id = ?1 AND key = ?2";
        self.first(sql, params![report, key], |row| get(row, "id"))
    }

    /// The decisions of a report, in the order they were made.
    pub fn settled(&self, report: Id) -> Result<Vec<Settled>> {
        let sql = "SELECT * FROM settled WHERE report_id = ?1 ORDER BY id";
        self.list(sql, [report], read)
    }

    pub(crate) fn delete_settled(&mut self, report: Id) -> Result<()> {
        let sql = "SELECT id FROM settled WHERE report_id = ?1 ORDER BY id";
        for id in self.list(sql, [report], |row| get(row, "id"))? {
            self.delete(Table::Settled, id)?;
        }
        Ok(())
    }
}
