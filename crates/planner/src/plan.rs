use crate::Nutrient;
use serde::{Deserialize, Serialize};

/// The answer: amounts, purchases, and how every block stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Only amounts above zero, by block, material and pass in the problem's order.
    pub amounts: Vec<Amount>,
    pub purchases: Vec<Purchase>,
    /// lb taken from what was on hand, by material.
    pub stock_used: Vec<StockUse>,
    /// What stands in the shed afterwards, by material.
    pub leftover: Vec<Leftover>,
    /// One for each nutrient that a block asks about or receives.
    pub balances: Vec<Balance>,
    /// What each supplier delivers, with the charge.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deliveries: Vec<Delivery>,
    /// Money for packs and deliveries.
    pub cost: f64,
    /// Money by which the cost is over a budget that may be passed.
    #[serde(default)]
    pub over_budget: f64,
    /// Money for packs, deliveries, what is over the budget, trips, visits, materials opened,
    /// preferences, shortages and surpluses of this plan as it stands.
    pub objective: f64,
    /// The objective of the model's own solution, before amounts were put on the scale's steps.
    pub model_objective: f64,
    /// The part of the objective that no choice changes: needs that no material allowed here
    /// can touch, and held amounts' trips.
    pub unavoidable: f64,
    /// No plan can have a lower objective than this (proven).
    pub bound: f64,
    /// `(objective - bound) / (objective - unavoidable)`: how far this plan may be from the best.
    pub gap: f64,
    /// Seconds that planning took.
    pub seconds: f64,
    pub status: Status,
}

impl Plan {
    /// How many times a block is gone to in a pass, over the farm.
    pub fn visits(&self) -> usize {
        let mut all: Vec<(&str, &str)> = self
            .amounts
            .iter()
            .map(|a| (a.block.as_str(), a.pass.as_str()))
            .collect();
        all.sort_unstable();
        all.dedup();
        all.len()
    }
}

/// How the search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// There was no block to plan for.
    Empty,
    /// The plan is proven to be within the gap asked for.
    WithinGap,
    /// The model's solution was within the gap; after rounding to the scale it is a little wider.
    WithinGapBeforeRounding,
    /// The time ran out; the plan is sound, and its gap says how far it may be from the best.
    OutOfTime,
    /// Planned anew from an earlier search: the plan is within the gap that the plan before it had, or
    /// within twice the one asked for.
    AsBefore,
    /// The search was ended from outside; the plan is sound, as for [`Status::OutOfTime`].
    Cancelled,
}

impl Status {
    /// One sentence for a person.
    pub fn says(self) -> &'static str {
        match self {
            Self::Empty => "There was no block to plan for.",
            Self::WithinGap => "The plan is proven to be as close to the cheapest as asked.",
            Self::WithinGapBeforeRounding => {
                "The plan is as close to the cheapest as asked, but for rounding to the scale."
            }
            Self::OutOfTime => {
                "The time ran out: the plan keeps every rule, but a cheaper one may exist."
            }
            Self::AsBefore => {
                "Fitted anew around the plan before it, and about as close to the cheapest; make the plan again for a longer search."
            }
            Self::Cancelled => {
                "The search was ended: the plan keeps every rule, but a cheaper one may exist."
            }
        }
    }
}

/// lb of one material on one block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Amount {
    /// Id of the block.
    pub block: String,
    /// Id of the material.
    pub material: String,
    /// lb on the whole block.
    pub lb: f64,
    /// Id of the pass; empty where the problem names none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub pass: String,
}

/// What one supplier brings.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Delivery {
    /// Id of the supplier.
    pub supplier: String,
    /// Money for the packs bought there.
    pub order: f64,
    /// Money for the delivery; zero when the order is large enough to come free.
    pub charge: f64,
}

/// Packs of one size to buy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Purchase {
    /// Id of the material.
    pub material: String,
    /// Label of the pack.
    pub pack: String,
    pub count: u32,
    /// lb in all of them.
    pub lb: f64,
    /// Money for all of them.
    pub cost: f64,
    /// Id of the supplier; empty where the pack names none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
}

/// lb taken from what was on hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockUse {
    /// Id of the material.
    pub material: String,
    pub lb: f64,
    /// lb from each lot, by id; what stands in no lot is left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<(String, f64)>,
}

/// lb that nobody spreads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Leftover {
    /// Id of the material.
    pub material: String,
    /// lb in all.
    pub lb: f64,
    /// lb of it in packs that the plan buys.
    pub bought_lb: f64,
}

/// How one block stands with one nutrient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Balance {
    /// Id of the block.
    pub block: String,
    pub nutrient: Nutrient,
    /// Whether the block asks about it. If not, it merely comes along: neither short nor over.
    pub asked: bool,
    /// lb on the whole block.
    pub need_lb: f64,
    /// lb below which a shortage costs in full; none without a band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low_lb: Option<f64>,
    /// lb above which a surplus costs; none without a band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high_lb: Option<f64>,
    /// lb available from the amounts.
    pub supplied_lb: f64,
    /// lb from each material, by id; negative for what takes it away.
    pub by_material: Vec<(String, f64)>,
    /// lb below the need, or below the low end of its band.
    pub short_lb: f64,
    /// lb above the need, or above the high end of its band.
    pub over_lb: f64,
    pub ceiling_lb: Option<f64>,
    /// Why it is short or over; none when it is neither.
    pub binding: Option<Binding>,
}

/// What keeps a need from being met exactly.
///
/// For a shortage it is what stops the material that would pay best if nothing stopped it; where no
/// material would pay, it is the price, unless rules leave nothing that could be added at all. For a
/// surplus it is what keeps the amount of a material that brings it from being lower.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Binding {
    /// More of what supplies it would break this ceiling.
    Ceiling { nutrient: Nutrient, why: String },
    /// Too little is wanted of the material to spread it evenly, or even its least amount is
    /// more than wanted.
    LeastEven { material: String },
    /// The most per acre of the material is reached.
    Most { material: String },
    /// All that is on hand is used and none is sold.
    StockUsedUp { material: String },
    /// Nothing on hand or for sale supplies it.
    NoMaterial,
    /// All that supplies it may not go on this block.
    Refused,
    /// The amount of the material is held.
    Locked { material: String },
    /// More would cost more than it is worth here, bag size and trip included.
    Price,
    /// It comes along with a material that is taken for this other nutrient.
    SharedWith {
        material: String,
        nutrient: Nutrient,
    },
    /// All that supplies it is shut out of this block's passes, for the first such reason.
    Shut { why: String },
    /// More of what supplies it would go over the budget.
    Budget,
    /// The block, or the farm, has as many different materials as it may.
    MaterialCount,
    /// What supplies it may not meet what goes on the block.
    Incompatible { material: String },
    /// It is less than the scale can show.
    Rounding,
    /// A better plan exists within the gap or beyond the time that was given.
    Unfinished,
}
