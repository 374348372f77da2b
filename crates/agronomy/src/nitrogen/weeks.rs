//! Supply against uptake, week by week.
//!
//! Each spreading adds its mineral nitrogen (less the ammonia lost where it is not worked in) and then
//! lets its organic nitrogen go by the model of [`super::release`]. Soil organic matter gives its
//! seasonal credit in proportion to the warm time of each week. The crop takes up by [`super::uptake`].
//! Nothing is washed out and nothing leaves as gas from wet ground: the caution says so.

use super::course::{Course, Spreading};
use super::release::{rule, warmth};
use super::uptake::Uptake;
use super::{NitrogenError, checked, constant, warn};
use crate::working::{Caution, Evidence, Figure, Source};
use serde::{Deserialize, Serialize};

/// All that decides the weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub spreadings: Vec<Spreading>,
    /// Soil organic matter, percent
    pub organic_matter_pct: Option<f64>,
    /// Nitrate and ammonium N in the root zone before the first week, lb N/acre
    pub mineral_n: f64,
    pub uptake: Option<Uptake>,
    /// The first week reckoned; the first of `soil_c` belongs to it.
    pub first_week: i32,
    /// Mean soil temperature of each week, °C; as many weeks are reckoned as are given.
    pub soil_c: Vec<f64>,
    /// Where the temperatures come from.
    pub soil_source: Source,
}

/// One week, lb N/acre.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Week {
    /// 1 is the first week after planting.
    pub week: i32,
    pub soil_c: f64,
    /// From the materials
    pub spread: f64,
    /// From soil organic matter
    pub soil: f64,
    /// spread + soil
    pub supply: f64,
    /// What the crop would take up
    pub uptake: f64,
    /// Since the first week, with what was there before
    pub supplied: f64,
    pub taken: f64,
    /// supplied − taken; below zero the crop is short
    pub balance: f64,
}

/// Supply against uptake over the weeks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weeks {
    pub weeks: Vec<Week>,
    /// The week in which the crop is furthest behind, with the lb N/acre it is short; none where it
    /// is never short.
    pub shortest: Option<(i32, f64)>,
    /// The week in which it first falls short.
    pub first_short: Option<i32>,
    /// Mineral N that is left at the end, lb N/acre
    pub surplus: f64,
    /// Organic N still bound in the materials at the end, lb N/acre
    pub bound: f64,
    /// Ammonia lost to the air, lb N/acre
    pub lost: f64,
    /// All nitrogen spread, lb N/acre
    pub applied: f64,
    pub sources: Vec<Source>,
    pub cautions: Vec<Caution>,
}

/// lb N/acre that 1 % of organic matter gives in one week at 25 °C: the seasonal credit over the warm
/// time of the season it is counted for.
fn soil_rate() -> Result<(f64, Source), NitrogenError> {
    let credit = constant("om_per_pct")?;
    let season = rule("season_weeks")?.value * warmth(rule("season_temp_c")?.value)?;
    Ok((
        credit.value / season,
        Source::new(
            format!("{}; spread over the season by warmth", credit.source.text),
            Evidence::Derived,
        ),
    ))
}

/// Works out supply against uptake for the weeks of a plan.
///
/// # Errors
/// A value that cannot be, a material spread before the first week, or more than 156 weeks.
pub fn weeks(plan: &Plan) -> Result<Weeks, NitrogenError> {
    if plan.soil_c.is_empty() || plan.soil_c.len() > 156 {
        return Err(NitrogenError::BadValue(
            plan.soil_c.len().to_string(),
            "number of weeks, which is 1 to 156",
        ));
    }
    checked(plan.mineral_n, 1_000.0, "mineral nitrogen in lb per acre")?;
    let om = checked(
        plan.organic_matter_pct.unwrap_or(0.0),
        100.0,
        "organic matter in percent",
    )?;
    let mut sources = Vec::new();
    let mut courses = Vec::new();
    for s in &plan.spreadings {
        if s.week < plan.first_week {
            return Err(NitrogenError::BadValue(
                s.week.to_string(),
                "week of spreading: it lies before the first week reckoned",
            ));
        }
        let (course, from) = Course::of(s)?;
        courses.push((s.week, course));
        sources.extend(from);
    }
    let (per_pct, soil_source) = soil_rate()?;
    if om > 0.0 {
        sources.push(soil_source);
    }
    if let Some(u) = &plan.uptake {
        sources.extend(u.sources.iter().cloned());
    }
    sources.push(rule("k_25")?.source.clone());
    sources.push(rule("meals_8_weeks_warm")?.source.clone());
    sources.push(plan.soil_source.clone());

    let mut out = Vec::new();
    let (mut supplied, mut taken) = (plan.mineral_n, 0.0);
    for (week, soil_c) in (plan.first_week..).zip(&plan.soil_c) {
        let warm = warmth(*soil_c)?;
        let mut spread = 0.0;
        for (from, course) in &mut courses {
            if week < *from {
                continue;
            }
            let before = if week == *from { 0.0 } else { course.given() };
            course.tau += warm;
            spread += course.given() - before;
        }
        let soil = om * per_pct * warm;
        let uptake = plan
            .uptake
            .as_ref()
            .map_or(0.0, |u| u.by(f64::from(week)) - u.by(f64::from(week) - 1.0));
        supplied += spread + soil;
        taken += uptake;
        out.push(Week {
            week,
            soil_c: *soil_c,
            spread,
            soil,
            supply: spread + soil,
            uptake,
            supplied,
            taken,
            balance: supplied - taken,
        });
    }
    let last = plan.first_week.saturating_add(out.len() as i32 - 1);
    let on = |week: &i32| *week <= last;
    let short = |w: &&Week| w.balance < -1e-9;
    Ok(Weeks {
        shortest: out
            .iter()
            .filter(short)
            .min_by(|a, b| a.balance.total_cmp(&b.balance))
            .map(|w| (w.week, -w.balance)),
        first_short: out.iter().find(short).map(|w| w.week),
        surplus: out.last().map_or(0.0, |w| w.balance.max(0.0)),
        bound: courses
            .iter()
            .filter(|(w, _)| on(w))
            .map(|(_, c)| c.bound())
            .sum(),
        lost: courses
            .iter()
            .filter(|(w, _)| on(w))
            .map(|(_, c)| c.lost)
            .sum(),
        applied: plan
            .spreadings
            .iter()
            .filter(|s| on(&s.week))
            .map(|s| s.total_n)
            .sum(),
        weeks: out,
        cautions: cautions(plan, &sources),
        sources: distinct(sources),
    })
}

fn distinct(sources: Vec<Source>) -> Vec<Source> {
    let mut out: Vec<Source> = Vec::new();
    for source in sources {
        if !out.contains(&source) {
            out.push(source);
        }
    }
    out
}

fn cautions(plan: &Plan, sources: &[Source]) -> Vec<Caution> {
    let mut figure = Figure::new("");
    warn(&mut figure, "no_leaching");
    warn(&mut figure, "temperature");
    if plan.spreadings.iter().any(|s| s.anchor.share <= 0.0) {
        warn(&mut figure, "tie_up");
    }
    if plan.uptake.is_some() {
        warn(&mut figure, "leaching");
    }
    if let Some(weak) = sources.iter().find(|s| s.evidence == Evidence::Memory) {
        figure.caution(
            "One of these figures is recalled, not read in its source: check it with your adviser.",
            weak.clone(),
        );
    }
    figure.cautions
}
