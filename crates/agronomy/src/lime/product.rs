//! From pure calcium carbonate to the lime in the bag, and how much of it goes on at once.

use super::LimeError;
use super::tables::tables;
use crate::dose::{Dose, Share};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// What the bag or the analysis says about a lime.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quality {
    /// calcium carbonate equivalent, % by weight
    Cce(f64),
    /// effective value with fineness in it, % (ENV, ECC, RNV, lime score)
    EffectivePercent(f64),
    /// effective pounds in a short ton (ECCE, ENP)
    EffectiveLbPerTon(f64),
    /// neutralising value, % CaO
    NeutralisingValue(f64),
}

/// % CaO to % CaCO3: the ratio of the molar masses, 100.09 / 56.08.
const CACO3_PER_CAO: f64 = 100.09 / 56.08;

/// lb of the lime as spread per acre that does the work of `cce_lb_per_acre` lb of fully effective
/// lime (pure calcium carbonate, or lime of score 100).
///
/// `moisture_pct`: water in the lime as spread, when its analysis is on dry weight.
pub fn product(
    cce_lb_per_acre: f64,
    quality: Quality,
    moisture_pct: f64,
) -> Result<Figure, LimeError> {
    if !cce_lb_per_acre.is_finite() || cce_lb_per_acre < 0.0 {
        return Err(LimeError::BadValue(
            cce_lb_per_acre.to_string(),
            "lime rate",
        ));
    }
    if !(0.0..100.0).contains(&moisture_pct) {
        return Err(LimeError::BadValue(
            moisture_pct.to_string(),
            "moisture in percent",
        ));
    }
    let (given, pct, what, source) = match quality {
        Quality::Cce(v) => (v, v, "CCE, %", "Penn State: rate × 100 / CCE"),
        Quality::EffectivePercent(v) => (
            v,
            v,
            "effective value, %",
            "rate × 100 / effective value, for a rate of fully effective lime",
        ),
        Quality::EffectiveLbPerTon(v) => (
            v,
            v / 20.0,
            "effective lb per ton",
            "Ohio State Extension: tons × 2,000 / effective lb per ton",
        ),
        Quality::NeutralisingValue(v) => (
            v,
            v * CACO3_PER_CAO,
            "neutralising value, % CaO",
            "molar masses of calcium carbonate and calcium oxide",
        ),
    };
    if !pct.is_finite() || pct <= 0.0 {
        return Err(LimeError::BadValue(given.to_string(), "lime quality"));
    }
    let evidence = match quality {
        Quality::Cce(_) | Quality::EffectiveLbPerTon(_) => Evidence::Seen,
        _ => Evidence::Derived,
    };
    let mut figure = Figure::new("Lime as sold");
    figure.step(
        format!("lime of {} {what}", plain(given, 4)),
        cce_lb_per_acre * 100.0 / pct,
        "lb/acre",
        format!("{} × 100 / {}", plain(cce_lb_per_acre, 4), plain(pct, 4)),
        Source::new(source, evidence),
    );
    match quality {
        Quality::Cce(_) | Quality::NeutralisingValue(_) => {
            figure.cautions.extend(super::said("cce"));
        }
        Quality::EffectivePercent(_) | Quality::EffectiveLbPerTon(_) => {
            figure.cautions.extend(super::said("effective"));
        }
    }
    if moisture_pct > 0.0 {
        let dry = figure.value;
        figure.step(
            "as spread, with its water",
            dry * 100.0 / (100.0 - moisture_pct),
            "lb/acre",
            format!(
                "{} × 100 / (100 − {})",
                plain(dry, 4),
                plain(moisture_pct, 3)
            ),
            Source::arithmetic(),
        );
    }
    Ok(figure)
}

/// A published fineness index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Index {
    Iowa,
    NewYork,
    Nebraska,
    Kentucky,
}

impl Index {
    pub fn key(self) -> &'static str {
        match self {
            Self::Iowa => "iowa",
            Self::NewYork => "new_york",
            Self::Nebraska => "nebraska",
            Self::Kentucky => "kentucky",
        }
    }
}

/// The fineness factor, %, from the percent passing each sieve (`(mesh, %)`).
pub fn fineness(index: Index, passing: &[(u32, f64)]) -> Result<Figure, LimeError> {
    let mut figure = Figure::new("Fineness of the lime");
    let mut sum = 0.0;
    let mut terms = Vec::new();
    let mut used = None;
    for sieve in tables().sieves.iter().filter(|s| s.index == index.key()) {
        let pct = if sieve.mesh == 0 {
            100.0
        } else {
            passing
                .iter()
                .find(|(mesh, _)| *mesh == sieve.mesh)
                .map(|(_, pct)| *pct)
                .ok_or(LimeError::Missing {
                    method: "fineness index",
                    needs: "the percent passing each of its sieves",
                })?
        };
        if !(0.0..=100.0).contains(&pct) {
            return Err(LimeError::BadValue(pct.to_string(), "percent passing"));
        }
        sum += sieve.weight * pct;
        terms.push(format!("{} × {}", sieve.weight, plain(pct, 4)));
        used = Some(&sieve.source);
    }
    let source = used.ok_or(LimeError::Table("fineness index"))?;
    figure.step(
        "fineness factor",
        sum,
        "%",
        terms.join(" + "),
        source.clone(),
    );
    Ok(figure)
}

/// Effective lb of calcium carbonate in a ton as sold: fineness × CCE × dry share × 2,000.
pub fn effective_lb_per_ton(
    fineness_pct: f64,
    cce_pct: f64,
    moisture_pct: f64,
) -> Result<Figure, LimeError> {
    for (value, most, what) in [
        (fineness_pct, 100.0, "fineness factor"),
        (cce_pct, 300.0, "CCE in percent"),
        (moisture_pct, 100.0, "moisture in percent"),
    ] {
        if !(0.0..=most).contains(&value) {
            return Err(LimeError::BadValue(value.to_string(), what));
        }
    }
    let mut figure = Figure::new("Effective value of the lime");
    figure.step(
        "effective calcium carbonate",
        fineness_pct / 100.0 * (cce_pct / 100.0) * (100.0 - moisture_pct) / 100.0 * 2_000.0,
        "lb/ton",
        format!(
            "{}/100 × {}/100 × (100 − {})/100 × 2,000",
            plain(fineness_pct, 4),
            plain(cce_pct, 4),
            plain(moisture_pct, 3)
        ),
        Source::new(
            "Iowa State (J. Sawyer), Liming Terminology and Analysis",
            Evidence::Seen,
        ),
    );
    Ok(figure)
}

/// Where the lime goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Situation {
    /// Garden beds, worked in by hand or small tiller
    Garden,
    /// Standing turf or sod paths
    Turf,
    /// On the surface, not worked in
    NotIncorporated,
    /// Established perennials, no-till
    Established,
    /// Field ground, plowed and fitted
    Incorporated,
}

impl Situation {
    pub fn key(self) -> &'static str {
        match self {
            Self::Garden => "garden",
            Self::Turf => "turf",
            Self::NotIncorporated => "not_incorporated",
            Self::Established => "established",
            Self::Incorporated => "incorporated",
        }
    }
}

/// Splits a lime rate (lb of lime as spread per acre) into doses; they add up to the rate.
pub fn doses(lb_per_acre: f64, situation: Situation) -> Vec<Dose> {
    tables()
        .limits
        .split(situation.key(), lb_per_acre, Share::Equal)
}
