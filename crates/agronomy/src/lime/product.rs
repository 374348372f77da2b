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

impl Quality {
    /// The value as printed, and in percent of pure calcium carbonate.
    fn in_percent(self) -> (f64, f64) {
        match self {
            Self::Cce(v) | Self::EffectivePercent(v) => (v, v),
            Self::EffectiveLbPerTon(v) => (v, v / LB_PER_TON * 100.0),
            Self::NeutralisingValue(v) => (v, v * CACO3_PER_CAO),
        }
    }
}

const LB_PER_TON: f64 = 2_000.0;

/// A lime’s value in percent of pure calcium carbonate, from whatever measure it is printed in.
///
/// CCE and neutralising value (% CaO) say nothing of fineness, the effective values have it in them;
/// one cannot be turned into the other without the sieve analysis, see [`super::effective_value`].
///
/// # Errors
/// A value that is not above zero.
pub fn to_effective_pct(quality: Quality) -> Result<Figure, LimeError> {
    let (given, pct) = quality.in_percent();
    if !(pct.is_finite() && pct > 0.0) {
        return Err(LimeError::BadValue(given.to_string(), "lime quality"));
    }
    let (what, formula, source) = match quality {
        Quality::Cce(_) => ("CCE", plain(given, 5), Source::arithmetic()),
        Quality::EffectivePercent(_) => ("effective value", plain(given, 5), Source::arithmetic()),
        Quality::EffectiveLbPerTon(_) => (
            "effective value",
            format!("{} / 2,000 × 100", plain(given, 5)),
            Source::new(
                "Iowa State (J. Sawyer), Liming Terminology and Analysis: 1,260 lb ECCE/ton is 63 %",
                Evidence::Seen,
            ),
        ),
        Quality::NeutralisingValue(_) => (
            "CCE",
            format!("{} × 100.09 / 56.08", plain(given, 5)),
            Source::new(
                "molar masses of calcium carbonate and calcium oxide",
                Evidence::Derived,
            ),
        ),
    };
    let mut figure = Figure::new("Value of the lime");
    figure.step(what, pct, "%", formula, source);
    if matches!(quality, Quality::Cce(_) | Quality::NeutralisingValue(_)) {
        figure.cautions.extend(super::said("cce"));
    }
    Ok(figure)
}

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
    let (given, pct) = quality.in_percent();
    let (what, source) = match quality {
        Quality::Cce(_) => ("CCE, %", "Penn State: rate × 100 / CCE"),
        Quality::EffectivePercent(_) => (
            "effective value, %",
            "rate × 100 / effective value, for a rate of fully effective lime",
        ),
        Quality::EffectiveLbPerTon(_) => (
            "effective lb per ton",
            "Ohio State Extension: tons × 2,000 / effective lb per ton",
        ),
        Quality::NeutralisingValue(_) => (
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
    /// Golf greens and tees
    Greens,
    /// Reduced or no tillage, where only the surface is sour
    NoTill,
    /// Keeping a field up, any time
    Maintenance,
    /// Sharp sand (Norway)
    SharpSand,
    /// Any other mineral soil (Norway)
    MineralField,
    /// The surface of an established ley (Norway)
    Ley,
    /// Established grass (United Kingdom)
    UkGrass,
    /// Ireland
    Ireland,
}

impl Situation {
    pub const ALL: [Self; 13] = [
        Self::Garden,
        Self::Turf,
        Self::NotIncorporated,
        Self::Established,
        Self::Incorporated,
        Self::Greens,
        Self::NoTill,
        Self::Maintenance,
        Self::SharpSand,
        Self::MineralField,
        Self::Ley,
        Self::UkGrass,
        Self::Ireland,
    ];

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.key() == key)
    }

    pub fn key(self) -> &'static str {
        match self {
            Self::Garden => "garden",
            Self::Turf => "turf",
            Self::NotIncorporated => "not_incorporated",
            Self::Established => "established",
            Self::Incorporated => "incorporated",
            Self::Greens => "greens",
            Self::NoTill => "no_till",
            Self::Maintenance => "maintenance",
            Self::SharpSand => "sharp_sand",
            Self::MineralField => "mineral_field",
            Self::Ley => "ley",
            Self::UkGrass => "uk_grass",
            Self::Ireland => "ireland",
        }
    }
}

/// Splits a lime rate (lb of lime as spread per acre) into doses; they add up to the rate.
pub fn doses(lb_per_acre: f64, situation: Situation) -> Vec<Dose> {
    tables()
        .limits
        .split(situation.key(), lb_per_acre, Share::Equal)
}
