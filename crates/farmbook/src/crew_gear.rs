//! What the crew works with: buckets, and what a walk told of a spreader.

use crate::change::Table;
use crate::mark::{day, weight};
use crate::row::{date, get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// The crew’s bucket, and what a full one weighs of a material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bucket {
    /// Key of the material table; empty for the bucket that the crew uses for everything else.
    pub material: String,
    /// US gallons.
    pub gallons: f64,
    /// A full one on the scale, without the bucket itself.
    pub weight: Option<Weight>,
    pub measured_on: Option<Date>,
}

/// A walk that told how much a spreader lays down at a setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpreaderWalk {
    /// Zero before it is in the book.
    pub id: Id,
    /// The crew’s name for it.
    pub spreader: String,
    /// Key of the material table.
    pub material: String,
    /// As marked on the spreader; empty where it has none.
    pub setting: String,
    pub day: Date,
    /// What was measured.
    pub walk: Value,
    pub note: String,
}

fn read_bucket(row: &Row<'_>) -> Result<Bucket> {
    Ok(Bucket {
        material: get(row, "material")?,
        gallons: get(row, "gallons")?,
        weight: get::<Option<i64>>(row, "weight")?.map(Weight::hundredths_of_an_ounce),
        measured_on: date(row, "measured_on")?,
    })
}

fn read_walk(row: &Row<'_>) -> Result<SpreaderWalk> {
    Ok(SpreaderWalk {
        id: get(row, "id")?,
        spreader: get(row, "spreader")?,
        material: get(row, "material")?,
        setting: get(row, "setting")?,
        day: day(row)?,
        walk: json(row, "walk")?,
        note: get(row, "note")?,
    })
}

impl Book {
    /// Sets the bucket of a material, or the one for everything else, in place of an earlier one.
    ///
    /// # Errors
    /// A bucket that nobody carries, or a weight that cannot be.
    pub fn set_bucket(&mut self, bucket: &Bucket) -> Result<()> {
        if !(0.25..=20.0).contains(&bucket.gallons) {
            return Err(Error::invalid("A bucket", "from 0.25 to 20 gallons"));
        }
        let material = valid::name_or_empty("The material", &bucket.material)?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("material", material.clone().into()),
            ("gallons", bucket.gallons.into()),
            (
                "weight",
                match bucket.weight {
                    Some(w) => weight("A full bucket", w, false)?,
                    None => Sql::Null,
                },
            ),
            (
                "measured_on",
                bucket.measured_on.map(|d| d.to_string()).into(),
            ),
        ];
        let sql = "SELECT id FROM bucket WHERE material = ?1";
        let known = self.first(sql, [&material], |row| get::<Id>(row, "id"))?;
        self.change("Set the crew’s bucket", |book| match known {
            Some(id) => book.update(Table::Bucket, id, &fields),
            None => book.insert(Table::Bucket, &fields).map(|_| ()),
        })
    }

    /// Forgets what was set for a material, or the crew’s own size where `material` is empty.
    ///
    /// # Errors
    /// Nothing is set for it.
    pub fn forget_bucket(&mut self, material: &str) -> Result<()> {
        let sql = "SELECT id FROM bucket WHERE material = ?1";
        let id = self
            .first(sql, [material], |row| get::<Id>(row, "id"))?
            .ok_or_else(|| Error::invalid("A bucket to forget", "one that was set"))?;
        self.change("Forgot a bucket", |book| book.delete(Table::Bucket, id))
    }

    /// Every bucket, the one for everything else first.
    pub fn buckets(&self) -> Result<Vec<Bucket>> {
        self.list("SELECT * FROM bucket ORDER BY material", [], read_bucket)
    }

    /// Remembers a walk and gives its number. One that has a number already takes its own place.
    ///
    /// # Errors
    /// A name that cannot be, or no walk with that number.
    pub fn keep_walk(&mut self, walk: &SpreaderWalk) -> Result<Id> {
        let spreader = valid::name("The spreader", &walk.spreader)?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("spreader", spreader.clone().into()),
            (
                "material",
                valid::name("The material", &walk.material)?.into(),
            ),
            (
                "setting",
                valid::name_or_empty("The setting", &walk.setting)?.into(),
            ),
            ("day", walk.day.to_string().into()),
            ("walk", to_json(&walk.walk)?.into()),
            ("note", valid::note("The note", &walk.note)?.into()),
        ];
        if walk.id == 0 {
            return self.change(&format!("Remembered a walk with {spreader}"), |book| {
                book.insert(Table::Walk, &fields)
            });
        }
        self.walk(walk.id)?;
        self.change(&format!("Corrected a walk with {spreader}"), |book| {
            book.update(Table::Walk, walk.id, &fields)
        })?;
        Ok(walk.id)
    }

    pub fn walk(&self, id: Id) -> Result<SpreaderWalk> {
        self.first("SELECT * FROM spreader_walk WHERE id = ?1", [id], read_walk)?
            .ok_or_else(|| Error::not_found("walk with number", id))
    }

    /// Forgets a walk; undo brings it back.
    ///
    /// # Errors
    /// No such walk.
    pub fn forget_walk(&mut self, id: Id) -> Result<()> {
        let spreader = self.walk(id)?.spreader;
        self.change(&format!("Forgot a walk with {spreader}"), |book| {
            book.delete(Table::Walk, id)
        })
    }

    /// Every walk, newest first.
    pub fn walks(&self) -> Result<Vec<SpreaderWalk>> {
        let sql = "SELECT * FROM spreader_walk ORDER BY day DESC, id DESC";
        self.list(sql, [], read_walk)
    }
}
