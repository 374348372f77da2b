//! Says why a need is not met exactly, from the final amounts alone.

use crate::farm::{Farm, Way, above};
use crate::nutrient::PerNutrient;
use crate::report::NOTHING;
use crate::{Binding, Nutrient, packs, scale, till};

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

/// A material in a pass.
type Source = (usize, usize);

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

    fn share(&self, (m, t): Source) -> &PerNutrient<f64> {
        self.farm.brings(self.block, m, t)
    }

    fn amount(&self, (m, t): Source) -> f64 {
        self.farm.of_block[self.block]
            .clone()
            .find(|i| self.farm.pairs[*i].material == m && self.farm.pairs[*i].pass == t)
            .map_or(0.0, |i| self.amounts[i])
    }

    /// lb of the material that are there and not used.
    fn left(&self, m: usize) -> f64 {
        let stuff = &self.farm.stuff[m];
        (stuff.stock + packs::mass(stuff.packs, &self.counts[m]) - self.used[m]).max(0.0)
    }

    /// Money for the packs that `lb` more of the material call for.
    fn more_packs(&self, m: usize, lb: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let paid = packs::money(stuff.packs, &self.counts[m]);
        packs::cover(stuff.packs, self.used[m] + lb - stuff.stock)
            .map_or(0.0, |(_, money)| (money - paid).max(0.0))
    }

    /// Money that `lb` more of the material would save here, packs and trip paid.
    fn value(&self, source: Source, lb: f64) -> f64 {
        let bags = if lb <= self.left(source.0) {
            0.0
        } else {
            self.more_packs(source.0, lb) + self.delivery(source.0)
        };
        self.saved(source, lb, false) - bags
    }

    /// The delivery charge that a first pack of the material brings with it.
    fn delivery(&self, m: usize) -> f64 {
        let bill = till::bill(self.farm, self.counts);
        self.farm.stuff[m]
            .from
            .iter()
            .map(|s| {
                s.map_or(0.0, |s| {
                    if bill.deliveries[s].0 > 0.0 || bill.deliveries[s].1 > 0.0 {
                        0.0
                    } else {
                        self.farm.problem.suppliers[s].delivery
                    }
                })
            })
            .reduce(f64::min)
            .unwrap_or_default()
    }

    /// Money that `lb` more would save here without any bag. Beyond a ceiling there is no surplus
    /// to pay for: `unruled` leaves out the surplus of what has a ceiling.
    fn saved(&self, source: Source, lb: f64, unruled: bool) -> f64 {
        let (m, t) = source;
        let farm = self.farm;
        let ground = &farm.ground[self.block];
        let share = self.share(source);
        let stand = |n: usize, supplied: f64| {
            if unruled && ground.ceiling[n].is_some() && supplied > ground.high[n] {
                0.0
            } else {
                ground.cost(n, supplied)
            }
        };
        let saved: f64 = (0..self.supplied.len())
            .map(|n| stand(n, self.supplied[n]) - stand(n, self.supplied[n] + share[n] * lb))
            .sum();
        let visited = || {
            farm.of_block[self.block]
                .clone()
                .any(|i| farm.pairs[i].pass == t && self.amounts[i] > 0.0)
        };
        let mut trip = 0.0;
        if self.amount(source) <= 0.0 {
            trip += farm.trip;
            if !visited() {
                trip += farm.visit[t];
            }
            if self.used[m] <= 0.0 {
                trip += farm.problem.options.material_cost;
            }
        }
        saved - trip - farm.stuff[m].penalty * lb
    }

    /// What `missing` lb or less would save at best if no rule stood against it: with whole packs,
    /// and with packs by the lb. Between the amounts at which a need is met the money is straight.
    fn worth(&self, source: Source, missing: f64) -> (f64, f64) {
        let m = source.0;
        let stuff = &self.farm.stuff[m];
        let ground = &self.farm.ground[self.block];
        let share = self.share(source);
        let price = packs::price_per_lb(stuff.packs).unwrap_or_default();
        let mut best = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let met = (0..self.supplied.len())
            .filter(|n| share[*n] > 0.0)
            .flat_map(|n| {
                [ground.low[n], ground.high[n]].map(|x| (x - self.supplied[n]) / share[n])
            })
            .filter(|lb| *lb > 0.0 && *lb < missing);
        for lb in met.chain([missing]) {
            let saved = self.saved(source, lb, true);
            let lacking = (lb - self.left(m)).max(0.0);
            let bags = if lacking > 0.0 {
                self.more_packs(m, lb) + self.delivery(m)
            } else {
                0.0
            };
            best.0 = best.0.max(saved - bags);
            best.1 = best.1.max(saved - price * lacking);
        }
        best
    }

    /// The lb that ceilings leave for the material, and the nutrient whose ceiling is nearest.
    fn under_ceilings(&self, source: Source) -> (f64, usize) {
        let ground = &self.farm.ground[self.block];
        let mut room = (f64::INFINITY, 0);
        for (n, share) in self.share(source).iter().enumerate() {
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

    /// The material on the block that this one may not meet.
    fn met(&self, (m, t): Source) -> Option<usize> {
        let farm = self.farm;
        farm.of_block[self.block]
            .clone()
            .filter(|j| self.amounts[*j] > 0.0)
            .find(|j| farm.meets(self.block, (m, t), *j))
            .map(|j| farm.pairs[j].material)
    }

    /// Whether the block or the farm has all the different materials that it may.
    fn full(&self, m: usize) -> bool {
        let farm = self.farm;
        let options = &farm.problem.options;
        let mut here: Vec<usize> = farm.of_block[self.block]
            .clone()
            .filter(|i| self.amounts[*i] > 0.0)
            .map(|i| farm.pairs[i].material)
            .collect();
        here.dedup();
        let used = self.used.iter().filter(|lb| **lb > 0.0).count();
        (!here.contains(&m)
            && options
                .most_materials_per_block
                .is_some_and(|most| here.len() >= most as usize))
            || (self.used[m] <= 0.0
                && options
                    .most_materials
                    .is_some_and(|most| used >= most as usize))
    }

    /// Whether so much more of it would go over a budget that may not be passed.
    fn dear(&self, m: usize, lb: f64) -> bool {
        let Some(budget) = &self.farm.problem.options.budget else {
            return false;
        };
        budget.over_cost.is_none()
            && lb > self.left(m)
            && above(
                till::bill(self.farm, self.counts).spent()
                    + self.more_packs(m, lb)
                    + self.delivery(m),
                budget.money,
            )
    }

    /// A rule that keeps the material off in this pass, whatever the amount.
    fn barred(&self, source: Source) -> Option<Binding> {
        let (m, t) = source;
        Some(match self.farm.way(self.block, m, t) {
            Way::Fixed(_) => Binding::Locked {
                material: self.id(m),
            },
            Way::Refused => Binding::Refused,
            Way::Barred(reason) => Binding::Shut {
                why: self.farm.problem.blocks[self.block].shut[reason]
                    .why
                    .clone(),
            },
            Way::Apart | Way::Open { .. } | Way::Shut => {
                let with = self.met(source)?;
                let pairs = &self.farm.problem.options.incompatible;
                let (a, b) = (self.id(m), self.id(with));
                if pairs
                    .iter()
                    .any(|p| (p.a == a && p.b == b) || (p.a == b && p.b == a))
                {
                    Binding::Incompatible { material: b }
                } else {
                    Binding::Refused
                }
            }
        })
    }

    /// What stands against `missing` lb more of the material.
    fn stop(&self, source: Source, missing: f64) -> Stop {
        let (m, t) = source;
        let farm = self.farm;
        let stuff = &farm.stuff[m];
        let material = || self.id(m);
        if let Some(rule) = self.barred(source) {
            return Stop::Rule(rule);
        }
        if self.full(m) {
            return Stop::Rule(Binding::MaterialCount);
        }
        let step = farm.step(self.block, m);
        let there = self.amount(source);
        let most = farm.most_in(self.block, m, t);
        let most_room = (most - there)
            .max(0.0)
            .min(farm.year_room(self.block, m, self.amounts));
        let (ceiling_room, nearest) = self.under_ceilings(source);
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
            let pays = |lb: f64| self.value(source, lb) > NOTHING;
            let some = free.iter().any(|lb| pays(*lb));
            if some && free.iter().all(|lb| !pays(*lb) || self.dear(m, *lb)) {
                return Stop::Rule(Binding::Budget);
            }
            // It would pay to the ounce, but not in the amounts that there are.
            return if !some && !above(missing, room) && pays(missing) {
                Stop::Rule(if self.dear(m, missing) {
                    Binding::Budget
                } else {
                    grain()
                })
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

    /// Materials in passes that would bring the nutrient and can be had.
    fn sources(&self, n: usize) -> Vec<Source> {
        (0..self.farm.stuff.len())
            .filter(|m| self.farm.stuff[*m].obtainable())
            .flat_map(|m| (0..self.farm.passes).map(move |t| (m, t)))
            .filter(|s| self.share(*s)[n] > 0.0)
            .collect()
    }

    /// Why the block is short of the nutrient: what stops the material that would pay best.
    pub fn why_short(&self, n: usize) -> Binding {
        let lack = self.farm.ground[self.block].low[n] - self.supplied[n];
        let sources = self.sources(n);
        if sources.is_empty() {
            return Binding::NoMaterial;
        }
        let ways: Vec<Way> = sources
            .iter()
            .map(|(m, t)| self.farm.way(self.block, *m, *t))
            .collect();
        if ways.iter().all(|w| *w == Way::Refused) {
            return Binding::Refused;
        }
        if ways
            .iter()
            .all(|w| matches!(w, Way::Refused | Way::Barred(_)))
            && let Some(shut) = sources.iter().find_map(|s| match self.barred(*s) {
                Some(Binding::Shut { why }) => Some(why),
                _ => None,
            })
        {
            return Binding::Shut { why: shut };
        }
        let mut verdicts = Vec::new();
        for source in sources {
            let missing = lack / self.share(source)[n];
            let (sure, hopeful) = self.worth(source, missing);
            match self.stop(source, missing) {
                Stop::Rule(reason) => verdicts.push(Verdict {
                    sure,
                    hopeful,
                    reason,
                }),
                Stop::Free(amounts) => {
                    if amounts.iter().any(|lb| self.value(source, *lb) > NOTHING) {
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
        let ground = &farm.ground[self.block];
        let over = self.supplied[n] - ground.high[n];
        let mut bringing: Vec<(f64, usize)> = farm.of_block[self.block]
            .clone()
            .map(|i| (farm.share(i)[n] * self.amounts[i], i))
            .filter(|(lb, _)| *lb > 0.0)
            .collect();
        bringing.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        let enough = over - NOTHING;
        // One step less of a material would clear the surplus, and bring a shortage instead.
        let scale = ground.high[n] > 0.0
            && bringing.iter().any(|(_, i)| {
                let pair = &farm.pairs[*i];
                let share = farm.share(*i)[n];
                !pair.fixed
                    && above(self.amounts[*i], pair.low)
                    && pair.step * share > enough
                    && farm.idle(*i, self.supplied).0 * share >= enough
            });
        if scale {
            return Binding::Rounding;
        }
        let mut largest: Option<Binding> = None;
        for (_, i) in bringing {
            let pair = &farm.pairs[i];
            let material = self.id(pair.material);
            let (idle, tight) = farm.idle(i, self.supplied);
            let clears = over / farm.share(i)[n];
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
