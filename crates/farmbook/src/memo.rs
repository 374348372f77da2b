//! What was worked out of a book and holds until something that it rests on changes.

use crate::row::get;
use crate::{Book, Id, Result};
use std::any::Any;
use std::cell::RefCell;

/// A place for what was worked out of the book by whoever uses it; empty when the book is opened.
pub type Memo = RefCell<Option<Box<dyn Any + Send>>>;

/// A row that changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    pub table: String,
    /// The blocks it is of, before and after; empty for what belongs to none.
    pub blocks: Vec<Id>,
}

impl Book {
    /// The place for what was worked out of this book. It is written to no file, and may be emptied at
    /// any time: what stands in it can be worked out again.
    pub fn memo(&self) -> &Memo {
        &self.memo
    }

    /// Empties that place: what was worked out inside a change that failed rests on rows that never were.
    pub(crate) fn forget(&mut self) {
        self.memo.replace(None);
    }

    /// The number of the newest entry of the journal; zero while there is none.
    pub fn newest_entry(&self) -> Result<Id> {
        let sql = "SELECT coalesce(max(id), 0) AS id FROM entry";
        Ok(self.first(sql, [], |row| get(row, "id"))?.unwrap_or(0))
    }

    /// The rows that changed after an entry of the journal, by whichever program; none where they are
    /// more than `most`.
    pub fn touched_since(&self, entry: Id, most: u32) -> Result<Option<Vec<Touched>>> {
        let sql = "SELECT tbl, json_extract(before, '$.block_id') AS was,
                json_extract(after, '$.block_id') AS will FROM entry WHERE id > ?1 LIMIT ?2";
        let limit = i64::from(most) + 1;
        let found = self.list(sql, [entry, limit], |row| {
            let ends: [Option<Id>; 2] = [get(row, "was")?, get(row, "will")?];
            Ok(Touched {
                table: get(row, "tbl")?,
                blocks: ends.into_iter().flatten().collect(),
            })
        })?;
        Ok((found.len() as i64 <= i64::from(most)).then_some(found))
    }
}
