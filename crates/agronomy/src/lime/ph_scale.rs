//! From a pH in salt solution to the pH in water that the lime tables read.

use super::LimeError;
use super::tables::constant;
use crate::working::Figure;
use quantity::plain;

/// The pH in water that a pH in 0.01 M calcium chloride stands for.
///
/// One source gives one point (5.4 stands for 6.0); the same gap is used elsewhere and the caution
/// says so. No conversion between soil-to-water ratios was found, so there is none here.
///
/// # Errors
/// A pH that cannot be.
pub fn ph_in_water(ph_cacl2: f64) -> Result<Figure, LimeError> {
    if !(0.0..=14.0).contains(&ph_cacl2) {
        return Err(LimeError::BadValue(ph_cacl2.to_string(), "pH"));
    }
    let (gap, at) = (constant("cacl2_offset")?, constant("cacl2_at")?);
    let mut figure = Figure::new("pH in water, from pH in calcium chloride");
    let mut source = gap.source.clone();
    if (ph_cacl2 - at.value).abs() > 1e-9 {
        source
            .text
            .push_str("; the same gap taken at another pH here");
        source.evidence = crate::working::Evidence::Derived;
    }
    figure.step(
        "pH in water",
        ph_cacl2 + gap.value,
        "pH",
        format!("{} + {}", plain(ph_cacl2, 3), gap.value),
        source,
    );
    figure.cautions.extend(super::said("cacl2"));
    Ok(figure)
}
