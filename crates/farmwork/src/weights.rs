//! How much a shortage, a surplus and a trip count in a plan, and prices to plan with where the grower
//! gave none. These are judgements, not money that anybody pays, and are shown as such.

use agronomy::table::{self, TableError};
use agronomy::working::Source;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct WeightRow {
    key: String,
    value: f64,
    unit: String,
    source: String,
    evidence: String,
}

/// One weight.
#[derive(Debug, Clone)]
pub struct Weight {
    pub value: f64,
    pub unit: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct PriceRow {
    id: String,
    per_lb: f64,
}

fn load_weights() -> Result<BTreeMap<String, Weight>, TableError> {
    let name = "planning/weights.csv";
    let text = include_str!("../../../reference/planning/weights.csv");
    table::rows::<WeightRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            Ok((
                r.key,
                Weight {
                    value: r.value,
                    unit: r.unit,
                    source,
                },
            ))
        })
        .collect()
}

fn load_prices() -> Result<BTreeMap<String, f64>, TableError> {
    let name = "planning/stand_in_prices.csv";
    let text = include_str!("../../../reference/planning/stand_in_prices.csv");
    Ok(table::rows::<PriceRow>(name, text)?
        .into_iter()
        .map(|r| (r.id, r.per_lb))
        .collect())
}

/// Every weight by its key.
pub fn weights() -> &'static BTreeMap<String, Weight> {
    static WEIGHTS: OnceLock<BTreeMap<String, Weight>> = OnceLock::new();
    WEIGHTS.get_or_init(|| load_weights().unwrap_or_default())
}

/// A weight’s value; zero for a key that is not there, which a test rules out for the keys in use.
pub fn weight(key: &str) -> f64 {
    weights().get(key).map_or(0.0, |w| w.value)
}

/// An invented price for a lb of a material, to choose between materials before the grower’s own
/// prices are known. It never stands in an order’s total.
pub fn stand_in_price(material: &str) -> Option<f64> {
    static PRICES: OnceLock<BTreeMap<String, f64>> = OnceLock::new();
    PRICES
        .get_or_init(|| load_prices().unwrap_or_default())
        .get(material)
        .copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_weight_in_use_and_every_price_is_there() {
        let weights = load_weights().unwrap();
        for key in [
            "short_n",
            "short_p2o5",
            "short_k2o",
            "short_lime",
            "short_sulfur",
            "over_n",
            "over_p2o5",
            "over_k2o",
            "over_lime",
            "over_sulfur",
            "over_very_high_p2o5",
            "short_ca",
            "short_mg",
            "short_s",
            "short_trace",
            "over_boron_copper",
            "over_covered",
            "over_k2o_low_mg",
            "answer_medium",
            "answer_rich",
            "answer_trace_low",
            "answer_trace_high",
            "trip",
            "visit",
            "material",
            "between_share",
            "rather_not",
            "slight_lime",
            "ph_reading",
            "ph_change_share",
            "gap",
            "seconds",
            "sulfur_above",
            "acid_crop_ph",
            "learned_own_share",
            "learned_least_rise",
            "learned_tests",
            "learned_least_times",
            "learned_most_times",
        ] {
            assert!(weights[key].value > 0.0, "{key}");
        }
        for material in agronomy::material::materials() {
            assert!(
                stand_in_price(&material.id).is_some_and(|p| p > 0.0),
                "{}",
                material.id
            );
        }
    }
}
