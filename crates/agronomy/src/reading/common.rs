//! Ranges that growers pass on without an extractant: a check beside a reading, never a reading.
//!
//! They are a type of their own so that nothing that decides an amount can take them for a table.

use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A healthy range by common practice. It names no extractant and decides nothing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CommonRange {
    pub analyte: Analyte,
    pub low: f64,
    /// None: enough above `low`.
    pub high: Option<f64>,
    pub unit: String,
    pub source: Source,
}

/// Where a value stands against a common-practice range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    Below,
    Within,
    Above,
}

impl Standing {
    pub fn word(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::Within => "within",
            Self::Above => "above",
        }
    }
}

impl CommonRange {
    /// Where a value in the range's unit stands; both ends belong to the range.
    pub fn standing(&self, value: f64) -> Standing {
        if value < self.low {
            Standing::Below
        } else if self.high.is_some_and(|high| value > high) {
            Standing::Above
        } else {
            Standing::Within
        }
    }
}

#[derive(Deserialize)]
struct Row {
    analyte: String,
    low: f64,
    high: Option<f64>,
    unit: String,
    source: String,
    evidence: String,
}

pub(super) fn load() -> Result<Vec<CommonRange>, TableError> {
    let name = "readings/common_practice.csv";
    let text = include_str!("../../../../reference/readings/common_practice.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(CommonRange {
                analyte: Analyte::from_key(&r.analyte).ok_or_else(|| TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not a nutrient", r.analyte),
                })?,
                low: r.low,
                high: r.high,
                unit: r.unit,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// The ranges of common practice; for a check or a comparison only.
pub fn common_practice() -> &'static [CommonRange] {
    static RANGES: OnceLock<Vec<CommonRange>> = OnceLock::new();
    RANGES.get_or_init(|| load().unwrap_or_default())
}
