//! What a liming material is worth: purity × fineness × dry matter, by each state’s definition.

use super::LimeError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// A published fineness index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Index {
    Iowa,
    NewYork,
    Nebraska,
    /// Kentucky and Mississippi
    Kentucky,
    /// What acts in the first year; weights recalled
    IllinoisYear1,
    /// What acts within four years; weights recalled
    IllinoisYear4,
    /// Weights recalled
    Minnesota,
    /// Weights recalled
    Ohio,
    /// Recalled
    OklahomaKansas,
    /// Recalled
    Missouri,
}

impl Index {
    pub const ALL: [Self; 10] = [
        Self::Iowa,
        Self::NewYork,
        Self::Nebraska,
        Self::Kentucky,
        Self::IllinoisYear1,
        Self::IllinoisYear4,
        Self::Minnesota,
        Self::Ohio,
        Self::OklahomaKansas,
        Self::Missouri,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Iowa => "iowa",
            Self::NewYork => "new_york",
            Self::Nebraska => "nebraska",
            Self::Kentucky => "kentucky",
            Self::IllinoisYear1 => "illinois_year_1",
            Self::IllinoisYear4 => "illinois_year_4",
            Self::Minnesota => "minnesota",
            Self::Ohio => "ohio",
            Self::OklahomaKansas => "oklahoma_kansas",
            Self::Missouri => "missouri",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|i| i.key() == key)
    }

    /// The sieves whose percent passing the index asks for.
    pub fn meshes(self) -> Vec<u32> {
        tables()
            .sieves
            .iter()
            .filter(|s| s.index == self.key() && s.mesh > 0)
            .map(|s| s.mesh)
            .collect()
    }
}

/// How a state counts the value of lime.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Definition {
    pub index: String,
    pub region: String,
    /// e.g. `ECCE`
    pub name: String,
    /// `lb/ton` or `%`
    pub unit: String,
    /// What pure, fine, dry calcium carbonate is worth in that unit.
    pub full: f64,
    /// Whether the water in the lime is part of the definition.
    pub water_counts: bool,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct DefinitionRow {
    index: String,
    region: String,
    name: String,
    unit: String,
    full: f64,
    water_counts: String,
    note: String,
    source: String,
    evidence: String,
}

pub(super) fn parse_definitions((name, text): (&str, &str)) -> Result<Vec<Definition>, TableError> {
    table::rows::<DefinitionRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if Index::from_key(&r.index).is_none() {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not a fineness index", r.index),
                });
            }
            Ok(Definition {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                index: r.index,
                region: r.region,
                name: r.name,
                unit: r.unit,
                full: r.full,
                water_counts: r.water_counts == "yes",
                note: r.note,
            })
        })
        .collect()
}

/// How the state of an index counts; none only if the tables cannot be read.
pub fn definition(index: Index) -> Option<&'static Definition> {
    tables().definitions.iter().find(|d| d.index == index.key())
}

/// The fineness factor, %, from the percent passing each sieve (`(mesh, %)`).
///
/// # Errors
/// A sieve of the index that is not given, a percent outside 0 to 100, or a finer sieve that passes
/// more than a coarser one.
pub fn fineness(index: Index, passing: &[(u32, f64)]) -> Result<Figure, LimeError> {
    let mut given: Vec<(u32, f64)> = passing.to_vec();
    given.sort_by_key(|(mesh, _)| *mesh);
    for (_, pct) in &given {
        if !(0.0..=100.0).contains(pct) {
            return Err(LimeError::BadValue(pct.to_string(), "percent passing"));
        }
    }
    for pair in given.windows(2) {
        if let [(coarser, coarse), (finer, fine)] = pair
            && fine > coarse
        {
            return Err(LimeError::Sieves {
                finer: *finer,
                fine: plain(*fine, 4),
                coarser: *coarser,
                coarse: plain(*coarse, 4),
            });
        }
    }
    let mut figure = Figure::new("Fineness of the lime");
    let mut sum = 0.0;
    let mut terms = Vec::new();
    let mut used: Option<&Source> = None;
    for sieve in tables().sieves.iter().filter(|s| s.index == index.key()) {
        let pct = if sieve.mesh == 0 {
            100.0
        } else {
            given
                .iter()
                .find(|(mesh, _)| *mesh == sieve.mesh)
                .map(|(_, pct)| *pct)
                .ok_or_else(|| {
                    LimeError::Unknown(format!(
                        "The fineness index {} asks for the percent passing {} mesh.",
                        index.key(),
                        index
                            .meshes()
                            .iter()
                            .map(u32::to_string)
                            .collect::<Vec<_>>()
                            .join(", ")
                    ))
                })?
        };
        sum += sieve.weight * pct;
        terms.push(format!("{} × {}", sieve.weight, plain(pct, 4)));
        if used.is_none_or(|s| sieve.source.evidence > s.evidence) {
            used = Some(&sieve.source);
        }
    }
    let source = used.ok_or(LimeError::Table("fineness index"))?;
    figure.step(
        "fineness factor",
        sum,
        "%",
        terms.join(" + "),
        source.clone(),
    );
    Ok(figure)
}

/// Effective lb of calcium carbonate in a ton as sold: fineness × CCE × dry share × 2,000.
pub fn effective_lb_per_ton(
    fineness_pct: f64,
    cce_pct: f64,
    moisture_pct: f64,
) -> Result<Figure, LimeError> {
    check(fineness_pct, cce_pct, moisture_pct)?;
    let mut figure = Figure::new("Effective value of the lime");
    figure.step(
        "effective calcium carbonate",
        fineness_pct / 100.0 * (cce_pct / 100.0) * (100.0 - moisture_pct) / 100.0 * 2_000.0,
        "lb/ton",
        format!(
            "{}/100 × {}/100 × (100 − {})/100 × 2,000",
            plain(fineness_pct, 4),
            plain(cce_pct, 4),
            plain(moisture_pct, 3)
        ),
        Source::new(
            "Iowa State (J. Sawyer), Liming Terminology and Analysis",
            Evidence::Seen,
        ),
    );
    Ok(figure)
}

fn check(fineness_pct: f64, cce_pct: f64, moisture_pct: f64) -> Result<(), LimeError> {
    for (value, most, what) in [
        (fineness_pct, 100.0, "fineness factor"),
        (cce_pct, 300.0, "CCE in percent"),
        (moisture_pct, 100.0, "moisture in percent"),
    ] {
        if !(0.0..=most).contains(&value) {
            return Err(LimeError::BadValue(value.to_string(), what));
        }
    }
    Ok(())
}

/// A lime’s effective value by a state’s definition, in that state’s unit, from its sieves, its CCE
/// (% of dry weight) and its water (% as sold).
///
/// Where the definition leaves water out, so does the value, and a caution says to allow for it in
/// the weight spread.
///
/// # Errors
/// As for [`fineness`]; a CCE or moisture that cannot be.
pub fn effective_value(
    index: Index,
    cce_pct: f64,
    moisture_pct: f64,
    passing: &[(u32, f64)],
) -> Result<Figure, LimeError> {
    let how = definition(index).ok_or(LimeError::Table("definition of lime value"))?;
    let mut figure = fineness(index, passing)?;
    let factor = figure.value;
    check(factor, cce_pct, moisture_pct)?;
    figure.what = format!("{} of the lime, {}", how.name, how.region);
    let dry = if how.water_counts {
        100.0 - moisture_pct
    } else {
        100.0
    };
    let water = if how.water_counts {
        format!(" × (100 − {})/100", plain(moisture_pct, 3))
    } else {
        String::new()
    };
    figure.step(
        how.name.clone(),
        factor / 100.0 * (cce_pct / 100.0) * (dry / 100.0) * how.full,
        how.unit.clone(),
        format!(
            "{}/100 × {}/100{water} × {}",
            plain(factor, 4),
            plain(cce_pct, 4),
            plain(how.full, 4)
        ),
        how.source.clone(),
    );
    if !how.note.is_empty() {
        figure.caution(how.note.clone(), how.source.clone());
    }
    if !how.water_counts && moisture_pct > 0.0 {
        figure.caution(
            format!(
                "{} leaves water out: spread {} % more weight to make up for it.",
                how.name,
                plain(100.0 * moisture_pct / (100.0 - moisture_pct).max(1e-9), 3)
            ),
            Source::arithmetic(),
        );
    }
    figure.cautions.extend(super::said("effective"));
    if figure.weakest().is_some_and(Evidence::unconfirmed) {
        figure.cautions.extend(super::said("unconfirmed"));
    }
    Ok(figure)
}
