//! What a harvest carries off, for every crop that a content was read for, and how far the sources agree.

mod sulfur;

use crate::crop::{self, Crop};
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// One published content of a harvest, percent of fresh weight. Absent is not known, which is not zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Content {
    /// The crop's own key where it has one, else a key of this table.
    pub key: String,
    /// As the source names it.
    pub name: String,
    pub part: String,
    pub n: Option<f64>,
    pub p2o5: Option<f64>,
    pub k2o: Option<f64>,
    pub ca: Option<f64>,
    pub mg: Option<f64>,
    pub source: Source,
}

impl Content {
    fn of(&self, nutrient: &str) -> Option<f64> {
        match nutrient {
            "n" => self.n,
            "p2o5" => self.p2o5,
            "k2o" => self.k2o,
            "ca" => self.ca,
            "mg" => self.mg,
            _ => None,
        }
    }
}

/// Why there is no figure.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum HarvestError {
    #[error("No content of a harvest is held for “{0}”; `spadework tables crops` lists the crops.")]
    UnknownCrop(String),
    #[error("“{0}” is not carried off by any table here; use n, p2o5, k2o, ca, mg or s.")]
    UnknownNutrient(String),
    #[error("No source here prints the {nutrient} in a harvest of {crop}.")]
    Unknown {
        nutrient: &'static str,
        crop: String,
    },
    #[error("No usual yield is held for {0}: give the harvest you expect.")]
    NoYield(String),
    #[error("{0} is not a usable yield in lb per acre.")]
    BadYield(String),
}

#[derive(Deserialize)]
struct Row {
    key: String,
    name: String,
    part: String,
    n: Option<f64>,
    p2o5: Option<f64>,
    k2o: Option<f64>,
    ca: Option<f64>,
    mg: Option<f64>,
    source: String,
    evidence: String,
}

/// Parses the contents that come with the program.
///
/// # Errors
/// A row that does not fit, in one sentence.
pub fn load() -> Result<Vec<Content>, TableError> {
    let name = "crops/content.csv";
    let text = include_str!("../../../reference/crops/content.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let share = |v: Option<f64>| v.is_none_or(|v| (0.0..=10.0).contains(&v));
            if ![r.n, r.p2o5, r.k2o, r.ca, r.mg].into_iter().all(share) {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: "a content must lie between 0 and 10 % of fresh weight".to_owned(),
                });
            }
            Ok(Content {
                key: r.key,
                name: r.name,
                part: r.part,
                n: r.n,
                p2o5: r.p2o5,
                k2o: r.k2o,
                ca: r.ca,
                mg: r.mg,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// Every content read; empty if the table cannot be parsed, which a test rules out.
pub fn contents() -> &'static [Content] {
    static CONTENTS: OnceLock<Vec<Content>> = OnceLock::new();
    CONTENTS.get_or_init(|| load().unwrap_or_default())
}

fn name(nutrient: &str) -> Option<&'static str> {
    Some(match nutrient {
        "n" => "N",
        "p2o5" => "P2O5",
        "k2o" => "K2O",
        "ca" => "Ca",
        "mg" => "Mg",
        "s" => "S",
        _ => return None,
    })
}

/// lb per acre of `n`, `p2o5`, `k2o`, `ca`, `mg` or `s` that a harvest carries off: fresh weight × percent in
/// it; of sulfur, which is printed per acre of a crop, that in the share of the crop’s usual yield.
///
/// `yield_lb_per_acre` is the harvest, lb of fresh weight per acre; without one the crop's usual yield is
/// taken. The value follows the crop table's choice of source, else the first content read; low and high
/// span every source read.
///
/// # Errors
/// A crop, nutrient or yield that is not known or not usable.
pub fn carried_off(
    crop_key: &str,
    nutrient: &str,
    yield_lb_per_acre: Option<f64>,
) -> Result<Figure, HarvestError> {
    let label = name(nutrient).ok_or_else(|| HarvestError::UnknownNutrient(nutrient.to_owned()))?;
    let ours = crop::find(crop_key);
    let read: Vec<&Content> = contents().iter().filter(|c| c.key == crop_key).collect();
    let said = ours
        .map(|c| c.name.clone())
        .or_else(|| read.first().map(|c| c.name.clone()));
    let said = said.ok_or_else(|| HarvestError::UnknownCrop(crop_key.to_owned()))?;
    if nutrient == "s" {
        return sulfur::carried_off(ours, &said, yield_lb_per_acre);
    }
    let chosen = ours.and_then(|c| c.removal.as_ref()).and_then(|r| {
        let percent = match nutrient {
            "n" => r.n,
            "p2o5" => r.p2o5,
            "k2o" => r.k2o,
            _ => return None,
        };
        Some((percent, r.source.clone()))
    });
    let (percent, source) = chosen
        .or_else(|| {
            read.iter()
                .find_map(|c| c.of(nutrient).map(|p| (p, c.source.clone())))
        })
        .ok_or_else(|| HarvestError::Unknown {
            nutrient: label,
            crop: said.to_lowercase(),
        })?;
    let mut figure = Figure::new(format!("{label} carried off with {}", said.to_lowercase()));
    let harvest = picked(&mut figure, ours, &said, yield_lb_per_acre)?;
    figure.step(
        "carried off",
        harvest * percent / 100.0,
        "lb/acre",
        format!("{} × {} %", plain(harvest, 5), plain(percent, 4)),
        source,
    );
    let others = read.iter().filter_map(|c| c.of(nutrient)).chain([percent]);
    let (low, high) = others.fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p), h.max(p)));
    if low < high {
        figure.low = Some(harvest * low / 100.0);
        figure.high = Some(harvest * high / 100.0);
    }
    Ok(figure)
}

/// The harvest as a step of a working, lb per acre: what was given, else the crop’s usual yield.
fn picked(
    figure: &mut Figure,
    crop: Option<&Crop>,
    said: &str,
    yield_lb_per_acre: Option<f64>,
) -> Result<f64, HarvestError> {
    match yield_lb_per_acre {
        Some(y) if y.is_finite() && y >= 0.0 => Ok(figure.step(
            "the harvest",
            y,
            "lb/acre",
            plain(y, 5),
            Source::stated("the yield you gave"),
        )),
        Some(y) => Err(HarvestError::BadYield(plain(y, 4))),
        None => {
            let (y, from) = crop
                .and_then(|c| c.usual_yield.clone())
                .ok_or_else(|| HarvestError::NoYield(said.to_lowercase()))?;
            Ok(figure.step("the crop’s usual yield", y, "lb/acre", plain(y, 5), from))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_removal_of_a_crop_is_within_its_sources() {
        assert!(load().unwrap().len() >= 150);
        for crop in crop::crops().iter().filter(|c| c.removal.is_some()) {
            for nutrient in ["n", "p2o5", "k2o"] {
                let f = carried_off(&crop.key, nutrient, Some(10_000.0)).unwrap();
                assert!(f.value > 0.0, "{}", crop.key);
                if let (Some(low), Some(high)) = (f.low, f.high) {
                    assert!(low <= f.value && f.value <= high, "{}", crop.key);
                }
            }
        }
    }

    #[test]
    fn crops_without_a_place_in_the_crop_table_are_known_too() {
        let f = carried_off("edamame_shelled", "p2o5", Some(1_000.0)).unwrap();
        assert!((f.value - 4.45).abs() < 1e-9);
        assert!(carried_off("edamame_shelled", "p2o5", None).is_err());
        let e = carried_off("moonflower", "n", Some(1.0)).unwrap_err();
        assert!(e.to_string().contains("moonflower"));
        assert!(carried_off("tomato", "b", Some(1.0)).is_err());
        assert!(carried_off("tomato", "n", Some(f64::NAN)).is_err());
    }

    #[test]
    fn no_source_is_never_zero() {
        // The ordinance prints no potash; where only it was read, there is no figure.
        assert!(matches!(
            carried_off("parsley_root", "k2o", Some(1_000.0)),
            Err(HarvestError::Unknown { .. })
        ));
    }

    /// The New England Vegetable Management Guide, table 4, prints calcium and magnesium of whole crops as
    /// harvested there, and of onion bulbs; edible parts hold less, and of the same order.
    #[test]
    fn calcium_and_magnesium_are_of_the_order_of_another_guide() {
        for (crop, tons, ca, mg) in [
            ("cabbage", 20.0, 28.0, 10.0),
            ("cauliflower", 6.0, 4.0, 3.0),
            ("kale", 10.0, 50.0, 10.0),
            ("celery", 50.0, 110.0, 27.0),
            ("onion", 20.0, 12.0, 14.0),
        ] {
            for (nutrient, printed) in [("ca", ca), ("mg", mg)] {
                let f = carried_off(crop, nutrient, Some(tons * 2_000.0)).unwrap();
                let times = f.value / printed;
                assert!(
                    (0.25..=2.0).contains(&times),
                    "{crop} {nutrient}: {}",
                    f.value
                );
            }
        }
    }

    proptest! {
        #[test]
        fn twice_the_harvest_carries_off_twice(pick in 0usize..1000, y in 0.0..90_000.0_f64) {
            let all = contents();
            let key = &all[pick % all.len()].key;
            if let Ok(one) = carried_off(key, "n", Some(y)) {
                let two = carried_off(key, "n", Some(2.0 * y)).unwrap();
                prop_assert!((two.value - 2.0 * one.value).abs() <= 1e-9 * two.value.max(1.0));
            }
        }
    }
}
