//! When a rate chosen for nitrogen brings more phosphate or potash than the crop can use.

use super::Nutrient;
use crate::material::{self, AmountError, Material};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// More of a nutrient than is needed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Overshoot {
    pub nutrient: Nutrient,
    /// In one or two plain sentences, with figures.
    pub statement: String,
    /// The surplus, lb per acre, with its working.
    pub figure: Figure,
}

/// What a rate brings beyond the need, lb of P2O5 or K2O per acre; below zero where it falls short.
///
/// All of the phosphate and potash in the material counts, available this season or not, since it stays
/// in the soil.
///
/// # Errors
/// A rate or need that is not a number from zero up; a material whose content is not known.
pub fn surplus(
    material: &Material,
    lb_per_acre: f64,
    nutrient: Nutrient,
    need_lb_per_acre: f64,
) -> Result<Figure, AmountError> {
    for (value, what) in [
        (lb_per_acre, "rate in lb per acre"),
        (need_lb_per_acre, "need in lb per acre"),
    ] {
        if !(value.is_finite() && value >= 0.0) {
            return Err(AmountError::BadValue(plain(value, 4), what));
        }
    }
    let share = material::total_share(material, nutrient.key())?;
    let mut figure = Figure::new(format!(
        "{} that {} brings beyond the need",
        nutrient.name(),
        material.name.to_lowercase()
    ));
    figure.working.clone_from(&share.working);
    let brings = figure.step(
        format!("{} it brings", nutrient.name()),
        lb_per_acre * share.value,
        "lb/acre",
        format!("{} × {}", plain(lb_per_acre, 5), plain(share.value, 3)),
        Source::new(
            "all of it counts: what the crop leaves stays in the soil",
            Evidence::Derived,
        ),
    );
    figure.step(
        "beyond the need",
        brings - need_lb_per_acre,
        "lb/acre",
        format!("{} − {}", plain(brings, 4), plain(need_lb_per_acre, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

/// A plain statement where a rate of a material overshoots the need of phosphate or potash; none where
/// it does not.
///
/// `removal`: what one harvest carries off, lb per acre, to say how many harvests the surplus lasts.
///
/// # Errors
/// As [`surplus`]; a removal that is not a number from zero up.
pub fn overshoot(
    material: &Material,
    lb_per_acre: f64,
    nutrient: Nutrient,
    need_lb_per_acre: f64,
    removal: Option<f64>,
) -> Result<Option<Overshoot>, AmountError> {
    if let Some(removal) = removal
        && !(removal.is_finite() && removal >= 0.0)
    {
        return Err(AmountError::BadValue(
            plain(removal, 4),
            "removal in lb per acre",
        ));
    }
    let mut figure = surplus(material, lb_per_acre, nutrient, need_lb_per_acre)?;
    if figure.value <= 1e-9 {
        return Ok(None);
    }
    let over = figure.value;
    let mut statement = format!(
        "At {} lb per acre {} brings {} lb of {} per acre where {} is asked for: {} lb too much.",
        plain(lb_per_acre, 3),
        material.name.to_lowercase(),
        plain(over + need_lb_per_acre, 3),
        nutrient.name(),
        if need_lb_per_acre > 0.0 {
            format!("{} lb", plain(need_lb_per_acre, 3))
        } else {
            "none".to_owned()
        },
        plain(over, 3)
    );
    if let Some(removal) = removal.filter(|r| *r > 0.0) {
        statement.push_str(&format!(
            " One harvest carries off {} lb, so the surplus is {} harvests’ worth.",
            plain(removal, 3),
            plain(over / removal, 2)
        ));
    }
    statement.push_str(match nutrient {
        Nutrient::P2o5 => {
            " It stays in the soil and can reach water: spread only as much as phosphorus allows and take the rest of the nitrogen from a source without phosphorus."
        }
        Nutrient::K2o => {
            " It builds up, crowds out magnesium and adds salt in a tunnel: spread less and take the rest of the nitrogen from a source without potassium."
        }
    });
    let source = Source::new(
        "New England Vegetable Management Guide: above optimum leave compost and manure off until the test falls; a low-phosphorus nitrogen source or legumes instead",
        Evidence::Seen,
    );
    figure.caution(statement.clone(), source);
    Ok(Some(Overshoot {
        nutrient,
        statement,
        figure,
    }))
}

/// The most of a material \[lb per acre\] that brings no more of a nutrient than is needed.
///
/// # Errors
/// A need that is not a number from zero up, a material whose content is not known, or one that holds none.
pub fn most_within(
    material: &Material,
    nutrient: Nutrient,
    need_lb_per_acre: f64,
) -> Result<Figure, AmountError> {
    if !(need_lb_per_acre.is_finite() && need_lb_per_acre >= 0.0) {
        return Err(AmountError::BadValue(
            plain(need_lb_per_acre, 4),
            "need in lb per acre",
        ));
    }
    let mut figure = material::total_share(material, nutrient.key())?;
    let share = figure.value;
    if share <= 0.0 {
        return Err(AmountError::Nothing {
            material: material.name.to_lowercase(),
            nutrient: nutrient.key().to_owned(),
        });
    }
    figure.what = format!(
        "Most {} that {} allows",
        material.name.to_lowercase(),
        nutrient.name()
    );
    figure.step(
        material.name.clone(),
        need_lb_per_acre / share,
        "lb/acre",
        format!("{} / {}", plain(need_lb_per_acre, 4), plain(share, 3)),
        Source::arithmetic(),
    );
    Ok(figure)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::find;
    use proptest::prelude::*;

    #[test]
    fn compost_for_nitrogen_overshoots_phosphate() {
        let compost = find("compost_poultry").unwrap();
        let for_n = material::amount_for(compost, "n", 100.0).unwrap().value;
        let over = overshoot(compost, for_n, Nutrient::P2o5, 50.0, Some(25.0))
            .unwrap()
            .unwrap();
        assert!(over.figure.value > 100.0);
        assert!(over.statement.contains("P2O5") && over.statement.contains("harvests’ worth"));
        // What phosphorus allows brings exactly what is asked for.
        let most = most_within(compost, Nutrient::P2o5, 50.0).unwrap().value;
        assert!(most < for_n);
        assert!(
            overshoot(compost, most, Nutrient::P2o5, 50.0, None)
                .unwrap()
                .is_none()
        );
    }

    #[test]
    fn a_source_without_phosphorus_never_overshoots() {
        let feather = find("feather_meal").unwrap();
        assert!(
            overshoot(feather, 2_000.0, Nutrient::P2o5, 0.0, None)
                .unwrap()
                .is_none()
        );
        assert!(most_within(feather, Nutrient::P2o5, 10.0).is_err());
        assert!(surplus(feather, f64::NAN, Nutrient::P2o5, 0.0).is_err());
        assert!(overshoot(feather, 1.0, Nutrient::P2o5, 0.0, Some(-1.0)).is_err());
    }

    #[test]
    fn an_unknown_content_is_said_and_not_taken_for_zero() {
        let eddha = find("fe_eddha").unwrap();
        assert!(surplus(eddha, 10.0, Nutrient::P2o5, 0.0).is_err());
    }

    #[test]
    fn total_phosphate_counts_where_little_is_available() {
        let rock = find("rock_phos_hard").unwrap();
        let over = surplus(rock, 1_000.0, Nutrient::P2o5, 30.0).unwrap();
        assert!((over.value - 270.0).abs() < 1e-9, "{}", over.value);
    }

    proptest! {
        #[test]
        fn more_spread_never_falls_shorter(pick in 0usize..200, a in 0.0..40_000.0_f64, b in 0.0..40_000.0_f64, need in 0.0..300.0_f64) {
            let all = material::materials();
            let m = &all[pick % all.len()];
            for nutrient in Nutrient::ALL {
                if let (Ok(less), Ok(more)) = (surplus(m, a.min(b), nutrient, need), surplus(m, a.max(b), nutrient, need)) {
                    prop_assert!(more.value >= less.value - 1e-9);
                }
            }
        }
    }
}
