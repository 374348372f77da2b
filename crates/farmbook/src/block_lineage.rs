use crate::change::Table;
use crate::row::get;
use crate::{Book, Error, Id, Result, valid};
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// From which ground a block was cut, or laid together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parent {
    pub block: Id,
    pub parent: Id,
    /// The first year of the new block.
    pub year: i64,
}

impl Book {
    /// Says that a block came from another.
    ///
    /// # Errors
    /// No such block; a block that would come from itself, at whatever remove.
    pub fn set_parent(&mut self, set: Parent) -> Result<()> {
        valid::season(set.year)?;
        let (name, parent) = (self.block(set.block)?.name, self.block(set.parent)?.name);
        if set.block == set.parent
            || self
                .ancestors(set.parent)?
                .iter()
                .any(|p| p.parent == set.block)
        {
            return Err(Error::invalid(
                format!("The ground of “{name}”"),
                "from other ground than its own",
            ));
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("parent_id", set.parent.into()),
            ("year", set.year.into()),
        ];
        self.change(&format!("“{name}” comes from “{parent}”"), |book| {
            book.insert(Table::Parent, &fields).map(|_| ())
        })
    }

    /// The ground a block came from, and what that came from: nearest first, each once.
    pub fn ancestors(&self, block: Id) -> Result<Vec<Parent>> {
        let mut found: Vec<Parent> = Vec::new();
        let mut at = vec![block];
        while !at.is_empty() {
            let mut further = Vec::new();
            for id in at {
                for parent in self.parents(id)? {
                    if !found.iter().any(|f| f.parent == parent.parent) {
                        further.push(parent.parent);
                        found.push(parent);
                    }
                }
            }
            at = further;
        }
        Ok(found)
    }

    fn parents(&self, block: Id) -> Result<Vec<Parent>> {
        let sql = "SELECT * FROM block_parent WHERE block_id = ?1 ORDER BY id";
        self.list(sql, [block], read)
    }

    /// What became of a block that was cut or laid together.
    pub fn children(&self, parent: Id) -> Result<Vec<Parent>> {
        let sql = "SELECT * FROM block_parent WHERE parent_id = ?1 ORDER BY id";
        self.list(sql, [parent], read)
    }
}

fn read(row: &rusqlite::Row<'_>) -> Result<Parent> {
    Ok(Parent {
        block: get(row, "block_id")?,
        parent: get(row, "parent_id")?,
        year: get(row, "year")?,
    })
}
