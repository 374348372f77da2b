//! Published levels of the phosphorus test above which none is added, or which decide about manure.

use crate::reading::Reading;
use crate::soil::Extractant;
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// One published level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Threshold {
    pub extractant: Extractant,
    /// ppm P
    pub above_ppm: f64,
    /// Whether the source asks for no more phosphorus above it.
    pub stops: bool,
    pub region: String,
    pub text: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    extractant: String,
    above_ppm: f64,
    stops: String,
    region: String,
    text: String,
    source: String,
    evidence: String,
}

/// Parses the levels that come with the program.
///
/// # Errors
/// A row that does not fit, in one sentence.
pub fn load_thresholds() -> Result<Vec<Threshold>, TableError> {
    let name = "rates/p_triggers.csv";
    let text = include_str!("../../../../reference/rates/p_triggers.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |problem: String| table::wrong(name, i, problem);
            Ok(Threshold {
                extractant: Extractant::from_key(&r.extractant)
                    .ok_or_else(|| wrong(format!("“{}” is not an extractant", r.extractant)))?,
                above_ppm: r.above_ppm,
                stops: match r.stops.as_str() {
                    "yes" => true,
                    "no" => false,
                    other => return Err(wrong(format!("“{other}” is not yes or no"))),
                },
                region: r.region,
                text: r.text,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// Every published level; empty if the table cannot be parsed, which a test rules out.
pub fn thresholds() -> &'static [Threshold] {
    static THRESHOLDS: OnceLock<Vec<Threshold>> = OnceLock::new();
    THRESHOLDS.get_or_init(|| load_thresholds().unwrap_or_default())
}

/// The highest level that stops phosphorus and that the reading passes. What is only recalled stops
/// nothing: it is shown by [`p_threshold`] and decides no rate.
pub(super) fn passed(reading: &Reading) -> Option<(&'static str, &'static Source)> {
    thresholds()
        .iter()
        .filter(|t| t.stops && t.source.evidence != Evidence::Memory)
        .filter(|t| t.extractant == reading.extractant && reading.value > t.above_ppm)
        .max_by(|a, b| a.above_ppm.total_cmp(&b.above_ppm))
        .map(|t| (t.text.as_str(), &t.source))
}

/// The lowest level \[ppm P\] at which a source that was read asks for no more phosphorus, with every
/// published level for the extractant as a step and those that `ppm` passes as cautions. Where only
/// recalled levels are held, the lowest of them.
///
/// None where no level is held for the extractant.
pub fn p_threshold(extractant: Extractant, ppm: f64) -> Option<Figure> {
    let mut held: Vec<&Threshold> = thresholds()
        .iter()
        .filter(|t| t.extractant == extractant)
        .collect();
    held.sort_by(|a, b| a.above_ppm.total_cmp(&b.above_ppm));
    let lowest = held
        .iter()
        .filter(|t| t.stops)
        .min_by_key(|t| t.source.evidence == Evidence::Memory)
        .or_else(|| held.first())?;
    let mut figure = Figure::new(format!(
        "Level of {} above which no P is added",
        extractant.name()
    ));
    for t in &held {
        let passed = ppm > t.above_ppm;
        figure.step(
            format!(
                "{}: {}",
                t.region,
                if passed { "passed" } else { "not passed" }
            ),
            t.above_ppm,
            "ppm",
            format!(
                "{} {} {}",
                plain(ppm, 4),
                if passed { ">" } else { "≤" },
                plain(t.above_ppm, 4)
            ),
            t.source.clone(),
        );
        if passed {
            figure.caution(t.text.clone(), t.source.clone());
        }
    }
    figure.step(
        "lowest level at which a source asks for no more P",
        lowest.above_ppm,
        "ppm",
        lowest.region.clone(),
        lowest.source.clone(),
    );
    Some(figure)
}
