//! An invented year of soil temperatures.

use super::NitrogenError;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Raw {
    week_of_year: u32,
    soil_c: f64,
    source: String,
    evidence: String,
}

type Year = (Vec<f64>, Source);

fn load_year() -> Result<Year, TableError> {
    let name = "nitrogen/soil_temperature.csv";
    let text = include_str!("../../../../reference/nitrogen/soil_temperature.csv");
    let bad = |row: usize, problem: &str| TableError {
        table: name.to_owned(),
        row,
        problem: problem.to_owned(),
    };
    let mut temps = Vec::new();
    let mut source = None;
    for (i, r) in table::rows::<Raw>(name, text)?.into_iter().enumerate() {
        if r.week_of_year as usize != i + 1 || !(-30.0..=45.0).contains(&r.soil_c) {
            return Err(bad(
                i + 2,
                "the weeks run from 1 to 52, with a temperature each",
            ));
        }
        temps.push(r.soil_c);
        source = Some(table::source(name, i + 2, &r.source, &r.evidence)?);
    }
    match source {
        Some(source) if temps.len() == 52 => Ok((temps, source)),
        _ => Err(bad(
            1,
            "the weeks run from 1 to 52, with a temperature each",
        )),
    }
}

pub(super) fn load() -> Result<(), TableError> {
    load_year().map(|_| ())
}

/// The 52 weeks of the invented farm.
fn stand_in() -> Result<&'static Year, NitrogenError> {
    static YEAR: OnceLock<Option<Year>> = OnceLock::new();
    YEAR.get_or_init(|| load_year().ok())
        .as_ref()
        .ok_or(NitrogenError::Table("soil temperatures"))
}

/// Soil temperatures of an invented cool temperate farm, °C, from a week of the year (1 to 52) on: to
/// start from where the grower has none.
///
/// # Errors
/// The reference table cannot be read, or a week that cannot be.
pub fn stand_in_soil_c(
    week_of_year: u32,
    count: usize,
) -> Result<(Vec<f64>, Source), NitrogenError> {
    let (all, source) = stand_in()?;
    if !(1..=52).contains(&week_of_year) {
        return Err(NitrogenError::BadValue(
            week_of_year.to_string(),
            "week of the year, which is 1 to 52",
        ));
    }
    let from = week_of_year as usize - 1;
    let temps = (0..count.min(156))
        .filter_map(|n| all.get((from + n) % 52).copied())
        .collect();
    Ok((temps, source.clone()))
}
