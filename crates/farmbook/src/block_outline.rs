use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use ground::{Feature, Outline, Weight};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// Where a block lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockOutline {
    pub block: Id,
    pub outline: Outline,
    /// The file it came from.
    pub file_name: String,
    /// The direction in which its beds run, degrees clockwise from north; along the block while
    /// nobody said.
    pub bearing: Option<f64>,
}

fn read(row: &Row<'_>) -> Result<BlockOutline> {
    Ok(BlockOutline {
        block: get(row, "block_id")?,
        outline: json(row, "outline")?,
        file_name: get(row, "file_name")?,
        bearing: get(row, "bearing")?,
    })
}

impl Book {
    /// Keeps a block's outline in the place of the one it has.
    ///
    /// # Errors
    /// No such block; an outline that crosses itself, has no ground inside or is otherwise of no use;
    /// a bearing that is no direction.
    pub fn set_outline(&mut self, set: &BlockOutline) -> Result<()> {
        let name = self.block(set.block)?.name;
        let file_name = valid::name_or_empty("The file’s name", &set.file_name)?;
        if let Some(bearing) = set.bearing
            && !(-360.0..=360.0).contains(&bearing)
        {
            return Err(Error::invalid(
                "The direction of the beds",
                "from 0 to 360 degrees, clockwise from north",
            ));
        }
        let feature = Feature {
            name: name.clone(),
            outline: set.outline.clone(),
            notes: Vec::new(),
            walked: false,
        };
        if set.outline.parts.is_empty() {
            return Err(Error::invalid(
                "An outline",
                "of at least one piece of ground",
            ));
        }
        let stop = ground::doubts(&[feature], &[])
            .into_iter()
            .find(|d| d.weight == Weight::Stops);
        if let Some(doubt) = stop {
            return Err(Error::Outline(doubt.sentence));
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("outline", to_json(&set.outline)?.into()),
            ("file_name", file_name.into()),
            ("bearing", set.bearing.into()),
        ];
        self.change(&format!("Set the outline of “{name}”"), |book| match book
            .outline_row(set.block)?
        {
            Some(id) => book.update(Table::Outline, id, &fields),
            None => book.insert(Table::Outline, &fields).map(|_| ()),
        })
    }

    /// Takes a block's outline out of the book; nothing happens where it has none.
    pub fn remove_outline(&mut self, block: Id) -> Result<()> {
        let name = self.block(block)?.name;
        self.change(&format!("Took out the outline of “{name}”"), |book| {
            book.forget_outline(block)
        })
    }

    pub(crate) fn forget_outline(&mut self, block: Id) -> Result<()> {
        match self.outline_row(block)? {
            Some(id) => self.delete(Table::Outline, id),
            None => Ok(()),
        }
    }

    fn outline_row(&self, block: Id) -> Result<Option<Id>> {
        let sql = "SELECT id FROM block_outline WHERE block_id = ?1";
        self.first(sql, [block], |row| get(row, "id"))
    }

    /// The outline of a block, in use or put away.
    pub fn outline(&self, block: Id) -> Result<Option<BlockOutline>> {
        let sql = "SELECT * FROM block_outline WHERE block_id = ?1";
        self.first(sql, [block], read)
    }

    /// The outlines of the blocks in use, by the blocks' names.
    pub fn outlines(&self) -> Result<Vec<BlockOutline>> {
        let sql = "SELECT o.* FROM block_outline o JOIN block b ON b.id = o.block_id
             WHERE b.archived = 0 ORDER BY b.name_key";
        self.list(sql, [], read)
    }
}
