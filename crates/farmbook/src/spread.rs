use crate::change::Table;
use crate::mark::{day, day_at, mark, new_mark, same_entry, standing, weight, weight_of};
use crate::row::{get, to_json, to_word};
use crate::{Book, Entries, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// What an entry is called in a sentence.
const NAME: &str = "entry of spreading with number";

/// How what was done compares with what was planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Done {
    #[default]
    AsPlanned,
    /// A part of it; the rest is still to do.
    Partly,
    /// In its place, in another amount or another way; nothing of it is left to do.
    Differently,
    /// Beside the plan.
    Extra,
}

impl Done {
    pub const ALL: [Self; 4] = [
        Self::AsPlanned,
        Self::Partly,
        Self::Differently,
        Self::Extra,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::AsPlanned => "as_planned",
            Self::Partly => "partly",
            Self::Differently => "differently",
            Self::Extra => "extra",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::AsPlanned => "as planned",
            Self::Partly => "a part of it",
            Self::Differently => "differently",
            Self::Extra => "beside the plan",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.key() == key)
    }
}

/// What was really spread: one material on one block on one day, from one lot.
///
/// Entries are never overwritten. One that `corrects` another takes its place, and both are kept; a
/// correction of no weight takes the other back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// Zero before it is in the book.
    pub id: Id,
    /// UUID made by whoever writes the entry; the same entry sent twice is one.
    pub mark: String,
    /// When it was written down, RFC 3339; set by the book.
    pub at: String,
    /// The crop year it is for.
    pub season: i64,
    pub day: Date,
    pub block: Id,
    /// Which beds, in words; empty for the whole block.
    pub beds: String,
    /// Key of the material table.
    pub material: String,
    /// On all of the ground it went on.
    pub weight: Weight,
    /// As printed on the bag; empty where there is none.
    pub lot: String,
    /// Key of the pass; empty where it belongs to none.
    pub pass: String,
    /// The plan whose job it was.
    pub plan: Option<Id>,
    pub how: Done,
    pub person: String,
    /// In words.
    pub weather: String,
    pub spreader: String,
    pub note: String,
    /// Number of the entry whose place it takes.
    pub corrects: Option<Id>,
}

impl Spread {
    /// An entry with a new mark and nothing beside what has to be.
    pub fn new(
        season: i64,
        day: Date,
        block: Id,
        material: impl Into<String>,
        weight: Weight,
    ) -> Self {
        Self {
            id: 0,
            mark: new_mark(),
            at: String::new(),
            season,
            day,
            block,
            beds: String::new(),
            material: material.into(),
            weight,
            lot: String::new(),
            pass: String::new(),
            plan: None,
            how: Done::default(),
            person: String::new(),
            weather: String::new(),
            spreader: String::new(),
            note: String::new(),
            corrects: None,
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::season(self.season)?;
        let text = valid::name_or_empty;
        Ok(vec![
            ("mark", mark(&self.mark)?.into()),
            ("season", self.season.into()),
            ("day", self.day.to_string().into()),
            ("block_id", self.block.into()),
            ("beds", text("The beds", &self.beds)?.into()),
            (
                "material",
                valid::name("The material", &self.material)?.into(),
            ),
            (
                "weight",
                weight(
                    "The weight that was spread",
                    self.weight,
                    self.corrects.is_some(),
                )?,
            ),
            ("lot", text("The lot", &self.lot)?.into()),
            ("pass", text("The pass", &self.pass)?.into()),
            ("plan_id", self.plan.into()),
            ("how", to_word(&self.how)?.into()),
            ("person", text("The person’s name", &self.person)?.into()),
            ("weather", text("The weather", &self.weather)?.into()),
            ("spreader", text("The spreader", &self.spreader)?.into()),
            ("note", valid::note("The note", &self.note)?.into()),
            ("corrects", self.corrects.into()),
        ])
    }

    /// Whether it only takes another entry back.
    pub fn takes_back(&self) -> bool {
        self.weight.is_zero()
    }
}

/// What went on from one lot on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// Key of the material table.
    pub material: String,
    /// As printed on the bag; empty for what is in no lot.
    pub lot: String,
    pub day: Date,
    pub weight: Weight,
}

/// The entry that took another’s place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    pub by: Id,
    /// It only takes the other back.
    pub takes_back: bool,
    /// When it was written down, RFC 3339.
    pub at: String,
    /// Why, in words; may be empty.
    pub note: String,
}

/// The columns in the order in which [`read`] takes them.
macro_rules! select {
    ($rest:expr) => {
        concat!(
            "SELECT id, mark, at, season, day, block_id, beds, material, weight, lot, pass, plan_id,
             how, person, weather, spreader, note, corrects FROM spread ",
            $rest
        )
    };
}

fn read(row: &Row<'_>) -> Result<Spread> {
    let how: String = get(row, 12)?;
    Ok(Spread {
        id: get(row, 0)?,
        mark: get(row, 1)?,
        at: get(row, 2)?,
        season: get(row, 3)?,
        day: day_at(row, 4)?,
        block: get(row, 5)?,
        beds: get(row, 6)?,
        material: get(row, 7)?,
        weight: weight_of(row, 8)?,
        lot: get(row, 9)?,
        pass: get(row, 10)?,
        plan: get(row, 11)?,
        how: Done::from_key(&how)
            .ok_or_else(|| Error::Damaged(format!("“{how}” is not known in spread.how")))?,
        person: get(row, 13)?,
        weather: get(row, 14)?,
        spreader: get(row, 15)?,
        note: get(row, 16)?,
        corrects: get(row, 17)?,
    })
}

impl Book {
    /// Writes down what was spread and gives the number of the entry. One whose mark is in the book
    /// already is not written again: the number of the first is given.
    ///
    /// # Errors
    /// The mark stands on another entry; no such block, plan or entry to correct; a value that cannot be.
    pub fn log_spread(&mut self, spread: &Spread) -> Result<Id> {
        let fields = spread.fields()?;
        let block = self.block(spread.block)?.name;
        if let Some(id) = self.marked(Table::Spread, &spread.mark)? {
            return same_entry(fields == self.spread(id)?.fields()?, id);
        }
        if let Some(plan) = spread.plan {
            self.plan(plan)?;
        }
        let what = match spread.corrects {
            Some(n) if spread.takes_back() => format!("Took back entry {n} of spreading"),
            Some(n) => format!("Corrected entry {n}: spreading on “{block}”"),
            None => format!("Wrote down spreading on “{block}”"),
        };
        self.write_down(Table::Spread, NAME, &what, fields, spread.corrects)
    }

    pub fn spread(&self, id: Id) -> Result<Spread> {
        self.first(select!("WHERE id = ?1"), [id], read)?
            .ok_or_else(|| Error::not_found(NAME, id))
    }

    /// The entry with a mark.
    ///
    /// # Errors
    /// No UUID.
    pub fn spread_marked(&self, text: &str) -> Result<Option<Spread>> {
        let id = self.marked(Table::Spread, text)?;
        id.map(|id| self.spread(id)).transpose()
    }

    /// Every entry, those corrected included, by day and number.
    pub fn all_spreads(&self) -> Result<Vec<Spread>> {
        self.list(select!("ORDER BY day, id"), [], read)
    }

    /// Every entry for a season, those corrected included, by day and number.
    pub fn all_spreads_in(&self, season: i64) -> Result<Vec<Spread>> {
        let sql = select!("WHERE season = ?1 ORDER BY day, id");
        self.list(sql, [season], read)
    }

    /// Every entry of the days from one to another (both included), those corrected included, by day and
    /// number.
    pub fn all_spreads_between(&self, first: Date, last: Date) -> Result<Vec<Spread>> {
        let sql = select!("WHERE day BETWEEN ?1 AND ?2 ORDER BY day, id");
        self.list(sql, [first.to_string(), last.to_string()], read)
    }

    /// By which entry each corrected one was corrected, and whether that one only takes it back.
    pub fn spread_corrections(&self) -> Result<HashMap<Id, Correction>> {
        let sql = "SELECT corrects, id, weight, at, note FROM spread WHERE corrects IS NOT NULL";
        let all = self.list(sql, [], |row| {
            let by = Correction {
                by: get(row, "id")?,
                takes_back: weight_of(row, "weight")?.is_zero(),
                at: get(row, "at")?,
                note: get(row, "note")?,
            };
            Ok((get(row, "corrects")?, by))
        })?;
        Ok(all.into_iter().collect())
    }

    /// The seasons for which anything was written down, newest first.
    pub fn spread_seasons(&self) -> Result<Vec<i64>> {
        self.seasons_of(Table::Spread)
    }

    /// How many entries stand.
    pub fn spreads_standing(&self) -> Result<Entries> {
        self.entries_of(Table::Spread)
    }

    /// The newest entry by its day.
    pub fn newest_spread(&self) -> Result<Option<Spread>> {
        let sql = select!("ORDER BY day DESC, id DESC LIMIT 1");
        self.first(sql, [], read)
    }

    /// The entry that was written down last.
    pub fn last_spread(&self) -> Result<Option<Spread>> {
        self.first(select!("ORDER BY id DESC LIMIT 1"), [], read)
    }

    /// Who, in which weather and with what spread anything for a season or later: the words that were
    /// written, each set of them once.
    pub fn spread_words(&self, from: i64) -> Result<Vec<[String; 3]>> {
        let sql = "SELECT DISTINCT person, weather, spreader FROM spread WHERE season >= ?1";
        self.list(sql, [from], |row| {
            Ok([get(row, 0)?, get(row, 1)?, get(row, 2)?])
        })
    }

    /// The last day on which each material went on each block by what stands: block, material, day.
    pub fn last_spreads(&self) -> Result<Vec<(Id, String, Date)>> {
        let sql = "SELECT block_id, material, max(day) AS day FROM spread WHERE weight > 0
             AND id NOT IN (SELECT corrects FROM spread WHERE corrects IS NOT NULL)
             GROUP BY block_id, material ORDER BY block_id, material";
        self.list(sql, [], |row| {
            Ok((get(row, "block_id")?, get(row, "material")?, day(row)?))
        })
    }

    /// How much of each material was spread for a season by what stands, without reading the entries.
    pub fn spread_sums(&self, season: i64) -> Result<Vec<(String, Weight)>> {
        let sql = "SELECT material, sum(weight) AS weight FROM spread
             WHERE season = ?1
             AND id NOT IN (SELECT corrects FROM spread WHERE corrects IS NOT NULL)
             GROUP BY material ORDER BY material";
        self.list(sql, [season], |row| {
            Ok((get(row, "material")?, weight_of(row, "weight")?))
        })
    }

    /// How much went on from each lot on each day, in every season, by what stands where the entries of
    /// `without` were never written; without reading the entries.
    pub fn used(&self, without: &[Id]) -> Result<Vec<Used>> {
        let sql = format!(
            "SELECT material, lot, day, sum(weight) AS weight FROM spread WHERE {}
             GROUP BY material, lot, day HAVING sum(weight) > 0 ORDER BY material, lot, day",
            stands("?1")
        );
        self.list(&sql, [to_json(&without)?], |row| {
            Ok(Used {
                material: get(row, "material")?,
                lot: get(row, "lot")?,
                day: day(row)?,
                weight: weight_of(row, "weight")?,
            })
        })
    }

    /// What stands of one block, by day.
    pub fn spreads_of(&self, block: Id) -> Result<Vec<Spread>> {
        let sql = select!(
            "WHERE block_id = ?1 AND weight > 0
             AND id NOT IN (SELECT corrects FROM spread WHERE corrects IS NOT NULL)
             ORDER BY day, id"
        );
        self.list(sql, [block], read)
    }

    /// What stands for a season where the entries of `without` were never written, by day.
    pub fn spreads_in(&self, season: i64, without: &[Id]) -> Result<Vec<Spread>> {
        let sql = format!(
            select!("WHERE season = ?1 AND weight > 0 AND {} ORDER BY day, id"),
            stands("?2")
        );
        self.list(&sql, (season, to_json(&without)?), read)
    }

    /// What stands: the entries that no other corrects and that do not only take one back, by day.
    pub fn spreads(&self) -> Result<Vec<Spread>> {
        let all = standing(self.all_spreads()?, |s| s.id, |s| s.corrects);
        Ok(all.into_iter().filter(|s| !s.takes_back()).collect())
    }
}

/// The condition that an entry stands where those of a list of numbers (JSON, a parameter) were never
/// written.
fn stands(without: &str) -> String {
    let gone = format!("(SELECT value FROM json_each({without}))");
    format!(
        "id NOT IN {gone} AND id NOT IN
         (SELECT corrects FROM spread WHERE corrects IS NOT NULL AND id NOT IN {gone})"
    )
}
