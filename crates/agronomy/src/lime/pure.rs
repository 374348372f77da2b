//! Pure compounds that neutralize acid, by chemistry.

use super::LimeError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// A pure compound that neutralizes acid, or is taken to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pure {
    pub formula: String,
    pub name: String,
    pub g_per_mol: f64,
    /// Acid taken up by one formula weight.
    pub acid_taken_up: f64,
    /// CCE as a source prints it, %
    pub printed_cce: f64,
    pub source: Source,
}

#[derive(Deserialize)]
struct PureRow {
    formula: String,
    name: String,
    g_per_mol: f64,
    acid_taken_up: f64,
    printed_cce: f64,
    source: String,
    evidence: String,
}

pub(super) fn parse((name, text): (&str, &str)) -> Result<Vec<Pure>, TableError> {
    table::rows::<PureRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Pure {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                formula: r.formula,
                name: r.name,
                g_per_mol: r.g_per_mol,
                acid_taken_up: r.acid_taken_up,
                printed_cce: r.printed_cce,
            })
        })
        .collect()
}

/// The pure compounds held.
pub fn pures() -> &'static [Pure] {
    &tables().pures
}

/// The CCE of a pure compound, %, by chemistry: 100 × (CaCO3 / 2) / (M / n), with M its molar mass
/// in g/mol and n the acid that one formula weight takes up.
///
/// # Errors
/// A formula that is not held.
pub fn cce_of(formula: &str) -> Result<Figure, LimeError> {
    let pures = pures();
    let unknown = || {
        LimeError::Unknown(format!(
            "“{formula}” is not a compound held here; use one of {}.",
            pures
                .iter()
                .map(|p| p.formula.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        ))
    };
    let pure = pures
        .iter()
        .find(|p| p.formula == formula)
        .ok_or_else(unknown)?;
    let lime = pures
        .iter()
        .find(|p| p.formula == "CaCO3")
        .ok_or(LimeError::Table("pure compounds"))?;
    let mut figure = Figure::new(format!("CCE of pure {}", pure.name));
    figure.step(
        "calcium carbonate equivalent",
        100.0 * (lime.g_per_mol / lime.acid_taken_up) * pure.acid_taken_up / pure.g_per_mol,
        "%",
        format!(
            "100 × ({} / 2) × {} / {}",
            lime.g_per_mol, pure.acid_taken_up, pure.g_per_mol
        ),
        Source::new("standard atomic weights", Evidence::Derived),
    );
    figure.caution(
        format!(
            "Printed as {} %. That is the pure compound; go by the bag’s own CCE.",
            plain(pure.printed_cce, 4)
        ),
        pure.source.clone(),
    );
    Ok(figure)
}
