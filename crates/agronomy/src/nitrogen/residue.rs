//! Credits for the crop before: residues worked in the same year, and what grew last year.

use super::credit::Credit;
use super::release::rule;
use super::{NitrogenError, checked, warn};
use crate::crop::Crop;
use crate::dose;
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::{Rate, plain};
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct RawResidue {
    crop: String,
    part: String,
    kg_ha: f64,
    printed: String,
    source: String,
    evidence: String,
}

struct Residue {
    crop: String,
    part: String,
    kg_ha: f64,
    printed: String,
    source: Source,
}

#[derive(Deserialize)]
struct RawPrevious {
    key: String,
    system: String,
    name: String,
    low: f64,
    high: f64,
    unit: String,
    note: String,
    source: String,
    evidence: String,
}

/// What a guide credits for last year's crop.
#[derive(Debug, Clone)]
pub struct PreviousCrop {
    pub key: String,
    pub system: String,
    pub name: String,
    /// lb N/acre
    pub low: f64,
    pub high: f64,
    pub printed: String,
    pub note: String,
    pub source: Source,
}

#[derive(Default)]
struct Tables {
    residues: Vec<Residue>,
    previous: Vec<PreviousCrop>,
}

fn load_tables() -> Result<Tables, TableError> {
    let name = "nitrogen/residues.csv";
    let text = include_str!("../../../../reference/nitrogen/residues.csv");
    let residues = table::rows::<RawResidue>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if crate::crop::find(&r.crop).is_none() || r.kg_ha < 0.0 {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not a crop, or its credit is below zero", r.crop),
                });
            }
            Ok(Residue {
                crop: r.crop,
                part: r.part,
                kg_ha: r.kg_ha,
                printed: r.printed,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    let name = "nitrogen/previous_crops.csv";
    let text = include_str!("../../../../reference/nitrogen/previous_crops.csv");
    let previous = table::rows::<RawPrevious>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let lb = |v: f64| dose::lb_per_acre(v, &r.unit).filter(|v| *v >= 0.0);
            let (Some(low), Some(high)) = (lb(r.low), lb(r.high)) else {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("{} to {} {} is no credit", r.low, r.high, r.unit),
                });
            };
            Ok(PreviousCrop {
                printed: if r.low < r.high {
                    format!("{} to {} {}", plain(r.low, 3), plain(r.high, 3), r.unit)
                } else {
                    format!("{} {}", plain(r.low, 3), r.unit)
                },
                key: r.key,
                system: r.system,
                name: r.name,
                low,
                high,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect::<Result<_, _>>()?;
    Ok(Tables { residues, previous })
}

pub(super) fn load() -> Result<(), TableError> {
    load_tables().map(|_| ())
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| load_tables().unwrap_or_default())
}

/// The credits that guides print for last year's crop.
pub fn previous_crops() -> &'static [PreviousCrop] {
    &tables().previous
}

/// From last year's main crop, lb N/acre, by one system (the first that knows the crop where none is
/// named); the value is the low end of the printed range.
///
/// # Errors
/// No system here credits that crop; the sentence names those that are held.
pub fn previous_crop(key: &str, system: Option<&str>) -> Result<Credit, NitrogenError> {
    let all = previous_crops();
    let of = all
        .iter()
        .find(|p| p.key == key && system.is_none_or(|s| p.system == s))
        .ok_or_else(|| NitrogenError::Unknown {
            what: "previous crop of that guide",
            found: system.map_or_else(|| key.to_owned(), |s| format!("{key} by {s}")),
            known: all
                .iter()
                .map(|p| format!("{} ({})", p.key, p.system))
                .collect::<Vec<_>>()
                .join(", "),
        })?;
    let mut figure = Figure::new("Nitrogen from last year’s crop");
    figure.step(
        of.name.to_lowercase(),
        of.low,
        "lb N/acre",
        if of.note.is_empty() {
            of.printed.clone()
        } else {
            format!("{}; {}", of.printed, of.note)
        },
        of.source.clone(),
    );
    if of.low < of.high {
        figure.low = Some(of.low);
        figure.high = Some(of.high);
    }
    Ok(Credit::of(
        format!("last year: {}", of.name.to_lowercase()),
        figure,
    ))
}

/// A crop whose residues are held here.
#[derive(Debug, Clone, Copy)]
pub struct ResidueOf {
    /// Key of the crop.
    pub crop: &'static str,
    /// Empty where the table tells no parts apart.
    pub part: &'static str,
    pub printed: &'static str,
}

/// The crops, and their parts, that the residue table holds, in its order.
pub fn residues() -> impl Iterator<Item = ResidueOf> {
    tables().residues.iter().map(|r| ResidueOf {
        crop: &r.crop,
        part: &r.part,
        printed: &r.printed,
    })
}

/// The parts of a crop (bunching, processing …) that the residue table tells apart, the first being
/// the usual one.
pub fn residue_parts(crop: &Crop) -> Vec<&'static str> {
    let of = tables().residues.iter().filter(|r| r.crop == crop.key);
    of.map(|r| r.part.as_str()).collect()
}

/// From a vegetable's residues worked in earlier in the same year (German ordinance, Annex 4 Table 4).
///
/// `part` is one of [`residue_parts`]. Nothing is credited where the whole plant was taken off. Where
/// mineral N was sampled four weeks or more after working in, part of the residue is already in that
/// sample and the ordinance lets the credit be cut by up to two thirds: the low end shows it.
/// Result: lb N/acre.
///
/// # Errors
/// A crop or a part that the table does not hold, or weeks that cannot be.
pub fn residue(
    crop: &Crop,
    part: Option<&str>,
    whole_plant_removed: bool,
    sampled_weeks_after: Option<f64>,
) -> Result<Credit, NitrogenError> {
    let of: Vec<_> = tables()
        .residues
        .iter()
        .filter(|r| r.crop == crop.key)
        .collect();
    let name = crop.name.to_lowercase();
    let row = match part {
        None => of.first(),
        Some(part) => of.iter().find(|r| r.part == part),
    }
    .ok_or_else(|| NitrogenError::Unknown {
        what: "residue held here",
        found: part.map_or_else(|| name.clone(), |p| format!("{name}, {p}")),
        known: if of.is_empty() {
            tables()
                .residues
                .iter()
                .map(|r| r.crop.as_str())
                .collect::<std::collections::BTreeSet<_>>()
                .into_iter()
                .collect::<Vec<_>>()
                .join(", ")
        } else {
            of.iter()
                .map(|r| r.part.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        },
    })?;
    let mut figure = Figure::new(format!("Nitrogen from the residues of {name}"));
    let full = figure.step(
        format!("residues of {}", row.printed),
        Rate::kg_per_ha(row.kg_ha).to_lb_per_acre(),
        "lb N/acre",
        format!("{} kg/ha × 0.892", plain(row.kg_ha, 3)),
        row.source.clone(),
    );
    if whole_plant_removed {
        figure.step(
            "the whole plant was taken off",
            0.0,
            "lb N/acre",
            "no residue, no credit",
            row.source.clone(),
        );
    } else if let Some(weeks) = sampled_weeks_after {
        checked(weeks, 60.0, "time since working in, in weeks")?;
        let from = rule("residue_sampled_weeks")?;
        if weeks >= from.value {
            let cut = rule("residue_cut")?.value / 3.0;
            figure.low = Some(full * (1.0 - cut));
            figure.high = Some(full);
            figure.caution(
                format!(
                    "Mineral nitrogen was sampled {} weeks after the residues went in and holds part of them: the credit may be cut by up to two thirds.",
                    plain(weeks, 2)
                ),
                from.source.clone(),
            );
        }
    }
    if matches!(crop.key.as_str(), "broccoli" | "cauliflower") {
        warn(&mut figure, "residues");
    }
    Ok(Credit::of(format!("residues of {name}"), figure))
}
