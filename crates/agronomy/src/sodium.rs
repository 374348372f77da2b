//! Sodium: its ratio in the water of a saturated paste (SAR), and its share of the exchange (ESP).

use crate::meaning;
use crate::soil_number;
use crate::working::Figure;
use quantity::plain;
use thiserror::Error;

/// Why nothing was worked out.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SodiumError {
    #[error("{0} must be a number of zero or more.")]
    Bad(&'static str),
    #[error("Calcium and magnesium are both zero, and the ratio has no value then.")]
    NoCalcium,
    #[error("Sodium of {na} meq/100 g does not fit a CEC of {cec}: check the units.")]
    TooMuch { na: String, cec: String },
}

fn usable(value: f64, name: &'static str) -> Result<f64, SodiumError> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(SodiumError::Bad(name))
    }
}

fn warn(figure: &mut Figure) {
    meaning::caution(figure, &meaning::notes("na", "excess"));
}

/// SAR = Na / √((Ca + Mg) / 2), all in meq per litre of the saturation extract, and the ESP that
/// goes with it: 100 (−0.0126 + 0.01475 SAR) / (1 − 0.0126 + 0.01475 SAR).
///
/// Sources: USDA-NRCS for the ratio and its mark of 13; the equation of USDA Handbook 60 in another
/// party's copy.
///
/// # Errors
/// A negative value, or no calcium and magnesium at all.
pub fn sar(na: f64, ca: f64, mg: f64) -> Result<Figure, SodiumError> {
    let (na, ca, mg) = (
        usable(na, "sodium")?,
        usable(ca, "calcium")?,
        usable(mg, "magnesium")?,
    );
    if ca + mg <= 0.0 {
        return Err(SodiumError::NoCalcium);
    }
    let (half, source) = soil_number("sar_divisor");
    let mut figure = Figure::new("Sodium in the soil water");
    let ratio = figure.step(
        "sodium adsorption ratio",
        na / ((ca + mg) / half).sqrt(),
        "SAR",
        format!(
            "{} / √(({} + {}) / 2)",
            plain(na, 4),
            plain(ca, 4),
            plain(mg, 4)
        ),
        source,
    );
    let (high, mark) = soil_number("sar_high");
    if ratio >= high {
        figure.caution(
            format!(
                "SAR {} is {} or more: clay and humus may disperse, water and air pass badly, the structure suffers.",
                plain(ratio, 3),
                plain(high, 3)
            ),
            mark,
        );
        warn(&mut figure);
    }
    Ok(figure)
}

/// The exchangeable sodium that a SAR goes with, % of CEC; never below zero.
///
/// # Errors
/// A negative value.
pub fn esp_from_sar(sar: f64) -> Result<Figure, SodiumError> {
    let sar = usable(sar, "SAR")?;
    let (a, source) = soil_number("esp_a");
    let (b, _) = soil_number("esp_b");
    let part = a + b * sar;
    let mut figure = Figure::new("Exchangeable sodium, estimated");
    let percent = figure.step(
        "exchangeable sodium percentage, from the ratio",
        (100.0 * part / (1.0 + part)).max(0.0),
        "% of CEC",
        format!(
            "100 × ({} + {} × {s}) / (1 + ({} + {} × {s}))",
            plain(a, 4),
            plain(b, 4),
            plain(a, 4),
            plain(b, 4),
            s = plain(sar, 4)
        ),
        source,
    );
    judge(&mut figure, percent);
    Ok(figure)
}

/// ESP = 100 × exchangeable Na / CEC, both meq/100 g; from 15 % on the ground is called sodic.
/// Source: the definition; University of Georgia for the mark.
///
/// # Errors
/// A negative value, no CEC, or more sodium than the CEC holds.
pub fn esp(na_meq: f64, cec: f64) -> Result<Figure, SodiumError> {
    let na = usable(na_meq, "sodium")?;
    let cec = usable(cec, "CEC")?;
    if na > cec || cec <= 0.0 {
        return Err(SodiumError::TooMuch {
            na: plain(na, 3),
            cec: plain(cec, 3),
        });
    }
    let (_, source) = soil_number("esp_high");
    let mut figure = Figure::new("Exchangeable sodium");
    let percent = figure.step(
        "exchangeable sodium percentage",
        100.0 * na / cec,
        "% of CEC",
        format!("100 × {} / {}", plain(na, 4), plain(cec, 4)),
        source,
    );
    judge(&mut figure, percent);
    Ok(figure)
}

fn judge(figure: &mut Figure, percent: f64) {
    let (high, mark) = soil_number("esp_high");
    if percent > high {
        figure.caution(
            format!(
                "Sodium holds {} % of the exchange, more than {} %: the ground is called sodic.",
                plain(percent, 3),
                plain(high, 3)
            ),
            mark,
        );
        warn(figure);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_marks_are_where_the_sources_put_them() {
        assert!(esp(1.5, 10.0).unwrap().cautions.is_empty());
        assert!(!esp(1.51, 10.0).unwrap().cautions.is_empty());
        assert!(sar(12.9, 1.0, 1.0).unwrap().cautions.is_empty());
        assert!(!sar(13.0, 1.0, 1.0).unwrap().cautions.is_empty());
        assert!(sar(1.0, 0.0, 0.0).is_err() && esp(3.0, 2.0).is_err() && esp(0.0, 0.0).is_err());
    }

    proptest! {
        #[test]
        fn more_sodium_reads_higher_and_more_calcium_lower(na in 0.0..60.0f64, ca in 0.1..60.0f64, mg in 0.0..30.0f64) {
            let at = |na, ca| sar(na, ca, mg).unwrap().value;
            prop_assert!(at(na + 1.0, ca) > at(na, ca));
            prop_assert!(at(na, ca + 1.0) <= at(na, ca));
            let p = |s| esp_from_sar(s).unwrap().value;
            prop_assert!(p(na + 1.0) >= p(na) && p(na) < 100.0);
        }
    }
}
