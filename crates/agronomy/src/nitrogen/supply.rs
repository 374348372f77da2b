//! Nitrogen from soil organic matter and cover crops by the plainer published rules.

use super::release::rule;
use super::{NitrogenError, checked, warn};
use crate::working::{Evidence, Figure, Source};
use quantity::{Rate, plain};

/// From a cover crop as a plain share of its total nitrogen: dry matter × % N × share → lb N/acre.
///
/// `surface` is none where it is worked in, otherwise whether the climate is warm. By UC Santa Cruz
/// CASFS: half worked in, half on the surface in a warm climate, a quarter in a cool one; the
/// Minnesota figures, half worked in and 40 % on the surface, stand beside it as the other end.
///
/// # Errors
/// A weight or a content that cannot be.
pub fn cover_crop_share(
    dry_lb_per_acre: f64,
    n_pct: f64,
    surface: Option<bool>,
) -> Result<Figure, NitrogenError> {
    checked(
        dry_lb_per_acre,
        40_000.0,
        "weight of a cover crop in lb per acre",
    )?;
    checked(n_pct, 10.0, "nitrogen content in percent")?;
    let (share, other) = match surface {
        None => (rule("casfs_worked_in")?, rule("minnesota_worked_in")?),
        Some(true) => (rule("casfs_surface_warm")?, rule("minnesota_surface")?),
        Some(false) => (rule("casfs_surface_cool")?, rule("minnesota_surface")?),
    };
    let mut figure = Figure::new("Nitrogen from a cover crop, by share");
    let total = figure.step(
        "nitrogen in it",
        dry_lb_per_acre * n_pct / 100.0,
        "lb N/acre",
        format!("{} lb × {} %", plain(dry_lb_per_acre, 4), plain(n_pct, 3)),
        Source::stated("the cover crop’s weight and analysis"),
    );
    let value = figure.step(
        "available to the next crop",
        total * share.value / 100.0,
        "lb N/acre",
        format!("{} × {} %", plain(total, 4), plain(share.value, 3)),
        share.source.clone(),
    );
    let beside = total * other.value / 100.0;
    if (beside - value).abs() > 1e-9 {
        figure.low = Some(value.min(beside));
        figure.high = Some(value.max(beside));
        figure.caution(
            format!("Another guide gives {} % here.", plain(other.value, 3)),
            other.source.clone(),
        );
    }
    let low = super::constant("cover_low_n_pct")?;
    if n_pct < low.value {
        warn(&mut figure, "tie_up");
        figure.caution(
            format!(
                "At or below {} % nitrogen another guide counts little or none.",
                plain(low.value, 2)
            ),
            low.source.clone(),
        );
        figure.low = Some(0.0);
        figure.high.get_or_insert(value);
    }
    Ok(figure)
}

/// From soil organic matter by a named method, percent → lb N/acre: `vermont` 10 lb per percent,
/// `germany` 20 kg/ha above 4 % humus and nothing up to it, `share` 1 to 2 % of soil organic N
/// (worked out from Hartz et al. 2000, the middle being the value).
///
/// Organic matter is credited only against a total requirement: a US recommendation already allows
/// for it.
///
/// # Errors
/// A percentage that cannot be, or an unknown method.
pub fn organic_matter_by(pct: f64, method: &str) -> Result<Figure, NitrogenError> {
    checked(pct, 100.0, "organic matter in percent")?;
    let mut figure = match method {
        "vermont" => super::organic_matter(pct)?.figure,
        "germany" => {
            let from = rule("humus_threshold_pct")?;
            let credit = rule("humus_credit")?;
            let kg = if pct > from.value { credit.value } else { 0.0 };
            let mut figure = Figure::new("Nitrogen from soil organic matter");
            figure.step(
                "soil organic matter",
                Rate::kg_per_ha(kg).to_lb_per_acre(),
                "lb N/acre",
                format!(
                    "{} % humus: {} kg/ha above {} %, else 0",
                    plain(pct, 3),
                    plain(credit.value, 3),
                    plain(from.value, 2)
                ),
                credit.source.clone(),
            );
            figure
        }
        "share" => {
            let (low, high) = (rule("om_share_low")?, rule("om_share_high")?);
            let mut figure = Figure::new("Nitrogen from soil organic matter");
            figure.step(
                "soil organic matter",
                pct * (low.value + high.value) / 2.0,
                "lb N/acre",
                format!(
                    "{} % × ({} + {}) / 2",
                    plain(pct, 3),
                    plain(low.value, 3),
                    plain(high.value, 3)
                ),
                low.source.clone(),
            );
            figure.low = Some(pct * low.value);
            figure.high = Some(pct * high.value);
            figure
        }
        other => {
            return Err(NitrogenError::Unknown {
                what: "method for soil organic matter",
                found: other.to_owned(),
                known: "vermont, germany, share".to_owned(),
            });
        }
    };
    figure.caution(
        "Take this off a total requirement only: a recommendation for usual ground already allows for the soil’s own supply. Guides differ threefold in what one percent gives.",
        Source::new("how the two kinds of rate are made", Evidence::Derived),
    );
    Ok(figure)
}
