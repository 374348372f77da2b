//! What a crop needs of phosphorus and potassium, as P2O5 and K2O.
//!
//! In this order: the rate the lab printed; a published table for the extractant, the region and the
//! crop; what the crop carries off, held or built up by the level of the test. Nothing to go by is
//! an error with a sentence, never a silent zero.

mod balance;
mod overshoot;
mod quick;
mod starter;
mod tables;
mod test_change;
mod threshold;

pub use balance::{BalanceError, halving, test_change, to_raise, years_to_draw_down};
pub use overshoot::{Overshoot, most_within, overshoot, surplus};
pub use quick::{Found, Quick, QuickNeed};
pub use starter::starter_share;
pub use tables::{Rate, RateTable, load, rate_at, tables};
pub use test_change::{DrawDown, TestChange, load_balance, test_changes};
pub use threshold::{Threshold, load_thresholds, p_threshold, thresholds};

use crate::reading::Reading;
use crate::soil::{Analyte, Recommendable, Recommended};
use crate::working::{Evidence, Figure, Source, Step};
use quantity::plain;
use serde::{Deserialize, Serialize};
use tables::{Rule, reference};
use thiserror::Error;

/// The nutrient in the form rates are given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Nutrient {
    P2o5,
    K2o,
}

impl Nutrient {
    pub const ALL: [Self; 2] = [Self::P2o5, Self::K2o];

    pub fn key(self) -> &'static str {
        match self {
            Self::P2o5 => "p2o5",
            Self::K2o => "k2o",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|n| n.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::P2o5 => "P2O5",
            Self::K2o => "K2O",
        }
    }

    /// What the lab measures for it.
    pub fn analyte(self) -> Analyte {
        match self {
            Self::P2o5 => Analyte::P,
            Self::K2o => Analyte::K,
        }
    }

    fn recommendable(self) -> Recommendable {
        match self {
            Self::P2o5 => Recommendable::P2o5,
            Self::K2o => Recommendable::K2o,
        }
    }
}

/// What a rate rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Printed on the lab’s report.
    Lab,
    /// A published table, by its id.
    Table(String),
    /// The crop’s removal, by the level of the test.
    Removal,
}

/// What the crop needs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Need {
    pub nutrient: Nutrient,
    /// lb of P2O5 or K2O per acre
    pub figure: Figure,
    pub basis: Basis,
    /// The part of it that builds the soil up to the critical level, lb per acre; none where the rate does
    /// not rest on one.
    pub build_up: Option<f64>,
    /// The test is above optimum: nothing more of this nutrient should go on than cannot be helped.
    pub held_down: bool,
}

/// The highest published level that a phosphorus test passes and above which no phosphate is asked for, in
/// words; levels that are only recalled are left out.
pub fn passed_threshold(reading: &Reading) -> Option<(&'static str, &'static Source)> {
    threshold::passed(reading)
}

/// Why there is no rate.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum NoNeed {
    #[error("A reading of {found} cannot set the rate of {wanted}.")]
    WrongReading {
        found: &'static str,
        wanted: &'static str,
    },
    #[error("{0} is not a usable rate of {1} in lb per acre.")]
    BadValue(String, &'static str),
    #[error("There is no rate of {0}: the lab printed none and no soil test could be read for it.")]
    NoReading(&'static str),
    #[error(
        "There is no rate of {nutrient} for {crop}: the lab printed none, no table here covers the crop with this soil test, and what the crop carries off is not known."
    )]
    NoTable {
        nutrient: &'static str,
        crop: String,
    },
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

/// The need of one nutrient, lb of P2O5 or K2O per acre.
///
/// `removal`: what the expected harvest carries off, lb per acre, with its source.
pub fn need(
    nutrient: Nutrient,
    reading: Option<&Reading>,
    crop_key: &str,
    printed: Option<&Recommended>,
    removal: Option<(f64, Source)>,
) -> Result<Need, NoNeed> {
    if let Some(reading) = reading
        && reading.analyte != nutrient.analyte()
    {
        return Err(NoNeed::WrongReading {
            found: reading.analyte.name(),
            wanted: nutrient.name(),
        });
    }
    let held_down = reading.is_some_and(|r| r.level.above_optimum());
    let mut figure = Figure::new(format!("{} for the crop", nutrient.name()));
    if let Some(printed) = printed.filter(|p| p.nutrient == nutrient.recommendable()) {
        from_lab(&mut figure, nutrient, printed)?;
        return Ok(finish(nutrient, figure, Basis::Lab, reading, held_down));
    }
    let reading = reading.ok_or(NoNeed::NoReading(nutrient.name()))?;
    figure
        .working
        .extend(reading.figure.working.iter().cloned());
    figure
        .cautions
        .extend(reading.figure.cautions.iter().cloned());
    if let Some((table, rate)) = tables::find(nutrient, reading, crop_key) {
        from_table(&mut figure, table, rate);
        let basis = Basis::Table(table.id.clone());
        return Ok(finish(nutrient, figure, basis, Some(reading), held_down));
    }
    let (rule, rule_source) = reference()
        .rule(&reading.system, reading.level)
        .ok_or(NoNeed::Table("removal rules"))?;
    if rule == Rule::Nothing {
        figure.step(
            format!(
                "The test is {}: the crop lives on what is there.",
                reading.level.name()
            ),
            0.0,
            "lb/acre",
            format!("{}: none", reading.level.name()),
            rule_source.clone(),
        );
        return Ok(finish(
            nutrient,
            figure,
            Basis::Removal,
            Some(reading),
            held_down,
        ));
    }
    let (removal, source) = removal.ok_or_else(|| NoNeed::NoTable {
        nutrient: nutrient.name(),
        crop: crop_key.replace('_', " "),
    })?;
    if !(removal.is_finite() && removal >= 0.0) {
        return Err(NoNeed::BadValue(removal.to_string(), nutrient.name()));
    }
    let build_up = from_removal(
        &mut figure,
        nutrient,
        reading,
        (rule, rule_source),
        (removal, source),
    );
    Ok(Need {
        build_up,
        ..finish(nutrient, figure, Basis::Removal, Some(reading), held_down)
    })
}

/// Whether a rate for this reading would hold a part that builds the soil up, where no table of rates
/// covers the crop.
pub fn builds_up(nutrient: Nutrient, reading: &Reading) -> bool {
    let builds = reference()
        .rule(&reading.system, reading.level)
        .is_some_and(|(rule, _)| rule == Rule::RemovalAndBuild);
    builds
        && reference()
            .build_up(&reading.system, nutrient, &reading.group)
            .is_some()
}

fn from_lab(figure: &mut Figure, nutrient: Nutrient, printed: &Recommended) -> Result<(), NoNeed> {
    if !(printed.lb_per_acre.is_finite() && printed.lb_per_acre >= 0.0) {
        return Err(NoNeed::BadValue(
            printed.lb_per_acre.to_string(),
            nutrient.name(),
        ));
    }
    figure.step(
        "the rate the lab printed",
        printed.lb_per_acre,
        "lb/acre",
        format!("{} {}", printed.printed, printed.printed_unit)
            .trim()
            .to_owned(),
        Source::stated("the lab’s report"),
    );
    Ok(())
}

fn from_table(figure: &mut Figure, table: &RateTable, rate: &Rate) {
    if rate.unit == "lb/acre" {
        figure.step(
            format!("{}: {}", table.name, rate.category),
            rate.lb_per_acre,
            "lb/acre",
            plain(rate.rate, 4),
            rate.source.clone(),
        );
    } else {
        figure.step(
            format!("{}: {}", table.name, rate.category),
            rate.rate,
            rate.unit.clone(),
            plain(rate.rate, 4),
            rate.source.clone(),
        );
        figure.step(
            "in pounds per acre",
            rate.lb_per_acre,
            "lb/acre",
            format!("{} {}", plain(rate.rate, 4), rate.unit),
            Source::arithmetic(),
        );
    }
    (figure.low, figure.high) = (rate.low_lb_per_acre, rate.high_lb_per_acre);
    if !table.note.is_empty() {
        figure.caution(table.note.clone(), rate.source.clone());
    }
}

fn from_removal(
    figure: &mut Figure,
    nutrient: Nutrient,
    reading: &Reading,
    (rule, rule_source): (Rule, &Source),
    (removal, source): (f64, Source),
) -> Option<f64> {
    figure.step(
        "what the harvest carries off",
        removal,
        "lb/acre",
        plain(removal, 4),
        source,
    );
    let build = (rule == Rule::RemovalAndBuild)
        .then(|| reference().build_up(&reading.system, nutrient, &reading.group))
        .flatten();
    let Some(build) = build else {
        figure.step(
            "put back",
            removal,
            "lb/acre",
            plain(removal, 4),
            rule_source.clone(),
        );
        return None;
    };
    let yearly = |per_ppm: f64| build.yearly(reading.value, per_ppm);
    let step = Step {
        what: format!("build-up to {} ppm, a year", plain(build.critical_ppm, 3)),
        value: yearly(build.lb_per_ppm),
        unit: "lb/acre".to_owned(),
        formula: format!(
            "({} − {}) × {} / {}",
            plain(build.critical_ppm, 3),
            plain(reading.value, 4),
            plain(build.lb_per_ppm, 3),
            plain(build.years, 2)
        ),
        source: build.source.clone(),
    };
    figure.working.push(step);
    figure.step(
        "removal and build-up",
        removal + yearly(build.lb_per_ppm),
        "lb/acre",
        format!(
            "{} + {}",
            plain(removal, 4),
            plain(yearly(build.lb_per_ppm), 4)
        ),
        rule_source.clone(),
    );
    if build.low < build.high {
        figure.low = Some(removal + yearly(build.low));
        figure.high = Some(removal + yearly(build.high));
    }
    Some(yearly(build.lb_per_ppm))
}

fn finish(
    nutrient: Nutrient,
    mut figure: Figure,
    basis: Basis,
    reading: Option<&Reading>,
    held_down: bool,
) -> Need {
    if let Some(reading) = reading {
        if nutrient == Nutrient::P2o5
            && let Some((text, source)) = threshold::passed(reading)
        {
            figure.caution(text, source.clone());
        }
        if held_down && figure.value > 0.0 {
            figure.caution(
                format!(
                    "The test is {} and the rate is not zero: take it as a starter or as the source’s own caution, not as build-up.",
                    reading.level.name()
                ),
                Source::new("above optimum nothing is needed to build the soil", Evidence::CommonPractice),
            );
        }
    }
    Need {
        nutrient,
        figure,
        basis,
        build_up: None,
        held_down,
    }
}

#[cfg(test)]
mod tests;
