//! Soluble salts: what a crop stands, and the water that keeps salts from building up or brings them down.
//!
//! Electrical conductivities are in dS/m, which is mmho/cm. A reading by one method is never read on
//! another method's scale; where a published factor carries one over, it comes with its range.

mod leaching;
mod tables;

pub use leaching::{leaching_requirement, water_for_crop, water_to_bring_down};
pub use tables::{Conversion, Method, Rating, Salts, Tolerance, load};

use crate::working::{Caution, Figure, Source};
use quantity::plain;
use tables::reference;
use thiserror::Error;

/// Why there is no figure.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SaltError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error(
        "The list rates {0} as {1} and prints no figures, so no yield can be worked out for it."
    )]
    RatingOnly(String, &'static str),
    #[error(
        "No published factor is held that turns {0} into a saturated-paste reading; ask the lab for a saturated paste."
    )]
    NoFactor(&'static str),
    #[error(
        "Water of {water} dS/m cannot hold the soil at {soil} dS/m however much is put on: choose a crop that stands more salt or other water."
    )]
    WaterTooSalty { water: String, soil: String },
    #[error(
        "The figures end at {0} % of the salts brought down; leach, test again and leach again."
    )]
    TooFar(String),
    #[error("The salt tables could not be read.")]
    Table,
}

/// Checks a conductivity.
fn usable(ec: f64, what: &'static str) -> Result<f64, SaltError> {
    if ec.is_finite() && ec >= 0.0 {
        Ok(ec)
    } else {
        Err(SaltError::BadValue(plain(ec, 4), what))
    }
}

/// Every crop of the tolerance list.
pub fn tolerances() -> &'static [Tolerance] {
    &reference().tolerances
}

/// The tolerance of a crop, by the list's own key (`squash_zucchini`) or by a crop's key
/// (`squash_summer`). Where the list tells kinds apart, the more sensitive kind stands for the crop.
pub fn tolerance(key: &str) -> Option<&'static Tolerance> {
    tolerances().iter().find(|t| t.key == key).or_else(|| {
        tolerances()
            .iter()
            .filter(|t| t.crops.iter().any(|c| c == key))
            .min_by(|a, b| {
                let at = |t: &Tolerance| t.figures.map_or(f64::MAX, |f| f.0);
                at(a).total_cmp(&at(b))
            })
    })
}

/// Yield to be expected, percent of what the same ground would bear without salts.
///
/// Yr = 100 where ECe ≤ a, else 100 − b (ECe − a) and never below 0, with ECe the conductivity of the
/// saturated paste \[dS/m\], a the threshold \[dS/m\] and b the slope \[% per dS/m\] (Maas and Hoffman 1977;
/// figures of Maas 1990). On gypsum soils the reading counts 2 dS/m less.
///
/// # Errors
/// A reading that is not a number from zero up; a crop with a rating and no figures.
pub fn relative_yield(crop: &Tolerance, ece: f64, gypsum: bool) -> Result<Figure, SaltError> {
    let ece = usable(ece, "salt reading in dS/m")?;
    let (threshold, slope) = crop
        .figures
        .ok_or_else(|| SaltError::RatingOnly(crop.name.to_lowercase(), crop.rating.name()))?;
    let mut figure = Figure::new(format!(
        "Yield of {} at this salt",
        crop.name.to_lowercase()
    ));
    let mut counted = ece;
    if gypsum {
        let less = constant("gypsum_allowance")?;
        counted = figure.step(
            "the reading on gypsum ground",
            (ece - less.0).max(0.0),
            "dS/m",
            format!("{} − {}, not below 0", plain(ece, 4), plain(less.0, 3)),
            less.1,
        );
    }
    let over = figure.step(
        "above the threshold",
        (counted - threshold).max(0.0),
        "dS/m",
        format!(
            "{} − {}, not below 0",
            plain(counted, 4),
            plain(threshold, 3)
        ),
        crop.source.clone(),
    );
    figure.step(
        "yield",
        (100.0 - slope * over).clamp(0.0, 100.0),
        "% of full yield",
        format!(
            "100 − {} × {}, not below 0",
            plain(slope, 3),
            plain(over, 4)
        ),
        crop.source.clone(),
    );
    figure.cautions.extend(cautions("tolerance"));
    Ok(figure)
}

/// The saturated-paste reading at which a crop keeps `percent` of its full yield: ECe = a + (100 − Yr) / b,
/// dS/m (Maas and Hoffman 1977; figures of Maas 1990).
///
/// # Errors
/// A percentage outside 0 to 100; a crop with a rating and no figures.
pub fn ece_for_yield(crop: &Tolerance, percent: f64) -> Result<Figure, SaltError> {
    if !(0.0..=100.0).contains(&percent) {
        return Err(SaltError::BadValue(
            plain(percent, 4),
            "share of the yield, 0 to 100 %",
        ));
    }
    let (threshold, slope) = crop
        .figures
        .ok_or_else(|| SaltError::RatingOnly(crop.name.to_lowercase(), crop.rating.name()))?;
    let mut figure = Figure::new(format!(
        "Salt at which {} keeps {} % of its yield",
        crop.name.to_lowercase(),
        plain(percent, 3)
    ));
    figure.step(
        "saturated paste",
        threshold + (100.0 - percent) / slope,
        "dS/m",
        format!(
            "{} + (100 − {}) / {}",
            plain(threshold, 3),
            plain(percent, 3),
            plain(slope, 3)
        ),
        crop.source.clone(),
    );
    figure.cautions.extend(cautions("tolerance"));
    Ok(figure)
}

/// A reading as a saturated-paste reading, with the range of the published factor.
///
/// # Errors
/// A reading that is not a number from zero up, or a method that no factor read here covers.
pub fn as_saturated_paste(method: Method, ec: f64) -> Result<Figure, SaltError> {
    let ec = usable(ec, "salt reading in dS/m")?;
    let mut figure = Figure::new("As a saturated-paste reading");
    if method == Method::SaturatedPaste {
        figure.step(
            "saturated paste",
            ec,
            "dS/m",
            plain(ec, 4),
            Source::stated("the lab’s own reading"),
        );
        return Ok(figure);
    }
    let by = reference()
        .conversions
        .iter()
        .find(|c| c.from == method)
        .ok_or(SaltError::NoFactor(method.name()))?;
    figure.step(
        "saturated paste",
        ec * by.factor,
        "dS/m",
        format!("{} × {}", plain(ec, 4), plain(by.factor, 3)),
        by.source.clone(),
    );
    if by.low < by.high {
        figure.low = Some(ec * by.low);
        figure.high = Some(ec * by.high);
    }
    figure.caution(
        format!("The factor holds for {}.", by.holds_for),
        by.source.clone(),
    );
    figure.cautions.extend(cautions("conversion"));
    Ok(figure)
}

/// What a grower in a tunnel should know about salts.
pub fn tunnel_cautions() -> Vec<Caution> {
    cautions("tunnel")
}

/// What a salt index says and does not say.
pub fn index_cautions() -> Vec<Caution> {
    cautions("index")
}

fn cautions(when: &str) -> Vec<Caution> {
    reference()
        .cautions
        .when(when)
        .map(|(text, source)| Caution {
            text: text.to_owned(),
            source: source.clone(),
        })
        .collect()
}

fn constant(key: &str) -> Result<(f64, Source), SaltError> {
    reference()
        .constants
        .get(key)
        .map(|c| (c.value, c.source.clone()))
        .ok_or(SaltError::Table)
}

#[cfg(test)]
mod tests;
