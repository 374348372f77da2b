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

    /// Every bucket, the one for everything else first.
    pub fn buckets(&self) -> Result<Vec<Bucket>> {
        self.list("SELECT * FROM bucket ORDER BY material", [], read_bucket)
    }

    /// Remembers a walk and gives its number.
    ///
    /// # Errors
    /// A name that cannot be.
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
        self.change(&format!("Remembered a walk with {spreader}"), |book| {
            book.insert(Table::Walk, &fields)
        })
    }

    /// Every walk, newest first.
    pub fn walks(&self) -> Result<Vec<SpreaderWalk>> {
        let sql = "SELECT * FROM spreader_walk ORDER BY day DESC, id DESC";
        self.list(sql, [], read_walk)
    }
}
