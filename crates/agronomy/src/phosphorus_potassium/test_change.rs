//! The figures for how far a pound moves a soil test, and how fast cropping lowers one.

use super::Nutrient;
use crate::soil::Extractant;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Pounds of P2O5 or K2O per acre that move a test by 1 ppm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TestChange {
    pub nutrient: Nutrient,
    pub extractant: Extractant,
    /// lb per acre for 1 ppm
    pub lb_per_ppm: f64,
    pub low: f64,
    pub high: f64,
    pub note: String,
    pub source: Source,
}

/// How fast cropping was seen to lower a test, ppm a year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawDown {
    pub nutrient: Nutrient,
    pub extractant: Extractant,
    pub low: f64,
    pub high: f64,
    pub source: Source,
}

#[derive(Deserialize)]
struct ChangeRow {
    nutrient: String,
    extractant: String,
    lb_per_ppm: f64,
    low: f64,
    high: f64,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct DownRow {
    nutrient: String,
    extractant: String,
    low_ppm_a_year: f64,
    high_ppm_a_year: f64,
    source: String,
    evidence: String,
}

fn key(
    table: &str,
    row: usize,
    nutrient: &str,
    extractant: &str,
) -> Result<(Nutrient, Extractant), TableError> {
    let wrong = |problem: String| TableError {
        table: table.to_owned(),
        row,
        problem,
    };
    Ok((
        Nutrient::from_key(nutrient)
            .ok_or_else(|| wrong(format!("“{nutrient}” is not p2o5 or k2o")))?,
        Extractant::from_key(extractant)
            .ok_or_else(|| wrong(format!("“{extractant}” is not an extractant")))?,
    ))
}

/// Parses the figures that come with the program.
///
/// # Errors
/// A row that does not fit, in one sentence.
pub fn load_balance() -> Result<(Vec<TestChange>, Vec<DrawDown>), TableError> {
    let name = "rates/test_change.csv";
    let text = include_str!("../../../../reference/rates/test_change.csv");
    let mut changes = Vec::new();
    for (i, r) in table::rows::<ChangeRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let (nutrient, extractant) = key(name, i + 2, &r.nutrient, &r.extractant)?;
        if !(r.low > 0.0 && r.low <= r.lb_per_ppm && r.lb_per_ppm <= r.high) {
            return Err(TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: "low, middle and high must rise from above zero".to_owned(),
            });
        }
        changes.push(TestChange {
            nutrient,
            extractant,
            lb_per_ppm: r.lb_per_ppm,
            low: r.low,
            high: r.high,
            note: r.note,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "rates/draw_down.csv";
    let text = include_str!("../../../../reference/rates/draw_down.csv");
    let mut downs = Vec::new();
    for (i, r) in table::rows::<DownRow>(name, text)?.into_iter().enumerate() {
        let (nutrient, extractant) = key(name, i + 2, &r.nutrient, &r.extractant)?;
        downs.push(DrawDown {
            nutrient,
            extractant,
            low: r.low_ppm_a_year,
            high: r.high_ppm_a_year,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    Ok((changes, downs))
}

#[derive(Deserialize)]
struct ShareRow {
    nutrient: String,
    low_pct_a_year: f64,
    high_pct_a_year: f64,
    source: String,
    evidence: String,
}

/// The share of a test that cropping without any added was seen to take off in a year, percent.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Share {
    pub(super) nutrient: Nutrient,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) source: Source,
}

fn load_shares() -> Result<Vec<Share>, TableError> {
    let name = "rates/draw_down_share.csv";
    let text = include_str!("../../../../reference/rates/draw_down_share.csv");
    table::rows::<ShareRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |problem: &str| TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: problem.to_owned(),
            };
            let (low, high) = (r.low_pct_a_year, r.high_pct_a_year);
            if !(low > 0.0 && low <= high && high < 100.0) {
                return Err(wrong("low and high must rise between 0 and 100 %"));
            }
            Ok(Share {
                nutrient: Nutrient::from_key(&r.nutrient)
                    .ok_or_else(|| wrong("the nutrient must be p2o5 or k2o"))?,
                low,
                high,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn shares() -> &'static [Share] {
    static SHARES: OnceLock<Vec<Share>> = OnceLock::new();
    SHARES.get_or_init(|| load_shares().unwrap_or_default())
}

pub(super) fn held() -> &'static (Vec<TestChange>, Vec<DrawDown>) {
    static HELD: OnceLock<(Vec<TestChange>, Vec<DrawDown>)> = OnceLock::new();
    HELD.get_or_init(|| load_balance().unwrap_or_default())
}

/// Every published figure of lb per ppm.
pub fn test_changes() -> &'static [TestChange] {
    &held().0
}
