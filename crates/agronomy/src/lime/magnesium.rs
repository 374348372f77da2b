//! Dolomitic or calcitic, by the soil’s magnesium.

use super::LimeError;
use super::tables::constant;
use crate::working::Figure;
use quantity::plain;
use serde::{Deserialize, Serialize};

/// Which lime a soil’s magnesium speaks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimeKind {
    /// Short of magnesium by every source held.
    Dolomitic,
    /// Short by one source and not by the other.
    Either,
    /// Not short: the cheaper, for its calcium carbonate.
    Cheaper,
}

impl LimeKind {
    pub fn key(self) -> &'static str {
        match self {
            Self::Dolomitic => "dolomitic",
            Self::Either => "either",
            Self::Cheaper => "cheaper",
        }
    }

    /// In words for a grower.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Dolomitic => "Short of magnesium: where lime is due, dolomitic lime brings it.",
            Self::Either => {
                "The sources disagree at this magnesium: one would take dolomitic lime, the other the cheaper."
            }
            Self::Cheaper => {
                "Magnesium is not short: take the cheaper lime by its effective value."
            }
        }
    }
}

/// Which lime to take, from the soil test’s magnesium in ppm, with the working. The figure’s value is
/// the magnesium itself.
///
/// The thresholds are Ohio’s 50 ppm and Ontario’s 100 ppm, each for its own laboratories’ extractant,
/// which what was read does not name.
///
/// # Errors
/// A magnesium that is negative or not a number.
pub fn kind_by_magnesium(mg_ppm: f64) -> Result<(LimeKind, Figure), LimeError> {
    if !(mg_ppm.is_finite() && mg_ppm >= 0.0) {
        return Err(LimeError::BadValue(mg_ppm.to_string(), "magnesium in ppm"));
    }
    let (ohio, ontario) = (constant("mg_ohio")?, constant("mg_ontario")?);
    let kind = if mg_ppm < ohio.value {
        LimeKind::Dolomitic
    } else if mg_ppm < ontario.value {
        LimeKind::Either
    } else {
        LimeKind::Cheaper
    };
    let mut figure = Figure::new(kind.sentence());
    for limit in [ohio, ontario] {
        let (sign, word) = if mg_ppm < limit.value {
            ("<", "dolomitic")
        } else {
            ("≥", "the cheaper")
        };
        figure.step(
            word,
            mg_ppm,
            "ppm Mg",
            format!("{} {sign} {}", plain(mg_ppm, 4), plain(limit.value, 3)),
            limit.source.clone(),
        );
    }
    let share = constant("mg_in_dolomite")?;
    figure.caution(
        format!(
            "Each 100 lb of pure dolomite brings {} lb of magnesium.",
            plain(share.value, 3)
        ),
        share.source.clone(),
    );
    figure.cautions.extend(super::said("dolomitic"));
    Ok((kind, figure))
}
