//! Reading what happened to the book.

use crate::row::{get, json_or_none, word};
use crate::{Book, Id, Result};
use rusqlite::Row;
use serde::{Deserialize, Serialize};
use serde_json::Value;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChangeKind {
    /// The book was begun.
    Start,
    Do,
    Undo,
    Redo,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChangeState {
    /// It stands.
    Live,
    /// It was undone and can be done again.
    Undone,
    /// It was undone, and another change took its place.
    Abandoned,
}

/// One thing a person did.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    pub id: Id,
    /// RFC 3339 with offset.
    pub at: String,
    pub who: String,
    /// In words.
    pub what: String,
    pub kind: ChangeKind,
    pub state: ChangeState,
    /// How many rows it touched.
    pub rows: u64,
}

/// One row that a change touched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JournalEntry {
    pub id: Id,
    /// The change it belongs to.
    pub change: Id,
    /// RFC 3339 with offset.
    pub at: String,
    pub who: String,
    /// The change in words.
    pub what: String,
    pub kind: ChangeKind,
    pub table: String,
    pub row: Id,
    /// The whole row, column by column; `None`: there was none.
    pub before: Option<Value>,
    /// The whole row, column by column; `None`: there is none any more.
    pub after: Option<Value>,
}

const SELECT: &str = "SELECT e.id, e.change_id, c.at, c.who, c.what, c.kind, e.tbl, e.row_id,
    e.before, e.after FROM entry e JOIN change c ON c.id = e.change_id";

fn read(row: &Row<'_>) -> Result<JournalEntry> {
    Ok(JournalEntry {
        id: get(row, "id")?,
        change: get(row, "change_id")?,
        at: get(row, "at")?,
        who: get(row, "who")?,
        what: get(row, "what")?,
        kind: word(&get::<String>(row, "kind")?, "change.kind")?,
        table: get(row, "tbl")?,
        row: get(row, "row_id")?,
        before: json_or_none(row, "before")?,
        after: json_or_none(row, "after")?,
    })
}

fn bound(limit: usize) -> i64 {
    i64::try_from(limit).unwrap_or(i64::MAX)
}

impl Book {
    /// The newest rows of the journal, newest first.
    pub fn journal(&self, limit: usize) -> Result<Vec<JournalEntry>> {
        let sql = format!("{SELECT} ORDER BY e.id DESC LIMIT ?1");
        self.list(&sql, [bound(limit)], read)
    }

    /// Everything that happened to one row, newest first. `table` as in [`JournalEntry::table`].
    pub fn history(&self, table: &str, row: Id) -> Result<Vec<JournalEntry>> {
        let sql = format!("{SELECT} WHERE e.tbl = ?1 AND e.row_id = ?2 ORDER BY e.id DESC");
        self.list(&sql, (table, row), read)
    }

    /// The rows of a journaled table that were added after a plan was. `table` as in
    /// [`JournalEntry::table`].
    pub fn added_since_plan(&self, plan: Id, table: &str) -> Result<Vec<Id>> {
        let sql = "SELECT DISTINCT row_id FROM entry WHERE tbl = ?2 AND before IS NULL AND id >
             (SELECT max(id) FROM entry
              WHERE tbl = 'season_plan' AND row_id = ?1 AND before IS NULL)";
        self.list(sql, (plan, table), |row| get(row, "row_id"))
    }

    /// The newest changes, newest first, without their rows.
    pub fn changes(&self, limit: usize) -> Result<Vec<Change>> {
        let sql = "SELECT c.*, (SELECT count(*) FROM entry e WHERE e.change_id = c.id) AS rows
             FROM change c ORDER BY c.id DESC LIMIT ?1";
        self.list(sql, [bound(limit)], |row| {
            Ok(Change {
                id: get(row, "id")?,
                at: get(row, "at")?,
                who: get(row, "who")?,
                what: get(row, "what")?,
                kind: word(&get::<String>(row, "kind")?, "change.kind")?,
                state: word(&get::<String>(row, "state")?, "change.state")?,
                rows: get::<i64>(row, "rows")?.unsigned_abs(),
            })
        })
    }
}
