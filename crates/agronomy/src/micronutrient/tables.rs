//! The tables of trace elements: printed rates and how crops answer.

use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A printed rate, lb of the element per acre.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rate {
    /// A crop's key, or `all`.
    pub crop: String,
    /// `b`, `mo`, `s`, `zn`, `mn`, `fe` or `cu`
    pub nutrient: String,
    /// When the source gives it.
    pub situation: String,
    pub low: f64,
    pub high: f64,
    pub how: String,
    pub source: Source,
}

/// How strongly a crop answers to an element that the soil is short of: `low`, `medium` or `high`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Response {
    /// A crop's key, or `bean` and `corn` as the source has them.
    pub crop: String,
    pub mn: String,
    pub b: String,
    pub cu: String,
    pub zn: String,
    pub mo: String,
    pub fe: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct RateRow {
    crop: String,
    nutrient: String,
    situation: String,
    low: f64,
    high: f64,
    how: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ResponseRow {
    crop: String,
    mn: String,
    b: String,
    cu: String,
    zn: String,
    mo: String,
    fe: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct BoronRow {
    crop: String,
    low: Option<f64>,
    high: f64,
    slope: Option<f64>,
    class: String,
    source: String,
    evidence: String,
}

/// Boron that a crop bears in the soil water, mg per litre, before it yields less.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tolerance {
    /// A crop's key.
    pub crop: String,
    /// None: the source only says “below `high`”.
    pub low: Option<f64>,
    pub high: f64,
    /// Percent of the yield lost per mg per litre above the limit, where known.
    pub slope: Option<f64>,
    /// `sensitive` … `very tolerant`
    pub class: String,
    pub source: Source,
}

#[derive(Default)]
pub(super) struct Tables {
    pub(super) rates: Vec<Rate>,
    pub(super) responses: Vec<Response>,
    pub(super) boron: Vec<Tolerance>,
}

pub(super) fn load() -> Result<Tables, TableError> {
    let mut all = Tables::default();
    let name = "soil/micronutrient_rates.csv";
    let text = include_str!("../../../../reference/soil/micronutrient_rates.csv");
    for (i, r) in table::rows::<RateRow>(name, text)?.into_iter().enumerate() {
        all.rates.push(Rate {
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
            crop: r.crop,
            nutrient: r.nutrient,
            situation: r.situation,
            low: r.low,
            high: r.high,
            how: r.how,
        });
    }
    let name = "soil/response.csv";
    let text = include_str!("../../../../reference/soil/response.csv");
    for (i, r) in table::rows::<ResponseRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        all.responses.push(Response {
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
            crop: r.crop,
            mn: r.mn,
            b: r.b,
            cu: r.cu,
            zn: r.zn,
            mo: r.mo,
            fe: r.fe,
        });
    }
    let name = "soil/boron_tolerance.csv";
    let text = include_str!("../../../../reference/soil/boron_tolerance.csv");
    for (i, r) in table::rows::<BoronRow>(name, text)?.into_iter().enumerate() {
        all.boron.push(Tolerance {
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
            crop: r.crop,
            low: r.low,
            high: r.high,
            slope: r.slope,
            class: r.class,
        });
    }
    Ok(all)
}

pub(super) fn tables() -> &'static Tables {
    static ALL: OnceLock<Tables> = OnceLock::new();
    ALL.get_or_init(|| load().unwrap_or_default())
}

/// Printed rates of a trace element (or of sulfur) for a crop, with those that hold for all crops.
pub fn rates(crop: &str, nutrient: &str) -> Vec<&'static Rate> {
    tables()
        .rates
        .iter()
        .filter(|r| r.nutrient == nutrient && (r.crop == crop || r.crop == "all"))
        .collect()
}

/// How crops answer to trace elements.
pub fn responses() -> &'static [Response] {
    &tables().responses
}
