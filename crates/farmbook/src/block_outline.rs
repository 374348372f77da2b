use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use ground::{Feature, LeaveOut, Outline, Weight};
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
    /// The first year in which the block lies so; none where nobody said.
    pub since: Option<i64>,
    /// Spots in it where no core is taken.
    pub leave_out: Vec<LeaveOut>,
}

impl BlockOutline {
    pub fn new(block: Id, outline: Outline, file_name: impl Into<String>) -> Self {
        Self {
            block,
            outline,
            file_name: file_name.into(),
            bearing: None,
            since: None,
            leave_out: Vec::new(),
        }
    }
}

/// How a block lay before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EarlierOutline {
    pub id: Id,
    pub outline: Outline,
    /// The first year it held; none where nobody said.
    pub since: Option<i64>,
    /// The first year it did not hold any more.
    pub until: i64,
}

/// More spots than this in one block are a slip.
const MOST_SPOTS: usize = 100;

fn read(row: &Row<'_>) -> Result<BlockOutline> {
    Ok(BlockOutline {
        block: get(row, "block_id")?,
        outline: json(row, "outline")?,
        file_name: get(row, "file_name")?,
        bearing: get(row, "bearing")?,
        since: get(row, "since")?,
        leave_out: json(row, "leave_out")?,
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
        if let Some(since) = set.since {
            valid::season(since)?;
        }
        let sound = |spot: &LeaveOut| {
            spot.at.iter().all(|v| v.is_finite()) && (0.1..=1_000.0).contains(&spot.radius.si())
        };
        if set.leave_out.len() > MOST_SPOTS || !set.leave_out.iter().all(sound) {
            return Err(Error::invalid(
                "Spots to leave out",
                "at most 100, each with a place and a radius of 1 to 3,000 ft",
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
            ("since", set.since.into()),
            ("leave_out", to_json(&set.leave_out)?.into()),
        ];
        self.change(&format!("Set the outline of “{name}”"), |book| {
            book.put_by(set)?;
            match book.outline_row(set.block)? {
                Some(id) => book.update(Table::Outline, id, &fields),
                None => book.insert(Table::Outline, &fields).map(|_| ()),
            }
        })
    }

    /// Puts by the outline that held until the year from which the new one does. A change within one
    /// year mends the outline and leaves no earlier one.
    fn put_by(&mut self, set: &BlockOutline) -> Result<()> {
        let Some(until) = set.since else {
            return Ok(());
        };
        let Some(held) = self.outline(set.block)? else {
            return Ok(());
        };
        if held.outline == set.outline || held.since.is_some_and(|since| since >= until) {
            return Ok(());
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("outline", to_json(&held.outline)?.into()),
            ("since", held.since.into()),
            ("until", until.into()),
        ];
        self.insert(Table::EarlierOutline, &fields).map(|_| ())
    }

    /// How a block lay before, oldest first.
    pub fn earlier_outlines(&self, block: Id) -> Result<Vec<EarlierOutline>> {
        let sql = "SELECT * FROM earlier_outline WHERE block_id = ?1 ORDER BY until, id";
        self.list(sql, [block], |row| {
            Ok(EarlierOutline {
                id: get(row, "id")?,
                outline: json(row, "outline")?,
                since: get(row, "since")?,
                until: get(row, "until")?,
            })
        })
    }

    /// Says an earlier outline in other numbers, as where the farm was given a place on the earth.
    ///
    /// # Errors
    /// No such number.
    pub fn restate_earlier(&mut self, id: Id, outline: &Outline) -> Result<()> {
        let outline = to_json(outline)?;
        self.change("Said an earlier outline in other coordinates", |book| {
            book.update(Table::EarlierOutline, id, &[("outline", outline.into())])
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
