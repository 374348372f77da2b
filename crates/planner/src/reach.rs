//! Between which amounts a material may go on a block, from what the block can use of it.

use crate::farm::{Farm, Ground, Way, above};
use crate::nutrient::PerNutrient;
use crate::{Nutrient, scale};

/// Whether the material works against what the block needs: acid on ground to be limed, or the
/// other way about.
pub(crate) fn undoes(ground: &Ground, supply: &PerNutrient<f64>) -> bool {
    let (lime, acid) = (Nutrient::Lime.at(), Nutrient::Sulfur.at());
    (ground.high[lime] > 0.0 && supply[acid] > 0.0)
        || (ground.high[acid] > 0.0 && supply[lime] > 0.0)
}

/// What the block's held amounts and counteracting materials leave.
pub(crate) struct Reach {
    block: usize,
    /// lb of each nutrient from held amounts.
    held: PerNutrient<f64>,
    /// lb held by material.
    taken: Vec<f64>,
    /// The most lb of each nutrient that the materials could take away, zero or more.
    away: PerNutrient<f64>,
    /// The most lb of each nutrient that the materials could bring.
    brought: PerNutrient<f64>,
}

impl Reach {
    /// `fixed` are the held amounts: material, pass, lb.
    pub fn new(farm: &Farm, block: usize, fixed: &[(usize, usize, f64)]) -> Self {
        const COUNT: usize = Nutrient::ALL.len();
        let mut reach = Self {
            block,
            held: [0.0; COUNT],
            taken: vec![0.0; farm.stuff.len()],
            away: [0.0; COUNT],
            brought: [f64::INFINITY; COUNT],
        };
        for (m, t, lb) in fixed {
            reach.taken[*m] += lb;
            let supply = farm.brings(block, *m, *t);
            for (held, share) in reach.held.iter_mut().zip(supply) {
                *held += share * lb;
            }
        }
        let negative: Vec<bool> = (0..COUNT)
            .map(|n| {
                (0..farm.stuff.len())
                    .any(|m| (0..farm.passes).any(|t| farm.brings(block, m, t)[n] < 0.0))
            })
            .collect();
        if negative.iter().any(|n| *n) {
            // Twice: each round of bounds makes the next one tighter, and each is valid.
            for (away, negative) in reach.away.iter_mut().zip(&negative) {
                if *negative {
                    *away = f64::INFINITY;
                }
            }
            for _ in 0..3 {
                reach.tighten(farm);
            }
        }
        reach
    }

    fn tighten(&mut self, farm: &Farm) {
        const COUNT: usize = Nutrient::ALL.len();
        let (mut away, mut brought) = ([0.0; COUNT], [0.0; COUNT]);
        for m in 0..farm.stuff.len() {
            let (mut less, mut more) = ([0.0_f64; COUNT], [0.0_f64; COUNT]);
            let mut all = 0.0;
            for t in 0..farm.passes {
                if farm.way(self.block, m, t) != Way::Shut {
                    continue;
                }
                let most = self.high(farm, m, t);
                if most <= 0.0 {
                    continue;
                }
                all += most;
                let supply = farm.brings(self.block, m, t);
                for n in 0..COUNT {
                    less[n] = less[n].max(-supply[n]);
                    more[n] = more[n].max(supply[n]);
                }
            }
            all = all.min(self.year(farm, m));
            for n in 0..COUNT {
                if less[n] > 0.0 {
                    away[n] += less[n] * all;
                }
                if more[n] > 0.0 {
                    brought[n] += more[n] * all;
                }
            }
        }
        for n in 0..COUNT {
            self.away[n] = self.away[n].min(away[n]);
            self.brought[n] = self.brought[n].min(brought[n]);
        }
    }

    fn year(&self, farm: &Farm, m: usize) -> f64 {
        farm.most_of_year(self.block, m)
            .map_or(f64::INFINITY, |most| (most - self.taken[m]).max(0.0))
    }

    /// The most lb that rules leave for the material alone.
    fn cap(&self, farm: &Farm, m: usize, t: usize) -> f64 {
        let ground = &farm.ground[self.block];
        let stuff = &farm.stuff[m];
        let mut cap = self
            .year(farm, m)
            .min(farm.most_in(self.block, m, t))
            .min((stuff.in_sight() - self.taken[m]).max(0.0));
        let supply = farm.brings(self.block, m, t);
        for (n, share) in supply.iter().enumerate() {
            if let Some(ceiling) = ground.ceiling[n]
                && *share > 0.0
            {
                cap = cap.min((ceiling - self.held[n] + self.away[n]).max(0.0) / share);
            }
        }
        cap
    }

    /// The largest amount that anything on the block can ask of this material: beyond it more
    /// only costs. The bound keeps the model tight.
    fn useful(&self, farm: &Farm, m: usize, t: usize) -> f64 {
        let ground = &farm.ground[self.block];
        let supply = farm.brings(self.block, m, t);
        (0..supply.len())
            .map(|n| {
                if supply[n] > 0.0 {
                    ground.target(n).map_or(0.0, |target| {
                        (target - self.held[n] + self.away[n]).max(0.0) / supply[n]
                    })
                } else if supply[n] < 0.0
                    && (ground.surplus[n] > 0.0 || ground.ceiling[n].is_some())
                {
                    // It makes room for what would be a surplus.
                    (self.held[n] + self.brought[n] - ground.high[n]).max(0.0) / -supply[n]
                } else {
                    0.0
                }
            })
            .fold(0.0, f64::max)
    }

    fn high(&self, farm: &Farm, m: usize, t: usize) -> f64 {
        if !farm.stuff[m].obtainable() {
            return 0.0;
        }
        let low = farm.least(self.block, m);
        let step = farm.step(self.block, m);
        let useful = self.useful(farm, m, t);
        if useful <= 0.0 {
            return 0.0;
        }
        let cap = self.cap(farm, m, t);
        if cap.is_infinite() && useful.is_infinite() {
            return f64::INFINITY;
        }
        let useful = scale::up(useful, step).max(low);
        if cap.is_infinite() {
            useful
        } else {
            scale::down(cap, step).min(useful)
        }
    }

    pub fn way(&self, farm: &Farm, m: usize, t: usize) -> Way {
        let high = self.high(farm, m, t);
        // Where nothing at all bounds it, no real spreading comes near this.
        let high = high.min(1e6 * farm.ground[self.block].acres);
        let low = farm.least(self.block, m);
        if high <= 0.0 || above(low, high) {
            return Way::Shut;
        }
        Way::Open { low, high }
    }
}
