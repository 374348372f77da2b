//! Betters a plan by one change at a time until none pays.

use crate::farm::{Farm, above};
use crate::nutrient::PerNutrient;
use crate::{packs, scale};

/// Money below which a change is not made.
const PAYS: f64 = 1e-7;

/// Rounds over the farm; each ends early when nothing pays, so this only guards the time.
const ROUNDS: usize = 60;

/// How bags are paid for while a plan is bettered.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Bags {
    /// As they are sold.
    Whole,
    /// By the lb, as if every bag were shared to its end.
    Shared,
}

/// A plan being bettered, with its sums kept.
struct Bench<'a> {
    bags: Bags,
    /// A material that must not come onto any block.
    without: Option<usize>,
    farm: &'a Farm<'a>,
    amounts: &'a mut [f64],
    used: Vec<f64>,
    supplied: Vec<PerNutrient<f64>>,
}

/// Changes amounts, one or two on a block at a time, while the money for ground, trips and bags
/// falls. Every rule that held still holds.
pub(crate) fn polish(farm: &Farm, amounts: &mut [f64], bags: Bags, without: Option<usize>) {
    let used = farm.used(amounts);
    let supplied = (0..farm.ground.len())
        .map(|b| farm.supplied(b, amounts))
        .collect();
    let mut bench = Bench {
        bags,
        without,
        farm,
        amounts,
        used,
        supplied,
    };
    for _ in 0..ROUNDS {
        let mut changed = false;
        for b in 0..farm.ground.len() {
            // Two at a time is slow, and only whole bags call for it.
            changed |= bench.one(b) || (bags == Bags::Whole && bench.two(b));
        }
        if !changed {
            break;
        }
    }
}

impl Bench<'_> {
    fn paid(&self, m: usize, used: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let lacking = used - stuff.stock;
        match self.bags {
            Bags::Whole => packs::least_money(stuff.packs, lacking).unwrap_or_default(),
            Bags::Shared => packs::price_per_lb(stuff.packs).unwrap_or_default() * lacking.max(0.0),
        }
    }

    /// Money saved by putting `lb` in place of pair `i`'s amount.
    fn saving(&self, i: usize, lb: f64) -> f64 {
        let pair = &self.farm.pairs[i];
        let ground = &self.farm.ground[pair.block];
        let stuff = &self.farm.stuff[pair.material];
        let supplied = &self.supplied[pair.block];
        let (was, change) = (self.amounts[i], lb - self.amounts[i]);
        let stand: f64 = (0..supplied.len())
            .filter(|&n| stuff.supply[n] > 0.0)
            .map(|n| {
                ground.cost(n, supplied[n]) - ground.cost(n, supplied[n] + stuff.supply[n] * change)
            })
            .sum();
        let trip = |lb: f64| if lb > 0.0 { self.farm.trip } else { 0.0 };
        let used = self.used[pair.material];
        stand + trip(was) - trip(lb) - stuff.penalty * change + self.paid(pair.material, used)
            - self.paid(pair.material, used + change)
    }

    fn set(&mut self, i: usize, lb: f64) {
        let pair = &self.farm.pairs[i];
        let change = lb - self.amounts[i];
        self.amounts[i] = lb;
        self.used[pair.material] += change;
        self.supplied[pair.block] = self.farm.supplied(pair.block, self.amounts);
    }

    /// Amounts worth a try for a pair: none, the least, the most, and where money has a corner.
    fn tries(&self, i: usize) -> Vec<f64> {
        let farm = self.farm;
        let pair = &farm.pairs[i];
        let ground = &farm.ground[pair.block];
        let stuff = &farm.stuff[pair.material];
        let supplied = &self.supplied[pair.block];
        let was = self.amounts[i];
        if pair.fixed
            || self.without == Some(pair.material)
            || (was <= 0.0 && farm.opposed(pair.block, self.amounts, pair.material))
        {
            return Vec::new();
        }
        let mut room = f64::INFINITY;
        let mut corners = vec![pair.low];
        for (n, there) in supplied.iter().enumerate() {
            if stuff.supply[n] <= 0.0 {
                continue;
            }
            if let Some(ceiling) = ground.ceiling[n] {
                room = room.min((ceiling - there).max(0.0) / stuff.supply[n]);
            }
            if ground.asked[n] {
                corners.push(was + (ground.need[n] - there) / stuff.supply[n]);
            }
        }
        let lacking = self.used[pair.material] - stuff.stock;
        if stuff.packs.is_empty() {
            room = room.min((-lacking).max(0.0));
        } else {
            // To the end of what is there, and back to where one pack less will do.
            let there =
                packs::cover(stuff.packs, lacking).map_or(0.0, |c| packs::mass(stuff.packs, &c.0));
            corners.push(was + there - lacking);
            corners.extend(stuff.packs.iter().map(|p| was + there - lacking - p.lb));
        }
        let high = scale::down(was + room, pair.step).min(pair.high);
        if above(pair.low, high) {
            return if was > 0.0 { vec![0.0] } else { Vec::new() };
        }
        corners.push(high);
        let mut tries: Vec<f64> = corners
            .iter()
            .flat_map(|lb| [scale::down(*lb, pair.step), scale::up(*lb, pair.step)])
            .filter(|lb| *lb > 0.0)
            .map(|lb| lb.max(pair.low).min(high))
            .collect();
        tries.push(0.0);
        tries.sort_by(f64::total_cmp);
        tries.dedup();
        tries.retain(|lb| (*lb - was).abs() > 1e-9);
        tries
    }

    fn best(&self, b: usize) -> Option<(f64, usize, f64)> {
        let mut best: Option<(f64, usize, f64)> = None;
        for i in self.farm.of_block[b].clone() {
            for lb in self.tries(i) {
                let saved = self.saving(i, lb);
                if saved > best.map_or(PAYS, |b| b.0) {
                    best = Some((saved, i, lb));
                }
            }
        }
        best
    }

    /// Single changes on a block.
    fn one(&mut self, b: usize) -> bool {
        let mut changed = false;
        for _ in 0..ROUNDS {
            let Some((_, i, lb)) = self.best(b) else {
                break;
            };
            self.set(i, lb);
            changed = true;
        }
        changed
    }

    /// Takes a material off the block and lets what then pays best take its place.
    fn two(&mut self, b: usize) -> bool {
        let range = self.farm.of_block[b].clone();
        for i in range.clone() {
            if self.farm.pairs[i].fixed || self.amounts[i] <= 0.0 {
                continue;
            }
            let before: Vec<f64> = self.amounts[range.clone()].to_vec();
            let mut saved = self.saving(i, 0.0);
            self.set(i, 0.0);
            for _ in 0..4 {
                let Some((more, j, lb)) = self.best(b) else {
                    break;
                };
                saved += more;
                self.set(j, lb);
            }
            if saved > PAYS {
                return true;
            }
            for (j, lb) in range.clone().zip(before) {
                self.set(j, lb);
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{generate, report, start, verify};

    #[test]
    fn never_costs_more_and_keeps_every_rule() {
        let mut bettered = 0;
        for seed in 0..6 {
            let problem = generate(seed, 5, 12);
            let farm = Farm::new(&problem);
            let money = |amounts: &[f64]| {
                let counts = start::buy(&farm, &farm.used(amounts));
                crate::model::decided(&farm, amounts, &counts, 0.0)
            };
            let mut amounts = vec![0.0; farm.pairs.len()];
            let before = money(&amounts);
            polish(&farm, &mut amounts, Bags::Whole, None);
            let after = money(&amounts);
            assert!(after <= before);
            bettered += usize::from(after < before * 0.9);
            let counts = start::buy(&farm, &farm.used(&amounts));
            let mut plan = report::report(&farm, &amounts, &counts);
            plan.objective = after;
            plan.bound = plan.unavoidable;
            plan.gap = 1.0;
            plan.status = crate::Status::OutOfTime;
            assert_eq!(verify(&problem, &plan), Vec::<String>::new());
        }
        assert!(bettered > 3, "{bettered}");
    }
}
