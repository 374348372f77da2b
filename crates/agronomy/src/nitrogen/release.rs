//! How organic material lets its nitrogen go: what is published of the amount, and the model of the
//! time in between.
//!
//! **Model.** Nitrogen N of a material lies in three parts: a fast share *f*, a slow share *s* and a
//! share *i* that does not move within the season, f + s + i = 1. Over a warm time τ
//!
//! A(τ) = f (1 − e^(−k₁ τ)) + s (1 − e^(−k₂ τ))
//!
//! is available, as a share of N. τ counts weeks at 25 °C: a week at T °C counts
//! φ(T) = k(T) / k(25), with the rates k of soil organic nitrogen that Campbell, Myers and Weier
//! measured at 15, 25 and 35 °C (0.018, 0.031, 0.058 per week; Q10 1.72 and 1.87), joined by straight
//! lines in log k. Below 5 °C φ falls in a straight line to nothing at freezing; above 35 °C it stays.
//!
//! **Calibration.** k₁, k₂ and the meals’ f come in closed form from three printed means of four
//! meals (Hartz and Johnstone 2006): 47 % in 2 weeks at the cold end, 56 % in 8 weeks at 10 °C, 66 % in
//! 8 weeks at 25 °C. Every other material takes k₁ and k₂ from them and is set so that its own printed
//! share comes out at its own printed time and temperature. How the rest of the curve runs is read
//! across from the meals: a judgement, marked `derived`.

use super::NitrogenError;
use crate::constant::{Constant, Constants};
use crate::table::{self, TableError};
use crate::working::{Evidence, Source};
use serde::Deserialize;
use std::sync::OnceLock;

/// The three parts of a material’s nitrogen; they add up to one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pools {
    pub fast: f64,
    pub slow: f64,
    /// Does not move within the season.
    pub inert: f64,
}

/// The two rates, per week at 25 °C, and the meals’ fast share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kinetics {
    pub fast_per_week: f64,
    pub slow_per_week: f64,
    pub meals_fast: f64,
}

/// What a printed share is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BasisOf {
    /// Organic N: ammonium and nitrate come on top.
    Organic,
    /// All N applied, mineral and organic.
    Applied,
    /// Total N; the same as applied.
    Total,
}

/// A class of material with the share of its nitrogen that becomes available.
#[derive(Debug, Clone)]
pub struct ReleaseClass {
    pub key: String,
    pub name: String,
    /// `meal`, `dry_organic`, `compost`, `manure` or `mineral`
    pub family: String,
    pub basis: BasisOf,
    /// Percent
    pub low: Option<f64>,
    pub value: f64,
    pub high: Option<f64>,
    /// When and at which soil temperature (°C) the share is counted; 0 weeks for mineral nitrogen.
    pub weeks: f64,
    pub temp_c: f64,
    /// Whether time and temperature are the source’s own.
    pub horizon: Evidence,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Raw {
    key: String,
    name: String,
    family: String,
    basis: BasisOf,
    low: Option<f64>,
    value: f64,
    high: Option<f64>,
    weeks: f64,
    temp_c: f64,
    horizon_evidence: String,
    note: String,
    source: String,
    evidence: String,
}

fn load_classes() -> Result<Vec<ReleaseClass>, TableError> {
    let name = "nitrogen/release.csv";
    let text = include_str!("../../../../reference/nitrogen/release.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let bad = |problem: String| table::wrong(name, i, problem);
            let (low, high) = (r.low.unwrap_or(r.value), r.high.unwrap_or(r.value));
            if !(0.0 <= low && low <= r.value && r.value <= high && high <= 100.0) {
                return Err(bad(format!("{low}, {}, {high} are no shares", r.value)));
            }
            Ok(ReleaseClass {
                horizon: Evidence::from_word(&r.horizon_evidence).ok_or_else(|| {
                    bad(format!(
                        "“{}” is not a mark of evidence",
                        r.horizon_evidence
                    ))
                })?,
                key: r.key,
                name: r.name,
                family: r.family,
                basis: r.basis,
                low: r.low,
                value: r.value,
                high: r.high,
                weeks: r.weeks,
                temp_c: r.temp_c,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

fn load_rules() -> Result<Constants, TableError> {
    Constants::parse(
        "nitrogen/release_constants.csv",
        include_str!("../../../../reference/nitrogen/release_constants.csv"),
    )
}

pub(super) fn load() -> Result<(), TableError> {
    load_rules()?;
    load_classes().map(|_| ())
}

/// A number of these methods, with its source.
pub(super) fn rule(key: &'static str) -> Result<&'static Constant, NitrogenError> {
    static RULES: OnceLock<Constants> = OnceLock::new();
    RULES
        .get_or_init(|| load_rules().unwrap_or_default())
        .get(key)
        .ok_or(NitrogenError::Table(key))
}

/// The classes of material whose release was published.
pub fn release_classes() -> &'static [ReleaseClass] {
    static CLASSES: OnceLock<Vec<ReleaseClass>> = OnceLock::new();
    CLASSES.get_or_init(|| load_classes().unwrap_or_default())
}

/// A class by its key.
///
/// # Errors
/// No such class; the sentence names those held.
pub fn release_class(key: &str) -> Result<&'static ReleaseClass, NitrogenError> {
    release_classes()
        .iter()
        .find(|c| c.key == key)
        .ok_or_else(|| NitrogenError::Unknown {
            what: "class of material whose release is held here",
            found: key.to_owned(),
            known: release_classes()
                .iter()
                .map(|c| c.key.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        })
}

/// φ(T): how many weeks at 25 °C one week at `temp_c` counts for.
///
/// # Errors
/// The reference table cannot be read, or the temperature is not a number.
pub fn warmth(temp_c: f64) -> Result<f64, NitrogenError> {
    if !temp_c.is_finite() || !(-40.0..=60.0).contains(&temp_c) {
        return Err(NitrogenError::BadValue(
            format!("{temp_c} °C"),
            "soil temperature, which lies between −40 and 60 °C",
        ));
    }
    let (k15, k25, k35) = (
        rule("k_15")?.value,
        rule("k_25")?.value,
        rule("k_35")?.value,
    );
    let (frozen, cold, hot) = (
        rule("frozen_c")?.value,
        rule("cold_c")?.value,
        rule("hot_c")?.value,
    );
    let at = |t: f64| {
        if t <= 25.0 {
            (k25 / k15).powf((t - 25.0) / 10.0)
        } else {
            (k35 / k25).powf((t - 25.0) / 10.0)
        }
    };
    Ok(if temp_c <= frozen {
        0.0
    } else if temp_c < cold {
        at(cold) * (temp_c - frozen) / (cold - frozen)
    } else {
        at(temp_c.min(hot))
    })
}

/// The shared rates, worked out from the three printed points; see the head of this module.
///
/// # Errors
/// The reference table cannot be read, or its points cannot lie on such a curve.
pub fn kinetics() -> Result<Kinetics, NitrogenError> {
    let share = |key| rule(key).map(|c| c.value / 100.0);
    let (early, cold, warm) = (
        share("meals_2_weeks_low")?,
        share("meals_8_weeks_cold")?,
        share("meals_8_weeks_warm")?,
    );
    let (tau_cold, tau_warm) = (8.0 * warmth(10.0)?, 8.0 * warmth(25.0)?);
    // By week 8 the fast part is out, so that what is left is slow: ratio of the two gives its rate.
    let slow_per_week = ((1.0 - cold) / (1.0 - warm)).ln() / (tau_warm - tau_cold);
    let slow = (1.0 - warm) * (slow_per_week * tau_warm).exp();
    let meals_fast = 1.0 - slow;
    let tau_early = 2.0 * warmth(10.0)?;
    let fast_out = (early - slow * (1.0 - (-slow_per_week * tau_early).exp())) / meals_fast;
    let fast_per_week = -(1.0 - fast_out).ln() / tau_early;
    if [slow_per_week, meals_fast, fast_per_week]
        .iter()
        .all(|v| v.is_finite() && *v > 0.0)
        && meals_fast < 1.0
    {
        Ok(Kinetics {
            fast_per_week,
            slow_per_week,
            meals_fast,
        })
    } else {
        Err(NitrogenError::Table("release points of the four meals"))
    }
}

impl Kinetics {
    /// A(τ): share of N available after τ weeks at 25 °C.
    pub fn available(&self, pools: Pools, tau: f64) -> f64 {
        pools.fast * (1.0 - (-self.fast_per_week * tau).exp())
            + pools.slow * (1.0 - (-self.slow_per_week * tau).exp())
    }

    /// The pools of a material of which `share` (0 to 1) is available after τ weeks at 25 °C.
    ///
    /// Up to what the meals give by then its curve is theirs on a smaller scale, the rest inert;
    /// above it the fast part grows and nothing is inert. What not even a wholly fast material would
    /// have let go by then cannot be reached.
    pub fn calibrated(&self, share: f64, tau: f64) -> Option<Pools> {
        if !(0.0..=1.0).contains(&share) || !tau.is_finite() || tau <= 0.0 {
            return None;
        }
        let meals = Pools {
            fast: self.meals_fast,
            slow: 1.0 - self.meals_fast,
            inert: 0.0,
        };
        let of_meals = self.available(meals, tau);
        if share <= of_meals {
            let scale = share / of_meals;
            return Some(Pools {
                fast: meals.fast * scale,
                slow: meals.slow * scale,
                inert: 1.0 - scale,
            });
        }
        let fast_out = 1.0 - (-self.fast_per_week * tau).exp();
        let slow_out = 1.0 - (-self.slow_per_week * tau).exp();
        let fast = (share - slow_out) / (fast_out - slow_out);
        (fast <= 1.0).then_some(Pools {
            fast,
            slow: 1.0 - fast,
            inert: 0.0,
        })
    }
}

/// A share that counts as available by a certain time at a certain temperature: what the model is
/// held to for one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Anchor {
    /// In words, e.g. `feather meal`.
    pub what: String,
    /// 0 to 1
    pub share: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
    /// Whether the share is of organic N only.
    pub of_organic: bool,
    pub weeks: f64,
    pub temp_c: f64,
    pub note: String,
    pub source: Source,
}

/// A name as it stands within a sentence.
fn lower_first(name: &str) -> String {
    let mut chars = name.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}

impl ReleaseClass {
    /// What this class’s curve is held to.
    pub fn anchor(&self) -> Anchor {
        Anchor {
            what: lower_first(&self.name),
            share: self.value / 100.0,
            low: self.low.map(|v| v / 100.0),
            high: self.high.map(|v| v / 100.0),
            of_organic: self.basis == BasisOf::Organic,
            weeks: self.weeks,
            temp_c: self.temp_c,
            note: self.note.clone(),
            source: self.source.clone(),
        }
    }
}

impl Anchor {
    /// The pools of its organic N, where `mineral` (0 to 1) of all N is ammonium and nitrate.
    ///
    /// A share of total N is held for the whole: what the mineral part gives at once is taken off
    /// what the organic part has to give.
    ///
    /// # Errors
    /// The share cannot be reached by its time.
    pub fn pools(&self, mineral: f64) -> Result<Pools, NitrogenError> {
        let organic = if self.of_organic || mineral >= 1.0 {
            self.share
        } else {
            ((self.share - mineral) / (1.0 - mineral)).max(0.0)
        };
        if self.weeks <= 0.0 {
            return Ok(Pools {
                fast: organic,
                slow: 0.0,
                inert: 1.0 - organic,
            });
        }
        kinetics()?
            .calibrated(organic, self.weeks * warmth(self.temp_c)?)
            .ok_or(NitrogenError::Table("release of this material"))
    }
}
