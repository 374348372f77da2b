//! The chance of each class.

use super::Doubt;
use crate::reading::{Level, Reading};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// One class with its chance.
#[derive(Debug, Clone, PartialEq)]
pub struct Chance {
    /// The table’s own word.
    pub category: String,
    pub level: Level,
    /// Share of one; the chances of all classes and of what lies outside the table sum to one.
    pub chance: f64,
}

/// The chance that the ground truly belongs to each class of the table a value was read with, in rising
/// order, and the figure of the class that was read.
///
/// Classes meet half-way between the last printed value of one and the first of the next.
pub fn chances(reading: &Reading, doubt: &Doubt) -> (Vec<Chance>, Figure) {
    let mut bands: Vec<_> = reading.bands.iter().collect();
    bands.sort_by(|a, b| {
        let low = |b: &crate::reading::Band| b.low.unwrap_or(f64::NEG_INFINITY);
        low(a).total_cmp(&low(b))
    });
    let mut all = Vec::new();
    let mut from = None;
    for (i, band) in bands.iter().enumerate() {
        let next = bands.get(i + 1).and_then(|b| b.low);
        let edge = match (band.high, next) {
            (Some(high), Some(next)) => Some((high + next) / 2.0),
            (high, None) => high,
            (None, next) => next,
        };
        let low = from.or(band.low);
        let under = low.map_or(0.0, |e| doubt.below(reading.value, e));
        let upto = edge.map_or(1.0, |e| doubt.below(reading.value, e));
        all.push(Chance {
            category: band.category.clone(),
            level: band.level,
            chance: (upto - under).max(0.0),
        });
        from = edge;
    }
    let mut figure = Figure::new(format!(
        "Chance that {} is truly {}",
        reading.analyte.name().to_lowercase(),
        reading.category
    ));
    figure.working.extend(doubt.figure.working.iter().cloned());
    figure
        .cautions
        .extend(doubt.figure.cautions.iter().cloned());
    let own = all
        .iter()
        .find(|c| c.category == reading.category)
        .map_or(0.0, |c| c.chance);
    let listed: Vec<String> = all
        .iter()
        .filter(|c| c.chance >= 0.005)
        .map(|c| format!("{} {} %", c.category, plain(c.chance * 100.0, 2)))
        .collect();
    figure.step(
        format!("chance of “{}”", reading.category),
        own * 100.0,
        "%",
        listed.join(", "),
        Source::new(
            "share of the distribution of the true mean that lies in each class of the table",
            Evidence::Derived,
        ),
    );
    (all, figure)
}
