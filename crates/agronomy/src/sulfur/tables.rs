//! The sulfur tables that come with the program.

use super::{Acidifier, SulfurError, acidifier, timing};
use crate::constant::{Cautions, Constant, Constants};
use crate::dose::{self, Limits};
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct UnitRow {
    key: String,
    texture: String,
    textures: String,
    lowest_target: Option<f64>,
    below_ph: f64,
    rate: f64,
    unit: String,
    depth: String,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone)]
pub(super) struct PerUnit {
    pub(super) key: String,
    pub(super) texture: String,
    pub(super) textures: Vec<String>,
    pub(super) lowest_target: Option<f64>,
    pub(super) below_ph: f64,
    /// lb S per acre for one pH unit
    pub(super) lb_per_acre: f64,
    pub(super) depth: String,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct StepRow {
    from_ph: f64,
    texture: String,
    textures: String,
    lb_per_acre: f64,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone)]
pub(super) struct Point {
    pub(super) from_ph: f64,
    pub(super) texture: String,
    pub(super) textures: Vec<String>,
    pub(super) lb_per_acre: f64,
    pub(super) source: Source,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Tables {
    pub(super) per_unit: Vec<PerUnit>,
    /// Amounts from each pH down to one common low pH.
    pub(super) steps: Vec<Point>,
    pub(super) constants: Constants,
    pub(super) limits: Limits,
    pub(super) cautions: Cautions,
    pub(super) acidifiers: Vec<Acidifier>,
    pub(super) cec: Vec<acidifier::CecClass>,
    pub(super) timings: Vec<timing::Timing>,
}

fn list(text: &str) -> Vec<String> {
    text.split(';').map(|t| t.trim().to_owned()).collect()
}

fn parse() -> Result<Tables, TableError> {
    let mut tables = Tables::default();
    let name = "sulfur/per_unit.csv";
    let text = include_str!("../../../../reference/sulfur/per_unit.csv");
    for (i, r) in table::rows::<UnitRow>(name, text)?.into_iter().enumerate() {
        let lb_per_acre = dose::lb_per_acre(r.rate, &r.unit).ok_or_else(|| TableError {
            table: name.to_owned(),
            row: i + 2,
            problem: format!("“{}” is not a unit of rate", r.unit),
        })?;
        tables.per_unit.push(PerUnit {
            key: r.key,
            texture: r.texture,
            textures: list(&r.textures),
            lowest_target: r.lowest_target,
            below_ph: r.below_ph,
            lb_per_acre,
            depth: r.depth,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "sulfur/to_4_5.csv";
    let text = include_str!("../../../../reference/sulfur/to_4_5.csv");
    for (i, r) in table::rows::<StepRow>(name, text)?.into_iter().enumerate() {
        tables.steps.push(Point {
            from_ph: r.from_ph,
            texture: r.texture,
            textures: list(&r.textures),
            lb_per_acre: r.lb_per_acre,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    tables.steps.sort_by(|a, b| a.from_ph.total_cmp(&b.from_ph));
    tables.constants = Constants::parse(
        "sulfur/constants.csv",
        include_str!("../../../../reference/sulfur/constants.csv"),
    )?;
    tables.limits = Limits::parse(
        "sulfur/doses.csv",
        include_str!("../../../../reference/sulfur/doses.csv"),
    )?;
    tables.cautions = Cautions::parse(
        "sulfur/cautions.csv",
        include_str!("../../../../reference/sulfur/cautions.csv"),
    )?;
    tables.acidifiers = acidifier::parse(
        "sulfur/acidifiers.csv",
        include_str!("../../../../reference/sulfur/acidifiers.csv"),
    )?;
    tables.cec = acidifier::parse_cec(
        "sulfur/cec_texture.csv",
        include_str!("../../../../reference/sulfur/cec_texture.csv"),
    )?;
    tables.timings = timing::parse(
        "sulfur/timing.csv",
        include_str!("../../../../reference/sulfur/timing.csv"),
    )?;
    Ok(tables)
}

/// Parses every sulfur table that comes with the program; for tests and the build’s own check.
pub fn load() -> Result<(), TableError> {
    parse().map(|_| ())
}

pub(super) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| parse().unwrap_or_default())
}

pub(super) fn constant(key: &'static str) -> Result<&'static Constant, SulfurError> {
    tables().constants.get(key).ok_or(SulfurError::Table(key))
}
