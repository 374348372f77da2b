use crate::change::Table;
use crate::row::{get, to_word, word};
use crate::{Book, Error, Id, Result};
use jiff::civil::Date;
use rusqlite::types::Value as Sql;
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

/// Of what a block's own answer can be learned from its tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Learnable {
    Lime,
    P2o5,
    K2o,
}

impl Learnable {
    pub const ALL: [Self; 3] = [Self::Lime, Self::P2o5, Self::K2o];

    pub fn key(self) -> &'static str {
        match self {
            Self::Lime => "lime",
            Self::P2o5 => "p2o5",
            Self::K2o => "k2o",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Lime => "lime",
            Self::P2o5 => "phosphate",
            Self::K2o => "potash",
        }
    }
}

/// What the grower decided of a block's own answer: that needs go by it, or by the published one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LearnedChoice {
    pub block: Id,
    pub item: Learnable,
    /// Needs go by the block's own answer; else by the published one.
    pub take: bool,
    pub decided_on: Date,
}

fn read(row: &Row<'_>) -> Result<LearnedChoice> {
    let day: String = get(row, "decided_on")?;
    Ok(LearnedChoice {
        block: get(row, "block_id")?,
        item: word(&get::<String>(row, "item")?, "learned_choice.item")?,
        take: get(row, "take")?,
        decided_on: day
            .parse()
            .map_err(|_| Error::Damaged(format!("“{day}” is not a date in decided_on")))?,
    })
}

impl Book {
    /// Keeps what was decided, in place of an earlier decision on the same block and item.
    ///
    /// # Errors
    /// No such block.
    pub fn set_learned_choice(&mut self, set: &LearnedChoice) -> Result<()> {
        let name = self.block(set.block)?.name;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("item", to_word(&set.item)?.into()),
            ("take", set.take.into()),
            ("decided_on", set.decided_on.to_string().into()),
        ];
        let what = format!(
            "{} what the tests of “{name}” taught of {}",
            if set.take { "Took" } else { "Refused" },
            set.item.name()
        );
        self.change(&what, |book| {
            match book.learned_choice_row(set.block, set.item)? {
                Some(id) => book.update(Table::LearnedChoice, id, &fields),
                None => book.insert(Table::LearnedChoice, &fields).map(|_| ()),
            }
        })
    }

    /// Takes a decision back; nothing happens where there was none.
    ///
    /// # Errors
    /// No such block.
    pub fn clear_learned_choice(&mut self, block: Id, item: Learnable) -> Result<()> {
        let name = self.block(block)?.name;
        let what = format!(
            "Took back what was decided of what the tests of “{name}” taught of {}",
            item.name()
        );
        self.change(&what, |book| {
            match book.learned_choice_row(block, item)? {
                Some(id) => book.delete(Table::LearnedChoice, id),
                None => Ok(()),
            }
        })
    }

    pub(crate) fn forget_learned_choices(&mut self, block: Id) -> Result<()> {
        let sql = "SELECT id FROM learned_choice WHERE block_id = ?1 ORDER BY id";
        for id in self.list(sql, [block], |row| get(row, "id"))? {
            self.delete(Table::LearnedChoice, id)?;
        }
        Ok(())
    }

    fn learned_choice_row(&self, block: Id, item: Learnable) -> Result<Option<Id>> {
        let sql = "SELECT id FROM learned_choice WHERE block_id = ?1 AND item = ?2";
        self.first(sql, params![block, item.key()], |row| get(row, "id"))
    }

    /// What was decided on every block, by block and item.
    pub fn learned_choices(&self) -> Result<Vec<LearnedChoice>> {
        let sql = "SELECT * FROM learned_choice ORDER BY block_id, item";
        self.list(sql, [], read)
    }
}
