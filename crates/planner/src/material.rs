use crate::{Block, Nutrient, scale};
use serde::{Deserialize, Serialize};

/// Something that can be spread.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Material {
    pub id: String,
    pub name: String,
    /// lb of each nutrient that counts as available, per lb of material as spread. For lime a
    /// negative figure is allowed: what a nitrogen source acidifies.
    pub supplies: Vec<(Nutrient, f64)>,
    /// The sizes in which it is sold; none when only what is on hand can be used.
    pub packs: Vec<Pack>,
    /// lb on hand, beside what the lots hold.
    pub stock_lb: f64,
    /// Less than this many lb per acre cannot be spread evenly; then none is spread. Where the
    /// scale shows no amount from here to the most per acre, the next one below the most will do.
    /// It holds for each pass by itself.
    pub least_even_lb_per_acre: f64,
    /// Never more than this many lb per acre, all passes together.
    pub most_lb_per_acre: Option<f64>,
    /// The lb that the scale can tell apart, e.g. 0.5; amounts are whole multiples of it.
    /// Zero leaves amounts unrounded.
    ///
    /// A small block is weighed finer, so that the step alone does not make it short: see
    /// [`Material::step_on`].
    pub weigh_step_lb: f64,
    /// What it brings in a pass, where that differs from `supplies`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub supplies_by_pass: Vec<PassSupply>,
    /// Never more than this many lb per acre in one pass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_lb_per_acre_each_pass: Option<f64>,
    /// Stock on hand by lot, in the order in which the lots are to be used up.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<Lot>,
}

impl Material {
    /// lb to which this material is weighed on the block.
    ///
    /// The usual step is halved until it is at most a twentieth of the amount that the smallest
    /// need asks of this material alone (or a thousandth of what the largest need asks, if that is
    /// more), but a step below a quarter ounce (1/64 lb) is never made: so the nearest multiple is
    /// within 2.5 % of the amount for every need of 5/16 lb or more.
    pub fn step_on(&self, block: &Block) -> f64 {
        const COUNT: usize = Nutrient::ALL.len();
        let (mut supply, mut need, mut shortage) = ([0.0; COUNT], [0.0; COUNT], [0.0; COUNT]);
        for (nutrient, share) in &self.supplies {
            supply[nutrient.at()] = *share;
        }
        for wanted in &block.needs {
            need[wanted.nutrient.at()] = wanted.lb_per_acre * block.acres;
            shortage[wanted.nutrient.at()] = wanted.shortage_cost;
        }
        scale::step(self.weigh_step_lb, &supply, &need, &shortage)
    }

    /// lb on hand, lots included.
    pub fn on_hand(&self) -> f64 {
        self.stock_lb + self.lots.iter().map(|l| l.lb).sum::<f64>()
    }

    /// The most lb per acre that one pass may bring: the smaller of the limits.
    pub fn most_in_a_pass(&self) -> Option<f64> {
        [self.most_lb_per_acre, self.most_lb_per_acre_each_pass]
            .into_iter()
            .flatten()
            .reduce(f64::min)
    }
}

/// What a material brings in one pass; a nutrient that is not listed is as in the default.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct PassSupply {
    /// Id of the pass.
    pub pass: String,
    /// lb of each nutrient that counts, per lb of material.
    pub supplies: Vec<(Nutrient, f64)>,
}

/// Stock from one lot.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Lot {
    pub id: String,
    pub lb: f64,
}

/// A bag, a load, a tote; for what is sold loose, the yard or the ton (or the half of it) in
/// which it is counted.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Pack {
    pub label: String,
    /// lb in it; more than zero.
    pub lb: f64,
    /// Money for one.
    pub price: f64,
    /// Id of the supplier; empty for one without a delivery charge.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// The least count that is sold at once; zero or one for no such limit.
    #[serde(default)]
    pub least_count: u32,
    /// Lower prices for larger counts. Each holds for the whole count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub breaks: Vec<PriceBreak>,
}

/// The price of each pack from a count on.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PriceBreak {
    /// At least two.
    pub from_count: u32,
    /// Money for one; lower than for fewer.
    pub price: f64,
}

/// Somebody who delivers.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Supplier {
    pub id: String,
    pub name: String,
    /// Money, once, if anything is bought there.
    pub delivery: f64,
    /// An order of at least this much money comes free.
    pub free_from: Option<f64>,
}

/// Two materials that may not go on one block in the same pass.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Incompatible {
    /// Ids of the materials.
    pub a: String,
    pub b: String,
    /// Why, for a person.
    #[serde(default)]
    pub why: String,
}
