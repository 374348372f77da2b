//! Where nitrogen does harm: printed limits and the cautions that go with a figure.

use super::{NitrogenError, checked, warn};
use crate::constant::Cautions;
use crate::dose;
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::sync::OnceLock;

/// A printed limit.
#[derive(Debug, Clone)]
pub struct Limit {
    pub key: String,
    pub value: f64,
    pub unit: String,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Raw {
    key: String,
    value: f64,
    unit: String,
    note: String,
    source: String,
    evidence: String,
}

fn load_limits() -> Result<Vec<Limit>, TableError> {
    let name = "nitrogen/limits.csv";
    let text = include_str!("../../../../reference/nitrogen/limits.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Limit {
                key: r.key,
                value: r.value,
                unit: r.unit,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn load_cautions() -> Result<Cautions, TableError> {
    Cautions::parse(
        "nitrogen/cautions.csv",
        include_str!("../../../../reference/nitrogen/cautions.csv"),
    )
}

pub(super) fn load() -> Result<(), TableError> {
    load_cautions()?;
    load_limits().map(|_| ())
}

/// The printed limits.
pub fn limits() -> &'static [Limit] {
    static LIMITS: OnceLock<Vec<Limit>> = OnceLock::new();
    LIMITS.get_or_init(|| load_limits().unwrap_or_default())
}

/// How much of a printed limit on total nitrogen a spreading takes: percent of it, with the limit’s
/// caution. Manure is held to a year’s limit, compost to that of three years (give the sum of three).
///
/// # Errors
/// An amount that cannot be.
pub fn within_limit(compost: bool, total_n_lb_per_acre: f64) -> Result<Figure, NitrogenError> {
    checked(
        total_n_lb_per_acre,
        5_000.0,
        "nitrogen spread in lb per acre",
    )?;
    let (key, caution) = if compost {
        ("compost_total_n_3_years", "compost_most")
    } else {
        ("manure_total_n", "manure_most")
    };
    let limit = limits()
        .iter()
        .find(|l| l.key == key)
        .ok_or(NitrogenError::Table("limits"))?;
    let most = dose::lb_per_acre(limit.value, &limit.unit).ok_or(NitrogenError::Table("limits"))?;
    let mut figure = Figure::new(limit.note.clone());
    figure.step(
        "the limit",
        most,
        "lb N/acre",
        format!("{} {}", plain(limit.value, 3), limit.unit),
        limit.source.clone(),
    );
    figure.step(
        "share of the limit",
        total_n_lb_per_acre / most * 100.0,
        "%",
        format!(
            "{} / {} × 100",
            plain(total_n_lb_per_acre, 4),
            plain(most, 4)
        ),
        Source::arithmetic(),
    );
    warn(&mut figure, caution);
    Ok(figure)
}

/// Adds to a nitrogen figure what the ground asks for: the caution about nitrate reaching water where
/// some is left or a good deal is given at once, and about splitting on sand.
pub fn on_leaching(figure: &mut Figure, sandy: bool) {
    warn(figure, "leaching");
    if sandy {
        warn(figure, "sand");
    }
}

/// Adds that the ammonium of a manure was not given.
pub fn on_unanalyzed(figure: &mut Figure) {
    warn(figure, "mineral_share");
}

/// Adds what goes with every rate of manure: the wait before harvest, and that a rate for nitrogen
/// brings too much phosphorus.
pub fn on_manure(figure: &mut Figure) {
    warn(figure, "raw_manure");
    warn(figure, "n_based_p");
}
