use crate::{Nutrient, scale};
use serde::{Deserialize, Serialize};

/// A farm's question: which material, how much, on which block, and what to buy.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Problem {
    pub blocks: Vec<Block>,
    pub materials: Vec<Material>,
    pub options: Options,
}

/// A piece of ground that is treated as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    pub id: String,
    pub name: String,
    /// Acres that are spread; more than zero.
    pub acres: f64,
    /// At most one per nutrient. A nutrient without one is neither wanted nor minded.
    pub needs: Vec<Need>,
    /// Ids of materials that may not go here. Ids that the problem does not have are ignored.
    pub refused: Vec<String>,
}

/// What one block wants of one nutrient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Need {
    pub nutrient: Nutrient,
    /// lb per acre, net of credits; zero or more.
    pub lb_per_acre: f64,
    /// lb per acre that the materials together never exceed.
    pub ceiling_lb_per_acre: Option<f64>,
    /// Why there is a ceiling, for a person.
    pub ceiling_why: String,
    /// Money per lb short.
    pub shortage_cost: f64,
    /// Money per lb over.
    pub surplus_cost: f64,
}

/// Something that can be spread.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Material {
    pub id: String,
    pub name: String,
    /// lb of each nutrient that counts as available, per lb of material as spread.
    pub supplies: Vec<(Nutrient, f64)>,
    /// The sizes in which it is sold; none when only what is on hand can be used.
    pub packs: Vec<Pack>,
    /// lb on hand.
    pub stock_lb: f64,
    /// Less than this many lb per acre cannot be spread evenly; then none is spread. Where the
    /// scale shows no amount from here to the most per acre, the next one below the most will do.
    pub least_even_lb_per_acre: f64,
    /// Never more than this many lb per acre.
    pub most_lb_per_acre: Option<f64>,
    /// The lb that the scale can tell apart, e.g. 0.5; amounts are whole multiples of it.
    /// Zero leaves amounts unrounded.
    ///
    /// A small block is weighed finer, so that the step alone does not make it short: see
    /// [`Material::step_on`].
    pub weigh_step_lb: f64,
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
}

/// A bag, a load, a tote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pack {
    pub label: String,
    /// lb in it; more than zero.
    pub lb: f64,
    /// Money for one.
    pub price: f64,
}

/// How to plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Options {
    /// Stop when the plan is proven within this share of the best possible, e.g. 0.005.
    pub gap: f64,
    /// Stop after this many seconds with the best plan so far.
    pub seconds: f64,
    /// Money for each material put on a block.
    pub trip_cost: f64,
    /// Amounts that are held.
    pub locks: Vec<Lock>,
    /// Materials that the grower would rather not use.
    pub prefer_less: Vec<Preference>,
}

impl Default for Options {
    /// Half a percent, ten seconds, no trip cost, nothing held.
    fn default() -> Self {
        Self {
            gap: 0.005,
            seconds: 10.0,
            trip_cost: 0.0,
            locks: Vec::new(),
            prefer_less: Vec::new(),
        }
    }
}

/// An amount held by the grower. It stands above the least even amount and the scale's step, but not above
/// ceilings, refusals and the most per acre: those make [`crate::solve`] fail.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lock {
    /// Id of the block.
    pub block: String,
    /// Id of the material.
    pub material: String,
    /// lb on the whole block; zero keeps the material off it.
    pub lb: f64,
}

/// Money per lb that a material is taken to cost on top of its price, wherever it comes from.
/// It weighs in the objective and is in no bill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Preference {
    /// Id of the material.
    pub material: String,
    /// Money per lb spread; zero or more.
    pub penalty_per_lb: f64,
}
