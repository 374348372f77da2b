//! When a season's nitrogen goes on, and how much each time.

use super::NitrogenError;
use super::release::rule;
use crate::crop::{Crop, NitrogenRate};
use crate::dose;
use crate::table::{self, TableError};
use crate::working::{Evidence, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// At which point of the season a part goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    Preplant,
    Planting,
    Sidedress,
    Spring,
    BeforeHarvest,
    AfterHarvest,
    /// In small doses with the irrigation.
    Fed,
}

/// One part of a season's nitrogen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Split {
    /// Counted from 1.
    pub part: u8,
    pub when: When,
    /// In words, e.g. `3 to 4 weeks after transplanting`.
    pub timing: String,
    /// Weeks after planting (for a standing crop: after growth starts), to draw it on a line.
    pub week: f64,
    /// lb N/acre
    pub low: f64,
    pub value: f64,
    pub high: f64,
    pub note: String,
    /// Whether the source itself prints this part, or a general rule divides its season figure.
    pub printed: bool,
    pub source: Source,
}

/// A published system of crop rates.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct System {
    pub key: String,
    /// As the crop table names it.
    pub name: String,
    pub region: String,
}

#[derive(Deserialize)]
struct Raw {
    crop: String,
    system: String,
    part: u8,
    when: When,
    timing: String,
    week: f64,
    kind: Kind,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    season_low: Option<f64>,
    season_high: Option<f64>,
    note: String,
    source: String,
    evidence: String,
}

#[derive(Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Amount,
    /// Percent of the season’s figure.
    Share,
    /// An equal part of what the shares leave.
    Rest,
}

#[derive(Deserialize)]
struct Sampling {
    crop: String,
    system: String,
    week: f64,
    source: String,
    evidence: String,
}

struct Tables {
    systems: Vec<System>,
    /// Crop, system, part.
    parts: Vec<(String, String, Split)>,
    sampling: Vec<(String, String, f64, Source)>,
}

const PARTS: &str = "crops/nitrogen_split.csv";

fn wrong(row: usize, problem: impl Into<String>) -> TableError {
    TableError {
        table: PARTS.to_owned(),
        row,
        problem: problem.into(),
    }
}

/// Low and high of one row in lb N/acre. `rests` is how many rows share what the shares leave, and
/// `shared` how much of the season, in percent, the shares take at their middle.
fn bounds(i: usize, raw: &Raw, rests: usize, shared: f64) -> Result<(f64, f64), TableError> {
    let lb = |v: f64| {
        dose::lb_per_acre(v, &raw.unit)
            .ok_or_else(|| wrong(i + 2, format!("“{}” is not a unit of rate", raw.unit)))
    };
    let given = |v: Option<f64>, what: &str| {
        v.filter(|v| v.is_finite() && *v >= 0.0)
            .ok_or_else(|| wrong(i + 2, format!("{what} is missing")))
    };
    if raw.kind == Kind::Amount {
        return Ok((lb(given(raw.low, "low")?)?, lb(given(raw.high, "high")?)?));
    }
    let season_low = given(raw.season_low, "season_low")?;
    let season_high = given(raw.season_high, "season_high")?;
    let (low, high) = if raw.kind == Kind::Share {
        (given(raw.low, "low")?, given(raw.high, "high")?)
    } else {
        let each = (100.0 - shared) / rests.max(1) as f64;
        (each, each)
    };
    Ok((
        lb(season_low * low / 100.0)?,
        lb(season_high * high / 100.0)?,
    ))
}

fn load_tables() -> Result<Tables, TableError> {
    let systems = table::rows::<System>(
        "crops/nitrogen_systems.csv",
        include_str!("../../../../reference/crops/nitrogen_systems.csv"),
    )?;
    let raw = table::rows::<Raw>(
        PARTS,
        include_str!("../../../../reference/crops/nitrogen_split.csv"),
    )?;
    let mut parts = Vec::new();
    for (i, row) in raw.iter().enumerate() {
        if !systems.iter().any(|s| s.key == row.system) {
            return Err(wrong(i + 2, format!("“{}” is not a system", row.system)));
        }
        if crate::crop::find(&row.crop).is_none() {
            return Err(wrong(i + 2, format!("“{}” is not a crop", row.crop)));
        }
        let same = || {
            raw.iter()
                .filter(|r| r.crop == row.crop && r.system == row.system)
        };
        let rests = same().filter(|r| r.kind == Kind::Rest).count();
        let shared: f64 = same()
            .filter(|r| r.kind == Kind::Share)
            .filter_map(|r| Some((r.low? + r.high?) / 2.0))
            .sum();
        let (low, high) = bounds(i, row, rests, shared)?;
        if low > high {
            return Err(wrong(i + 2, "low is above high"));
        }
        // A share is of the middle of the season, so that the parts add up to it.
        let value = match (row.kind, row.season_low, row.season_high) {
            (Kind::Share, Some(a), Some(b)) => {
                let pct = (row.low.unwrap_or(0.0) + row.high.unwrap_or(0.0)) / 2.0;
                dose::lb_per_acre((a + b) / 2.0 * pct / 100.0, &row.unit).unwrap_or(low)
            }
            _ => (low + high) / 2.0,
        };
        parts.push((
            row.crop.clone(),
            row.system.clone(),
            Split {
                part: row.part,
                when: row.when,
                timing: row.timing.clone(),
                week: row.week,
                low,
                value,
                high,
                note: row.note.clone(),
                printed: true,
                source: table::source(PARTS, i + 2, &row.source, &row.evidence)?,
            },
        ));
    }
    let name = "crops/nitrogen_sampling.csv";
    let sampling = table::rows::<Sampling>(
        name,
        include_str!("../../../../reference/crops/nitrogen_sampling.csv"),
    )?
    .into_iter()
    .enumerate()
    .map(|(i, r)| {
        let source = table::source(name, i + 2, &r.source, &r.evidence)?;
        Ok((r.crop, r.system, r.week, source))
    })
    .collect::<Result<_, _>>()?;
    Ok(Tables {
        systems,
        parts,
        sampling,
    })
}

pub(super) fn load() -> Result<(), TableError> {
    load_tables().map(|_| ())
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| {
        load_tables().unwrap_or(Tables {
            systems: Vec::new(),
            parts: Vec::new(),
            sampling: Vec::new(),
        })
    })
}

/// The published systems of nitrogen rates.
pub fn split_systems() -> &'static [System] {
    &tables().systems
}

/// The systems that hold a figure for a crop: those that print the parts first, each once.
pub fn split_systems_of(crop: &Crop) -> Vec<&'static System> {
    let all = tables();
    let printed = |s: &System| {
        all.parts
            .iter()
            .any(|(c, k, _)| *c == crop.key && *k == s.key)
    };
    let rated = |s: &System| crop.nitrogen.iter().any(|r| r.system == s.name);
    let mut of: Vec<_> = all.systems.iter().filter(|s| printed(s)).collect();
    of.extend(all.systems.iter().filter(|s| !printed(s) && rated(s)));
    of
}

/// A season's nitrogen in its parts, lb N/acre, by one system (a key of [`split_systems`]); on ground
/// that is not sandy. See [`need_split_on`].
///
/// # Errors
/// An unknown system, or one that holds no figure for the crop.
pub fn need_split(crop: &Crop, system: &str) -> Result<Vec<Split>, NitrogenError> {
    need_split_on(crop, system, false)
}

/// A season's nitrogen in its parts, lb N/acre.
///
/// Where the system prints the parts they come as printed. Where it prints only a season's figure,
/// that is divided by a general rule (Michigan State Univ.: about 40 lb N/acre at planting, the rest
/// in one or two sidedressings; two on sand) and each part is marked `derived` at best. On sand a
/// printed part of 100 lb or more is given in two (Rutgers).
///
/// # Errors
/// An unknown system, or one that holds no figure for the crop.
pub fn need_split_on(crop: &Crop, system: &str, sandy: bool) -> Result<Vec<Split>, NitrogenError> {
    let all = tables();
    let key = system.trim().to_lowercase();
    let of = all
        .systems
        .iter()
        .find(|s| s.key == key || s.name.to_lowercase() == key)
        .ok_or_else(|| NitrogenError::UnknownSystem {
            system: system.to_owned(),
            crop: crop.name.to_lowercase(),
            known: known(crop),
        })?;
    let mut parts: Vec<Split> = all
        .parts
        .iter()
        .filter(|(c, s, _)| *c == crop.key && *s == of.key)
        .map(|(_, _, split)| split.clone())
        .collect();
    if parts.is_empty() {
        let rate = crop
            .nitrogen
            .iter()
            .find(|r| r.system == of.name)
            .ok_or_else(|| NitrogenError::UnknownSystem {
                system: system.to_owned(),
                crop: crop.name.to_lowercase(),
                known: known(crop),
            })?;
        parts = by_rule(crop, of, rate, sandy)?;
    }
    if sandy {
        parts = halved_on_sand(parts)?;
    }
    parts.sort_by(|a, b| a.week.total_cmp(&b.week));
    for (n, part) in (1u8..).zip(&mut parts) {
        part.part = n;
    }
    Ok(parts)
}

fn known(crop: &Crop) -> String {
    let keys: Vec<_> = split_systems_of(crop)
        .iter()
        .map(|s| s.key.as_str())
        .collect();
    if keys.is_empty() {
        "none".to_owned()
    } else {
        keys.join(", ")
    }
}

/// Divides a season's figure by the general rule.
fn by_rule(
    crop: &Crop,
    of: &System,
    rate: &NitrogenRate,
    sandy: bool,
) -> Result<Vec<Split>, NitrogenError> {
    let first = rule("split_at_planting")?;
    let week = rule("sidedress_week")?;
    let second = rule("second_sidedress_week")?;
    let sampled = tables()
        .sampling
        .iter()
        .find(|(c, s, ..)| *c == crop.key && *s == of.key);
    let weak = |more: Evidence| rate.source.evidence.max(Evidence::Derived).max(more);
    let season = |why: &str, more: Evidence| {
        Source::new(
            format!(
                "season’s figure {} by {}; {why}",
                rate.printed, rate.source.text
            ),
            weak(more),
        )
    };
    let at_planting = |v: f64| v.min(first.value);
    let split = |when, timing: String, week, share: &dyn Fn(f64) -> f64, source| Split {
        part: 0,
        when,
        timing,
        week,
        low: share(rate.low),
        value: share(rate.value),
        high: share(rate.high),
        note: if rate.note.is_empty() {
            String::new()
        } else {
            rate.note.clone()
        },
        printed: false,
        source,
    };
    let mut parts = vec![split(
        When::Planting,
        "at planting".to_owned(),
        0.0,
        &at_planting,
        season(
            &format!(
                "divided by the general rule of {}: about {} lb N/acre at planting",
                first.source.text,
                plain(first.value, 3)
            ),
            first.source.evidence,
        ),
    )];
    if rate.high <= first.value {
        return Ok(parts);
    }
    let times = if sandy { 2.0 } else { 1.0 };
    let rest = |v: f64| (v - at_planting(v)) / times;
    let (timing, when, why, more) = match sampled {
        Some((_, _, week, source)) => (
            format!(
                "after sampling mineral nitrogen in crop week {}",
                plain(*week, 2)
            ),
            *week,
            source.text.clone(),
            source.evidence,
        ),
        None => (
            format!(
                "about {} weeks after planting, before rapid growth",
                plain(week.value, 2)
            ),
            week.value,
            week.source.text.clone(),
            week.source.evidence,
        ),
    };
    parts.push(split(
        When::Sidedress,
        timing,
        when,
        &rest,
        season(&format!("the rest sidedressed; {why}"), more),
    ));
    if sandy {
        parts.push(split(
            When::Sidedress,
            "about 3 weeks later, on sand".to_owned(),
            when.max(second.value - 3.0) + 3.0,
            &rest,
            season(
                &format!(
                    "the rest in two sidedressings on sand; {}",
                    second.source.text
                ),
                second.source.evidence,
            ),
        ));
    }
    Ok(parts)
}

/// On sand a part of 100 lb N/acre or more goes on in two, three weeks apart.
fn halved_on_sand(parts: Vec<Split>) -> Result<Vec<Split>, NitrogenError> {
    let from = rule("sand_split_from")?;
    let mut out = Vec::new();
    for part in parts {
        if part.value < from.value {
            out.push(part);
            continue;
        }
        for (n, timing) in [
            (0.0, "first half"),
            (3.0, "second half, about 3 weeks later"),
        ] {
            out.push(Split {
                timing: format!("{}: {timing}", part.timing),
                week: part.week + n,
                low: part.low / 2.0,
                value: part.value / 2.0,
                high: part.high / 2.0,
                source: Source::new(
                    format!(
                        "{}; halved on sand by {}",
                        part.source.text, from.source.text
                    ),
                    part.source.evidence.max(Evidence::Derived),
                ),
                ..part.clone()
            });
        }
    }
    Ok(out)
}

/// The rule of half before planting and half sidedressed, which the Midwest guide prints for ground
/// below 3 % organic matter: whether it asks for that.
///
/// # Errors
/// The reference table cannot be read.
pub fn half_before_planting(organic_matter_pct: f64) -> Result<bool, NitrogenError> {
    super::checked(organic_matter_pct, 100.0, "organic matter in percent")?;
    Ok(organic_matter_pct < rule("midwest_om_pct")?.value)
}
