//! Betters a plan by one change at a time until none pays.

use crate::farm::{Farm, above};
use crate::nutrient::PerNutrient;
use crate::till::{Bags, Till};
use crate::{packs, scale};
use std::time::Instant;

/// Money below which a change is not made on a small farm.
const PAYS: f64 = 1e-7;

/// Blocks above which only changes that show in the plan's money are made: there are so many that
/// trifles would take all the time.
const MANY: usize = 60;

/// Money below which a change is not made on a large farm.
const SHOWS: f64 = 0.05;

/// Rounds over the farm; each ends early when nothing pays, so this only guards the time.
const ROUNDS: usize = 60;

/// A plan being bettered, with its sums kept.
struct Bench<'a> {
    bags: Bags,
    /// A material that must not come onto any block.
    without: Option<usize>,
    farm: &'a Farm<'a>,
    amounts: &'a mut [f64],
    used: Vec<f64>,
    supplied: Vec<PerNutrient<f64>>,
    /// Amounts above zero, by block and pass.
    visits: Vec<u16>,
    till: Till<'a>,
    /// Money below which a change is not made.
    pays: f64,
}

/// Changes amounts, one or two on a block at a time, while the money for ground, trips and bags
/// falls, or until the time is up. Every rule that held still holds.
pub(crate) fn polish(
    farm: &Farm,
    amounts: &mut [f64],
    bags: Bags,
    without: Option<usize>,
    until: Instant,
) {
    let used = farm.used(amounts);
    let supplied = (0..farm.ground.len())
        .map(|b| farm.supplied(b, amounts))
        .collect();
    let mut visits = vec![0; farm.ground.len() * farm.passes];
    for (pair, lb) in farm.pairs.iter().zip(amounts.iter()) {
        visits[pair.block * farm.passes + pair.pass] += u16::from(*lb > 0.0);
    }
    let till = Till::new(farm, bags, &used);
    let mut bench = Bench {
        bags,
        without,
        farm,
        amounts,
        used,
        supplied,
        visits,
        till,
        pays: if farm.ground.len() > MANY {
            SHOWS
        } else {
            PAYS
        },
    };
    // A block that no change bettered is looked at again only after another block changed.
    let mut calm = vec![false; farm.ground.len()];
    let many = farm.ground.len() > MANY;
    for _ in 0..if many { 3 } else { ROUNDS } {
        let mut changed = false;
        for (b, calm) in calm.iter_mut().enumerate() {
            if Instant::now() >= until {
                return;
            }
            if *calm {
                continue;
            }
            // Two at a time is slow, and only whole bags call for it.
            let better = bench.one(b) || (bags == Bags::Whole && !many && bench.two(b));
            changed |= better;
            *calm = !better && (many || bags == Bags::Shared);
        }
        if !changed {
            break;
        }
    }
}

impl Bench<'_> {
    /// Money saved by putting `lb` in place of pair `i`'s amount.
    fn saving(&self, i: usize, lb: f64) -> f64 {
        let farm = self.farm;
        let pair = &farm.pairs[i];
        let ground = &farm.ground[pair.block];
        let share = farm.share(i);
        let supplied = &self.supplied[pair.block];
        let (was, change) = (self.amounts[i], lb - self.amounts[i]);
        let mut saved = 0.0;
        for n in 0..supplied.len() {
            if share[n] != 0.0 && ground.asked[n] {
                saved +=
                    ground.cost(n, supplied[n]) - ground.cost(n, supplied[n] + share[n] * change);
            }
        }
        let others = self.visits[pair.block * farm.passes + pair.pass] - u16::from(was > 0.0);
        let visit = if others == 0 {
            farm.visit[pair.pass]
        } else {
            0.0
        };
        let trip = |lb: f64| if lb > 0.0 { farm.trip + visit } else { 0.0 };
        let used = (self.used[pair.material] + change).max(0.0);
        saved + trip(was)
            - trip(lb)
            - farm.stuff[pair.material].penalty * change
            - self.till.more(pair.material, used)
    }

    fn set(&mut self, i: usize, lb: f64) {
        let pair = &self.farm.pairs[i];
        let (was, m) = (self.amounts[i], pair.material);
        self.amounts[i] = lb;
        self.used[m] = (self.used[m] + lb - was).max(0.0);
        if lb == 0.0 && self.used[m] < 1e-9 {
            self.used[m] = 0.0;
        }
        let visits = &mut self.visits[pair.block * self.farm.passes + pair.pass];
        *visits = *visits + u16::from(lb > 0.0) - u16::from(was > 0.0);
        self.supplied[pair.block] = self.farm.supplied(pair.block, self.amounts);
        self.till.set(m, self.used[m]);
    }

    /// Whether a material that is not on the block yet may come.
    fn may_come(&self, i: usize) -> bool {
        let farm = self.farm;
        let pair = &farm.pairs[i];
        let range = farm.of_block[pair.block].clone();
        if !self.till.may_open(pair.material)
            || range
                .clone()
                .any(|j| self.amounts[j] > 0.0 && farm.clash_of(i, j))
        {
            return false;
        }
        let Some(most) = farm.problem.options.most_materials_per_block else {
            return true;
        };
        let mut there: Vec<usize> = range
            .filter(|j| self.amounts[*j] > 0.0)
            .map(|j| farm.pairs[j].material)
            .collect();
        there.dedup();
        there.contains(&pair.material) || there.len() < most as usize
    }

    /// Amounts worth a try for a pair: none, the least, the most, and where money has a corner.
    fn tries(&self, i: usize, tries: &mut Vec<f64>) {
        tries.clear();
        let farm = self.farm;
        let pair = &farm.pairs[i];
        let ground = &farm.ground[pair.block];
        let stuff = &farm.stuff[pair.material];
        let share = farm.share(i);
        let supplied = &self.supplied[pair.block];
        let was = self.amounts[i];
        if pair.fixed || self.without == Some(pair.material) || (was <= 0.0 && !self.may_come(i)) {
            return;
        }
        let mut room = farm.year_room(pair.block, pair.material, self.amounts);
        // Taking away what acidifies may lift the lime above its ceiling.
        let mut floor = 0.0_f64;
        tries.push(pair.low);
        for (n, there) in supplied.iter().enumerate() {
            if share[n] == 0.0 || !ground.asked[n] {
                continue;
            }
            if let Some(ceiling) = ground.ceiling[n] {
                let left = (ceiling - there).max(0.0);
                if share[n] > 0.0 {
                    room = room.min(left / share[n]);
                } else {
                    floor = floor.max(was - left / -share[n]);
                }
            }
            tries.push(was + (ground.high[n] - there) / share[n]);
            if ground.low[n] < ground.high[n] {
                tries.push(was + (ground.low[n] - there) / share[n]);
            }
        }
        let used = self.used[pair.material];
        let lacking = used - stuff.stock;
        if stuff.packs.is_empty() {
            room = room.min((-lacking).max(0.0));
        } else if self.bags == Bags::Whole {
            // To the end of what is there, and back to where one pack less will do.
            let spare = self.till.there(pair.material, used) - lacking;
            tries.push(was + spare);
            tries.extend(stuff.packs.iter().map(|p| was + spare - p.lb));
        } else if lacking < 0.0 {
            tries.push(was - lacking);
        }
        let high = scale::down(was + room, pair.step).min(pair.high);
        if above(pair.low, high) {
            tries.clear();
        } else {
            tries.push(high);
            for k in 0..tries.len() {
                let lb = tries[k];
                tries[k] = scale::down(lb, pair.step);
                tries.push(scale::up(lb, pair.step));
            }
            tries.retain(|lb| *lb > 0.0);
            for lb in tries.iter_mut() {
                *lb = lb.max(pair.low).min(high);
            }
        }
        if was > 0.0 {
            tries.push(0.0);
        }
        tries.sort_by(f64::total_cmp);
        tries.dedup();
        tries.retain(|lb| (*lb - was).abs() > 1e-9 && !above(floor, *lb));
    }

    fn best(&self, b: usize) -> Option<(f64, usize, f64)> {
        let mut best: Option<(f64, usize, f64)> = None;
        let mut tries = Vec::new();
        for i in self.farm.of_block[b].clone() {
            self.tries(i, &mut tries);
            for lb in &tries {
                let saved = self.saving(i, *lb);
                if saved > best.map_or(self.pays, |b| b.0) {
                    best = Some((saved, i, *lb));
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
            if !self.farm.ground[b].under_ceilings(&self.supplied[b]) {
                self.set(i, before[i - range.start]);
                continue;
            }
            for _ in 0..4 {
                let Some((more, j, lb)) = self.best(b) else {
                    break;
                };
                saved += more;
                self.set(j, lb);
            }
            if saved > self.pays {
                return true;
            }
            for (j, lb) in range.clone().zip(before) {
                if self.amounts[j] != lb {
                    self.set(j, lb);
                }
            }
        }
        false
    }
}

/// Money per lb that the cheapest pack asks, for a first look at a material.
pub(crate) fn asking(farm: &Farm, m: usize) -> f64 {
    packs::price_per_lb(farm.stuff[m].packs).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Status, generate, model, report, start, verify};
    use std::time::Duration;

    #[test]
    fn never_costs_more_and_keeps_every_rule() {
        let mut bettered = 0;
        for seed in 0..6 {
            let problem = generate(seed, 5, 12);
            let farm = Farm::new(&problem);
            let money = |amounts: &[f64]| {
                let counts = start::buy(&farm, &farm.used(amounts));
                model::decided(&farm, &(amounts.to_vec(), counts), 0.0)
            };
            let mut amounts = vec![0.0; farm.pairs.len()];
            let before = money(&amounts);
            let until = Instant::now() + Duration::from_secs(60);
            polish(&farm, &mut amounts, Bags::Whole, None, until);
            let after = money(&amounts);
            assert!(after <= before);
            bettered += usize::from(after < before * 0.9);
            let counts = start::buy(&farm, &farm.used(&amounts));
            let mut plan = report::report(&farm, &amounts, &counts);
            plan.objective = after;
            plan.bound = plan.unavoidable;
            plan.gap = 1.0;
            plan.status = Status::OutOfTime;
            assert_eq!(verify(&problem, &plan), Vec::<String>::new());
        }
        assert!(bettered > 3, "{bettered}");
    }
}
