//! The order list: what to buy for the whole farm.

use agronomy::working::Caution;
use serde::{Deserialize, Serialize};

/// Everything a plan needs, material by material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderList {
    pub farm: String,
    /// The season the plan is for, e.g. `2027`.
    pub season: String,
    /// The day the plan was made, ISO 8601.
    pub made_on: String,
    pub lines: Vec<OrderLine>,
    /// Sum of the lines that have a price, in the farm's currency.
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
    /// Price of one, where known.
    pub price: Option<f64>,
}
