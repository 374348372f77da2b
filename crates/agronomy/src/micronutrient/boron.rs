//! Boron: needed in small amounts, harmful soon after.

use super::MicronutrientError;
use super::tables::{Rate, Tolerance, rates, tables};
use crate::meaning;
use crate::soil_number;
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Serialize;

/// What is known of boron for a crop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoronAdvice {
    pub crop: String,
    /// The most that may go on the soil in one dressing, lb of boron per acre. Zero where the crop is
    /// sensitive and where no source gives a rate.
    pub figure: Figure,
    /// The printed rates it rests on; none: no boron.
    pub rates: Vec<&'static Rate>,
    /// What the crop bears in the soil water.
    pub tolerance: Option<&'static Tolerance>,
}

fn tolerance(crop: &str) -> Option<&'static Tolerance> {
    tables().boron.iter().find(|t| t.crop == crop)
}

/// Boron for a crop, lb per acre on the soil: the printed rate, never above the cautious ceiling, none
/// for a sensitive crop and none without a source. `test_ppm` is the lab's boron: at 2 ppm or more
/// none goes on, whatever the crop.
///
/// # Errors
/// A negative test.
pub fn boron(crop: &str, test_ppm: Option<f64>) -> Result<BoronAdvice, MicronutrientError> {
    if test_ppm.is_some_and(|v| !v.is_finite() || v < 0.0) {
        return Err(MicronutrientError::Bad("Boron in ppm"));
    }
    let printed = rates(crop, "b");
    let on_soil = printed
        .iter()
        .find(|r| matches!(r.situation.as_str(), "medium response" | "sensitive"));
    let (cap, cap_source) = soil_number("boron_cap");
    let (warn, warn_source) = soil_number("boron_warn");
    let mut figure = Figure::new("The most boron on the soil in one dressing");
    let held =
        tolerance(crop).filter(|t| matches!(t.class.as_str(), "sensitive" | "very sensitive"));
    let low = match (on_soil, held) {
        (Some(rate), held) if held.is_none() || rate.high <= 0.0 => {
            figure.step(
                format!("printed rate ({})", rate.situation),
                rate.high,
                "lb B/acre",
                format!(
                    "{} to {} lb per acre",
                    plain(rate.low, 3),
                    plain(rate.high, 3)
                ),
                rate.source.clone(),
            );
            rate.low
        }
        (_, Some(t)) => {
            figure.step(
                format!("a {} crop", t.class),
                0.0,
                "lb B/acre",
                format!("bears {} mg/L in the soil water", bears(t)),
                t.source.clone(),
            );
            0.0
        }
        (_, None) => {
            figure.step(
                "no source here gives a soil rate for this crop",
                0.0,
                "lb B/acre",
                "without a rate none goes on",
                Source::arithmetic(),
            );
            0.0
        }
    };
    if figure.value > cap {
        figure.step(
            "held to the cautious ceiling",
            cap,
            "lb B/acre",
            format!(
                "the lesser of {} and {}",
                plain(figure.value, 3),
                plain(cap, 3)
            ),
            cap_source,
        );
    }
    if let Some(test) = test_ppm
        && test >= warn
        && figure.value > 0.0
    {
        figure.step(
            "the soil already holds much",
            0.0,
            "lb B/acre",
            format!("{} ppm is {} or more", plain(test, 3), plain(warn, 3)),
            warn_source,
        );
    }
    figure.low = Some(low.min(figure.value));
    figure.high = Some(figure.value);
    meaning::caution(&mut figure, &meaning::notes("b", "always"));
    Ok(BoronAdvice {
        crop: crop.to_owned(),
        figure,
        rates: printed,
        tolerance: tolerance(crop),
    })
}

fn bears(t: &Tolerance) -> String {
    match t.low {
        Some(low) if low < t.high => format!("{} to {}", plain(low, 3), plain(t.high, 3)),
        Some(_) => plain(t.high, 3),
        None => format!("less than {}", plain(t.high, 3)),
    }
}

/// Yield in percent of the full one at a boron concentration in the soil water (mg/L):
/// 100 up to the limit, then 100 − slope × (concentration − limit), never below zero.
/// Source: USDA-ARS Salinity Laboratory, Boron Tolerance Limits (Maas 1990).
///
/// # Errors
/// A negative concentration, or a crop without a published slope.
pub fn boron_yield(crop: &str, mg_per_l: f64) -> Result<Figure, MicronutrientError> {
    if !mg_per_l.is_finite() || mg_per_l < 0.0 {
        return Err(MicronutrientError::Bad("Boron in mg/L"));
    }
    let found = tolerance(crop).and_then(|t| t.slope.map(|s| (t, s)));
    let Some((t, slope)) = found else {
        return Err(MicronutrientError::NoSlope(crop.replace('_', " ")));
    };
    let mut figure = Figure::new("Yield at this boron");
    figure.step(
        "boron the crop bears in the soil water",
        t.high,
        "mg/L",
        t.class.clone(),
        t.source.clone(),
    );
    figure.step(
        "yield",
        (100.0 - slope * (mg_per_l - t.high).max(0.0)).max(0.0),
        "% of full",
        format!(
            "100 − {} × ({} − {})",
            plain(slope, 3),
            plain(mg_per_l, 3),
            plain(t.high, 3)
        ),
        t.source.clone(),
    );
    meaning::caution(&mut figure, &meaning::notes("b", "excess"));
    Ok(figure)
}
