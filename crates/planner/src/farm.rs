//! The problem with ids resolved: what may go where, and between which amounts.

use crate::nutrient::PerNutrient;
use crate::{Nutrient, Pack, Problem, scale};
use std::collections::HashMap;
use std::ops::Range;

/// Relative slack when a limit is compared with an amount.
pub(crate) const SLACK: f64 = 1e-9;

/// Whether `value` is above `limit` by more than slack.
pub(crate) fn above(value: f64, limit: f64) -> bool {
    value > limit + SLACK * limit.abs().max(1.0)
}

/// One block: lb on the whole block, money per lb.
pub(crate) struct Ground {
    pub acres: f64,
    pub asked: PerNutrient<bool>,
    pub need: PerNutrient<f64>,
    pub ceiling: PerNutrient<Option<f64>>,
    pub shortage: PerNutrient<f64>,
    pub surplus: PerNutrient<f64>,
}

impl Ground {
    /// Money for standing with `supplied` lb of the nutrient.
    pub fn cost(&self, n: usize, supplied: f64) -> f64 {
        let lack = self.need[n] - supplied;
        if lack >= 0.0 {
            lack * self.shortage[n]
        } else {
            -lack * self.surplus[n]
        }
    }
}

/// One material.
pub(crate) struct Stuff<'a> {
    pub supply: PerNutrient<f64>,
    pub packs: &'a [Pack],
    pub stock: f64,
    pub penalty: f64,
    pub least_even: f64,
    pub most: Option<f64>,
}

impl Stuff<'_> {
    pub fn obtainable(&self) -> bool {
        self.stock > 0.0 || !self.packs.is_empty()
    }

    /// The most lb that there can be of it.
    pub fn in_sight(&self) -> f64 {
        if self.packs.is_empty() {
            self.stock
        } else {
            f64::INFINITY
        }
    }
}

/// How a material may go on a block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Way {
    /// Nothing, or between these amounts in lb.
    Open { low: f64, high: f64 },
    /// This amount, held by the grower.
    Fixed(f64),
    /// Not at all: refused by the grower, or it would undo what the block needs.
    Refused,
    /// Not at all: it brings nothing that is wanted, or the limits leave no amount.
    Shut,
}

/// A block and a material that meet in the model.
pub(crate) struct Pair {
    pub block: usize,
    pub material: usize,
    pub low: f64,
    pub high: f64,
    /// lb to which it is weighed.
    pub step: f64,
    pub fixed: bool,
}

pub(crate) struct Farm<'a> {
    pub problem: &'a Problem,
    pub ground: Vec<Ground>,
    pub stuff: Vec<Stuff<'a>>,
    /// By block, then material.
    ways: Vec<Way>,
    /// lb to which the material is weighed, by block, then material.
    steps: Vec<f64>,
    /// Open and held ones above zero, by block and then material.
    pub pairs: Vec<Pair>,
    /// Where each block's pairs stand.
    pub of_block: Vec<Range<usize>>,
    pub trip: f64,
}

impl<'a> Farm<'a> {
    /// Takes a problem that has passed [`crate::check::check`].
    pub fn new(problem: &'a Problem) -> Self {
        let penalties: HashMap<&str, f64> = problem
            .options
            .prefer_less
            .iter()
            .map(|p| (p.material.as_str(), p.penalty_per_lb))
            .collect();
        let locks: HashMap<(&str, &str), f64> = problem
            .options
            .locks
            .iter()
            .map(|l| ((l.block.as_str(), l.material.as_str()), l.lb))
            .collect();
        let stuff: Vec<Stuff> = problem
            .materials
            .iter()
            .map(|m| {
                let mut supply = [0.0; Nutrient::ALL.len()];
                for (n, share) in &m.supplies {
                    supply[n.at()] = *share;
                }
                Stuff {
                    supply,
                    packs: &m.packs,
                    stock: m.stock_lb,
                    penalty: penalties.get(m.id.as_str()).copied().unwrap_or_default(),
                    least_even: m.least_even_lb_per_acre,
                    most: m.most_lb_per_acre,
                }
            })
            .collect();
        let mut farm = Self {
            problem,
            ground: Vec::with_capacity(problem.blocks.len()),
            stuff,
            ways: Vec::with_capacity(problem.blocks.len() * problem.materials.len()),
            steps: Vec::with_capacity(problem.blocks.len() * problem.materials.len()),
            pairs: Vec::new(),
            of_block: Vec::with_capacity(problem.blocks.len()),
            trip: problem.options.trip_cost,
        };
        for (b, block) in problem.blocks.iter().enumerate() {
            let ground = ground(block);
            let first = farm.pairs.len();
            for (m, material) in problem.materials.iter().enumerate() {
                let step = material.step_on(block);
                let way = match locks.get(&(block.id.as_str(), material.id.as_str())) {
                    Some(lb) => Way::Fixed(*lb),
                    None if block.refused.contains(&material.id) => Way::Refused,
                    None => way(&ground, &farm.stuff[m], step),
                };
                match way {
                    Way::Open { low, high } => farm.pairs.push(Pair {
                        block: b,
                        material: m,
                        low,
                        high,
                        step,
                        fixed: false,
                    }),
                    Way::Fixed(lb) if lb > 0.0 => farm.pairs.push(Pair {
                        block: b,
                        material: m,
                        low: lb,
                        high: lb,
                        step,
                        fixed: true,
                    }),
                    _ => {}
                }
                farm.ways.push(way);
                farm.steps.push(step);
            }
            farm.of_block.push(first..farm.pairs.len());
            farm.ground.push(ground);
        }
        farm
    }

    pub fn way(&self, block: usize, material: usize) -> Way {
        self.ways[block * self.stuff.len() + material]
    }

    pub fn step(&self, block: usize, material: usize) -> f64 {
        self.steps[block * self.stuff.len() + material]
    }

    /// The least lb of the material that may be spread on the block, if any is.
    pub fn least(&self, block: usize, material: usize) -> f64 {
        least(
            self.ground[block].acres,
            &self.stuff[material],
            self.step(block, material),
        )
    }

    /// lb of every nutrient that the amounts bring to the block.
    pub fn supplied(&self, block: usize, amounts: &[f64]) -> PerNutrient<f64> {
        let mut sum = [0.0; Nutrient::ALL.len()];
        for i in self.of_block[block].clone() {
            let supply = &self.stuff[self.pairs[i].material].supply;
            for (total, share) in sum.iter_mut().zip(supply) {
                *total += share * amounts[i];
            }
        }
        sum
    }

    /// lb of every material that the amounts take.
    pub fn used(&self, amounts: &[f64]) -> Vec<f64> {
        let mut used = vec![0.0; self.stuff.len()];
        for (pair, lb) in self.pairs.iter().zip(amounts) {
            used[pair.material] += lb;
        }
        used
    }

    /// Whether a material that limes and one that acidifies are both among the pairs in use.
    pub fn opposed(&self, block: usize, amounts: &[f64], material: usize) -> bool {
        let (lime, acid) = (Nutrient::Lime.at(), Nutrient::Sulfur.at());
        let mine = &self.stuff[material].supply;
        self.of_block[block].clone().any(|i| {
            let other = &self.stuff[self.pairs[i].material].supply;
            amounts[i] > 0.0
                && ((mine[lime] > 0.0 && other[acid] > 0.0)
                    || (mine[acid] > 0.0 && other[lime] > 0.0))
        })
    }

    /// How many lb of the material could be taken off the block before anything it brings and the
    /// block wants falls short, and which nutrient would; none when nothing of it is wanted.
    pub fn idle(
        &self,
        block: usize,
        material: usize,
        supplied: &PerNutrient<f64>,
    ) -> (f64, Option<usize>) {
        let ground = &self.ground[block];
        let supply = &self.stuff[material].supply;
        let mut least = (f64::INFINITY, None);
        for n in 0..supplied.len() {
            if supply[n] > 0.0 && ground.need[n] > 0.0 && ground.shortage[n] > 0.0 {
                let lb = (supplied[n] - ground.need[n]).max(0.0) / supply[n];
                if lb < least.0 {
                    least = (lb, Some(n));
                }
            }
        }
        least
    }

    /// Money for the amounts, bags aside: shortages, surpluses, trips, preferences.
    pub fn cost_on_ground(&self, amounts: &[f64]) -> f64 {
        let stand: f64 = (0..self.ground.len())
            .map(|b| {
                let supplied = self.supplied(b, amounts);
                (0..supplied.len())
                    .map(|n| self.ground[b].cost(n, supplied[n]))
                    .sum::<f64>()
            })
            .sum();
        let spread: f64 = self
            .pairs
            .iter()
            .zip(amounts)
            .filter(|(_, lb)| **lb > 0.0)
            .map(|(pair, lb)| self.trip + self.stuff[pair.material].penalty * lb)
            .sum();
        stand + spread
    }
}

fn ground(block: &crate::Block) -> Ground {
    const COUNT: usize = Nutrient::ALL.len();
    let mut ground = Ground {
        acres: block.acres,
        asked: [false; COUNT],
        need: [0.0; COUNT],
        ceiling: [None; COUNT],
        shortage: [0.0; COUNT],
        surplus: [0.0; COUNT],
    };
    for need in &block.needs {
        let n = need.nutrient.at();
        ground.asked[n] = true;
        ground.need[n] = need.lb_per_acre * block.acres;
        ground.ceiling[n] = need.ceiling_lb_per_acre.map(|c| c * block.acres);
        ground.shortage[n] = need.shortage_cost;
        ground.surplus[n] = need.surplus_cost;
    }
    ground
}

/// The least even amount on the scale; where no multiple of the step lies between it and the most
/// per acre, the multiple next below the most.
fn least(acres: f64, stuff: &Stuff, step: f64) -> f64 {
    let even = stuff.least_even * acres;
    let least = scale::up(even, step).max(step);
    match stuff.most.map(|most| most * acres) {
        Some(most) if above(least, most) && !above(even, most) => scale::down(most, step).max(step),
        _ => least,
    }
}

fn way(ground: &Ground, stuff: &Stuff, step: f64) -> Way {
    let (lime, acid) = (Nutrient::Lime.at(), Nutrient::Sulfur.at());
    if (ground.need[lime] > 0.0 && stuff.supply[acid] > 0.0)
        || (ground.need[acid] > 0.0 && stuff.supply[lime] > 0.0)
    {
        return Way::Refused;
    }
    if !stuff.obtainable() {
        return Way::Shut;
    }
    // Beyond the largest amount that any wanted nutrient can ask of this material alone, more of
    // it only costs; the bound keeps the model tight.
    let useful = (0..ground.need.len())
        .filter(|&n| stuff.supply[n] > 0.0 && ground.need[n] > 0.0 && ground.shortage[n] > 0.0)
        .map(|n| ground.need[n] / stuff.supply[n])
        .fold(0.0, f64::max);
    if useful <= 0.0 {
        return Way::Shut;
    }
    let low = least(ground.acres, stuff, step);
    let cap = cap(ground, stuff).min(stuff.in_sight());
    let high = scale::down(cap, step).min(scale::up(useful, step).max(low));
    if high <= 0.0 || above(low, high) {
        return Way::Shut;
    }
    Way::Open { low, high }
}

/// The most lb of the material alone that most-per-acre and ceilings leave.
fn cap(ground: &Ground, stuff: &Stuff) -> f64 {
    let mut cap = stuff.most.map_or(f64::INFINITY, |most| most * ground.acres);
    for (ceiling, share) in ground.ceiling.iter().zip(&stuff.supply) {
        if let Some(ceiling) = ceiling
            && *share > 0.0
        {
            cap = cap.min(ceiling / share);
        }
    }
    cap
}
