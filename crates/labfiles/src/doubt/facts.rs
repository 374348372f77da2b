//! The tolerances of the doubts, compiled in.

use agronomy::soil::{Analyte, Buffer};
use agronomy::table::{self, TableError};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How much an analyte usually moves from one test of a block to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Usual {
    scale: Scale,
    usual: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Scale {
    Difference,
    Ratio,
}

impl Usual {
    /// The change from one value to another in units of the usual change; none where a ratio has no sense.
    pub(crate) fn times(self, from: f64, to: f64) -> Option<f64> {
        let change = match self.scale {
            Scale::Difference => to - from,
            Scale::Ratio => log_ratio(to, from)?,
        };
        Some(change / self.usual)
    }

    /// The values that are not further than some usual changes from one.
    pub(crate) fn around(self, value: f64, times: f64) -> (f64, f64) {
        match self.scale {
            Scale::Difference => (value - times * self.usual, value + times * self.usual),
            Scale::Ratio => (
                value * (-times * self.usual).exp(),
                value * (times * self.usual).exp(),
            ),
        }
    }
}

/// The natural logarithm of a ratio of two positive numbers.
pub(crate) fn log_ratio(over: f64, under: f64) -> Option<f64> {
    (over > 0.0 && under > 0.0 && over.is_finite() && under.is_finite())
        .then(|| (over / under).ln())
}

/// What a buffer reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BufferFact {
    /// its own pH, without soil
    pub(crate) start: f64,
    /// how far below it a neutral soil may pull it
    pub(crate) neutral_drop: f64,
    /// how near to it an acid soil does not leave it
    pub(crate) acid_top: f64,
    /// how far below the soil's own pH it may read
    pub(crate) under_ph: f64,
}

#[derive(Default)]
struct Facts {
    limits: BTreeMap<String, f64>,
    change: BTreeMap<Analyte, Usual>,
    bases: Vec<BasesRow>,
    buffers: BTreeMap<Buffer, BufferFact>,
}

#[derive(Deserialize)]
struct LimitRow {
    key: String,
    value: f64,
    #[serde(rename = "unit")]
    _unit: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ChangeRow {
    analyte: String,
    scale: Scale,
    usual: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct BasesRow {
    ph_from: f64,
    ph_to: f64,
    low: f64,
    high: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct BufferRow {
    buffer: String,
    start: f64,
    neutral_drop: f64,
    acid_top: f64,
    under_ph: f64,
    source: String,
    evidence: String,
}

/// A test proves that the tables parse.
static FACTS: LazyLock<Facts> = LazyLock::new(|| Facts::load().unwrap_or_default());

fn bad(table: &str, row: usize, word: &str) -> TableError {
    TableError {
        table: table.to_owned(),
        row,
        problem: format!("“{word}” is not known"),
    }
}

impl Facts {
    fn load() -> Result<Self, TableError> {
        let mut all = Self::default();
        let name = "labfiles/doubts.csv";
        let text = include_str!("../../../../reference/labfiles/doubts.csv");
        for (i, r) in table::rows::<LimitRow>(name, text)?.into_iter().enumerate() {
            table::source(name, i + 2, &r.source, &r.evidence)?;
            all.limits.insert(r.key, r.value);
        }
        let name = "labfiles/doubt_change.csv";
        let text = include_str!("../../../../reference/labfiles/doubt_change.csv");
        for (i, r) in table::rows::<ChangeRow>(name, text)?
            .into_iter()
            .enumerate()
        {
            table::source(name, i + 2, &r.source, &r.evidence)?;
            let analyte =
                Analyte::from_key(&r.analyte).ok_or_else(|| bad(name, i + 2, &r.analyte))?;
            let usual = Usual {
                scale: r.scale,
                usual: r.usual,
            };
            all.change.insert(analyte, usual);
        }
        let name = "labfiles/doubt_bases.csv";
        let text = include_str!("../../../../reference/labfiles/doubt_bases.csv");
        for (i, r) in table::rows::<BasesRow>(name, text)?.into_iter().enumerate() {
            table::source(name, i + 2, &r.source, &r.evidence)?;
            all.bases.push(r);
        }
        let name = "labfiles/doubt_buffers.csv";
        let text = include_str!("../../../../reference/labfiles/doubt_buffers.csv");
        for (i, r) in table::rows::<BufferRow>(name, text)?
            .into_iter()
            .enumerate()
        {
            table::source(name, i + 2, &r.source, &r.evidence)?;
            let buffer = Buffer::from_key(&r.buffer).ok_or_else(|| bad(name, i + 2, &r.buffer))?;
            let fact = BufferFact {
                start: r.start,
                neutral_drop: r.neutral_drop,
                acid_top: r.acid_top,
                under_ph: r.under_ph,
            };
            all.buffers.insert(buffer, fact);
        }
        Ok(all)
    }
}

/// A tolerance; not a number where the table lacks it, so that no comparison holds.
pub(crate) fn limit(key: &str) -> f64 {
    let found = FACTS.limits.get(key).copied();
    debug_assert!(found.is_some(), "no tolerance {key}");
    found.unwrap_or(f64::NAN)
}

/// How much an analyte usually moves.
pub(crate) fn usual(analyte: Analyte) -> Option<Usual> {
    FACTS.change.get(&analyte).copied()
}

/// The bases over the CEC that a pH goes with: low and high.
pub(crate) fn bases_at(ph: f64) -> Option<(f64, f64)> {
    FACTS
        .bases
        .iter()
        .find(|r| ph >= r.ph_from && ph < r.ph_to)
        .map(|r| (r.low, r.high))
}

pub(crate) fn buffer(buffer: Buffer) -> Option<BufferFact> {
    FACTS.buffers.get(&buffer).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_whole() {
        let facts = Facts::load().unwrap();
        assert_eq!(facts.buffers.len(), Buffer::ALL.len());
        let mut at = 0.0;
        for row in &facts.bases {
            assert_eq!(row.ph_from, at);
            assert!(row.low < row.high);
            at = row.ph_to;
        }
        assert_eq!(at, 14.0);
        assert!(facts.limits.len() > 30 && facts.change.values().all(|u| u.usual > 0.0));
    }
}
