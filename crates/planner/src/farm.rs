//! The problem with ids resolved: what may go where and when, and between which amounts.

use crate::nutrient::PerNutrient;
use crate::reach::{self, Reach};
use crate::{Nutrient, Pack, Problem, scale};
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// Relative slack when a limit is compared with an amount.
pub(crate) const SLACK: f64 = 1e-9;

/// Whether `value` is above `limit` by more than slack.
pub(crate) fn above(value: f64, limit: f64) -> bool {
    value > limit + SLACK * limit.abs().max(1.0)
}

/// One block: lb on the whole block, money per lb.
#[derive(Clone)]
pub(crate) struct Ground {
    pub acres: f64,
    pub asked: PerNutrient<bool>,
    /// Full shortage below it.
    pub low: PerNutrient<f64>,
    /// Surplus above it.
    pub high: PerNutrient<f64>,
    pub ceiling: PerNutrient<Option<f64>>,
    pub shortage: PerNutrient<f64>,
    pub between: PerNutrient<f64>,
    pub surplus: PerNutrient<f64>,
}

impl Ground {
    /// Money for standing with `supplied` lb of the nutrient.
    pub fn cost(&self, n: usize, supplied: f64) -> f64 {
        let (low, high) = (self.low[n], self.high[n]);
        if supplied > high {
            (supplied - high) * self.surplus[n]
        } else {
            (low - supplied).max(0.0) * self.shortage[n]
                + (high - supplied.max(low)) * self.between[n]
        }
    }

    /// The lb up to which more of the nutrient saves money; none when it never does.
    pub fn target(&self, n: usize) -> Option<f64> {
        if self.between[n] > 0.0 && self.high[n] > self.low[n] {
            Some(self.high[n])
        } else if self.shortage[n] > 0.0 {
            Some(self.low[n])
        } else {
            None
        }
    }

    /// Whether the block wants any of it.
    pub fn wants(&self, n: usize) -> bool {
        self.target(n).is_some_and(|t| t > 0.0)
    }

    /// Whether the amounts brought keep every ceiling.
    pub fn under_ceilings(&self, supplied: &PerNutrient<f64>) -> bool {
        self.ceiling
            .iter()
            .zip(supplied)
            .all(|(c, s)| c.is_none_or(|c| !above(*s, c)))
    }
}

/// One material.
pub(crate) struct Stuff<'a> {
    pub packs: &'a [Pack],
    pub stock: f64,
    pub penalty: f64,
    pub least_even: f64,
    /// lb per acre, all passes together.
    pub most: Option<f64>,
    /// lb per acre in one pass.
    pub most_pass: Option<f64>,
    /// Supplier of each pack: place among those with a charge.
    pub from: Vec<Option<usize>>,
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

/// How a material may go on a block in a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Way {
    /// Nothing, or between these amounts in lb.
    Open { low: f64, high: f64 },
    /// This amount, held by the grower.
    Fixed(f64),
    /// Not at all: refused by the grower, or it would undo what the block needs.
    Refused,
    /// Not in this pass, for the block's reason at this place.
    Barred(usize),
    /// Not beside what is held.
    Apart,
    /// Not at all: it brings nothing that is wanted, or the limits leave no amount.
    Shut,
}

/// A block, a material and a pass that meet in the model.
#[derive(Clone)]
pub(crate) struct Pair {
    pub block: usize,
    pub material: usize,
    pub pass: usize,
    pub low: f64,
    pub high: f64,
    /// lb to which it is weighed.
    pub step: f64,
    pub fixed: bool,
    /// Place of what it brings among the farm's kinds.
    pub kind: usize,
}

pub(crate) struct Farm<'a> {
    pub problem: &'a Problem,
    pub ground: Vec<Ground>,
    pub stuff: Vec<Stuff<'a>>,
    pub passes: usize,
    /// Money for a visit, by pass.
    pub visit: Vec<f64>,
    /// What material and pass bring; those that differ on a block come after the usual ones.
    pub kinds: Vec<PerNutrient<f64>>,
    /// By block, then material, then pass.
    ways: Vec<Way>,
    kind_of: Vec<usize>,
    /// lb to which the material is weighed, by block, then material.
    steps: Vec<f64>,
    /// Most lb by block, material and pass, where a block has one of its own.
    mosts: HashMap<usize, f64>,
    /// Open and held ones above zero, by block, material, pass.
    pub pairs: Vec<Pair>,
    /// Where each block's pairs stand.
    pub of_block: Vec<Range<usize>>,
    pub trip: f64,
    /// Places of materials that may not meet in a pass, smaller first.
    apart: HashSet<(usize, usize)>,
}

type Held<'a> = HashMap<(&'a str, &'a str), Vec<(Option<usize>, f64)>>;

impl<'a> Farm<'a> {
    /// Takes a problem that has passed [`crate::check::check`].
    pub fn new(problem: &'a Problem) -> Self {
        let pass_at: HashMap<&str, usize> = (0..problem.pass_count())
            .map(|t| (problem.pass_id(t), t))
            .collect();
        let material_at: HashMap<&str, usize> = problem
            .materials
            .iter()
            .enumerate()
            .map(|(m, material)| (material.id.as_str(), m))
            .collect();
        let mut held: Held = HashMap::new();
        for lock in &problem.options.locks {
            let pass = if problem.passes.is_empty() {
                Some(0)
            } else {
                pass_at.get(lock.pass.as_str()).copied()
            };
            held.entry((lock.block.as_str(), lock.material.as_str()))
                .or_default()
                .push((pass, lock.lb));
        }
        let apart = problem
            .options
            .incompatible
            .iter()
            .filter_map(|pair| {
                let a = *material_at.get(pair.a.as_str())?;
                let b = *material_at.get(pair.b.as_str())?;
                Some((a.min(b), a.max(b)))
            })
            .collect();
        let (blocks, count) = (problem.blocks.len(), problem.materials.len());
        let passes = problem.pass_count();
        let mut farm = Self {
            problem,
            ground: Vec::with_capacity(blocks),
            stuff: stuff(problem),
            passes,
            visit: (0..passes)
                .map(|t| problem.passes.get(t).map_or(0.0, |p| p.visit_cost))
                .collect(),
            kinds: kinds(problem, &pass_at),
            ways: vec![Way::Shut; blocks * count * passes],
            kind_of: Vec::with_capacity(blocks * count * passes),
            steps: Vec::with_capacity(blocks * count),
            mosts: HashMap::new(),
            pairs: Vec::new(),
            of_block: Vec::with_capacity(blocks),
            trip: problem.options.trip_cost,
            apart,
        };
        for (b, block) in problem.blocks.iter().enumerate() {
            for (m, material) in problem.materials.iter().enumerate() {
                farm.steps.push(material.step_on(block));
                farm.kind_of.extend((0..passes).map(|t| m * passes + t));
            }
            farm.here(b, &pass_at, &material_at);
            farm.most_here(b, &pass_at, &material_at);
            farm.ground.push(ground(block));
            farm.open(b, &held, &pass_at);
        }
        farm
    }

    /// Kinds of their own for what a block takes up differently.
    fn here(&mut self, b: usize, pass_at: &HashMap<&str, usize>, at: &HashMap<&str, usize>) {
        for here in &self.problem.blocks[b].supplies_here {
            let Some(m) = at.get(here.material.as_str()) else {
                continue;
            };
            for t in 0..self.passes {
                if here.pass.is_empty() || pass_at.get(here.pass.as_str()) == Some(&t) {
                    let place = self.place(b, *m, t);
                    let mut kind = self.kinds[self.kind_of[place]];
                    kind[here.nutrient.at()] = here.lb_per_lb;
                    self.kind_of[place] = self.kinds.len();
                    self.kinds.push(kind);
                }
            }
        }
    }

    fn most_here(&mut self, b: usize, pass_at: &HashMap<&str, usize>, at: &HashMap<&str, usize>) {
        for most in &self.problem.blocks[b].most_here {
            let material = at.get(most.material.as_str());
            if let (Some(m), Some(t)) = (material, pass_at.get(most.pass.as_str())) {
                let place = self.place(b, *m, *t);
                let lb = most.lb_per_acre * self.problem.blocks[b].acres;
                let known = self.mosts.entry(place).or_insert(lb);
                *known = known.min(lb);
            }
        }
    }

    /// The most lb of the material that may go on the block in the pass.
    pub fn most_in(&self, block: usize, material: usize, pass: usize) -> f64 {
        let here = self.mosts.get(&self.place(block, material, pass));
        self.most_each(block, material)
            .min(here.copied().unwrap_or(f64::INFINITY))
    }

    /// The most lb of the material that may go on the block in any one pass.
    fn most_each(&self, block: usize, material: usize) -> f64 {
        let each = self.stuff[material].most_pass;
        let acres = self.problem.blocks[block].acres;
        each.map_or(f64::INFINITY, |most| most * acres)
            .min(self.most_of_year(block, material).unwrap_or(f64::INFINITY))
    }

    /// The most lb of the material that may still go on the block in all passes together; none where
    /// nothing limits it.
    pub fn most_of_year(&self, block: usize, material: usize) -> Option<f64> {
        let most = self.stuff[material].most?;
        let ground = &self.problem.blocks[block];
        let id = &self.problem.materials[material].id;
        Some(ground.left_of(id, most))
    }

    /// Finds the ways of one block and makes its pairs.
    fn open(&mut self, b: usize, held: &Held, pass_at: &HashMap<&str, usize>) {
        let block = &self.problem.blocks[b];
        let mut fixed = Vec::new();
        for (m, material) in self.problem.materials.iter().enumerate() {
            let locks = held.get(&(block.id.as_str(), material.id.as_str()));
            let refused = block.refused.contains(&material.id);
            for t in 0..self.passes {
                let lock = locks.and_then(|l| l.iter().find(|(p, _)| p.is_none_or(|p| p == t)));
                let barred = block.shut.iter().position(|s| {
                    s.material == material.id
                        && (s.pass.is_empty() || pass_at.get(s.pass.as_str()) == Some(&t))
                });
                let way = match (lock, barred) {
                    (Some((_, lb)), _) => {
                        if *lb > 0.0 {
                            fixed.push((m, t, *lb));
                        }
                        Way::Fixed(*lb)
                    }
                    (None, _) if refused => Way::Refused,
                    (None, Some(reason)) => Way::Barred(reason),
                    (None, None) => continue,
                };
                let place = self.place(b, m, t);
                self.ways[place] = way;
            }
        }
        let reach = Reach::new(self, b, &fixed);
        let first = self.pairs.len();
        for m in 0..self.stuff.len() {
            for t in 0..self.passes {
                let place = self.place(b, m, t);
                let kind = self.kind_of[place];
                if self.ways[place] == Way::Shut {
                    self.ways[place] = if reach::undoes(&self.ground[b], &self.kinds[kind]) {
                        Way::Refused
                    } else if fixed
                        .iter()
                        .any(|f| self.clash((m, t, kind), self.at(b, *f)))
                    {
                        Way::Apart
                    } else {
                        reach.way(self, m, t)
                    };
                }
                let (low, high, fixed) = match self.ways[place] {
                    Way::Open { low, high } => (low, high, false),
                    Way::Fixed(lb) if lb > 0.0 => (lb, lb, true),
                    _ => continue,
                };
                self.pairs.push(Pair {
                    block: b,
                    material: m,
                    pass: t,
                    low,
                    high,
                    step: self.step(b, m),
                    fixed,
                    kind,
                });
            }
        }
        self.of_block.push(first..self.pairs.len());
    }

    fn place(&self, block: usize, material: usize, pass: usize) -> usize {
        (block * self.stuff.len() + material) * self.passes + pass
    }

    fn at(&self, b: usize, (m, t, _): (usize, usize, f64)) -> (usize, usize, usize) {
        (m, t, self.kind_of[self.place(b, m, t)])
    }

    /// Whether two materials, each with pass and kind, may not both go on one block.
    fn clash(&self, one: (usize, usize, usize), other: (usize, usize, usize)) -> bool {
        let (lime, acid) = (Nutrient::Lime.at(), Nutrient::Sulfur.at());
        let (x, y) = (&self.kinds[one.2], &self.kinds[other.2]);
        (one.1 == other.1
            && self
                .apart
                .contains(&(one.0.min(other.0), one.0.max(other.0))))
            || (x[lime] > 0.0 && y[acid] > 0.0)
            || (x[acid] > 0.0 && y[lime] > 0.0)
    }

    /// Whether two pairs of one block may not both be used.
    pub fn clash_of(&self, i: usize, j: usize) -> bool {
        let of = |i: usize| {
            let p = &self.pairs[i];
            (p.material, p.pass, p.kind)
        };
        i != j && self.clash(of(i), of(j))
    }

    /// Whether a material in a pass may not meet the pair on its block.
    pub fn meets(&self, block: usize, (m, t): (usize, usize), j: usize) -> bool {
        let p = &self.pairs[j];
        let kind = self.kind_of[self.place(block, m, t)];
        (p.material, p.pass) != (m, t) && self.clash((m, t, kind), (p.material, p.pass, p.kind))
    }

    /// What the pair brings, lb per lb.
    pub fn share(&self, i: usize) -> &PerNutrient<f64> {
        &self.kinds[self.pairs[i].kind]
    }

    pub fn way(&self, block: usize, material: usize, pass: usize) -> Way {
        self.ways[self.place(block, material, pass)]
    }

    /// What the material brings on the block in the pass, lb per lb.
    pub fn brings(&self, block: usize, material: usize, pass: usize) -> &PerNutrient<f64> {
        &self.kinds[self.kind_of[self.place(block, material, pass)]]
    }

    pub fn step(&self, block: usize, material: usize) -> f64 {
        self.steps[block * self.stuff.len() + material]
    }

    /// The least lb of the material that may be spread on the block, if any is.
    pub fn least(&self, block: usize, material: usize) -> f64 {
        let stuff = &self.stuff[material];
        let step = self.step(block, material);
        let ground = &self.problem.blocks[block];
        let id = &self.problem.materials[material].id;
        let even = ground.least_left_of(id, stuff.least_even) * ground.acres;
        let least = scale::up(even, step).max(step);
        // Where no multiple of the step lies between it and the most per acre, the multiple next
        // below the most will do.
        let most = self.most_each(block, material);
        if above(least, most) && !above(even, most) {
            scale::down(most, step).max(step)
        } else {
            least
        }
    }

    /// lb of every nutrient that the amounts bring to the block.
    pub fn supplied(&self, block: usize, amounts: &[f64]) -> PerNutrient<f64> {
        let mut sum = [0.0; Nutrient::ALL.len()];
        for i in self.of_block[block].clone() {
            if amounts[i] > 0.0 {
                for (total, share) in sum.iter_mut().zip(self.share(i)) {
                    *total += share * amounts[i];
                }
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

    /// Whether the farm uses no more different materials than it may.
    pub fn few_enough(&self, used: &[f64]) -> bool {
        let opened = used.iter().filter(|lb| **lb > 0.0).count();
        self.problem
            .options
            .most_materials
            .is_none_or(|most| opened <= most as usize)
    }

    /// The lb that one material may still take on the block before its yearly most.
    pub fn year_room(&self, block: usize, material: usize, amounts: &[f64]) -> f64 {
        let Some(most) = self.most_of_year(block, material) else {
            return f64::INFINITY;
        };
        let there: f64 = self.of_block[block]
            .clone()
            .filter(|i| self.pairs[*i].material == material)
            .map(|i| amounts[i])
            .sum();
        (most - there).max(0.0)
    }

    /// How many lb of the pair could be taken off the block before anything it brings and the
    /// block wants falls short, and which nutrient would; none when nothing of it is wanted.
    pub fn idle(&self, i: usize, supplied: &PerNutrient<f64>) -> (f64, Option<usize>) {
        let ground = &self.ground[self.pairs[i].block];
        let supply = self.share(i);
        let mut least = (f64::INFINITY, None);
        for n in 0..supplied.len() {
            let lb = if supply[n] > 0.0 && ground.wants(n) {
                (supplied[n] - ground.target(n).unwrap_or_default()).max(0.0) / supply[n]
            } else if supply[n] < 0.0 && ground.asked[n] {
                // Taking it away lets the lime rise.
                let dear = if ground.surplus[n] > 0.0 {
                    ground.high[n]
                } else {
                    f64::INFINITY
                };
                let limit = ground.ceiling[n].unwrap_or(f64::INFINITY).min(dear);
                (limit - supplied[n]).max(0.0) / -supply[n]
            } else {
                continue;
            };
            if lb < least.0 {
                least = (lb, Some(n));
            }
        }
        least
    }

    /// Money for one block's amounts, bags aside: shortages, surpluses, trips, visits, preferences.
    pub fn cost_of_block(&self, b: usize, amounts: &[f64]) -> f64 {
        let supplied = self.supplied(b, amounts);
        let ground = &self.ground[b];
        let mut sum: f64 = (0..supplied.len())
            .map(|n| ground.cost(n, supplied[n]))
            .sum();
        let mut visited = 0u64;
        for i in self.of_block[b].clone() {
            if amounts[i] > 0.0 {
                let pair = &self.pairs[i];
                sum += self.trip + self.stuff[pair.material].penalty * amounts[i];
                if visited >> pair.pass & 1 == 0 {
                    visited |= 1 << pair.pass;
                    sum += self.visit[pair.pass];
                }
            }
        }
        sum
    }

    /// Money for the amounts, bags aside.
    pub fn cost_on_ground(&self, amounts: &[f64]) -> f64 {
        (0..self.ground.len())
            .map(|b| self.cost_of_block(b, amounts))
            .sum()
    }
}

fn stuff(problem: &Problem) -> Vec<Stuff<'_>> {
    let penalties: HashMap<&str, f64> = problem
        .options
        .prefer_less
        .iter()
        .map(|p| (p.material.as_str(), p.penalty_per_lb))
        .collect();
    problem
        .materials
        .iter()
        .map(|m| Stuff {
            packs: &m.packs,
            stock: m.on_hand(),
            penalty: penalties.get(m.id.as_str()).copied().unwrap_or_default(),
            least_even: m.least_even_lb_per_acre,
            most: m.most_lb_per_acre,
            most_pass: m.most_in_a_pass(),
            from: m
                .packs
                .iter()
                .map(|p| {
                    problem
                        .suppliers
                        .iter()
                        .position(|s| s.id == p.supplier && s.delivery > 0.0)
                })
                .collect(),
        })
        .collect()
}

fn kinds(problem: &Problem, pass_at: &HashMap<&str, usize>) -> Vec<PerNutrient<f64>> {
    let mut kinds = Vec::new();
    for material in &problem.materials {
        let mut usual = [0.0; Nutrient::ALL.len()];
        for (n, share) in &material.supplies {
            usual[n.at()] = *share;
        }
        for t in 0..problem.pass_count() {
            let mut kind = usual;
            for other in &material.supplies_by_pass {
                if pass_at.get(other.pass.as_str()) == Some(&t) {
                    for (n, share) in &other.supplies {
                        kind[n.at()] = *share;
                    }
                }
            }
            kinds.push(kind);
        }
    }
    kinds
}

fn ground(block: &crate::Block) -> Ground {
    const COUNT: usize = Nutrient::ALL.len();
    let mut ground = Ground {
        acres: block.acres,
        asked: [false; COUNT],
        low: [0.0; COUNT],
        high: [0.0; COUNT],
        ceiling: [None; COUNT],
        shortage: [0.0; COUNT],
        between: [0.0; COUNT],
        surplus: [0.0; COUNT],
    };
    for need in &block.needs {
        let n = need.nutrient.at();
        ground.asked[n] = true;
        ground.low[n] = need.low() * block.acres;
        ground.high[n] = need.high() * block.acres;
        ground.ceiling[n] = need.ceiling_lb_per_acre.map(|c| c * block.acres);
        ground.shortage[n] = need.shortage_cost;
        ground.between[n] = need.band.as_ref().map_or(0.0, |b| b.between_cost);
        ground.surplus[n] = need.surplus_cost;
    }
    ground
}
