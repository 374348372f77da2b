use crate::change::Table;
use crate::row::{get, to_word, word};
use crate::{Book, Error, Id, Result};
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Where a temperature was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SoilPlace {
    /// Under the sky
    Open,
    /// In a tunnel
    Cover,
}

impl SoilPlace {
    pub const ALL: [Self; 2] = [Self::Open, Self::Cover];

    pub fn key(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Cover => "cover",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Open => "open ground",
            Self::Cover => "tunnels",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.key() == key)
    }
}

/// When a temperature holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SoilTime {
    /// A week of every year, 1 to 52
    Week(u32),
    /// The day on which it was taken
    Day(Date),
}

impl SoilTime {
    /// As it is kept and exported: `2027-03-15` or `w12`.
    pub fn key(self) -> String {
        match self {
            Self::Week(week) => format!("w{week}"),
            Self::Day(day) => day.to_string(),
        }
    }

    fn from_key(key: &str) -> Option<Self> {
        match key.strip_prefix('w') {
            Some(week) => week.parse().ok().map(Self::Week),
            None => key.parse().ok().map(Self::Day),
        }
    }
}

/// What soil can have, °C; beyond is a slip of the keyboard.
const SOIL_C: std::ops::RangeInclusive<f64> = -30.0..=45.0;

/// More than a reading a day for ten years is no list that somebody typed.
const MOST: usize = 4_000;

fn read(row: &Row<'_>) -> Result<(SoilPlace, SoilTime, f64)> {
    let at: String = get(row, "at")?;
    Ok((
        word(&get::<String>(row, "place")?, "soil_temperature.place")?,
        SoilTime::from_key(&at)
            .ok_or_else(|| Error::Damaged(format!("“{at}” is not known in soil_temperature.at")))?,
        get(row, "celsius")?,
    ))
}

fn checked(time: SoilTime, celsius: f64) -> Result<()> {
    if let SoilTime::Week(week) = time
        && !(1..=52).contains(&week)
    {
        return Err(Error::invalid("The week", "from 1 to 52"));
    }
    if !SOIL_C.contains(&celsius) {
        return Err(Error::invalid(
            "The temperature of the soil",
            "from -30 to 45 °C (-22 to 113 °F)",
        ));
    }
    Ok(())
}

impl Book {
    /// Sets the temperatures of a place, °C, in the stead of all that there were. One change.
    ///
    /// # Errors
    /// A week or temperature that cannot be, or too many.
    pub fn set_soil_temperatures(
        &mut self,
        place: SoilPlace,
        set: &BTreeMap<SoilTime, f64>,
    ) -> Result<()> {
        if set.len() > MOST {
            return Err(Error::invalid(
                "The list of temperatures",
                format!("at most {MOST} lines long"),
            ));
        }
        for (time, celsius) in set {
            checked(*time, *celsius)?;
        }
        let held = self.soil_temperatures(place)?;
        if held == *set {
            return Ok(());
        }
        let place_key = to_word(&place)?;
        let what = format!("Set the temperatures of the soil of {}", place.name());
        self.change(&what, |book| {
            for time in held.keys().filter(|t| !set.contains_key(t)) {
                if let Some(id) = book.soil_row(place, *time)? {
                    book.delete(Table::SoilTemperature, id)?;
                }
            }
            for (time, celsius) in set.iter().filter(|(t, c)| held.get(t) != Some(c)) {
                let fields: Vec<(&'static str, Sql)> = vec![
                    ("place", place_key.clone().into()),
                    ("at", time.key().into()),
                    ("celsius", (*celsius).into()),
                ];
                match book.soil_row(place, *time)? {
                    Some(id) => book.update(Table::SoilTemperature, id, &fields)?,
                    None => book.insert(Table::SoilTemperature, &fields).map(|_| ())?,
                }
            }
            Ok(())
        })
    }

    fn soil_row(&self, place: SoilPlace, time: SoilTime) -> Result<Option<Id>> {
        let sql = "SELECT id FROM soil_temperature WHERE place = ?1 AND at = ?2";
        self.first(sql, [place.key(), &time.key()], |row| get(row, "id"))
    }

    /// The temperatures of a place, °C; weeks of every year first, then days.
    pub fn soil_temperatures(&self, place: SoilPlace) -> Result<BTreeMap<SoilTime, f64>> {
        let sql = "SELECT * FROM soil_temperature WHERE place = ?1";
        let all = self.list(sql, [place.key()], read)?;
        Ok(all.into_iter().map(|(_, time, c)| (time, c)).collect())
    }
}
