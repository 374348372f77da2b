//! How long sulfur takes.

use super::SulfurError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;

/// One printed time.
#[derive(Debug, Clone)]
pub(super) struct Timing {
    what: String,
    low: f64,
    high: f64,
    unit: String,
    source: Source,
}

#[derive(Deserialize)]
struct Row {
    what: String,
    low: f64,
    high: f64,
    unit: String,
    source: String,
    evidence: String,
}

pub(super) fn parse(name: &str, text: &str) -> Result<Vec<Timing>, TableError> {
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Timing {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                what: r.what,
                low: r.low,
                high: r.high,
                unit: r.unit,
            })
        })
        .collect()
}

/// Months to mix sulfur in ahead of planting: the longest printed, with the range.
///
/// # Errors
/// Only if the tables cannot be read.
pub fn time_to_act() -> Result<Figure, SulfurError> {
    let mut figure = Figure::new("Time for sulfur to work");
    let all = &tables().timings;
    for t in all {
        figure.step(
            t.what.clone(),
            t.high,
            t.unit.clone(),
            format!("{} to {}", plain(t.low, 3), plain(t.high, 3)),
            t.source.clone(),
        );
    }
    let last = all
        .last()
        .ok_or(SulfurError::Table("time that sulfur takes"))?;
    let low = all.iter().map(|t| t.low).fold(f64::INFINITY, f64::min);
    let high = all.iter().map(|t| t.high).fold(0.0, f64::max);
    figure.step(
        "reckon with",
        high,
        last.unit.clone(),
        format!("the longest of {} to {}", plain(low, 3), plain(high, 3)),
        Source::arithmetic(),
    );
    figure.low = Some(low);
    figure.high = Some(high);
    for (text, source) in ["slow", "always"]
        .iter()
        .flat_map(|w| tables().cautions.when(w))
    {
        figure.caution(text, source.clone());
    }
    Ok(figure)
}
