//! What a season’s spreading cost, by block, crop and nutrient: what was paid for what went on.

use super::taken_off::what_is_done;
use crate::Result;
use agronomy::material;
use farmbook::{Arrival, Block, Book, Id};
use quantity::Weight;
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// Money for what went on one piece of ground or one crop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    pub name: String,
    pub money: f64,
    /// Money for an acre; none where the ground is no one’s own, as for a crop.
    pub per_acre: Option<f64>,
}

/// What a nutrient cost where its material brings it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfNutrient {
    /// `N`, `P2O5` or `K2O`.
    pub nutrient: &'static str,
    /// lb that count in the first season, from every material that was spread.
    pub lb: f64,
    /// Money for a lb in the material that brings it cheapest, all of the price laid on it.
    pub cheapest: Option<(String, f64)>,
}

/// The costs of a season.
#[derive(Debug, Clone, Serialize)]
pub struct Costs {
    pub season: i64,
    pub currency: String,
    pub money: f64,
    pub blocks: Vec<Share>,
    pub crops: Vec<Share>,
    pub nutrients: Vec<OfNutrient>,
    /// Materials that went on and of which no price is known; they are in no sum.
    pub unpriced: Vec<String>,
}

/// Money for a lb of a material: the mean of what was paid for its deliveries, else its pack’s price.
fn price_per_lb(book: &Book, arrivals: &[Arrival], key: &str) -> Result<Option<f64>> {
    let (mut cents, mut weight) = (0i64, Weight::ZERO);
    for a in arrivals.iter().filter(|a| a.material == key) {
        if let Some(paid) = a.paid {
            cents += paid;
            weight = weight + a.weight;
        }
    }
    if !weight.is_zero() {
        return Ok(Some(cents as f64 / 100.0 / weight.to_pounds()));
    }
    let pack = book.material(key)?.and_then(|c| {
        let priced = c.packs.iter().filter_map(|p| Some(p.price? / p.lb));
        priced.reduce(f64::min)
    });
    Ok(pack)
}

/// The costs of a season by its record. Labour and deliveries are not in them.
///
/// # Errors
/// The book’s own.
pub fn of(book: &Book, season: i64) -> Result<Costs> {
    let arrivals = book.arrivals()?;
    let spreads = book.spreads_in(season, &[])?;
    let blocks: HashMap<Id, Block> = book.all_blocks()?.into_iter().map(|b| (b.id, b)).collect();
    let crops: HashMap<Id, String> = book
        .plantings(season)?
        .into_iter()
        .map(|p| (p.block, p.crop.replace('_', " ")))
        .collect();
    let mut prices: HashMap<String, Option<f64>> = HashMap::new();
    let mut by_block: BTreeMap<Id, f64> = BTreeMap::new();
    let mut by_crop: BTreeMap<String, f64> = BTreeMap::new();
    let mut unpriced: Vec<String> = Vec::new();
    let mut nutrients: Vec<OfNutrient> = [("N", "n"), ("P2O5", "p2o5"), ("K2O", "k2o")]
        .map(|(nutrient, _)| OfNutrient {
            nutrient,
            lb: 0.0,
            cheapest: None,
        })
        .into();
    for (s, of) in what_is_done(book, &spreads)?.into_values().flatten() {
        let lb = s.weight.to_pounds();
        let price = match prices.get(&s.material) {
            Some(known) => *known,
            None => {
                let price = price_per_lb(book, &arrivals, &s.material)?;
                prices.insert(s.material.clone(), price);
                price
            }
        };
        for (n, key) in nutrients.iter_mut().zip(["n", "p2o5", "k2o"]) {
            let share = material::supplied(&of, key).map_or(0.0, |f| f.value);
            n.lb += lb * share;
            if let Some(each) = price.filter(|_| share > 0.0).map(|p| p / share)
                && n.cheapest.as_ref().is_none_or(|(_, best)| each < *best)
            {
                n.cheapest = Some((of.name.clone(), each));
            }
        }
        let Some(price) = price else {
            if !unpriced.contains(&of.name) {
                unpriced.push(of.name);
            }
            continue;
        };
        let money = price * lb;
        *by_block.entry(s.block).or_default() += money;
        let crop = crops.get(&s.block).map_or("no crop set", String::as_str);
        *by_crop.entry(crop.to_owned()).or_default() += money;
    }
    let money = by_block.values().sum();
    Ok(Costs {
        season,
        currency: book.farm()?.currency,
        money,
        blocks: by_block
            .into_iter()
            .filter_map(|(id, money)| {
                let block = blocks.get(&id)?;
                Some(Share {
                    name: block.name.clone(),
                    money,
                    per_acre: Some(money / block.shape.spread_area().to_acres()),
                })
            })
            .collect(),
        crops: by_crop
            .into_iter()
            .map(|(name, money)| Share {
                name,
                money,
                per_acre: None,
            })
            .collect(),
        nutrients,
        unpriced,
    })
}
