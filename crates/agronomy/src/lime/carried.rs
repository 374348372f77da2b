//! Lime that rides along with other materials, and the acid that nitrogen makes.

use super::LimeError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// The lime value of a material that varies too much for one figure, CCE in % of weight as spread.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Carried {
    /// The material’s id
    pub material: String,
    pub low: f64,
    pub value: f64,
    pub high: f64,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct CarriedRow {
    material: String,
    low: f64,
    value: f64,
    high: f64,
    note: String,
    source: String,
    evidence: String,
}

pub(super) fn parse_carried((name, text): (&str, &str)) -> Result<Vec<Carried>, TableError> {
    table::rows::<CarriedRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if !(r.low <= r.value && r.value <= r.high) {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: "the value must lie between low and high".to_owned(),
                });
            }
            Ok(Carried {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                material: r.material,
                low: r.low,
                value: r.value,
                high: r.high,
                note: r.note,
            })
        })
        .collect()
}

/// The range printed for a material that varies too much for one figure.
pub fn carried(material: &str) -> Option<&'static Carried> {
    tables().carried.iter().find(|c| c.material == material)
}

/// What a source of nitrogen does to lime, per lb of N: negative makes acid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NitrogenAcid {
    /// The material’s id
    pub material: String,
    pub name: String,
    /// lb CaCO3 per lb N; negative makes acid
    pub per_lb_n: f64,
    /// How it follows from what is printed
    pub formula: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct NitrogenRow {
    material: String,
    name: String,
    n_pct: Option<f64>,
    lb_caco3_per_100_lb: Option<f64>,
    kg_cao_per_kg_n: Option<f64>,
    source: String,
    evidence: String,
}

pub(super) fn parse_nitrogen((name, text): (&str, &str)) -> Result<Vec<NitrogenAcid>, TableError> {
    table::rows::<NitrogenRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let (per_lb_n, formula) = match (r.n_pct, r.lb_caco3_per_100_lb, r.kg_cao_per_kg_n) {
                (Some(n), Some(lime), None) if n > 0.0 => (
                    lime / n,
                    format!(
                        "{} lb CaCO3 / {} lb N in 100 lb",
                        plain(lime, 4),
                        plain(n, 4)
                    ),
                ),
                (None, None, Some(cao)) => (
                    cao * CACO3_PER_CAO,
                    format!("{} kg CaO per kg N × {CACO3_PER_CAO}", plain(cao, 3)),
                ),
                _ => {
                    return Err(TableError {
                        table: name.to_owned(),
                        row: i + 2,
                        problem: "give either the N and the lime of 100 lb, or CaO per kg N"
                            .to_owned(),
                    });
                }
            };
            Ok(NitrogenAcid {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                material: r.material,
                name: r.name,
                per_lb_n,
                formula,
            })
        })
        .collect()
}

/// The ratio of the molar masses, 100.087 / 56.077.
const CACO3_PER_CAO: f64 = 1.7848;

/// What every source prints, in the table’s order.
pub fn nitrogen_acids() -> &'static [NitrogenAcid] {
    &tables().nitrogen_acids
}

/// The lime that `lb_n` lb of N from a material uses up (negative) or brings (positive): lb CaCO3,
/// over the same ground as the N. Where two sources print it, the first decides and both make the
/// range.
///
/// # Errors
/// A material that no source gives, or an amount that cannot be.
pub fn acid_from_nitrogen(material: &str, lb_n: f64) -> Result<Figure, LimeError> {
    if !(lb_n.is_finite() && lb_n >= 0.0) {
        return Err(LimeError::BadValue(lb_n.to_string(), "amount of N"));
    }
    let all: Vec<&NitrogenAcid> = nitrogen_acids()
        .iter()
        .filter(|a| a.material == material)
        .collect();
    let Some(first) = all.first() else {
        let mut known: Vec<&str> = nitrogen_acids()
            .iter()
            .map(|a| a.material.as_str())
            .collect();
        known.sort_unstable();
        known.dedup();
        return Err(LimeError::Unknown(format!(
            "No source held here says what the nitrogen of “{material}” does to pH; use one of {}.",
            known.join(", ")
        )));
    };
    let mut figure = Figure::new(format!("Effect on lime of the nitrogen in {}", first.name));
    for a in all.iter().rev() {
        figure.step(
            format!("by {}", a.source.text),
            a.per_lb_n,
            "lb CaCO3/lb N",
            a.formula.clone(),
            a.source.clone(),
        );
    }
    figure.step(
        if first.per_lb_n < 0.0 {
            "lime used up"
        } else {
            "lime brought"
        },
        first.per_lb_n * lb_n,
        "lb CaCO3",
        format!("{} × {} lb N", plain(first.per_lb_n, 4), plain(lb_n, 4)),
        Source::arithmetic(),
    );
    if all.len() > 1 {
        let ends = all.iter().map(|a| a.per_lb_n * lb_n);
        figure.low = Some(ends.clone().fold(f64::INFINITY, f64::min));
        figure.high = Some(ends.fold(f64::NEG_INFINITY, f64::max));
    }
    if first.per_lb_n < 0.0 {
        figure.cautions.extend(super::said("nitrogen_acid"));
    }
    if all.iter().any(|a| a.source.evidence == Evidence::Memory) {
        figure.cautions.extend(super::said("unconfirmed"));
    }
    Ok(figure)
}

/// What is said where a number is only recalled.
pub(crate) fn unconfirmed_caution() -> impl Iterator<Item = crate::working::Caution> {
    super::said("unconfirmed")
}

/// The cautions that go with lime that rides along.
pub(crate) fn riding_cautions() -> impl Iterator<Item = crate::working::Caution> {
    super::said("carried")
}
