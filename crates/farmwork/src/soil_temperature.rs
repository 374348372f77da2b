//! The soil’s temperature as the grower knows it: what was typed, and how warm it is in the week of a day.

use crate::Result;
use crate::season::week_of;
use agronomy::nitrogen::{self, NitrogenError};
use agronomy::working::{Evidence, Source};
use farmbook::{BlockKind, Book, SoilPlace, SoilTime};
use jiff::ToSpan;
use jiff::civil::Date;
use quantity::plain;
use std::collections::BTreeMap;

/// The unit of temperatures without one of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Degrees {
    #[default]
    Fahrenheit,
    Celsius,
}

impl Degrees {
    pub fn key(self) -> &'static str {
        match self {
            Self::Fahrenheit => "f",
            Self::Celsius => "c",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        [Self::Fahrenheit, Self::Celsius]
            .into_iter()
            .find(|d| d.key() == key)
    }

    fn to_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }

    fn of_celsius(self, celsius: f64) -> f64 {
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => fahrenheit(celsius),
        }
    }
}

fn fahrenheit(celsius: f64) -> f64 {
    celsius.mul_add(1.8, 32.0)
}

/// `50 °F (10 °C)`
pub fn shown(celsius: f64) -> String {
    format!(
        "{} °F ({} °C)",
        plain((fahrenheit(celsius) * 10.0).round() / 10.0, 4),
        plain((celsius * 10.0).round() / 10.0, 4)
    )
}

/// A list as it was typed or pasted: a line for each day or week of the year and its temperature.
///
/// # Errors
/// A sentence that names the line.
pub fn typed(
    text: &str,
    degrees: Degrees,
    today: Date,
) -> std::result::Result<BTreeMap<SoilTime, f64>, String> {
    let mut all = BTreeMap::new();
    for (i, line) in text.lines().enumerate() {
        let words: Vec<&str> = line
            .split([' ', '\t', ',', ';', ':', '='])
            .filter(|w| !w.is_empty() && !w.eq_ignore_ascii_case("week"))
            .collect();
        let at = i + 1;
        let [when, value @ ..] = words.as_slice() else {
            continue;
        };
        let time = time(when)
            .ok_or_else(|| format!("Line {at}: found “{when}”, expected a day such as 2027-03-15 or a week of the year from 1 to 52."))?;
        if let SoilTime::Day(day) = time
            && day > today
        {
            return Err(format!(
                "Line {at}: {day} is still to come; what you expect is given by the week of the year."
            ));
        }
        let celsius = temperature(value, degrees).ok_or_else(|| {
            format!(
                "Line {at}: found “{}”, expected a temperature of the soil such as 54 °F or 12 °C.",
                value.join(" ")
            )
        })?;
        if all.insert(time, celsius).is_some() {
            return Err(format!("Line {at}: {when} stands twice."));
        }
    }
    Ok(all)
}

fn time(word: &str) -> Option<SoilTime> {
    let week = word.trim_start_matches(['w', 'W']);
    match week.parse::<u32>() {
        Ok(week) => (1..=52).contains(&week).then_some(SoilTime::Week(week)),
        Err(_) => word.parse().ok().map(SoilTime::Day),
    }
}

/// The value with its own unit, in one word or two, else in the unit of the list.
fn temperature(words: &[&str], degrees: Degrees) -> Option<f64> {
    let text = words.concat().replace(['°', 'º'], "").replace('−', "-");
    let (number, degrees) = match text.chars().last()? {
        'F' | 'f' => (&text[..text.len() - 1], Degrees::Fahrenheit),
        'C' | 'c' => (&text[..text.len() - 1], Degrees::Celsius),
        _ => (text.as_str(), degrees),
    };
    let value: f64 = number.parse().ok()?;
    let celsius = degrees.to_celsius(value);
    (-30.0..=45.0).contains(&celsius).then_some(celsius)
}

/// The list as it is typed.
pub fn listed(all: &BTreeMap<SoilTime, f64>, degrees: Degrees) -> String {
    all.iter()
        .map(|(time, celsius)| {
            let when = match time {
                SoilTime::Week(week) => format!("week {week}"),
                SoilTime::Day(day) => day.to_string(),
            };
            format!("{when} {}\n", plain(degrees.of_celsius(*celsius), 6))
        })
        .collect()
}

/// How warm the soil is in the week of a day, and how that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub celsius: f64,
    pub how: How,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Taken in that very week
    Measured,
    /// Given for that week of every year
    Given,
    /// Taken in that week of other years
    OtherYears,
}

impl How {
    pub fn words(self) -> &'static str {
        match self {
            Self::Measured => "as you measured it",
            Self::Given => "as you gave it for that week of the year",
            Self::OtherYears => "as you measured it in that week of other years",
        }
    }
}

/// A sum and a count, for means.
type Sum = (f64, f64);

fn mean((sum, count): Sum) -> f64 {
    sum / count
}

/// The temperatures of one place.
#[derive(Debug, Clone, Default)]
pub struct SoilYear {
    measured: BTreeMap<(i16, u32), Sum>,
    given: BTreeMap<u32, f64>,
    other_years: BTreeMap<u32, Sum>,
}

impl SoilYear {
    pub fn new(all: &BTreeMap<SoilTime, f64>) -> Self {
        let mut year = Self::default();
        for (time, celsius) in all {
            match time {
                SoilTime::Week(week) => {
                    year.given.insert(*week, *celsius);
                }
                SoilTime::Day(day) => {
                    let week = week_of(*day);
                    for sum in [
                        year.measured.entry((day.year(), week)).or_default(),
                        year.other_years.entry(week).or_default(),
                    ] {
                        sum.0 += celsius;
                        sum.1 += 1.0;
                    }
                }
            }
        }
        year
    }

    /// How warm the soil is in the week of a day; none where nothing is known of it.
    pub fn at(&self, day: Date) -> Option<Known> {
        let week = week_of(day);
        let known = |celsius, how| Known { celsius, how };
        let measured = self.measured.get(&(day.year(), week));
        measured
            .map(|sum| known(mean(*sum), How::Measured))
            .or_else(|| Some(known(*self.given.get(&week)?, How::Given)))
            .or_else(|| Some(known(mean(*self.other_years.get(&week)?), How::OtherYears)))
    }

    pub fn is_empty(&self) -> bool {
        self.given.is_empty() && self.other_years.is_empty()
    }

    /// So many weeks from a day on, °C, with an invented year where the grower knows nothing.
    ///
    /// # Errors
    /// The invented year cannot be read.
    pub(crate) fn weeks(
        &self,
        from: Date,
        count: usize,
    ) -> std::result::Result<(Vec<f64>, Source), NitrogenError> {
        let (mut all, invented) = nitrogen::stand_in_soil_c(week_of(from), count)?;
        let mut own = 0;
        for (n, celsius) in all.iter_mut().enumerate() {
            let day = from.checked_add((n as i64 * 7).days()).ok();
            if let Some(known) = day.and_then(|day| self.at(day)) {
                *celsius = known.celsius;
                own += 1;
            }
        }
        let source = match own {
            0 => invented,
            n if n == all.len() => Source::new("your own soil temperatures", Evidence::Local),
            n => Source::new(
                format!(
                    "your own soil temperatures for {n} of {} weeks; the others {}",
                    all.len(),
                    invented.text
                ),
                invented.evidence,
            ),
        };
        Ok((all, source))
    }
}

/// The temperatures of the farm’s soil.
#[derive(Debug, Clone, Default)]
pub struct SoilTemperatures {
    open: SoilYear,
    cover: SoilYear,
}

impl SoilTemperatures {
    pub fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            open: SoilYear::new(&book.soil_temperatures(SoilPlace::Open)?),
            cover: SoilYear::new(&book.soil_temperatures(SoilPlace::Cover)?),
        })
    }

    /// Those of a block: of tunnels or of open ground.
    pub fn on(&self, kind: BlockKind) -> &SoilYear {
        match kind {
            BlockKind::Tunnel => &self.cover,
            _ => &self.open,
        }
    }
}
