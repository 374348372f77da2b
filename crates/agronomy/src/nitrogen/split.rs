//! When a season's nitrogen goes on, and how much each time.

mod tables;

use self::tables::tables;
use super::NitrogenError;
use super::release::rule;
use super::uptake::season;
use crate::crop::{Crop, NitrogenRate};
use crate::working::{Evidence, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

pub(super) use self::tables::load;

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
    if split_systems_of(crop).is_empty() {
        return Err(NitrogenError::NoFigure(crop.name.clone()));
    }
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
    let figure_of = |why: &str, more: Evidence| {
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
        note: rate.note.clone(),
        printed: false,
        source,
    };
    // Standing crops and short ones are given all at once: the rule is for vegetables that grow on.
    let standing = matches!(crop.group.as_str(), "berry" | "perennial" | "thistle");
    let short = rule("short_season_weeks")?;
    if standing || season(crop).is_some_and(|s| s.weeks() <= short.value) {
        return Ok(vec![split(
            if standing {
                When::Spring
            } else {
                When::Planting
            },
            if standing {
                "as growth starts in spring; the source prints no parts".to_owned()
            } else {
                format!(
                    "at planting: at most {} weeks to harvest",
                    plain(short.value, 2)
                )
            },
            0.0,
            &|v| v,
            figure_of("given at once, a judgement", short.source.evidence),
        )]);
    }
    let mut parts = vec![split(
        When::Planting,
        "at planting".to_owned(),
        0.0,
        &at_planting,
        figure_of(
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
        figure_of(&format!("the rest sidedressed; {why}"), more),
    ));
    if sandy {
        parts.push(split(
            When::Sidedress,
            "about 3 weeks later, on sand".to_owned(),
            when.max(second.value - 3.0) + 3.0,
            &rest,
            figure_of(
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
