//! Reading the tables of splits.

use super::{Split, System, When};
use crate::dose;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Raw {
    crop: String,
    system: String,
    part: u8,
    when: When,
    timing: String,
    week: f64,
    kind: Kind,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    season_low: Option<f64>,
    season_high: Option<f64>,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Amount,
    /// Percent of the season’s figure.
    Share,
    /// An equal part of what the shares leave.
    Rest,
}

#[derive(Deserialize)]
struct Sampling {
    crop: String,
    system: String,
    week: f64,
    source: String,
    evidence: String,
}

pub(super) struct Tables {
    pub(super) systems: Vec<System>,
    /// Crop, system, part.
    pub(super) parts: Vec<(String, String, Split)>,
    /// Crop, system, week.
    pub(super) sampling: Vec<(String, String, f64, Source)>,
}

const PARTS: &str = "crops/nitrogen_split.csv";

fn wrong(row: usize, problem: impl Into<String>) -> TableError {
    TableError {
        table: PARTS.to_owned(),
        row,
        problem: problem.into(),
    }
}

/// Low and high of one row in lb N/acre. `rests` is how many rows share what the shares leave, and
/// `shared` how much of the season, in percent, the shares take at their middle.
fn bounds(i: usize, raw: &Raw, rests: usize, shared: f64) -> Result<(f64, f64), TableError> {
    let lb = |v: f64| {
        dose::lb_per_acre(v, &raw.unit)
            .ok_or_else(|| wrong(i + 2, format!("“{}” is not a unit of rate", raw.unit)))
    };
    let given = |v: Option<f64>, what: &str| {
        v.filter(|v| v.is_finite() && *v >= 0.0)
            .ok_or_else(|| wrong(i + 2, format!("{what} is missing")))
    };
    if raw.kind == Kind::Amount {
        return Ok((lb(given(raw.low, "low")?)?, lb(given(raw.high, "high")?)?));
    }
    let season_low = given(raw.season_low, "season_low")?;
    let season_high = given(raw.season_high, "season_high")?;
    let (low, high) = if raw.kind == Kind::Share {
        (given(raw.low, "low")?, given(raw.high, "high")?)
    } else {
        let each = (100.0 - shared) / rests.max(1) as f64;
        (each, each)
    };
    Ok((
        lb(season_low * low / 100.0)?,
        lb(season_high * high / 100.0)?,
    ))
}

fn load_tables() -> Result<Tables, TableError> {
    let systems = table::rows::<System>(
        "crops/nitrogen_systems.csv",
        include_str!("../../../../../reference/crops/nitrogen_systems.csv"),
    )?;
    let raw = table::rows::<Raw>(
        PARTS,
        include_str!("../../../../../reference/crops/nitrogen_split.csv"),
    )?;
    let mut parts = Vec::new();
    for (i, row) in raw.iter().enumerate() {
        if !systems.iter().any(|s| s.key == row.system) {
            return Err(wrong(i + 2, format!("“{}” is not a system", row.system)));
        }
        if crate::crop::find(&row.crop).is_none() {
            return Err(wrong(i + 2, format!("“{}” is not a crop", row.crop)));
        }
        let same = || {
            raw.iter()
                .filter(|r| r.crop == row.crop && r.system == row.system)
        };
        let rests = same().filter(|r| r.kind == Kind::Rest).count();
        let shared: f64 = same()
            .filter(|r| r.kind == Kind::Share)
            .filter_map(|r| Some((r.low? + r.high?) / 2.0))
            .sum();
        let (low, high) = bounds(i, row, rests, shared)?;
        if low > high {
            return Err(wrong(i + 2, "low is above high"));
        }
        // A share is of the middle of the season, so that the parts add up to it.
        let value = match (row.kind, row.season_low, row.season_high) {
            (Kind::Share, Some(a), Some(b)) => {
                let pct = (row.low.unwrap_or(0.0) + row.high.unwrap_or(0.0)) / 2.0;
                dose::lb_per_acre((a + b) / 2.0 * pct / 100.0, &row.unit).unwrap_or(low)
            }
            _ => (low + high) / 2.0,
        };
        parts.push((
            row.crop.clone(),
            row.system.clone(),
            Split {
                part: row.part,
                when: row.when,
                timing: row.timing.clone(),
                week: row.week,
                low,
                value,
                high,
                note: row.note.clone(),
                printed: true,
                source: table::source(PARTS, i + 2, &row.source, &row.evidence)?,
            },
        ));
    }
    let name = "crops/nitrogen_sampling.csv";
    let sampling = table::rows::<Sampling>(
        name,
        include_str!("../../../../../reference/crops/nitrogen_sampling.csv"),
    )?
    .into_iter()
    .enumerate()
    .map(|(i, r)| {
        let source = table::source(name, i + 2, &r.source, &r.evidence)?;
        Ok((r.crop, r.system, r.week, source))
    })
    .collect::<Result<_, _>>()?;
    Ok(Tables {
        systems,
        parts,
        sampling,
    })
}

pub(in crate::nitrogen) fn load() -> Result<(), TableError> {
    load_tables().map(|_| ())
}

pub(super) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| {
        load_tables().unwrap_or(Tables {
            systems: Vec::new(),
            parts: Vec::new(),
            sampling: Vec::new(),
        })
    })
}
