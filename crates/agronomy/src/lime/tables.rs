//! The lime tables that come with the program.

use super::carried::{Carried, NitrogenAcid};
use super::coarse::Coarse;
use super::grid::Grid;
use super::pure::Pure;
use super::timing::Timing;
use super::value::Definition;
use super::{LimeError, Method, carried, pure, timing, value};
use crate::constant::{Cautions, Constant, Constants};
use crate::dose::Limits;
use crate::table::{self, TableError};
use crate::working::{Caution, Evidence, Source};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
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

/// What a method's rate is a rate of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Basis {
    /// The lime it counts, e.g. `100-score lime`
    pub lime: String,
    /// e.g. `lb of 100-score lime/acre`
    pub unit: String,
    /// The depth it was made for, in words
    pub depth: String,
    /// The targets it covers, in words
    pub targets: String,
    /// How to get from it to a bag, and its source.
    pub caution: Caution,
}

#[derive(Deserialize)]
struct MethodRow {
    method: String,
    lime: String,
    unit: String,
    depth: String,
    targets: String,
    caution: String,
    source: String,
    evidence: String,
}

fn bases(name: &str, text: &str) -> Result<BTreeMap<Method, Basis>, TableError> {
    let mut all = BTreeMap::new();
    for (i, r) in table::rows::<MethodRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let bad = |problem: String| table::wrong(name, i, problem);
        let method = Method::from_key(&r.method)
            .ok_or_else(|| bad(format!("“{}” is not a lime method", r.method)))?;
        let basis = Basis {
            lime: r.lime,
            unit: r.unit,
            depth: r.depth,
            targets: r.targets,
            caution: Caution {
                text: r.caution,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            },
        };
        if all.insert(method, basis).is_some() {
            return Err(bad(format!("“{}” stands twice", method.key())));
        }
    }
    Ok(all)
}

#[derive(Debug, Clone, Default)]
pub(super) struct Tables {
    pub(super) bases: BTreeMap<Method, Basis>,
    pub(super) sikora: Grid,
    pub(super) smp: Grid,
    pub(super) garden: Grid,
    pub(super) smp_classic: Grid,
    pub(super) coarse: Coarse,
    pub(super) constants: Constants,
    pub(super) sieves: Vec<Sieve>,
    pub(super) definitions: Vec<Definition>,
    pub(super) pures: Vec<Pure>,
    pub(super) timings: Vec<Timing>,
    pub(super) carried: Vec<Carried>,
    pub(super) nitrogen_acids: Vec<NitrogenAcid>,
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
    let (methods, methods_text) = text!("methods.csv");
    Ok(Tables {
        bases: bases(methods, methods_text)?,
        sikora: grid(text!("sikora_oregon.csv"))?,
        smp: grid(text!("smp_iowa.csv"))?,
        garden: grid(text!("mehlich_pennsylvania_garden.csv"))?,
        smp_classic: grid(text!("smp_classic.csv"))?,
        coarse: Coarse::parse(
            text!("norway.csv"),
            text!("taiwan.csv"),
            text!("by_ph.csv"),
            text!("texture_usda.csv"),
        )?,
        definitions: value::parse_definitions(text!("definitions.csv"))?,
        pures: pure::parse(text!("pure.csv"))?,
        timings: timing::parse(text!("timing.csv"))?,
        carried: carried::parse_carried(text!("carried.csv"))?,
        nitrogen_acids: carried::parse_nitrogen(text!("nitrogen_acid.csv"))?,
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
