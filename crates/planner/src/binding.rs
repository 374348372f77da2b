//! Says why a need is not met exactly, from the final amounts alone.

use crate::farm::{Farm, Way, above};
use crate::nutrient::PerNutrient;
use crate::report::NOTHING;
use crate::{Binding, Nutrient, packs};

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

/// What stands against more of one material.
enum Stop {
    /// A rule; the value is what the missing mass would be worth without it.
    Rule(Binding),
    /// The scale's step.
    Step,
    /// Nothing but money: this much can be added.
    Free { lb: f64 },
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
        let ground = &self.farm.ground[self.block];
        let saved: f64 = (0..self.supplied.len())
            .map(|n| {
                ground.cost(n, self.supplied[n])
                    - ground.cost(n, self.supplied[n] + stuff.supply[n] * lb)
            })
            .sum();
        let paid = packs::money(stuff.packs, &self.counts[m]);
        let bags = packs::cover(stuff.packs, self.used[m] + lb - stuff.stock)
            .map_or(0.0, |(_, money)| (money - paid).max(0.0));
        let bags = if lb <= self.left(m) { 0.0 } else { bags };
        let trip = if self.amount(m) > 0.0 {
            0.0
        } else {
            self.farm.trip
        };
        saved - bags - trip - stuff.penalty * lb
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
        let acres = farm.ground[self.block].acres;
        let there = self.amount(m);
        let (ceiling_room, nearest) = self.under_ceilings(m);
        let most_room = stuff
            .most
            .map_or(f64::INFINITY, |most| (most * acres - there).max(0.0));
        let stock_room = if stuff.packs.is_empty() {
            self.left(m)
        } else {
            f64::INFINITY
        };
        let room = ceiling_room.min(most_room).min(stock_room);
        let even = stuff.up(stuff.least_even * acres);
        let least = if there > 0.0 {
            stuff.step
        } else {
            even.max(stuff.step)
        };
        let usable = stuff.down(room);
        if usable > 0.0 && !above(least, usable) {
            if missing >= least {
                return Stop::Free {
                    lb: stuff.down(missing).min(usable),
                };
            }
            return if there > 0.0 || stuff.step >= even {
                Stop::Step
            } else {
                Stop::Rule(Binding::LeastEven {
                    material: material(),
                })
            };
        }
        if stuff.step > 0.0 && (there > 0.0 || stuff.step >= even) && !above(missing, room) {
            return Stop::Step;
        }
        // Some of it would fit, but not as much as can be spread evenly.
        let fits = missing.min(stuff.step.max(NOTHING));
        if there <= 0.0 && even > stuff.step && room >= fits && !above(even, most_room) {
            return Stop::Rule(Binding::LeastEven {
                material: material(),
            });
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

    /// Why the block is short of the nutrient.
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
        let mut best: Option<(f64, Binding)> = None;
        let mut scale = false;
        for m in sources {
            let missing = lack / self.farm.stuff[m].supply[n];
            match self.stop(m, missing) {
                Stop::Rule(rule) => {
                    let worth = self.value(m, missing);
                    let even = self.farm.stuff[m]
                        .up(self.farm.stuff[m].least_even * self.farm.ground[self.block].acres);
                    // When the least even amount may be spread and pays, it stops nothing.
                    let pays = matches!(rule, Binding::LeastEven { .. })
                        && matches!(self.farm.way(self.block, m), Way::Open { .. })
                        && !above(even, self.under_ceilings(m).0)
                        && self.value(m, even) > 1e-6;
                    if pays {
                        return Binding::Unfinished;
                    }
                    if worth > 1e-9 && best.as_ref().is_none_or(|(most, _)| worth > *most) {
                        best = Some((worth, rule));
                    }
                }
                Stop::Step => scale |= self.value(m, missing) > 0.0,
                Stop::Free { lb } => {
                    let step = self.farm.stuff[m].step;
                    if self.value(m, lb) > 1e-6
                        || (self.amount(m) > 0.0 && step > 0.0 && self.value(m, step) > 1e-6)
                    {
                        return Binding::Unfinished;
                    }
                }
            }
        }
        if scale {
            return Binding::Rounding;
        }
        best.map_or(Binding::Price, |(_, rule)| rule)
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
                    && stuff.step * stuff.supply[n] > enough
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
