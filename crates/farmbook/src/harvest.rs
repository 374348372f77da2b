use crate::change::Table;
use crate::mark::{day_at, mark, new_mark, same_entry, standing, weight, weight_of};
use crate::row::get;
use crate::{Book, Entries, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// What an entry is called in a sentence.
const NAME: &str = "harvest with number";

/// What was carried off a block on one day. Corrected as [`crate::Spread`] is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Harvest {
    /// Zero before it is in the book.
    pub id: Id,
    /// UUID made by whoever writes the entry.
    pub mark: String,
    /// When it was written down, RFC 3339; set by the book.
    pub at: String,
    /// The crop year.
    pub season: i64,
    pub day: Date,
    pub block: Id,
    /// Key of the crop table; empty where it is not said.
    pub crop: String,
    /// As it was counted.
    pub count: f64,
    /// What was counted: `lb`, `kg`, or in the grower’s word, as boxes.
    pub unit: String,
    /// All of it.
    pub weight: Weight,
    pub person: String,
    pub note: String,
    /// Number of the entry whose place it takes.
    pub corrects: Option<Id>,
}

impl Harvest {
    /// So much by weight, with a new mark.
    pub fn new(season: i64, day: Date, block: Id, weight: Weight) -> Self {
        Self {
            id: 0,
            mark: new_mark(),
            at: String::new(),
            season,
            day,
            block,
            crop: String::new(),
            count: weight.to_pounds(),
            unit: "lb".to_owned(),
            weight,
            person: String::new(),
            note: String::new(),
            corrects: None,
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::season(self.season)?;
        valid::not_negative("The count of the harvest", self.count, 1e8, &self.unit)?;
        let text = valid::name_or_empty;
        Ok(vec![
            ("mark", mark(&self.mark)?.into()),
            ("season", self.season.into()),
            ("day", self.day.to_string().into()),
            ("block_id", self.block.into()),
            ("crop", text("The crop", &self.crop)?.into()),
            ("count", self.count.into()),
            (
                "unit",
                valid::name("The unit of the harvest", &self.unit)?.into(),
            ),
            (
                "weight",
                weight(
                    "The weight of the harvest",
                    self.weight,
                    self.corrects.is_some(),
                )?,
            ),
            ("person", text("The person’s name", &self.person)?.into()),
            ("note", valid::note("The note", &self.note)?.into()),
            ("corrects", self.corrects.into()),
        ])
    }
}

/// The columns in the order in which [`read`] takes them.
macro_rules! select {
    ($rest:expr) => {
        concat!(
            "SELECT id, mark, at, season, day, block_id, crop, count, unit, weight, person, note,
             corrects FROM harvest ",
            $rest
        )
    };
}

fn read(row: &Row<'_>) -> Result<Harvest> {
    Ok(Harvest {
        id: get(row, 0)?,
        mark: get(row, 1)?,
        at: get(row, 2)?,
        season: get(row, 3)?,
        day: day_at(row, 4)?,
        block: get(row, 5)?,
        crop: get(row, 6)?,
        count: get(row, 7)?,
        unit: get(row, 8)?,
        weight: weight_of(row, 9)?,
        person: get(row, 10)?,
        note: get(row, 11)?,
        corrects: get(row, 12)?,
    })
}

impl Book {
    /// Writes a harvest down and gives the number of the entry; one whose mark is in the book already is
    /// not written again.
    ///
    /// # Errors
    /// The mark stands on another entry; no such block or entry to correct; a value that cannot be.
    pub fn log_harvest(&mut self, harvest: &Harvest) -> Result<Id> {
        let fields = harvest.fields()?;
        let block = self.block(harvest.block)?.name;
        if let Some(id) = self.marked(Table::Harvest, &harvest.mark)? {
            return same_entry(fields == self.harvest(id)?.fields()?, id);
        }
        let what = match harvest.corrects {
            Some(n) if harvest.weight.is_zero() => format!("Took back harvest {n}"),
            Some(n) => format!("Corrected harvest {n} of “{block}”"),
            None => format!("Wrote down a harvest of “{block}”"),
        };
        self.write_down(Table::Harvest, NAME, &what, fields, harvest.corrects)
    }

    pub fn harvest(&self, id: Id) -> Result<Harvest> {
        self.first(select!("WHERE id = ?1"), [id], read)?
            .ok_or_else(|| Error::not_found(NAME, id))
    }

    /// Every entry, those corrected included, by day and number.
    pub fn all_harvests(&self) -> Result<Vec<Harvest>> {
        self.list(select!("ORDER BY day, id"), [], read)
    }

    /// How many entries stand.
    pub fn harvests_standing(&self) -> Result<Entries> {
        self.entries_of(Table::Harvest)
    }

    /// The seasons of which anything was carried off, newest first.
    pub fn harvest_seasons(&self) -> Result<Vec<i64>> {
        self.seasons_of(Table::Harvest)
    }

    /// Every entry of a season, those corrected included, and what took their place in others, by day and
    /// number.
    pub fn all_harvests_in(&self, season: i64) -> Result<Vec<Harvest>> {
        let sql = select!(
            "WHERE season = ?1 OR corrects IN (SELECT id FROM harvest WHERE season = ?1)
             ORDER BY day, id"
        );
        self.list(sql, [season], read)
    }

    /// What stands from a day on, by day.
    pub fn harvests_from(&self, first: Date) -> Result<Vec<Harvest>> {
        let sql = select!(
            "WHERE day >= ?1 AND weight > 0
             AND id NOT IN (SELECT corrects FROM harvest WHERE corrects IS NOT NULL)
             ORDER BY day, id"
        );
        self.list(sql, [first.to_string()], read)
    }

    /// What stands of one block, by day.
    pub fn harvests_of(&self, block: Id) -> Result<Vec<Harvest>> {
        let sql = select!(
            "WHERE block_id = ?1 AND weight > 0
             AND id NOT IN (SELECT corrects FROM harvest WHERE corrects IS NOT NULL)
             ORDER BY day, id"
        );
        self.list(sql, [block], read)
    }

    /// What stands, by day.
    pub fn harvests(&self) -> Result<Vec<Harvest>> {
        let all = standing(self.all_harvests()?, |h| h.id, |h| h.corrects);
        Ok(all.into_iter().filter(|h| !h.weight.is_zero()).collect())
    }
}
