//! Trace elements: what pH does to manganese, which crops answer, and boron's narrow margin.

mod boron;
mod tables;

pub use boron::{BoronAdvice, boron, boron_yield};
pub use tables::{Rate, Response, Tolerance, rates, responses};

use crate::meaning;
use crate::soil_number;
use crate::working::Figure;
use quantity::plain;
use serde::Serialize;
use thiserror::Error;

/// Where a manganese index stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum IndexClass {
    Deficient,
    Adequate,
    Warning,
}

impl IndexClass {
    pub fn word(self) -> &'static str {
        match self {
            Self::Deficient => "below the critical level",
            Self::Adequate => "adequate",
            Self::Warning => "above the warning level",
        }
    }
}

/// Why there is no figure.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum MicronutrientError {
    #[error("{0} must be a number of zero or more.")]
    Bad(&'static str),
    #[error("A soil pH of {0} is not possible; give 3 to 11.")]
    Ph(String),
    #[error(
        "No published boron tolerance with a slope is held for {0}; only its class, if any, is known."
    )]
    NoSlope(String),
}

/// Manganese activity index = 101.7 + 3.75 × Mn − 15.2 × pH, with Mn in ppm by Mehlich-3 and pH in
/// water; below 25 deficient, above 100 a warning. Source: Rutgers NJAES Soil Testing Laboratory.
///
/// The index needs the pH because the same manganese is worth less the higher the pH.
///
/// # Errors
/// A negative test or a pH that cannot be.
pub fn manganese_index(mn_ppm: f64, ph: f64) -> Result<(IndexClass, Figure), MicronutrientError> {
    if !mn_ppm.is_finite() || mn_ppm < 0.0 {
        return Err(MicronutrientError::Bad("Manganese in ppm"));
    }
    if !(3.0..=11.0).contains(&ph) {
        return Err(MicronutrientError::Ph(plain(ph, 3)));
    }
    let (constant, source) = soil_number("mnai_constant");
    let (per_mn, _) = soil_number("mnai_per_mn");
    let (per_ph, _) = soil_number("mnai_per_ph");
    let (low, _) = soil_number("mnai_low");
    let (high, mark) = soil_number("mnai_high");
    let value = constant + per_mn * mn_ppm - per_ph * ph;
    let class = if value < low {
        IndexClass::Deficient
    } else if value <= high {
        IndexClass::Adequate
    } else {
        IndexClass::Warning
    };
    let mut figure = Figure::new("Manganese and pH together");
    figure.step(
        format!("manganese activity index: {}", class.word()),
        value,
        "MnAI",
        format!(
            "{} + {} × {} − {} × {}",
            plain(constant, 4),
            plain(per_mn, 3),
            plain(mn_ppm, 4),
            plain(per_ph, 3),
            plain(ph, 3)
        ),
        source,
    );
    match class {
        IndexClass::Deficient => {
            if meaning::high_ph(ph) {
                meaning::caution(&mut figure, &meaning::notes("mn", "high_ph"));
            }
            meaning::caution(&mut figure, &meaning::notes("mn", "shortage"));
        }
        IndexClass::Adequate => {}
        IndexClass::Warning => {
            figure.caution(
                format!(
                    "Above {} the source gives a warning: manganese may be too much for the crop.",
                    plain(high, 3)
                ),
                mark,
            );
            if ph <= soil_number("acid_ph").0 {
                meaning::caution(&mut figure, &meaning::notes("mn", "excess"));
            }
        }
    }
    Ok((class, figure))
}

#[cfg(test)]
mod tests;
