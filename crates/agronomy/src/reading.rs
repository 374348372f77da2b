//! What a soil test value means: the category a published table gives it.
//!
//! A table belongs to one extractant. A value pulled out of the soil by another one is not read
//! with it, and a value outside a table that prints one range only gets no category.

mod check;
mod common;
mod compare;
mod quick;
mod shipped;
mod system;
mod unit;

pub use check::{Fault, check_table};
pub use common::{CommonRange, Standing, common_practice};
pub use compare::{Comparison, Edge, Elsewhere, Silent, Verdict, compare};
pub use quick::Quick;
pub use shipped::{OwnTable, Systems, load, systems, systems_for};
pub use system::{Band, System};

use crate::soil::{Analyte, Bound, Extractant, Measured};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The common scale that the sources' own words are set beside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    VeryLow,
    Low,
    Medium,
    Optimum,
    High,
    VeryHigh,
}

impl Level {
    pub const ALL: [Self; 6] = [
        Self::VeryLow,
        Self::Low,
        Self::Medium,
        Self::Optimum,
        Self::High,
        Self::VeryHigh,
    ];

    /// The key used in tables.
    pub fn key(self) -> &'static str {
        match self {
            Self::VeryLow => "very_low",
            Self::Low => "low",
            Self::Medium => "medium",
            Self::Optimum => "optimum",
            Self::High => "high",
            Self::VeryHigh => "very_high",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.key() == key)
    }

    /// The word a grower reads.
    pub fn name(self) -> &'static str {
        match self {
            Self::VeryLow => "very low",
            Self::Low => "low",
            Self::Medium => "medium",
            Self::Optimum => "optimum",
            Self::High => "high",
            Self::VeryHigh => "very high",
        }
    }

    pub fn above_optimum(self) -> bool {
        self > Self::Optimum
    }
}

/// A value read with a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    pub analyte: Analyte,
    pub extractant: Extractant,
    /// The id of the table it was read with.
    pub system: String,
    /// The group of the table's rows: `all`, a crop or a kind of soil.
    pub group: String,
    /// In `unit`, the analyte's internal unit.
    pub value: f64,
    pub unit: String,
    /// The source's own word.
    pub category: String,
    pub level: Level,
    /// Every band of the same group, in ppm, cut where the reading changes.
    pub bands: Vec<Band>,
    pub source: Source,
    pub figure: Figure,
}

/// Why a value was not read.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum ReadingError {
    #[error("{0} is not a usable number for {1}.")]
    BadValue(String, &'static str),
    #[error(
        "The report does not name the extractant for {0}, and without it the number means nothing."
    )]
    NoExtractant(&'static str),
    #[error(
        "{table} has no {analyte} table for {extractant}; a value is never read with another extractant’s table."
    )]
    OtherExtractant {
        table: String,
        analyte: &'static str,
        extractant: &'static str,
    },
    #[error(
        "{table} has several {analyte} tables and none for this ground or crop; choose one of: {groups}."
    )]
    WhichGroup {
        table: String,
        analyte: &'static str,
        groups: String,
    },
    #[error(
        "{value} {unit} of {analyte} is outside the range that {table} prints, and it gives no name to that."
    )]
    NoBand {
        table: String,
        analyte: &'static str,
        value: String,
        unit: String,
    },
}

/// Reads a value with a table; `None` where the table has nothing for it.
///
/// `crop_group` is a crop key or a word for the ground (`sandy`, `clayey`) where the table has
/// separate rows; see [`System::groups`].
pub fn read(system: &System, measured: &Measured, crop_group: Option<&str>) -> Option<Reading> {
    look_up(system, measured, crop_group).ok()
}

/// The band alone, without working: for lists of many samples. It agrees with [`read`].
pub fn classify<'a>(
    system: &'a System,
    measured: &Measured,
    crop_group: Option<&str>,
) -> Option<&'a Band> {
    let value = measured.value;
    if !value.is_finite() || value < 0.0 {
        return None;
    }
    system.band_at(measured.analyte, measured.extractant?, value, crop_group)
}

/// As [`read`], with the reason where there is no reading.
pub fn look_up(
    system: &System,
    measured: &Measured,
    crop_group: Option<&str>,
) -> Result<Reading, ReadingError> {
    let analyte = measured.analyte;
    if !measured.value.is_finite() || measured.value < 0.0 {
        return Err(ReadingError::BadValue(
            measured.value.to_string(),
            analyte.name(),
        ));
    }
    let extractant = measured
        .extractant
        .ok_or(ReadingError::NoExtractant(analyte.name()))?;
    let bands = system.bands_for(analyte, extractant, crop_group)?;
    let Some(first) = bands.first() else {
        return Err(ReadingError::OtherExtractant {
            table: system.name.clone(),
            analyte: analyte.name(),
            extractant: extractant.name(),
        });
    };

    let mut figure = Figure::new(format!("{} in the soil", analyte.name()));
    figure.step(
        format!("{} by {}", analyte.name(), extractant.name()),
        measured.value,
        analyte.unit(),
        format!("{} {}", measured.printed, measured.printed_unit)
            .trim()
            .to_owned(),
        Source::stated("the lab’s report"),
    );
    let mut in_table = measured.value;
    if let Some(unit) = unit::find(&first.unit) {
        if unit.by_volume != printed_by_volume(&measured.printed_unit) {
            figure.caution(
                format!(
                    "{} counts in {} and the lab printed {}: the two differ by the weight of a litre of soil.",
                    system.name, first.unit, measured.printed_unit
                ),
                unit.source.clone(),
            );
        }
        if unit.per_ppm != 1.0 {
            in_table = figure.step(
                format!("in the table’s unit ({})", unit.why),
                measured.value * unit.per_ppm,
                first.unit.clone(),
                format!("{} × {}", plain(measured.value, 4), plain(unit.per_ppm, 3)),
                unit.source.clone(),
            );
        }
    }
    let band = bands
        .iter()
        .find(|b| b.holds(in_table))
        .ok_or_else(|| ReadingError::NoBand {
            table: system.name.clone(),
            analyte: analyte.name(),
            value: plain(in_table, 4),
            unit: first.unit.clone(),
        })?;
    figure.step(
        format!("{}: {}", system.name, band.category),
        in_table,
        band.unit.clone(),
        format!("{} lies in {}", plain(in_table, 4), band.span()),
        band.source.clone(),
    );
    match measured.bound {
        Bound::Exact => {}
        Bound::Below => figure.caution(
            "The lab printed “below” this number; the true value is lower and is read at the limit.",
            Source::stated("the lab’s report"),
        ),
        Bound::Above => figure.caution(
            "The lab printed “above” this number; the true value is higher and is read at the limit.",
            Source::stated("the lab’s report"),
        ),
    }
    if band.source.evidence == Evidence::Memory {
        figure.caution(
            "The limits of this class are recalled, not read in the source; take it as unconfirmed.",
            band.source.clone(),
        );
    }
    Ok(Reading {
        analyte,
        extractant,
        system: system.id.clone(),
        group: band.group.clone(),
        value: measured.value,
        unit: analyte.unit().to_owned(),
        category: band.category.clone(),
        level: band.level,
        bands: bands.iter().map(|b| b.in_ppm()).collect(),
        source: band.source.clone(),
        figure,
    })
}

fn printed_by_volume(unit: &str) -> bool {
    let unit = unit.to_lowercase().replace(' ', "");
    ["/l", "/dm3", "/dm³", "perlit", "/lit"]
        .iter()
        .any(|sign| unit.contains(sign))
        && !unit.contains("/lb")
}

#[cfg(test)]
mod tests;
