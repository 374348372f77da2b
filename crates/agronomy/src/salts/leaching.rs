//! The water that keeps salts from building up, and the water that brings them down.

use super::tables::reference;
use super::{SaltError, cautions, constant, usable};
use crate::working::{Figure, Source};
use quantity::plain;

/// The share of the water put on that must drain through to hold the root zone at `ece`.
///
/// LR = ECw / (5 ECe − ECw), with ECw the conductivity of the water and ECe that of the saturated paste that
/// the crop stands, both dS/m (Rhoades; FAO Irrigation and Drainage Paper 29).
///
/// # Errors
/// A reading that is not a number from zero up, or water too salty to hold the soil at `ece`.
pub fn leaching_requirement(ecw: f64, ece: f64) -> Result<Figure, SaltError> {
    let ecw = usable(ecw, "reading of the water in dS/m")?;
    let ece = usable(ece, "salt reading in dS/m")?;
    let (factor, source) = constant("drain_factor")?;
    let below = factor * ece - ecw;
    let share = ecw / below;
    if below <= 0.0 || share >= 1.0 {
        return Err(SaltError::WaterTooSalty {
            water: plain(ecw, 3),
            soil: plain(ece, 3),
        });
    }
    let mut figure = Figure::new("Share of the water that must drain through");
    figure.step(
        "leaching requirement",
        share,
        "of the water",
        format!(
            "{} / ({} × {} − {})",
            plain(ecw, 4),
            plain(factor, 3),
            plain(ece, 4),
            plain(ecw, 4)
        ),
        source,
    );
    figure.cautions.extend(cautions("leaching"));
    Ok(figure)
}

/// Water to put on for a crop's own use together with the leaching: AW = ET / (1 − LR), in the unit of
/// `use_of_crop` (ET; rain counts towards it). Same source as [`leaching_requirement`].
///
/// # Errors
/// As [`leaching_requirement`], and a use of water that is not a number from zero up.
pub fn water_for_crop(
    ecw: f64,
    ece: f64,
    use_of_crop: f64,
    unit: &str,
) -> Result<Figure, SaltError> {
    let et = usable(use_of_crop, "use of water by the crop")?;
    let mut figure = leaching_requirement(ecw, ece)?;
    figure.what = "Water for the crop and to leach".to_owned();
    let share = figure.value;
    let (_, source) = constant("drain_factor")?;
    let water = et / (1.0 - share);
    figure.step(
        "of it to drain through",
        water - et,
        unit,
        format!(
            "{} / (1 − {}) − {}",
            plain(et, 4),
            plain(share, 3),
            plain(et, 4)
        ),
        source.clone(),
    );
    figure.step(
        "water to put on",
        water,
        unit,
        format!("{} / (1 − {})", plain(et, 4), plain(share, 3)),
        source,
    );
    Ok(figure)
}

/// Inches of clean water that bring a saturated-paste reading from `from` down to `to`, straight between
/// the printed figures.
///
/// # Errors
/// Readings that are not numbers from zero up or do not fall, and more than the figures cover.
pub fn water_to_bring_down(from: f64, to: f64) -> Result<Figure, SaltError> {
    let from = usable(from, "salt reading in dS/m")?;
    let to = usable(to, "salt reading in dS/m")?;
    let mut figure = Figure::new("Water to bring the salts down");
    let removed = if from > to {
        (1.0 - to / from) * 100.0
    } else {
        0.0
    };
    figure.step(
        "salts to bring down",
        removed,
        "%",
        format!("(1 − {} / {}), not below 0", plain(to, 4), plain(from, 4)),
        Source::arithmetic(),
    );
    let points = &reference().reclaim;
    let last = points.last().ok_or(SaltError::Table)?;
    let (below, above) = points
        .windows(2)
        .find(|w| removed <= w[1].1 + 1e-9)
        .map(|w| (&w[0], &w[1]))
        .ok_or_else(|| SaltError::TooFar(plain(last.1, 3)))?;
    let inches = below.0 + (removed - below.1) / (above.1 - below.1) * (above.0 - below.0);
    figure.step(
        "clean water",
        inches,
        "inches",
        format!(
            "between {} in for {} % and {} in for {} %",
            plain(below.0, 3),
            plain(below.1, 3),
            plain(above.0, 3),
            plain(above.1, 3)
        ),
        above.2.clone(),
    );
    figure.cautions.extend(cautions("reclaim"));
    figure.cautions.extend(cautions("leaching"));
    Ok(figure)
}
