//! What a season’s spreading cost, by block, crop, material and nutrient: what was paid for what went on,
//! and what its deliveries cost.

mod tables;

pub use tables::{parts, sort};

use super::ordering;
use super::taken_off::what_is_done;
use crate::Result;
use agronomy::{crop, material};
use farmbook::{Arrival, Block, Book, Id};
use quantity::Weight;
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// Money for what went on one piece of ground or one crop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    pub name: String,
    pub money: f64,
    /// Acres that something with a price went on.
    pub acres: f64,
    /// Money for an acre of them.
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

/// What one material cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfMaterial {
    pub name: String,
    pub lb: f64,
    /// None where no price is known.
    pub money: Option<f64>,
    /// Money for a lb of N, P2O5 and K2O that counts in the first season, all of the price laid on it;
    /// none where it brings none or has no price.
    pub per_lb: [Option<f64>; 3],
}

/// The costs of a season.
#[derive(Debug, Clone, Serialize)]
pub struct Costs {
    pub season: i64,
    pub currency: String,
    /// For what was spread, without its deliveries.
    pub money: f64,
    /// By the charges of the suppliers, for orders of the season of which something came.
    pub delivery: f64,
    pub deliveries: usize,
    pub blocks: Vec<Share>,
    pub crops: Vec<Share>,
    pub materials: Vec<OfMaterial>,
    pub nutrients: Vec<OfNutrient>,
    /// Materials that went on and of which no price is known; they are in no sum.
    pub unpriced: Vec<String>,
}

/// One season beside others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfSeason {
    pub season: i64,
    pub money: f64,
    pub delivery: f64,
    /// How many materials went on without a price.
    pub unpriced: usize,
}

/// The nutrients that are counted, with their keys.
const NUTRIENTS: [(&str, &str); 3] = [("N", "n"), ("P2O5", "p2o5"), ("K2O", "k2o")];

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

/// What the deliveries of a season cost, and how many were charged: a supplier’s charge once for each order
/// of which something came, unless the order was large enough to come free.
fn delivery(book: &Book, season: i64) -> Result<(f64, usize)> {
    let suppliers = book.suppliers()?;
    let (mut money, mut count) = (0.0, 0);
    for s in ordering::placed(book)? {
        let came = s.lines.iter().any(|l| !l.came.is_zero());
        let by = suppliers
            .iter()
            .find(|k| k.name.eq_ignore_ascii_case(s.order.supplier.trim()));
        let Some(by) = by.filter(|k| s.order.season == season && came && k.delivery > 0.0) else {
            continue;
        };
        let cents: i64 = s.order.lines.iter().filter_map(|l| l.cents).sum();
        if by
            .free_from
            .is_none_or(|free| (cents as f64) / 100.0 < free)
        {
            money += by.delivery;
            count += 1;
        }
    }
    Ok((money, count))
}

fn crop_name(key: &str) -> String {
    crop::find(key).map_or_else(|| key.replace('_', " "), |c| c.name.to_lowercase())
}

/// Money and the acres it lay on.
#[derive(Default)]
struct Sum {
    money: f64,
    ground: BTreeMap<Id, f64>,
}

impl Sum {
    fn add(&mut self, money: f64, block: Id, acres: f64) {
        self.money += money;
        self.ground.insert(block, acres);
    }

    fn share(self, name: String) -> Share {
        let acres: f64 = self.ground.values().sum();
        Share {
            name,
            money: self.money,
            acres,
            per_acre: (acres > 0.0).then(|| self.money / acres),
        }
    }
}

/// The costs of a season by its record. Labour and machines are not in them.
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
        .map(|p| (p.block, crop_name(&p.crop)))
        .collect();
    let mut by_block: BTreeMap<Id, Sum> = BTreeMap::new();
    let mut by_crop: BTreeMap<String, Sum> = BTreeMap::new();
    let mut materials: BTreeMap<String, (OfMaterial, Option<f64>)> = BTreeMap::new();
    let mut brought = [0.0; 3];
    for (s, of) in what_is_done(book, &spreads)?.into_values().flatten() {
        let lb = s.weight.to_pounds();
        let shares =
            NUTRIENTS.map(|(_, key)| material::supplied(&of, key).map_or(0.0, |f| f.value));
        for (sum, share) in brought.iter_mut().zip(shares) {
            *sum += lb * share;
        }
        if !materials.contains_key(&s.material) {
            let price = price_per_lb(book, &arrivals, &s.material)?;
            let new = OfMaterial {
                name: of.name.clone(),
                lb: 0.0,
                money: price.map(|_| 0.0),
                per_lb: shares.map(|share| price.filter(|_| share > 0.0).map(|p| p / share)),
            };
            materials.insert(s.material.clone(), (new, price));
        }
        let Some((sum, price)) = materials.get_mut(&s.material) else {
            continue;
        };
        sum.lb += lb;
        let Some(price) = *price else { continue };
        let money = price * lb;
        sum.money = sum.money.map(|m| m + money);
        let acres = blocks
            .get(&s.block)
            .map_or(0.0, |b| b.shape.spread_area().to_acres());
        by_block
            .entry(s.block)
            .or_default()
            .add(money, s.block, acres);
        let crop = crops.get(&s.block).map_or("no crop set", String::as_str);
        by_crop
            .entry(crop.to_owned())
            .or_default()
            .add(money, s.block, acres);
    }
    let (delivery, deliveries) = delivery(book, season)?;
    let materials: Vec<OfMaterial> = materials.into_values().map(|(m, _)| m).collect();
    Ok(Costs {
        season,
        currency: book.farm()?.currency,
        money: by_block.values().map(|s| s.money).sum(),
        delivery,
        deliveries,
        blocks: by_block
            .into_iter()
            .filter_map(|(id, sum)| {
                let block = blocks.get(&id)?;
                Some(sum.share(block.name.clone()))
            })
            .collect(),
        crops: by_crop
            .into_iter()
            .map(|(name, sum)| sum.share(name))
            .collect(),
        nutrients: (0..NUTRIENTS.len())
            .map(|i| OfNutrient {
                nutrient: NUTRIENTS[i].0,
                lb: brought[i],
                cheapest: materials
                    .iter()
                    .filter_map(|m| Some((m.name.clone(), m.per_lb[i]?)))
                    .min_by(|a, b| a.1.total_cmp(&b.1)),
            })
            .collect(),
        unpriced: materials
            .iter()
            .filter(|m| m.money.is_none())
            .map(|m| m.name.clone())
            .collect(),
        materials,
    })
}

/// Every season of which spreading is written down, newest first.
///
/// # Errors
/// The book’s own.
pub fn seasons(book: &Book) -> Result<Vec<OfSeason>> {
    book.spread_seasons()?
        .into_iter()
        .map(|season| {
            let all = of(book, season)?;
            Ok(OfSeason {
                season,
                money: all.money,
                delivery: all.delivery,
                unpriced: all.unpriced.len(),
            })
        })
        .collect()
}
