//! The order list: what to buy for the whole farm.

use crate::planning::Made;
use crate::supply::{self, Choice};
use crate::{Result, at_hand};
use agronomy::working::Caution;
use farmbook::{Book, Supplier};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// Everything a plan needs, material by material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderList {
    pub farm: String,
    /// The season the plan is for, e.g. `2027`.
    pub season: String,
    /// The day the plan was made, ISO 8601.
    pub made_on: String,
    pub lines: Vec<OrderLine>,
    /// What each supplier delivers, with the charge.
    #[serde(default)]
    pub deliveries: Vec<Delivery>,
    /// Sum of the lines that have a price and of the deliveries, in the farm's currency.
    pub cost: f64,
    /// Lines to buy that have no price; their cost is not in the sum.
    pub unpriced: usize,
    /// Whether any price is an invented one that came with the demo.
    pub invented_prices: bool,
    pub currency: String,
    pub cautions: Vec<Caution>,
}

/// One material of the order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderLine {
    pub id: String,
    pub name: String,
    /// e.g. `4–6–4` (N–P2O5–K2O, percent), or what it is good for where it has no grade.
    pub analysis: String,
    /// lb that the blocks take
    pub need_lb: f64,
    /// lb that come from what is on hand
    pub from_stock_lb: f64,
    /// What is bought: each size with its count.
    pub buy: Vec<Buy>,
    /// lb left over after spreading, in the shed
    pub left_lb: f64,
    pub cost: Option<f64>,
    pub price_invented: bool,
    /// Whether organic rules allow it and by which paragraph, in words.
    pub rule: String,
    /// Name of the block and lb on it.
    pub used_on: Vec<(String, f64)>,
}

/// A count of one bag size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Buy {
    pub count: u32,
    /// e.g. `50 lb bag`, `1 ton load`, `1 cubic yard`
    pub size: String,
    pub size_lb: f64,
    /// Price of one at this count, where known.
    pub price: Option<f64>,
    /// Who sells it; empty where the pack names nobody.
    #[serde(default)]
    pub from: String,
}

/// One supplier’s delivery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Delivery {
    pub from: String,
    /// Money for what is bought there.
    pub order: f64,
    /// Money for bringing it; zero where it comes free.
    pub charge: f64,
    pub lead_days: Option<u16>,
}

/// The order list of a plan, with names and prices as the book has them now.
///
/// # Errors
/// The book’s own.
pub fn of_plan(book: &Book, made: &Made) -> Result<OrderList> {
    let farm = book.farm()?;
    let choices = at_hand::choices(book)?;
    let suppliers = book.suppliers()?;
    let names: HashMap<&str, &str> = made
        .problem
        .blocks
        .iter()
        .map(|b| (b.id.as_str(), b.name.as_str()))
        .collect();
    let block_of = |id: &str| names.get(id).map_or(id, |name| *name).to_owned();
    let mut lines = Vec::new();
    let mut cautions: Vec<Caution> = Vec::new();
    for asked in &made.problem.materials {
        let used: Vec<_> = made
            .plan
            .amounts
            .iter()
            .filter(|a| a.material == asked.id && a.lb > 0.0)
            .collect();
        let buy = bought(made, asked, &choices, &suppliers);
        if used.is_empty() && buy.is_empty() {
            continue;
        }
        let known = choices.iter().find(|c| c.material.id == asked.id);
        if let Some(choice) = known {
            for caution in &choice.material.cautions {
                if !cautions.iter().any(|c| c.text == caution.text) {
                    cautions.push(caution.clone());
                }
            }
        }
        let priced = buy.iter().all(|b| b.price.is_some());
        lines.push(OrderLine {
            id: asked.id.clone(),
            name: asked.name.clone(),
            analysis: known.map_or_else(String::new, |c| supply::grade(&c.material)),
            need_lb: used.iter().map(|a| a.lb).sum(),
            from_stock_lb: made
                .plan
                .stock_used
                .iter()
                .filter(|s| s.material == asked.id)
                .map(|s| s.lb)
                .sum(),
            left_lb: made
                .plan
                .leftover
                .iter()
                .filter(|l| l.material == asked.id)
                .map(|l| l.lb)
                .sum(),
            cost: priced.then(|| {
                buy.iter()
                    .map(|b| f64::from(b.count) * b.price.unwrap_or(0.0))
                    .sum()
            }),
            price_invented: known.is_some_and(|c| c.choice.packs.iter().any(|p| p.invented)),
            rule: known
                .filter(|_| farm.organic)
                .map_or_else(String::new, |c| c.material.rule.sentence()),
            used_on: used.iter().map(|a| (block_of(&a.block), a.lb)).collect(),
            buy,
        });
    }
    let deliveries: Vec<Delivery> = made
        .plan
        .deliveries
        .iter()
        .map(|d| Delivery {
            from: name_of(&suppliers, &d.supplier),
            order: d.order,
            charge: d.charge,
            lead_days: suppliers
                .iter()
                .find(|s| s.id.to_string() == d.supplier)
                .and_then(|s| s.lead_days),
        })
        .collect();
    lines.sort_by(|a, b| {
        b.cost
            .unwrap_or(0.0)
            .total_cmp(&a.cost.unwrap_or(0.0))
            .then_with(|| a.name.cmp(&b.name))
    });
    Ok(OrderList {
        farm: farm.name,
        season: farm.season.to_string(),
        made_on: day(&made.stored.made_at),
        cost: lines.iter().filter_map(|l| l.cost).sum::<f64>()
            + deliveries.iter().map(|d| d.charge).sum::<f64>(),
        deliveries,
        unpriced: lines
            .iter()
            .filter(|l| !l.buy.is_empty() && l.cost.is_none())
            .count(),
        invented_prices: lines.iter().any(|l| l.price_invented && !l.buy.is_empty()),
        currency: farm.currency,
        lines,
        cautions,
    })
}

fn bought(
    made: &Made,
    asked: &planner::Material,
    choices: &[Choice],
    suppliers: &[Supplier],
) -> Vec<Buy> {
    let packs = choices
        .iter()
        .find(|c| c.material.id == asked.id)
        .map(|c| c.choice.packs.as_slice())
        .unwrap_or_default();
    made.plan
        .purchases
        .iter()
        .filter(|p| p.material == asked.id && p.count > 0)
        .map(|p| Buy {
            count: p.count,
            size: p.pack.clone(),
            size_lb: p.lb / f64::from(p.count),
            // A stand-in price serves the choice only; the order shows the grower’s own.
            price: packs
                .iter()
                .find(|own| own.label == p.pack)
                .and_then(|own| own.price)
                .map(|_| p.cost / f64::from(p.count)),
            from: name_of(suppliers, &p.supplier),
        })
        .collect()
}

fn name_of(suppliers: &[Supplier], id: &str) -> String {
    suppliers
        .iter()
        .find(|s| s.id.to_string() == id)
        .map_or_else(String::new, |s| s.name.clone())
}

pub(crate) fn block_name(made: &Made, id: &str) -> String {
    made.problem
        .blocks
        .iter()
        .find(|b| b.id == id)
        .map_or_else(|| id.to_owned(), |b| b.name.clone())
}

pub(crate) fn material_name(made: &Made, id: &str) -> String {
    made.problem
        .materials
        .iter()
        .find(|m| m.id == id)
        .map_or_else(|| id.to_owned(), |m| m.name.clone())
}

/// The day of an RFC 3339 time.
pub(crate) fn day(at: &str) -> String {
    at.get(..10).unwrap_or(at).to_owned()
}
