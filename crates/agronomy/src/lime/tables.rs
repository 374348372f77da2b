//! The lime tables that come with the program.

use super::LimeError;
use super::grid::Grid;
use crate::constant::{Cautions, Constant, Constants};
use crate::dose::Limits;
use crate::table::{self, TableError};
use crate::working::{Evidence, Source};
use serde::Deserialize;
use std::sync::OnceLock;

/// One sieve of a fineness index.
#[derive(Debug, Clone)]
pub(super) struct Sieve {
    pub(super) index: String,
    /// 0 stands for the whole sample
    pub(super) mesh: u32,
    pub(super) weight: f64,
    pub(super) source: Source,
}

#[derive(Deserialize)]
struct SieveRow {
    index: String,
    mesh: u32,
    weight: f64,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Tables {
    pub(super) sikora: Grid,
    pub(super) smp: Grid,
    pub(super) garden: Grid,
    pub(super) constants: Constants,
    pub(super) sieves: Vec<Sieve>,
    pub(super) limits: Limits,
    pub(super) cautions: Cautions,
}

macro_rules! text {
    ($file:literal) => {
        (
            concat!("lime/", $file),
            include_str!(concat!("../../../../reference/lime/", $file)),
        )
    };
}

fn parse() -> Result<Tables, TableError> {
    let grid = |(name, text): (&str, &str)| Grid::parse(name, text);
    let (name, text) = text!("fineness.csv");
    let sieves = table::rows::<SieveRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Sieve {
                index: r.index,
                mesh: r.mesh,
                weight: r.weight,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    let (constants, constants_text) = text!("constants.csv");
    let (doses, doses_text) = text!("doses.csv");
    let (cautions, cautions_text) = text!("cautions.csv");
    Ok(Tables {
        sikora: grid(text!("sikora_oregon.csv"))?,
        smp: grid(text!("smp_iowa.csv"))?,
        garden: grid(text!("mehlich_pennsylvania_garden.csv"))?,
        constants: Constants::parse(constants, constants_text)?,
        sieves,
        limits: Limits::parse(doses, doses_text)?,
        cautions: Cautions::parse(cautions, cautions_text)?,
    })
}

/// Parses every lime table that comes with the program; for tests and the build’s own check.
pub fn load() -> Result<(), TableError> {
    parse().map(|_| ())
}

/// The shipped tables; empty if they cannot be parsed, which a test rules out.
pub(super) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| parse().unwrap_or_default())
}

pub(super) fn constant(key: &'static str) -> Result<&'static Constant, LimeError> {
    tables().constants.get(key).ok_or(LimeError::Table(key))
}

pub(super) fn no_lime_source() -> Source {
    Source::new(
        "Penn State Agricultural Analytical Services Lab: no lime at or above the target",
        Evidence::Seen,
    )
}
