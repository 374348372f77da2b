//! Says why a need is not met exactly, from the final amounts alone.

use crate::farm::{Farm, Way, above};
use crate::nutrient::PerNutrient;
use crate::report::NOTHING;
use crate::{Binding, Nutrient, packs, scale};

/// A block of a finished plan.
pub(crate) struct View<'a> {
    pub farm: &'a Farm<'a>,
    /// lb by pair.
    pub amounts: &'a [f64],
    /// Packs by material.
    pub counts: &'a [Vec<u32>],
    /// lb by material over the farm.
    pub used: &'a [f64],
    /// lb by nutrient on this block.
    pub supplied: &'a PerNutrient<f64>,
    pub block: usize,
}

/// What stands against more of one material, alone.
enum Stop {
    /// A rule or the scale.
    Rule(Binding),
    /// Nothing but money: these lb can be added.
    Free([f64; 3]),
}

/// A material that would bring the nutrient, and what stops it.
struct Verdict {
    /// Money that the missing mass would save if nothing stopped it, whole packs paid.
    sure: f64,
    /// The same with packs paid by the lb, as when other blocks share them.
    hopeful: f64,
    reason: Binding,
}

impl View<'_> {
    fn id(&self, m: usize) -> String {
        self.farm.problem.materials[m].id.clone()
    }

    fn amount(&self, m: usize) -> f64 {
        self.farm.of_block[self.block]
            .clone()
            .find(|i| self.farm.pairs[*i].material == m)
            .map_or(0.0, |i| self.amounts[i])
    }

    /// lb of the material that are there and not used.
    fn left(&self, m: usize) -> f64 {
        let stuff = &self.farm.stuff[m];
        (stuff.stock + packs::mass(stuff.packs, &self.counts[m]) - self.used[m]).max(0.0)
    }

    /// Money that `lb` more of the material would save here, packs and trip paid.
    fn value(&self, m: usize, lb: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let paid = packs::money(stuff.packs, &self.counts[m]);
        let bags = packs::cover(stuff.packs, self.used[m] + lb - stuff.stock)
            .map_or(0.0, |(_, money)| (money - paid).max(0.0));
        let bags = if lb <= self.left(m) { 0.0 } else { bags };
        self.saved(m, lb, false) - bags
    }

    /// Money that `lb` more would save here without any bag. Beyond a ceiling there is no surplus
    /// to pay for: `unruled` leaves out the surplus of what has a ceiling.
    fn saved(&self, m: usize, lb: f64, unruled: bool) -> f64 {
        let stuff = &self.farm.stuff[m];
        let ground = &self.farm.ground[self.block];
        let stand = |n: usize, supplied: f64| {
            if unruled && ground.ceiling[n].is_some() && supplied > ground.need[n] {
                0.0
            } else {
                ground.cost(n, supplied)
            }
        };
        let saved: f64 = (0..self.supplied.len())
            .map(|n| stand(n, self.supplied[n]) - stand(n, self.supplied[n] + stuff.supply[n] * lb))
            .sum();
        let trip = if self.amount(m) > 0.0 {
            0.0
        } else {
            self.farm.trip
        };
        saved - trip - stuff.penalty * lb
    }

    /// What `missing` lb or less would save at best if no rule stood against it: with whole packs,
    /// and with packs by the lb. Between the amounts at which a need is met the money is straight.
    fn worth(&self, m: usize, missing: f64) -> (f64, f64) {
        let stuff = &self.farm.stuff[m];
        let ground = &self.farm.ground[self.block];
        let price = packs::price_per_lb(stuff.packs).unwrap_or_default();
        let paid = packs::money(stuff.packs, &self.counts[m]);
        let mut best = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let met = (0..self.supplied.len())
            .filter(|n| stuff.supply[*n] > 0.0)
            .map(|n| (ground.need[n] - self.supplied[n]) / stuff.supply[n])
            .filter(|lb| *lb > 0.0 && *lb < missing);
        for lb in met.chain([missing]) {
            let saved = self.saved(m, lb, true);
            let lacking = (lb - self.left(m)).max(0.0);
            let bags = packs::cover(stuff.packs, self.used[m] + lb - stuff.stock)
                .map_or(0.0, |(_, money)| (money - paid).max(0.0));
            let bags = if lacking > 0.0 { bags } else { 0.0 };
            best.0 = best.0.max(saved - bags);
            best.1 = best.1.max(saved - price * lacking);
        }
        best
    }

    /// The lb that ceilings leave for the material, and the nutrient whose ceiling is nearest.
    fn under_ceilings(&self, m: usize) -> (f64, usize) {
        let ground = &self.farm.ground[self.block];
        let supply = &self.farm.stuff[m].supply;
        let mut room = (f64::INFINITY, 0);
        for (n, share) in supply.iter().enumerate() {
            if let Some(ceiling) = ground.ceiling[n]
                && *share > 0.0
            {
                let lb = (ceiling - self.supplied[n]).max(0.0) / share;
                if lb < room.0 {
                    room = (lb, n);
                }
            }
        }
        room
    }

    fn ceiling(&self, n: usize) -> Binding {
        let nutrient = Nutrient::ALL[n];
        let why = self.farm.problem.blocks[self.block]
            .needs
            .iter()
            .find(|need| need.nutrient == nutrient)
            .map(|need| need.ceiling_why.clone())
            .unwrap_or_default();
        Binding::Ceiling { nutrient, why }
    }

    /// What stands against `missing` lb more of the material.
    fn stop(&self, m: usize, missing: f64) -> Stop {
        let farm = self.farm;
        let stuff = &farm.stuff[m];
        let material = || self.id(m);
        match farm.way(self.block, m) {
            Way::Fixed(_) => {
                return Stop::Rule(Binding::Locked {
                    material: material(),
                });
            }
            Way::Refused => return Stop::Rule(Binding::Refused),
            Way::Open { .. } | Way::Shut => {}
        }
        if farm.opposed(self.block, self.amounts, m) {
            return Stop::Rule(Binding::Refused);
        }
        let step = farm.step(self.block, m);
        let there = self.amount(m);
        let most = stuff
            .most
            .map_or(f64::INFINITY, |most| most * farm.ground[self.block].acres);
        let most_room = (most - there).max(0.0);
        let (ceiling_room, nearest) = self.under_ceilings(m);
        let stock_room = if stuff.packs.is_empty() {
            self.left(m)
        } else {
            f64::INFINITY
        };
        let room = ceiling_room.min(most_room).min(stock_room);
        let least = if there > 0.0 {
            step
        } else {
            farm.least(self.block, m)
        };
        let usable = scale::down(room, step);
        // Between these the scale or an even spreading leaves no choice but more or less of it.
        let grain = || {
            if there <= 0.0 && above(least, step) {
                Binding::LeastEven {
                    material: material(),
                }
            } else {
                Binding::Rounding
            }
        };
        if usable > 0.0 && !above(least, usable) {
            let fit = |lb: f64| lb.max(least).min(usable);
            let free = [
                fit(scale::down(missing, step)),
                fit(scale::up(missing, step)),
                least,
            ];
            let pays = free.iter().any(|lb| self.value(m, *lb) > NOTHING);
            // It would pay to the ounce, but not in the amounts that there are.
            return if !pays && !above(missing, room) && self.value(m, missing) > NOTHING {
                Stop::Rule(grain())
            } else {
                Stop::Free(free)
            };
        }
        // What is missing would fit, or some of it, but no amount that can be weighed and spread.
        if !above(missing, room) || (there <= 0.0 && above(least, step) && room >= step) {
            if above(least, most) {
                return Stop::Rule(Binding::Most {
                    material: material(),
                });
            }
            return Stop::Rule(grain());
        }
        Stop::Rule(if ceiling_room <= most_room && ceiling_room <= stock_room {
            self.ceiling(nearest)
        } else if most_room <= stock_room {
            Binding::Most {
                material: material(),
            }
        } else {
            Binding::StockUsedUp {
                material: material(),
            }
        })
    }

    /// Why the block is short of the nutrient: what stops the material that would pay best.
    pub fn why_short(&self, n: usize) -> Binding {
        let lack = self.farm.ground[self.block].need[n] - self.supplied[n];
        let sources: Vec<usize> = (0..self.farm.stuff.len())
            .filter(|m| self.farm.stuff[*m].supply[n] > 0.0 && self.farm.stuff[*m].obtainable())
            .collect();
        if sources.is_empty() {
            return Binding::NoMaterial;
        }
        if sources
            .iter()
            .all(|m| self.farm.way(self.block, *m) == Way::Refused)
        {
            return Binding::Refused;
        }
        let mut verdicts = Vec::new();
        for m in sources {
            let missing = lack / self.farm.stuff[m].supply[n];
            let (sure, hopeful) = self.worth(m, missing);
            match self.stop(m, missing) {
                Stop::Rule(reason) => verdicts.push(Verdict {
                    sure,
                    hopeful,
                    reason,
                }),
                Stop::Free(amounts) => {
                    if amounts.iter().any(|lb| self.value(m, *lb) > NOTHING) {
                        return Binding::Unfinished;
                    }
                    // It could be added and does not pay: its price is what stops it.
                    verdicts.push(Verdict {
                        sure: 0.0,
                        hopeful,
                        reason: Binding::Price,
                    });
                }
            }
        }
        // A rule stops what pays in whole packs; failing that, what would pay with packs shared.
        let best = |money: fn(&Verdict) -> f64| {
            verdicts
                .iter()
                .filter(|v| money(v) > NOTHING)
                .reduce(|x, y| if money(y) > money(x) { y } else { x })
        };
        if let Some(found) = best(|v| v.sure).or_else(|| best(|v| v.hopeful)) {
            return found.reason.clone();
        }
        // Nothing would pay. Still it is the price only where more could be had for it: what no
        // money can put on the block is stopped by its rule.
        let ruled = |v: &&Verdict| {
            !matches!(
                v.reason,
                Binding::Price | Binding::LeastEven { .. } | Binding::Rounding
            )
        };
        if verdicts.iter().all(|v| ruled(&v)) {
            verdicts
                .iter()
                .reduce(|x, y| if y.hopeful > x.hopeful { y } else { x })
                .map_or(Binding::Price, |v| v.reason.clone())
        } else {
            Binding::Price
        }
    }

    /// Why the block gets more of the nutrient than it asks for.
    pub fn why_over(&self, n: usize) -> Binding {
        let farm = self.farm;
        let over = self.supplied[n] - farm.ground[self.block].need[n];
        let mut bringing: Vec<(f64, usize)> = farm.of_block[self.block]
            .clone()
            .map(|i| {
                let share = farm.stuff[farm.pairs[i].material].supply[n];
                (share * self.amounts[i], i)
            })
            .filter(|(lb, _)| *lb > 0.0)
            .collect();
        bringing.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        let enough = over - NOTHING;
        // One step less of a material would clear the surplus, and bring a shortage instead.
        let scale = farm.ground[self.block].need[n] > 0.0
            && bringing.iter().any(|(_, i)| {
                let pair = &farm.pairs[*i];
                let stuff = &farm.stuff[pair.material];
                !pair.fixed
                    && above(self.amounts[*i], pair.low)
                    && pair.step * stuff.supply[n] > enough
                    && farm.idle(self.block, pair.material, self.supplied).0 * stuff.supply[n]
                        >= enough
            });
        if scale {
            return Binding::Rounding;
        }
        let mut largest: Option<Binding> = None;
        for (_, i) in bringing {
            let pair = &farm.pairs[i];
            let stuff = &farm.stuff[pair.material];
            let material = self.id(pair.material);
            let (idle, tight) = farm.idle(self.block, pair.material, self.supplied);
            let clears = over / stuff.supply[n];
            let found = if pair.fixed {
                Binding::Locked { material }
            } else if !above(self.amounts[i], pair.low) && idle >= clears.min(self.amounts[i]) / 2.0
            {
                Binding::LeastEven { material }
            } else if let Some(tight) = tight.filter(|t| *t != n) {
                Binding::SharedWith {
                    material,
                    nutrient: Nutrient::ALL[tight],
                }
            } else {
                continue;
            };
            largest.get_or_insert(found);
        }
        largest.unwrap_or(Binding::Unfinished)
    }
}

#[cfg(test)]
mod tests {
    use crate::farm::Farm;
    use crate::{Binding, Nutrient, generate, report};

    #[test]
    fn a_plan_that_a_single_change_betters_is_unfinished() {
        let problem = generate(3, 6, 12);
        let farm = Farm::new(&problem);
        let nothing = vec![0.0; farm.pairs.len()];
        let counts: Vec<Vec<u32>> = farm.stuff.iter().map(|s| vec![0; s.packs.len()]).collect();
        let plan = report::report(&farm, &nothing, &counts);
        let unfinished = plan
            .balances
            .iter()
            .filter(|b| b.nutrient == Nutrient::N && b.binding == Some(Binding::Unfinished));
        assert!(unfinished.count() > 0);
    }
}
