//! What a weight of any material does to the lime account.

use super::amount::as_spread;
use super::{AmountError, Material};
use crate::lime;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// The net lime effect of `lb` lb of a material as spread: lb of calcium carbonate equivalent,
/// positive where it neutralizes, negative where it makes acid.
///
/// The material’s own CCE decides; else, for wood ash and the like, the range that has been printed;
/// else what its nitrogen is known to do. `None` when nothing is known, which is not zero. Fineness
/// is not in it: shells and coarse lime act more slowly than their CCE says.
///
/// # Errors
/// A weight that is negative or not a number.
pub fn lime_effect(material: &Material, lb: f64) -> Result<Option<Figure>, AmountError> {
    if !(lb.is_finite() && lb >= 0.0) {
        return Err(AmountError::BadValue(lb.to_string(), "weight"));
    }
    let name = material.name.to_lowercase();
    let mut figure = Figure::new(format!("Net lime effect of {name}"));
    let a = &material.analysis;
    // (share of the weight as spread, lowest, highest)
    let (share, ends) = if let Some(cce) = a.cce {
        let source = material
            .cce_source
            .clone()
            .unwrap_or_else(|| material.source.clone());
        (as_spread(&mut figure, material, "lime", cce, source), None)
    } else if let Some(range) = lime::carried(&material.id) {
        let share = figure.step(
            format!("lime in {name}"),
            range.value / 100.0,
            "lb/lb",
            format!(
                "{} % of weight, {} to {} % seen",
                plain(range.value, 3),
                plain(range.low, 3),
                plain(range.high, 3)
            ),
            range.source.clone(),
        );
        figure.caution(range.note.clone(), range.source.clone());
        (share, Some((range.low / 100.0, range.high / 100.0)))
    } else if let (Some(n), Some(acid)) = (
        a.n,
        lime::nitrogen_acids()
            .iter()
            .find(|acid| acid.material == material.id),
    ) {
        let n = as_spread(&mut figure, material, "n", n, material.source.clone());
        let share = figure.step(
            "what its nitrogen does",
            n * acid.per_lb_n,
            "lb/lb",
            format!("{} × {}", plain(n, 4), plain(acid.per_lb_n, 4)),
            acid.source.clone(),
        );
        (share, None)
    } else {
        return Ok(None);
    };
    figure.step(
        if share < 0.0 {
            "lime used up"
        } else {
            "lime brought"
        },
        share * lb,
        "lb CaCO3",
        format!("{} lb × {}", plain(lb, 4), plain(share, 4)),
        Source::arithmetic(),
    );
    if let Some((low, high)) = ends {
        figure.low = Some(low * lb);
        figure.high = Some(high * lb);
    }
    if share != 0.0 && material.kind != super::Kind::Lime {
        figure.cautions.extend(lime::riding_cautions());
    }
    if figure.weakest().is_some_and(Evidence::unconfirmed) {
        figure.cautions.extend(lime::unconfirmed_caution());
    }
    figure.cautions.extend(material.cautions.iter().cloned());
    Ok(Some(figure))
}
