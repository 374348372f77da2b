use crate::change::Table;
use crate::row::{date, get};
use crate::{Book, Id, Result, valid};
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// What the grower knows of a block's ground that no test tells: it decides which blocks may share a
/// sample, what to have tested, and how long to wait.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct GroundNote {
    pub block: Id,
    /// What the soil is called here, such as `creek bottom`; blocks of one name are one soil. May be
    /// empty.
    pub soil: String,
    /// An old orchard, a house or a busy road stood here or near.
    pub old_ground: bool,
    /// The last lime and the last manure or compost.
    pub limed_on: Option<Date>,
    pub manured_on: Option<Date>,
}

impl GroundNote {
    /// Nothing known of a block's ground.
    pub fn nothing(block: Id) -> Self {
        Self {
            block,
            ..Self::default()
        }
    }
}

fn read(row: &Row<'_>) -> Result<GroundNote> {
    Ok(GroundNote {
        block: get(row, "block_id")?,
        soil: get(row, "soil")?,
        old_ground: get(row, "old_ground")?,
        limed_on: date(row, "limed_on")?,
        manured_on: date(row, "manured_on")?,
    })
}

impl Book {
    /// Keeps what is known of a block's ground in the place of what was known before.
    ///
    /// # Errors
    /// No such block; a name of the soil that is too long.
    pub fn set_ground_note(&mut self, set: &GroundNote) -> Result<()> {
        let name = self.block(set.block)?.name;
        let soil = valid::name_or_empty("The name of the soil", &set.soil)?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("soil", soil.into()),
            ("old_ground", set.old_ground.into()),
            ("limed_on", set.limed_on.map(|d| d.to_string()).into()),
            ("manured_on", set.manured_on.map(|d| d.to_string()).into()),
        ];
        self.change(
            &format!("Set what is known of the ground of “{name}”"),
            |book| match book.ground_note_row(set.block)? {
                Some(id) => book.update(Table::GroundNote, id, &fields),
                None => book.insert(Table::GroundNote, &fields).map(|_| ()),
            },
        )
    }

    pub(crate) fn forget_ground_note(&mut self, block: Id) -> Result<()> {
        match self.ground_note_row(block)? {
            Some(id) => self.delete(Table::GroundNote, id),
            None => Ok(()),
        }
    }

    fn ground_note_row(&self, block: Id) -> Result<Option<Id>> {
        let sql = "SELECT id FROM ground_note WHERE block_id = ?1";
        self.first(sql, [block], |row| get(row, "id"))
    }

    /// What is known of a block's ground; nothing where nobody said.
    pub fn ground_note(&self, block: Id) -> Result<GroundNote> {
        let sql = "SELECT * FROM ground_note WHERE block_id = ?1";
        Ok(self
            .first(sql, [block], read)?
            .unwrap_or_else(|| GroundNote::nothing(block)))
    }

    /// What is known of every block's ground, in one look.
    pub fn ground_notes(&self) -> Result<Vec<GroundNote>> {
        self.list("SELECT * FROM ground_note ORDER BY block_id", [], read)
    }
}
