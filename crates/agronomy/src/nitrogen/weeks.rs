//! Supply against uptake, week by week.
//!
//! Each spreading adds its mineral nitrogen (less the ammonia lost where it is not worked in) and then
//! lets its organic nitrogen go by the model of [`super::release`]. Soil organic matter gives its
//! seasonal credit in proportion to the warm time of each week. The crop takes up by [`super::uptake`].
//! Nothing is washed out and nothing leaves as gas from wet ground: the caution says so.

use super::ammonia::{Covered, Weather, ammonium_kept};
use super::release::{Anchor, Kinetics, Pools, kinetics, rule, warmth};
use super::uptake::Uptake;
use super::{NitrogenError, checked, constant, warn};
use crate::working::{Caution, Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// One material spread once.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreading {
    pub anchor: Anchor,
    /// All nitrogen in it, lb N/acre
    pub total_n: f64,
    /// Of that, ammonium and nitrate N, lb N/acre
    pub ammonium_n: f64,
    pub nitrate_n: f64,
    /// The week it goes on at the start of: 1 is the first week after planting, 0 the one before.
    pub week: i32,
    pub covered: Covered,
    pub weather: Weather,
}

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

/// What one spreading has given after each week.
struct Course {
    kinetics: Kinetics,
    pools: Pools,
    organic: f64,
    at_once: f64,
    lost: f64,
    tau: f64,
}

impl Course {
    fn of(s: &Spreading) -> Result<(Self, Vec<Source>), NitrogenError> {
        for (v, what) in [
            (s.total_n, "nitrogen spread in lb per acre"),
            (s.ammonium_n, "ammonium nitrogen in lb per acre"),
            (s.nitrate_n, "nitrate nitrogen in lb per acre"),
        ] {
            checked(v, 5_000.0, what)?;
        }
        let mineral = s.ammonium_n + s.nitrate_n;
        if mineral > s.total_n + 1e-9 {
            return Err(NitrogenError::BadValue(
                plain(s.total_n, 4),
                "total nitrogen: it is less than its ammonium and nitrate",
            ));
        }
        let share = if s.total_n > 0.0 {
            (mineral / s.total_n).min(1.0)
        } else {
            0.0
        };
        let mut sources = vec![s.anchor.source.clone()];
        let mut pools = s.anchor.pools(share)?;
        let left = !matches!(s.covered, Covered::WithinDays(_) | Covered::Injected);
        if left && s.anchor.weeks > 0.0 {
            // On the surface less is let go; the share was printed for cover crops.
            let kept = constant("cover_surface_share")?;
            pools.fast *= kept.value;
            pools.slow *= kept.value;
            pools.inert = 1.0 - pools.fast - pools.slow;
            sources.push(kept.source.clone());
        }
        let mut lost = 0.0;
        if s.ammonium_n > 0.0 {
            let (kept, _, source) = ammonium_kept(s.covered, s.weather)?;
            lost = s.ammonium_n * (1.0 - kept);
            sources.push(source);
        }
        let organic = s.total_n - mineral;
        // Mineral nitrogen is there as it is spread: a class without weeks counts as that.
        let immediate = if s.anchor.weeks <= 0.0 {
            organic * pools.fast
        } else {
            0.0
        };
        let course = Self {
            kinetics: kinetics()?,
            pools: if s.anchor.weeks <= 0.0 {
                Pools {
                    fast: 0.0,
                    slow: 0.0,
                    inert: 1.0,
                }
            } else {
                pools
            },
            organic: organic - immediate,
            at_once: mineral - lost + immediate,
            lost,
            tau: 0.0,
        };
        Ok((course, sources))
    }

    fn given(&self) -> f64 {
        self.at_once + self.organic * self.kinetics.available(self.pools, self.tau)
    }

    fn bound(&self) -> f64 {
        self.organic * (1.0 - self.kinetics.available(self.pools, self.tau))
    }
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

/// What one spreading has given by the end of `week` (counted from its own first week = 1) on ground
/// of the given weekly temperatures: lb N/acre, with the working.
///
/// # Errors
/// As [`weeks`]; fewer temperatures than weeks count the last one on.
pub fn given_by(
    spreading: &Spreading,
    week: u32,
    soil_c: &[f64],
    soil_source: &Source,
) -> Result<Figure, NitrogenError> {
    let Some(last) = soil_c.last() else {
        return Err(NitrogenError::BadValue(
            "none".to_owned(),
            "soil temperature",
        ));
    };
    if !(1..=156).contains(&week) {
        return Err(NitrogenError::BadValue(
            week.to_string(),
            "number of weeks, which is 1 to 156",
        ));
    }
    let (mut course, sources) = Course::of(spreading)?;
    let mut tau = 0.0;
    for n in 0..week as usize {
        tau += warmth(*soil_c.get(n).unwrap_or(last))?;
    }
    course.tau = tau;
    let mut figure = Figure::new(format!(
        "Nitrogen available from {} by week {week}",
        spreading.anchor.what.to_lowercase()
    ));
    figure.step(
        "warm time",
        tau,
        "weeks at 25 °C",
        format!("{week} weeks, each counted by how fast soil organic nitrogen breaks down at its temperature"),
        Source::new(
            format!("{}; temperatures: {}", rule("k_25")?.source.text, soil_source.text),
            soil_source.evidence.max(Evidence::Derived),
        ),
    );
    if course.at_once > 0.0 || course.lost > 0.0 {
        figure.step(
            "mineral nitrogen, there at once",
            course.at_once,
            "lb N/acre",
            format!(
                "{} − {} lost as ammonia",
                plain(course.at_once + course.lost, 4),
                plain(course.lost, 3)
            ),
            sources.last().cloned().unwrap_or_else(Source::arithmetic),
        );
    }
    let share = figure.step(
        "organic nitrogen let go by then",
        course.kinetics.available(course.pools, tau) * 100.0,
        "%",
        format!(
            "{} × (1 − e^(−{} × {})) + {} × (1 − e^(−{} × {}))",
            plain(course.pools.fast, 3),
            plain(course.kinetics.fast_per_week, 3),
            plain(tau, 3),
            plain(course.pools.slow, 3),
            plain(course.kinetics.slow_per_week, 3),
            plain(tau, 3)
        ),
        Source::new(
            format!(
                "held to {} % by {} weeks at {} °C: {}; the curve between by four meals: {}",
                plain(spreading.anchor.share * 100.0, 3),
                plain(spreading.anchor.weeks, 3),
                plain(spreading.anchor.temp_c, 3),
                spreading.anchor.source.text,
                rule("meals_8_weeks_warm")?.source.text
            ),
            spreading.anchor.source.evidence.max(Evidence::Derived),
        ),
    );
    figure.step(
        format!("available by week {week}"),
        course.given(),
        "lb N/acre",
        format!(
            "{} + {} × {} %",
            plain(course.at_once, 4),
            plain(course.organic, 4),
            plain(share, 4)
        ),
        Source::arithmetic(),
    );
    if let (Some(low), Some(high)) = (spreading.anchor.low, spreading.anchor.high) {
        let at = |share: f64| -> Option<f64> {
            let mut anchor = spreading.anchor.clone();
            anchor.share = share;
            let (mut c, _) = Course::of(&Spreading {
                anchor,
                ..spreading.clone()
            })
            .ok()?;
            c.tau = tau;
            Some(c.given())
        };
        figure.low = at(low);
        figure.high = at(high);
    }
    if spreading.anchor.share <= 0.0 {
        warn(&mut figure, "tie_up");
    }
    if spreading.anchor.source.evidence == Evidence::Memory {
        figure.caution(
            "The release of this material is recalled, not read in its source: check it with your adviser.",
            spreading.anchor.source.clone(),
        );
    }
    warn(&mut figure, "no_leaching");
    Ok(figure)
}

/// Soil temperatures of an invented cool temperate farm, °C, from a week of the year (1 to 52) on: to
/// start from where the grower has none.
///
/// # Errors
/// The reference table cannot be read, or a week that cannot be.
pub fn stand_in_soil_c(
    week_of_year: u32,
    count: usize,
) -> Result<(Vec<f64>, Source), NitrogenError> {
    let (all, source) = super::climate::stand_in()?;
    if !(1..=52).contains(&week_of_year) {
        return Err(NitrogenError::BadValue(
            week_of_year.to_string(),
            "week of the year, which is 1 to 52",
        ));
    }
    let from = week_of_year as usize - 1;
    let temps = (0..count.min(156))
        .filter_map(|n| all.get((from + n) % 52).copied())
        .collect();
    Ok((temps, source.clone()))
}

/// Weeks in which half of the soil’s ready organic nitrogen is let go at a soil temperature: ln 2 / k,
/// k per week by Campbell, Myers and Weier at 15, 25 and 35 °C, joined as [`warmth`] says.
///
/// # Errors
/// Frozen ground, where nothing is let go, or a temperature that cannot be.
pub fn soil_half_life(soil_c: f64) -> Result<Figure, NitrogenError> {
    let at_25 = rule("k_25")?;
    let k = at_25.value * warmth(soil_c)?;
    if k <= 0.0 {
        return Err(NitrogenError::BadValue(
            format!("{} °C", plain(soil_c, 3)),
            "temperature for this: frozen ground lets nothing go",
        ));
    }
    let mut figure = Figure::new("Half-life of the soil’s ready organic nitrogen");
    figure.step(
        "let go in a week",
        k,
        "per week",
        format!("{} × {}", at_25.value, plain(k / at_25.value, 4)),
        at_25.source.clone(),
    );
    figure.step(
        "half is let go in",
        std::f64::consts::LN_2 / k,
        "weeks",
        format!("ln 2 / {}", plain(k, 4)),
        Source::arithmetic(),
    );
    warn(&mut figure, "temperature");
    Ok(figure)
}
