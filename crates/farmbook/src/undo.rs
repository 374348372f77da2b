//! Steps back and forward through the changes.
//!
//! The steps are themselves changes: they write rows and journal like any other, and the journal
//! only grows. A step back takes the newest change that stands; a step forward does again what was
//! undone last; a new change after a step back ends the way forward.

use crate::change::{Kind, Table};
use crate::row::{from_json, get};
use crate::{Book, Error, Id, Result};
use serde_json::Value;

struct Step {
    table: Table,
    row: Id,
    before: Option<Value>,
    after: Option<Value>,
}

impl Book {
    /// Undoes the last change that stands, and says in words what it was; `None` if there is none.
    pub fn undo_last(&mut self) -> Result<Option<String>> {
        self.step(Kind::Undo)
    }

    /// Does again what was undone last, and says in words what it was; `None` if there is nothing.
    pub fn redo_last(&mut self) -> Result<Option<String>> {
        self.step(Kind::Redo)
    }

    /// What [`Book::undo_last`] would undo.
    pub fn can_undo(&self) -> Result<Option<String>> {
        Ok(self.target(Kind::Undo)?.map(|(_, what, _)| what))
    }

    /// What [`Book::redo_last`] would do again.
    pub fn can_redo(&self) -> Result<Option<String>> {
        Ok(self.target(Kind::Redo)?.map(|(_, what, _)| what))
    }

    fn target(&self, kind: Kind) -> Result<Option<(Id, String, i64)>> {
        let sql = match kind {
            Kind::Undo => {
                "SELECT id, what, layout FROM change WHERE kind = 'do' AND state = 'live'
                 ORDER BY id DESC LIMIT 1"
            }
            _ => {
                "SELECT id, what, layout FROM change WHERE kind = 'do' AND state = 'undone'
                 ORDER BY id LIMIT 1"
            }
        };
        self.first(sql, [], |row| {
            Ok((get(row, "id")?, get(row, "what")?, get(row, "layout")?))
        })
    }

    fn step(&mut self, kind: Kind) -> Result<Option<String>> {
        if self.running.is_some() {
            return Err(Error::invalid("A step back", "outside a running change"));
        }
        let Some((id, what, layout)) = self.target(kind)? else {
            return Ok(None);
        };
        if layout != self.layout {
            return Err(Error::TooOldToUndo(what));
        }
        let words = match kind {
            Kind::Undo => format!("Undid: {what}"),
            _ => format!("Did again: {what}"),
        };
        self.change_as(kind, Some(id), &words, |book| {
            // Another window may have stepped between the look and the lock.
            if book.target(kind)?.map(|(now, _, _)| now) != Some(id) {
                return Err(Error::Busy);
            }
            for step in book.steps(id, kind)? {
                let (from, to) = match kind {
                    Kind::Undo => (&step.after, &step.before),
                    _ => (&step.before, &step.after),
                };
                if book.snapshot(step.table, step.row)? != *from {
                    return Err(Error::Damaged(format!(
                        "{} {} is not as the journal left it",
                        step.table.name(),
                        step.row
                    )));
                }
                book.restore(step.table, step.row, to.as_ref())?;
            }
            let state = match kind {
                Kind::Undo => "undone",
                _ => "live",
            };
            let sql = "UPDATE change SET state = ?1 WHERE id = ?2";
            book.conn.prepare_cached(sql)?.execute((state, id))?;
            Ok(())
        })?;
        Ok(Some(what))
    }

    fn steps(&self, change: Id, kind: Kind) -> Result<Vec<Step>> {
        let order = if kind == Kind::Undo { "DESC" } else { "ASC" };
        let sql = format!(
            "SELECT tbl, row_id, before, after FROM entry WHERE change_id = ?1 ORDER BY id {order}"
        );
        let value = |text: Option<String>| text.map(|t| from_json(&t, "entry")).transpose();
        self.list(&sql, [change], |row| {
            Ok(Step {
                table: Table::from_name(&get::<String>(row, "tbl")?)?,
                row: get(row, "row_id")?,
                before: value(get(row, "before")?)?,
                after: value(get(row, "after")?)?,
            })
        })
    }
}
