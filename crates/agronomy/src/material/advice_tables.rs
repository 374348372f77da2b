//! Parsing what is said about materials beside their analysis.

use super::advice::{
    Advice, Foliar, Handling, Hazard, MetalLevel, OfMaterial, RecordField, Timing,
};
use super::groups::Groups;
use crate::table::{self, TableError};
use crate::working::Caution;
use serde::Deserialize;

#[derive(Deserialize)]
struct TimingRow {
    group: String,
    text: String,
    days_from: Option<f64>,
    days_to: Option<f64>,
    sooner: String,
    later: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct HandlingRow {
    id: String,
    what: String,
    text: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct HazardRow {
    group: String,
    hazard: String,
    text: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RecordRow {
    record: String,
    field: String,
    required_by: String,
    example: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct FigureRow {
    id: String,
    #[serde(alias = "percent", alias = "index")]
    value: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct FoliarRow {
    nutrient: String,
    #[serde(rename = "for")]
    what_for: String,
    low: f64,
    high: f64,
    unit: String,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct MetalRow {
    of: String,
    metal: String,
    basis: String,
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    meaning: String,
    source: String,
    evidence: String,
}

macro_rules! reference {
    ($file:literal) => {
        include_str!(concat!("../../../../reference/materials/", $file))
    };
}

fn figures(name: &str, text: &str) -> Result<Vec<OfMaterial>, TableError> {
    let mut all = Vec::new();
    for (i, r) in table::rows::<FigureRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        if super::find(&r.id).is_none() {
            return Err(TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: format!("no material “{}”", r.id),
            });
        }
        all.push(OfMaterial {
            id: r.id,
            value: r.value,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    Ok(all)
}

/// Parses the advice that comes with the program.
///
/// # Errors
/// A row whose group, material or mark of evidence leads nowhere.
pub fn load_advice() -> Result<Advice, TableError> {
    let groups = Groups::parse()?;
    let mut all = Advice::default();
    let name = "materials/timing.csv";
    for (i, r) in table::rows::<TimingRow>(name, reference!("timing.csv"))?
        .into_iter()
        .enumerate()
    {
        groups.known(&r.group, name, i + 2)?;
        if !matches!(r.sooner.as_str(), "" | "well" | "lost")
            || !matches!(r.later.as_str(), "" | "weak" | "harm")
        {
            return Err(TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: format!(
                    "sooner is “{}” and later “{}”, not well or lost, and weak or harm",
                    r.sooner, r.later
                ),
            });
        }
        all.timing.push(Timing {
            group: r.group,
            text: r.text,
            days: (r.days_from, r.days_to),
            sooner_is_lost: r.sooner == "lost",
            later_harms: r.later == "harm",
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "materials/handling.csv";
    for (i, r) in table::rows::<HandlingRow>(name, reference!("handling.csv"))?
        .into_iter()
        .enumerate()
    {
        let wrong = |problem: String| table::wrong(name, i, problem);
        if super::find(&r.id).is_none() {
            return Err(wrong(format!("no material “{}”", r.id)));
        }
        if !matches!(r.what.as_str(), "release" | "lead" | "work in") {
            return Err(wrong(format!(
                "“{}” is not release, lead or work in",
                r.what
            )));
        }
        all.handling.push(Handling {
            id: r.id,
            what: r.what,
            text: r.text,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "materials/safety.csv";
    for (i, r) in table::rows::<HazardRow>(name, reference!("safety.csv"))?
        .into_iter()
        .enumerate()
    {
        groups.known(&r.group, name, i + 2)?;
        all.hazards.push(Hazard {
            group: r.group,
            hazard: r.hazard,
            caution: Caution {
                text: r.text,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            },
        });
    }
    let name = "materials/records.csv";
    for (i, r) in table::rows::<RecordRow>(name, reference!("records.csv"))?
        .into_iter()
        .enumerate()
    {
        all.records.push(RecordField {
            record: r.record,
            field: r.field,
            required_by: r.required_by,
            example: r.example,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "materials/foliar.csv";
    for (i, r) in table::rows::<FoliarRow>(name, reference!("foliar.csv"))?
        .into_iter()
        .enumerate()
    {
        all.foliar.push(Foliar {
            nutrient: r.nutrient,
            what_for: r.what_for,
            low: r.low,
            high: r.high,
            unit: r.unit,
            note: r.note,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    let name = "materials/metals.csv";
    for (i, r) in table::rows::<MetalRow>(name, reference!("metals.csv"))?
        .into_iter()
        .enumerate()
    {
        all.metals.push(MetalLevel {
            of: r.of,
            metal: r.metal,
            basis: r.basis,
            value: r.value,
            low: r.low,
            high: r.high,
            unit: r.unit,
            meaning: r.meaning,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    all.humidity = figures("materials/humidity.csv", reference!("humidity.csv"))?;
    all.salt_index = figures("materials/salt_index.csv", reference!("salt_index.csv"))?;
    all.groups = groups;
    Ok(all)
}
