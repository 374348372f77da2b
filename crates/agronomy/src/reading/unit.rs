//! How a table's unit follows from ppm.

use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Debug, Clone)]
pub(super) struct TableUnit {
    pub(super) unit: String,
    pub(super) per_ppm: f64,
    pub(super) by_volume: bool,
    /// An index that belongs to one nutrient.
    pub(super) only_for: Option<Analyte>,
    pub(super) why: String,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct UnitRow {
    unit: String,
    per_ppm: f64,
    volume_basis: String,
    only_for: Option<String>,
    why: String,
    source: String,
    evidence: String,
}

pub(super) fn load() -> Result<Vec<TableUnit>, TableError> {
    let name = "readings/units.csv";
    let text = include_str!("../../../../reference/readings/units.csv");
    table::rows::<UnitRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let only_for = match r.only_for.filter(|k| !k.is_empty()) {
                None => None,
                Some(key) => Some(Analyte::from_key(&key).ok_or_else(|| TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{key}” is not a nutrient"),
                })?),
            };
            Ok(TableUnit {
                unit: r.unit,
                per_ppm: r.per_ppm,
                by_volume: r.volume_basis == "yes",
                only_for,
                why: r.why,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn all() -> &'static [TableUnit] {
    static UNITS: OnceLock<Vec<TableUnit>> = OnceLock::new();
    UNITS.get_or_init(|| load().unwrap_or_default())
}

pub(super) fn find(unit: &str) -> Option<&'static TableUnit> {
    all().iter().find(|u| u.unit == unit)
}
