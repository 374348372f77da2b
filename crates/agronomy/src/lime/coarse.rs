//! The tables of the lime methods that do without a buffer.

use crate::dose;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;

/// One class of the Norwegian table.
#[derive(Debug, Clone)]
pub(super) struct Norway {
    pub(super) soil: String,
    pub(super) textures: Vec<String>,
    pub(super) om: (f64, f64),
    /// kg CaO/daa for a rise of 0.1 pH
    pub(super) per_tenth: f64,
    /// The highest that another Norwegian source prints for such soil
    pub(super) other_high: Option<f64>,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct NorwayRow {
    soil: String,
    textures: String,
    om_from: f64,
    om_to: f64,
    kg_cao_per_daa_per_tenth: f64,
    other_source_high: Option<f64>,
    source: String,
    evidence: String,
}

/// One band of the Taiwanese table, kg/ha.
#[derive(Debug, Clone)]
pub(super) struct Taiwan {
    pub(super) ph_to: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct TaiwanRow {
    // The bands follow on each other, so their upper ends decide.
    #[serde(rename = "ph_from")]
    _ph_from: Option<f64>,
    ph_to: f64,
    low: f64,
    high: f64,
    source: String,
    evidence: String,
}

/// One line of a table by starting pH, lb/acre.
#[derive(Debug, Clone)]
pub(super) struct ByPh {
    pub(super) method: String,
    pub(super) soil: String,
    pub(super) textures: Vec<String>,
    pub(super) ph: f64,
    pub(super) target: f64,
    pub(super) lb_per_acre: f64,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct ByPhRow {
    method: String,
    soil: String,
    textures: String,
    ph: f64,
    target_ph: f64,
    rate: f64,
    unit: String,
    source: String,
    evidence: String,
}

/// One pH step of the texture table.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub(super) region: String,
    pub(super) soil: String,
    pub(super) textures: Vec<String>,
    pub(super) ph: (f64, f64),
    pub(super) tons: f64,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct StepRow {
    region: String,
    soil: String,
    textures: String,
    ph_from: f64,
    ph_to: f64,
    tons: f64,
    source: String,
    evidence: String,
}

/// The tables of this file.
#[derive(Debug, Clone, Default)]
pub(super) struct Coarse {
    pub(super) norway: Vec<Norway>,
    pub(super) taiwan: Vec<Taiwan>,
    pub(super) by_ph: Vec<ByPh>,
    pub(super) steps: Vec<Step>,
}

fn list(text: &str) -> Vec<String> {
    text.split(';').map(|t| t.trim().to_owned()).collect()
}

impl Coarse {
    /// Reads the four tables, each as (name, text).
    pub(super) fn parse(
        (norway, norway_text): (&str, &str),
        (taiwan, taiwan_text): (&str, &str),
        (by_ph, by_ph_text): (&str, &str),
        (steps, steps_text): (&str, &str),
    ) -> Result<Self, TableError> {
        let mut all = Self::default();
        for (i, r) in table::rows::<NorwayRow>(norway, norway_text)?
            .into_iter()
            .enumerate()
        {
            all.norway.push(Norway {
                soil: r.soil,
                textures: list(&r.textures),
                om: (r.om_from, r.om_to),
                per_tenth: r.kg_cao_per_daa_per_tenth,
                other_high: r.other_source_high,
                source: table::source(norway, i + 2, &r.source, &r.evidence)?,
            });
        }
        for (i, r) in table::rows::<TaiwanRow>(taiwan, taiwan_text)?
            .into_iter()
            .enumerate()
        {
            all.taiwan.push(Taiwan {
                ph_to: r.ph_to,
                low: r.low,
                high: r.high,
                source: table::source(taiwan, i + 2, &r.source, &r.evidence)?,
            });
        }
        for (i, r) in table::rows::<ByPhRow>(by_ph, by_ph_text)?
            .into_iter()
            .enumerate()
        {
            let lb_per_acre = dose::lb_per_acre(r.rate, &r.unit).ok_or_else(|| TableError {
                table: by_ph.to_owned(),
                row: i + 2,
                problem: format!("“{}” is not a unit of rate", r.unit),
            })?;
            all.by_ph.push(ByPh {
                method: r.method,
                soil: r.soil,
                textures: list(&r.textures),
                ph: r.ph,
                target: r.target_ph,
                lb_per_acre,
                source: table::source(by_ph, i + 2, &r.source, &r.evidence)?,
            });
        }
        all.by_ph.sort_by(|a, b| a.ph.total_cmp(&b.ph));
        for (i, r) in table::rows::<StepRow>(steps, steps_text)?
            .into_iter()
            .enumerate()
        {
            all.steps.push(Step {
                region: r.region,
                soil: r.soil,
                textures: list(&r.textures),
                ph: (r.ph_from, r.ph_to),
                tons: r.tons,
                source: table::source(steps, i + 2, &r.source, &r.evidence)?,
            });
        }
        all.steps.sort_by(|a, b| a.ph.0.total_cmp(&b.ph.0));
        Ok(all)
    }
}
