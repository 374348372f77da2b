//! The rate tables that come with the program.

use super::Nutrient;
use crate::dose;
use crate::reading::{Level, Reading};
use crate::soil::Extractant;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A published set of rates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateTable {
    pub id: String,
    pub name: String,
    pub region: String,
    /// Extractant of the P classes; none when the source does not say, and then nothing is read with it.
    pub extractant_p: Option<Extractant>,
    pub extractant_k: Option<Extractant>,
    /// The ids of the category tables whose readings it may be used with.
    pub systems: Vec<String>,
    pub note: String,
    pub rates: Vec<Rate>,
}

/// One rate for one crop, nutrient and class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    pub crop: String,
    pub nutrient: Nutrient,
    /// The source’s own word.
    pub category: String,
    /// The levels of the common scale it stands for; empty when the rate goes by the value itself.
    pub levels: Vec<Level>,
    /// Ends of the step in ppm as printed, both in it; the value is rounded to whole ppm first.
    pub low_ppm: Option<f64>,
    pub high_ppm: Option<f64>,
    /// As printed, in `unit`.
    pub rate: f64,
    pub unit: String,
    pub lb_per_acre: f64,
    pub low_lb_per_acre: Option<f64>,
    pub high_lb_per_acre: Option<f64>,
    pub source: Source,
}

impl Rate {
    /// Whether it goes by the level; else it goes by the value.
    pub(super) fn by_level(&self) -> bool {
        !self.levels.is_empty()
    }

    /// Whether it is the rate for a level and a test of `ppm`.
    pub(super) fn covers(&self, level: Level, ppm: f64) -> bool {
        if self.by_level() {
            return self.levels.contains(&level);
        }
        let value = ppm.round();
        (self.low_ppm.is_some() || self.high_ppm.is_some())
            && self.low_ppm.is_none_or(|l| value >= l)
            && self.high_ppm.is_none_or(|h| value <= h)
    }
}

/// What to do with the crop’s removal at a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rule {
    RemovalAndBuild,
    Removal,
    Nothing,
}

#[derive(Debug, Clone)]
pub(super) struct BuildUp {
    system: String,
    nutrient: Nutrient,
    group: String,
    pub(super) critical_ppm: f64,
    pub(super) lb_per_ppm: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) years: f64,
    pub(super) source: Source,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Reference {
    tables: Vec<RateTable>,
    /// system (`*` for any), levels, rule
    rules: Vec<(String, Vec<Level>, Rule, Source)>,
    pub(super) build_ups: Vec<BuildUp>,
}

impl BuildUp {
    /// Nutrient to put on each year to reach the critical level: `(critical − ppm) × lb per ppm / years`,
    /// lb/acre, not below zero.
    pub(super) fn yearly(&self, ppm: f64, lb_per_ppm: f64) -> f64 {
        (self.critical_ppm - ppm).max(0.0) * lb_per_ppm / self.years
    }
}

impl Reference {
    /// The system’s own rule, else the one for any system.
    pub(super) fn rule(&self, system: &str, level: Level) -> Option<(Rule, &Source)> {
        [system, "*"].into_iter().find_map(|wanted| {
            self.rules
                .iter()
                .find(|(s, levels, _, _)| s == wanted && levels.contains(&level))
                .map(|(_, _, rule, source)| (*rule, source))
        })
    }

    pub(super) fn build_up(
        &self,
        system: &str,
        nutrient: Nutrient,
        group: &str,
    ) -> Option<&BuildUp> {
        self.build_ups
            .iter()
            .find(|b| b.system == system && b.nutrient == nutrient && b.group == group)
    }
}

#[derive(Deserialize)]
struct TableRow {
    id: String,
    name: String,
    region: String,
    extractant_p: String,
    extractant_k: String,
    systems: String,
    note: String,
}

#[derive(Deserialize)]
struct RateRow {
    table: String,
    crop: String,
    nutrient: String,
    category: String,
    levels: String,
    low_ppm: Option<f64>,
    high_ppm: Option<f64>,
    rate: f64,
    rate_low: Option<f64>,
    rate_high: Option<f64>,
    unit: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RuleRow {
    system: String,
    levels: String,
    rule: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct BuildRow {
    system: String,
    nutrient: String,
    group: String,
    critical_ppm: f64,
    lb_per_ppm: f64,
    lb_per_ppm_low: f64,
    lb_per_ppm_high: f64,
    years: f64,
    source: String,
    evidence: String,
}

/// One row’s place, for its error.
struct Place<'a>(&'a str, usize);

impl Place<'_> {
    fn wrong(&self, problem: String) -> TableError {
        TableError {
            table: self.0.to_owned(),
            row: self.1,
            problem,
        }
    }

    fn nutrient(&self, key: &str) -> Result<Nutrient, TableError> {
        Nutrient::from_key(key).ok_or_else(|| self.wrong(format!("“{key}” is not p2o5 or k2o")))
    }

    fn extractant(&self, key: &str) -> Result<Extractant, TableError> {
        Extractant::from_key(key).ok_or_else(|| self.wrong(format!("“{key}” is not an extractant")))
    }

    fn levels(&self, text: &str) -> Result<Vec<Level>, TableError> {
        text.split(';')
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .map(|t| Level::from_key(t).ok_or_else(|| self.wrong(format!("“{t}” is not a level"))))
            .collect()
    }

    fn pounds(&self, value: f64, unit: &str) -> Result<f64, TableError> {
        dose::lb_per_acre(value, unit)
            .filter(|v| v.is_finite() && *v >= 0.0)
            .ok_or_else(|| self.wrong(format!("“{value} {unit}” is not a rate")))
    }
}

fn parse() -> Result<Reference, TableError> {
    let mut all = Reference {
        tables: parse_tables()?,
        ..Reference::default()
    };
    let name = "rates/rates.csv";
    let text = include_str!("../../../../reference/rates/rates.csv");
    for (i, r) in table::rows::<RateRow>(name, text)?.into_iter().enumerate() {
        let at = Place(name, i + 2);
        let rate = Rate {
            nutrient: at.nutrient(&r.nutrient)?,
            levels: at.levels(&r.levels)?,
            low_ppm: r.low_ppm,
            high_ppm: r.high_ppm,
            rate: r.rate,
            lb_per_acre: at.pounds(r.rate, &r.unit)?,
            low_lb_per_acre: r.rate_low.map(|v| at.pounds(v, &r.unit)).transpose()?,
            high_lb_per_acre: r.rate_high.map(|v| at.pounds(v, &r.unit)).transpose()?,
            unit: r.unit,
            crop: r.crop,
            category: r.category,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        };
        all.tables
            .iter_mut()
            .find(|t| t.id == r.table)
            .ok_or_else(|| at.wrong(format!("“{}” is not a rate table", r.table)))?
            .rates
            .push(rate);
    }
    let name = "rates/removal_rules.csv";
    let text = include_str!("../../../../reference/rates/removal_rules.csv");
    for (i, r) in table::rows::<RuleRow>(name, text)?.into_iter().enumerate() {
        let at = Place(name, i + 2);
        let rule = match r.rule.as_str() {
            "removal_and_build" => Rule::RemovalAndBuild,
            "removal" => Rule::Removal,
            "none" => Rule::Nothing,
            other => return Err(at.wrong(format!("“{other}” is not a removal rule"))),
        };
        let source = table::source(name, i + 2, &r.source, &r.evidence)?;
        all.rules
            .push((r.system, at.levels(&r.levels)?, rule, source));
    }
    let name = "rates/build_up.csv";
    let text = include_str!("../../../../reference/rates/build_up.csv");
    for (i, r) in table::rows::<BuildRow>(name, text)?.into_iter().enumerate() {
        let at = Place(name, i + 2);
        if !(r.years.is_finite() && r.years > 0.0) {
            return Err(at.wrong("years must be above zero".to_owned()));
        }
        all.build_ups.push(BuildUp {
            nutrient: at.nutrient(&r.nutrient)?,
            system: r.system,
            group: r.group,
            critical_ppm: r.critical_ppm,
            lb_per_ppm: r.lb_per_ppm,
            low: r.lb_per_ppm_low,
            high: r.lb_per_ppm_high,
            years: r.years,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    Ok(all)
}

fn parse_tables() -> Result<Vec<RateTable>, TableError> {
    let name = "rates/tables.csv";
    let text = include_str!("../../../../reference/rates/tables.csv");
    table::rows::<TableRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let at = Place(name, i + 2);
            let extractant = |key: &str| {
                if key.is_empty() {
                    Ok(None)
                } else {
                    at.extractant(key).map(Some)
                }
            };
            Ok(RateTable {
                extractant_p: extractant(&r.extractant_p)?,
                extractant_k: extractant(&r.extractant_k)?,
                systems: r
                    .systems
                    .split(';')
                    .filter(|s| !s.is_empty())
                    .map(str::to_owned)
                    .collect(),
                id: r.id,
                name: r.name,
                region: r.region,
                note: r.note,
                rates: Vec::new(),
            })
        })
        .collect()
}

/// Parses every rate table that comes with the program; for tests and the build’s own check.
pub fn load() -> Result<Vec<RateTable>, TableError> {
    parse().map(|r| r.tables)
}

/// The shipped tables; empty if they cannot be parsed, which a test rules out.
pub(super) fn reference() -> &'static Reference {
    static REFERENCE: OnceLock<Reference> = OnceLock::new();
    REFERENCE.get_or_init(|| parse().unwrap_or_default())
}

/// The rate tables that come with the program.
pub fn tables() -> &'static [RateTable] {
    &reference().tables
}

/// A table’s rate for a class that is already known, e.g. one the lab printed as a word.
pub fn rate_at<'a>(
    table_id: &str,
    crop_key: &str,
    nutrient: Nutrient,
    level: Level,
) -> Option<&'a Rate> {
    tables()
        .iter()
        .find(|t| t.id == table_id)?
        .rates
        .iter()
        .find(|r| r.crop == crop_key && r.nutrient == nutrient && r.levels.contains(&level))
}

/// The first table that may be used with the reading and has the crop at its level.
pub(super) fn find(
    nutrient: Nutrient,
    reading: &Reading,
    crop_key: &str,
) -> Option<(&'static RateTable, &'static Rate)> {
    candidates(nutrient, &reading.system, reading.extractant, crop_key)
        .find(|(_, rate)| rate.covers(reading.level, reading.value))
}

/// Every rate of the crop in the tables that may be used with a system’s readings, best first.
pub(super) fn candidates(
    nutrient: Nutrient,
    system: &str,
    extractant: Extractant,
    crop_key: &str,
) -> impl Iterator<Item = (&'static RateTable, &'static Rate)> {
    tables()
        .iter()
        .filter(move |t| {
            let of_table = match nutrient {
                Nutrient::P2o5 => t.extractant_p,
                Nutrient::K2o => t.extractant_k,
            };
            t.systems.iter().any(|s| s == system) && of_table == Some(extractant)
        })
        .flat_map(move |t| {
            t.rates
                .iter()
                .filter(move |r| r.crop == crop_key && r.nutrient == nutrient)
                .map(move |r| (t, r))
        })
}
