//! Reading the tables of manure and compost.

use super::ManureYear;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Raw {
    kind: String,
    name: String,
    system: String,
    basis: String,
    year: u8,
    pct_wet: f64,
    pct_dry: f64,
    dry_from_dm: Option<f64>,
    materials: String,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RawSum {
    kind: String,
    name: String,
    pct_of_total: f64,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RawPerTon {
    key: String,
    name: String,
    low: f64,
    high: f64,
    note: String,
    source: String,
    evidence: String,
}

/// A published figure with its name.
pub(super) struct Named {
    pub(super) key: String,
    pub(super) name: String,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) note: String,
    pub(super) source: Source,
}

#[derive(Default)]
pub(super) struct Tables {
    pub(super) years: Vec<ManureYear>,
    pub(super) sums: Vec<Named>,
    pub(super) per_ton: Vec<Named>,
}

fn load_tables() -> Result<Tables, TableError> {
    let name = "nitrogen/manure_years.csv";
    let text = include_str!("../../../../../reference/nitrogen/manure_years.csv");
    let years = table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let of_organic = match r.basis.as_str() {
                "organic" => true,
                "total" => false,
                other => {
                    return Err(TableError {
                        table: name.to_owned(),
                        row: i + 2,
                        problem: format!("“{other}” is neither organic nor total"),
                    });
                }
            };
            Ok(ManureYear {
                kind: r.kind,
                name: r.name,
                system: r.system,
                of_organic,
                year: r.year,
                pct: (r.pct_wet, r.pct_dry),
                dry_from: r.dry_from_dm,
                materials: r
                    .materials
                    .split(';')
                    .filter(|m| !m.is_empty())
                    .map(str::to_owned)
                    .collect(),
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    let name = "nitrogen/three_years.csv";
    let text = include_str!("../../../../../reference/nitrogen/three_years.csv");
    let sums = table::rows::<RawSum>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Named {
                key: r.kind,
                name: r.name,
                low: r.pct_of_total,
                high: r.pct_of_total,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    let name = "nitrogen/manure_per_ton.csv";
    let text = include_str!("../../../../../reference/nitrogen/manure_per_ton.csv");
    let per_ton = table::rows::<RawPerTon>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Named {
                key: r.key,
                name: r.name,
                low: r.low,
                high: r.high,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    Ok(Tables {
        years,
        sums,
        per_ton,
    })
}

pub(in crate::nitrogen) fn load() -> Result<(), TableError> {
    load_tables().map(|_| ())
}

pub(super) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| load_tables().unwrap_or_default())
}
