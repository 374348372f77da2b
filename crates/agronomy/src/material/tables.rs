//! Parsing the material tables.

use super::{Analysis, Kind, Material, Most, Release, Rule, Status};
use crate::constant::Constants;
use crate::dose;
use crate::table::{self, TableError};
use crate::working::{Caution, Evidence, Source};
use quantity::Rate;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Row {
    id: String,
    name: String,
    kind: String,
    n: Option<f64>,
    p2o5: Option<f64>,
    k2o: Option<f64>,
    p2o5_available: Option<f64>,
    k2o_available: Option<f64>,
    ca: Option<f64>,
    mg: Option<f64>,
    s: Option<f64>,
    b: Option<f64>,
    fe: Option<f64>,
    zn: Option<f64>,
    mn: Option<f64>,
    cu: Option<f64>,
    mo: Option<f64>,
    cce: Option<f64>,
    dry_weight_basis: String,
    moisture: Option<f64>,
    pan_class: String,
    passes: String,
    min_even_lb_per_1000_ft2: Option<f64>,
    min_even_source: String,
    min_even_evidence: String,
    bags_lb: String,
    cautions: String,
    raw_manure: String,
    source: String,
    evidence: String,
    cce_source: String,
    cce_evidence: String,
    bare_ground_only: String,
}

#[derive(Deserialize)]
struct ReleaseRow {
    class: String,
    low: f64,
    value: f64,
    high: f64,
    basis: String,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RuleRow {
    id: String,
    status: String,
    paragraph: String,
    condition: String,
    evidence: String,
}

#[derive(Deserialize)]
struct DensityRow {
    id: String,
    low: f64,
    mid: f64,
    high: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct LimitRow {
    id: String,
    max: f64,
    unit: String,
    of: String,
    why: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct CautionRow {
    key: String,
    text: String,
    crew: String,
    source: String,
    evidence: String,
}

fn bad(table: &str, row: usize, problem: impl Into<String>) -> TableError {
    TableError {
        table: table.to_owned(),
        row,
        problem: problem.into(),
    }
}

fn list(text: &str) -> impl Iterator<Item = &str> {
    text.split(';').map(str::trim).filter(|s| !s.is_empty())
}

pub(super) fn constants() -> &'static Constants {
    static CONSTANTS: OnceLock<Constants> = OnceLock::new();
    CONSTANTS.get_or_init(|| load_constants().unwrap_or_default())
}

fn load_constants() -> Result<Constants, TableError> {
    Constants::parse(
        "materials/constants.csv",
        include_str!("../../../../reference/materials/constants.csv"),
    )
}

fn releases() -> Result<BTreeMap<String, Release>, TableError> {
    let name = "materials/first_season_n.csv";
    let text = include_str!("../../../../reference/materials/first_season_n.csv");
    table::rows::<ReleaseRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            let release = Release {
                class: r.class.clone(),
                low: r.low,
                value: r.value,
                high: r.high,
                basis: r.basis,
                note: r.note,
                source,
            };
            Ok((r.class, release))
        })
        .collect()
}

fn rules() -> Result<BTreeMap<String, Rule>, TableError> {
    let name = "materials/organic.csv";
    let text = include_str!("../../../../reference/materials/organic.csv");
    table::rows::<RuleRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let status = match r.status.as_str() {
                "allowed" => Status::Allowed,
                "restricted" => Status::Restricted,
                "prohibited" => Status::Prohibited,
                "unknown" => Status::Unknown,
                other => return Err(bad(name, i + 2, format!("“{other}” is not a status"))),
            };
            let evidence = Evidence::from_word(&r.evidence).ok_or_else(|| {
                bad(
                    name,
                    i + 2,
                    format!("“{}” is not a mark of evidence", r.evidence),
                )
            })?;
            let rule = Rule {
                status,
                paragraph: r.paragraph,
                condition: r.condition,
                evidence,
            };
            Ok((r.id, rule))
        })
        .collect()
}

fn densities() -> Result<BTreeMap<String, ([f64; 3], Source)>, TableError> {
    let name = "materials/density.csv";
    let text = include_str!("../../../../reference/materials/density.csv");
    table::rows::<DensityRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            Ok((r.id, ([r.low, r.mid, r.high], source)))
        })
        .collect()
}

/// Each caution by its key, and whether it speaks to the crew.
fn cautions() -> Result<BTreeMap<String, (Caution, bool)>, TableError> {
    let name = "materials/cautions.csv";
    let text = include_str!("../../../../reference/materials/cautions.csv");
    table::rows::<CautionRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            let caution = Caution {
                text: r.text,
                source,
            };
            match r.crew.as_str() {
                "" | "yes" => Ok((r.key, (caution, r.crew == "yes"))),
                other => Err(bad(
                    name,
                    i + 2,
                    format!("crew is “{other}”, not yes or nothing"),
                )),
            }
        })
        .collect()
}

/// Parses the material tables that come with the program. Every key must lead somewhere.
pub fn load() -> Result<Vec<Material>, TableError> {
    load_constants()?;
    let releases = releases()?;
    let rules = rules()?;
    let densities = densities()?;
    let cautions = cautions()?;
    let name = "materials/materials.csv";
    let text = include_str!("../../../../reference/materials/materials.csv");
    let mut all = Vec::new();
    let mut molybdenum = BTreeMap::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        let at = i + 2;
        let kind = Kind::from_key(&r.kind)
            .ok_or_else(|| bad(name, at, format!("“{}” is not a kind", r.kind)))?;
        let mut warn = Vec::new();
        let mut for_crew = Vec::new();
        for key in list(&r.cautions) {
            let (caution, crew) = cautions
                .get(key)
                .ok_or_else(|| bad(name, at, format!("no caution “{key}”")))?;
            warn.push(caution.clone());
            if *crew {
                for_crew.push((key.to_owned(), caution.clone()));
            }
        }
        // A figure without its source is an error, and so is a source without a figure.
        let least_even_source = match (r.min_even_lb_per_1000_ft2, r.min_even_source.as_str()) {
            (None, "") => None,
            (Some(_), text) if !text.is_empty() => {
                Some(table::source(name, at, text, &r.min_even_evidence)?)
            }
            _ => {
                return Err(bad(
                    name,
                    at,
                    "min_even_lb_per_1000_ft2 and its source belong together",
                ));
            }
        };
        if let Some(pct) = r.mo {
            molybdenum.insert(r.id.clone(), pct);
        }
        let mut bags = Vec::new();
        for bag in list(&r.bags_lb) {
            let lb: f64 = bag
                .parse()
                .map_err(|_| bad(name, at, format!("“{bag}” is not a bag weight")))?;
            bags.push(lb);
        }
        all.push(Material {
            kind,
            analysis: Analysis {
                n: r.n,
                p2o5: r.p2o5,
                p2o5_available: r.p2o5_available,
                k2o: r.k2o,
                k2o_available: r.k2o_available,
                ca: r.ca,
                mg: r.mg,
                s: r.s,
                b: r.b,
                fe: r.fe,
                zn: r.zn,
                mn: r.mn,
                cu: r.cu,
                cce: r.cce,
                dry_basis: r.dry_weight_basis == "yes",
                moisture: r.moisture,
            },
            source: table::source(name, at, &r.source, &r.evidence)?,
            cce_source: if r.cce_source.is_empty() {
                None
            } else {
                Some(table::source(name, at, &r.cce_source, &r.cce_evidence)?)
            },
            release: releases
                .get(&r.pan_class)
                .cloned()
                .ok_or_else(|| bad(name, at, format!("no release class “{}”", r.pan_class)))?,
            rule: rules
                .get(&r.id)
                .cloned()
                .ok_or_else(|| bad(name, at, format!("no organic rule for “{}”", r.id)))?,
            passes: list(&r.passes).map(str::to_owned).collect(),
            least_even_lb_per_acre: r
                .min_even_lb_per_1000_ft2
                .map(|v| Rate::lb_per_1000_ft2(v).to_lb_per_acre()),
            least_even_source,
            most: None,
            bags_lb: bags,
            density: densities.get(&r.id).cloned(),
            raw_manure: r.raw_manure == "yes",
            raw_because: None,
            bare_ground_only: r.bare_ground_only == "yes",
            cautions: warn,
            crew_cautions: for_crew,
            id: r.id,
            name: r.name,
        });
    }
    limit(&mut all, &molybdenum)?;
    Ok(all)
}

/// Sets the most of each material, turning a limit on a nutrient into one on the product.
fn limit(all: &mut [Material], molybdenum: &BTreeMap<String, f64>) -> Result<(), TableError> {
    let name = "materials/rate_limits.csv";
    let text = include_str!("../../../../reference/materials/rate_limits.csv");
    for (i, r) in table::rows::<LimitRow>(name, text)?.into_iter().enumerate() {
        let at = i + 2;
        let Some(material) = all.iter_mut().find(|m| m.id == r.id) else {
            return Err(bad(name, at, format!("no material “{}”", r.id)));
        };
        let rate = dose::lb_per_acre(r.max, &r.unit)
            .ok_or_else(|| bad(name, at, format!("“{}” is not a unit of rate", r.unit)))?;
        let a = &material.analysis;
        let pct = match r.of.as_str() {
            "product" => Some(100.0),
            "b" => a.b,
            "zn" => a.zn,
            "mn" => a.mn,
            "cu" => a.cu,
            "mo" => molybdenum.get(&r.id).copied(),
            other => return Err(bad(name, at, format!("“{other}” cannot be limited"))),
        };
        let pct = pct
            .filter(|p| *p > 0.0)
            .ok_or_else(|| bad(name, at, format!("{} holds no {}", r.id, r.of)))?;
        material.most = Some(Most {
            lb_per_acre: rate * 100.0 / pct,
            why: r.why,
            source: table::source(name, at, &r.source, &r.evidence)?,
        });
    }
    Ok(())
}
