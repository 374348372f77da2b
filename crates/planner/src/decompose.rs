//! The search over prices: blocks apart, the shed exact, plans from what the blocks propose.

use crate::farm::Farm;
use crate::fence::Fence;
use crate::master::{Master, Mix, Mixed};
use crate::mip::Limits;
use crate::mix;
use crate::model::{self, Choice};
use crate::parts::{Cut, Parts, Prices};
use crate::polish::asking;
use crate::solve::{gap, weigh};
use crate::tree::{Aim, Tree};
use crate::{PlanError, Progress, Watch, start};
use std::time::Instant;

/// Rounds of prices before the shed is solved whole.
const ROUNDS: usize = 40;

/// Rounds with the shed solved whole.
const WHOLE_ROUNDS: usize = 4;

/// Blocks times materials up to which the shed is branched over.
const KERNEL: usize = 1_200;

/// Share of the gap that is asked for below which a plan is hardly better.
const LITTLE: f64 = 0.1;

/// Branches looked at in one go.
const BESIDE: usize = 20;

pub(crate) struct Hunt<'a> {
    pub parts: Parts<'a>,
    pub best: Choice,
    /// Of the best plan, without the unavoidable part.
    pub value: f64,
    /// Proven, without the unavoidable part.
    pub bound: f64,
    /// The gap to reach.
    pub asked: f64,
    /// Whether it begins from what an earlier search learnt.
    pub warm: bool,
    unavoidable: f64,
    began: Instant,
    end: Instant,
    watch: &'a Watch,
}

impl<'a> Hunt<'a> {
    pub fn new(
        farm: &'a Farm<'a>,
        first: Choice,
        unavoidable: f64,
        (began, end): (Instant, Instant),
        watch: &'a Watch,
    ) -> Self {
        let value = model::decided(farm, &first, unavoidable);
        let mut hunt = Self {
            parts: Parts::new(farm),
            best: first,
            value,
            bound: 0.0,
            asked: farm.problem.options.gap,
            warm: false,
            unavoidable,
            began,
            end,
            watch,
        };
        hunt.take_best();
        hunt
    }

    fn take_best(&mut self) {
        let amounts = std::mem::take(&mut self.best.0);
        self.parts.add_amounts(&amounts);
        self.best.0 = amounts;
    }

    fn over(&self) -> bool {
        self.watch.cancelled() || Instant::now() >= self.end
    }

    fn left(&self) -> f64 {
        self.end
            .saturating_duration_since(Instant::now())
            .as_secs_f64()
    }

    pub fn done(&self) -> bool {
        gap(self.value, self.bound) <= self.asked || self.value - self.bound <= 1e-6
    }

    fn tell(&self) {
        self.watch.tell(Progress {
            seconds: self.began.elapsed().as_secs_f64(),
            objective: self.value + self.unavoidable,
            bound: self.bound.min(self.value) + self.unavoidable,
            gap: gap(self.value, self.bound),
        });
    }

    /// Money that a block's search may leave open, so that all blocks together stay well within
    /// the gap.
    fn slack(&self) -> f64 {
        let blocks = self.parts.plots.len().max(1) as f64;
        0.05 * self.asked * self.value / blocks
    }

    /// Puts a plan on the scale, betters it, and keeps it if it is the best.
    pub fn offer(&mut self, raw: &Choice) {
        let farm = self.parts.farm;
        if !farm.few_enough(&farm.used(&raw.0)) {
            return;
        }
        let other = self.best.clone();
        let choice = weigh(farm, raw, other, self.unavoidable, self.end);
        let value = model::decided(farm, &choice, self.unavoidable);
        if value < self.value - 1e-9 {
            self.value = value;
            self.best = choice;
            self.take_best();
            self.tell();
        }
    }

    /// The same for amounts alone, with what they take to buy.
    fn offer_amounts(&mut self, amounts: Vec<f64>) {
        let farm = self.parts.farm;
        let counts = start::buy(farm, &farm.used(&amounts));
        self.offer(&(amounts, counts));
    }

    pub fn raise(&mut self, bound: f64) {
        if bound > self.bound {
            self.bound = bound;
            self.tell();
        }
    }

    /// The plan in which every block takes the plan that weighs most.
    fn heaviest(&self, weights: &[Vec<f64>]) -> Vec<f64> {
        let choice: Vec<usize> = weights
            .iter()
            .map(|w| {
                (0..w.len())
                    .max_by(|a, b| w[*a].total_cmp(&w[*b]).then(b.cmp(a)))
                    .unwrap_or_default()
            })
            .collect();
        self.parts.amounts(&choice)
    }

    /// The plan in which every block takes its own best against the last prices.
    fn own_best(&self, cut: &Cut) -> Vec<f64> {
        let choice: Vec<usize> = (0..self.parts.plots.len())
            .map(|b| {
                let money = |part: &crate::parts::Part| {
                    let lb: f64 = part.used.iter().map(|(m, lb)| cut.price.lb[*m] * lb).sum();
                    part.cost + lb
                };
                let known = &self.parts.known[b];
                (0..known.len())
                    .min_by(|x, y| money(&known[*x]).total_cmp(&money(&known[*y])))
                    .unwrap_or_default()
            })
            .collect();
        self.parts.amounts(&choice)
    }

    /// First prices: those that are asked, and those that were good before.
    pub fn first_prices(&mut self, before: &[Prices]) {
        let farm = self.parts.farm;
        let slack = self.slack();
        let asked = Prices {
            lb: (0..farm.stuff.len()).map(|m| asking(farm, m)).collect(),
            pair: Vec::new(),
        };
        for price in std::iter::once(&asked).chain(before) {
            if self.over() {
                return;
            }
            self.parts.evaluate(price, slack, self.end);
        }
    }

    /// Prices from mixtures, until they hardly move the bound.
    fn settle_prices(&mut self, master: &mut Master) -> Result<Option<Mix>, PlanError> {
        let mut last = None;
        for _ in 0..ROUNDS {
            if self.over() {
                break;
            }
            let none = Fence::default();
            let Mixed::Mix(mix) = master.solve(&self.parts, &none, self.end)? else {
                break;
            };
            let known = self.parts.count_known();
            let slack = self.slack();
            let Some(bounds) = self.parts.evaluate(&mix.price, slack, self.end) else {
                break;
            };
            let bound = mix.bound(&bounds);
            self.raise(bound);
            let open = gap(mix.value, self.bound);
            last = Some(mix);
            if open <= 0.1 * self.asked || self.parts.count_known() == known {
                break;
            }
        }
        Ok(last)
    }

    /// Branches over the shed for the bound, and beside them, for a plan, the whole model of the
    /// pairs that mixtures and the best plan use.
    fn branches(&mut self, master: &mut Master, mix: &Mix) -> Result<(), PlanError> {
        let mut tree = Tree::new(&self.parts, self.bound);
        tree.note(&self.parts, mix);
        if self.warm {
            // The plan is near the best already: the bound alone may do.
            self.grow(master, &mut tree)?;
        }
        let mut tried = 0;
        while !self.done() && !self.over() {
            let mut open = tree.used.clone();
            for (open, lb) in open.iter_mut().zip(&self.best.0) {
                *open |= *lb > 0.0;
            }
            let pairs = open.iter().filter(|o| **o).count();
            if pairs <= tried {
                if tree.done() {
                    break;
                }
                self.grow(master, &mut tree)?;
                continue;
            }
            tried = pairs;
            let limits = Limits {
                seconds: 0.9 * self.left(),
                gap: 0.3 * self.asked,
                absolute: 1e-6,
                linear: false,
            };
            let (farm, best, watch) = (self.parts.farm, self.best.clone(), self.watch);
            let threads = std::mem::replace(&mut self.parts.threads, 1);
            let (raw, grown) = std::thread::scope(|scope| {
                let kernel =
                    scope.spawn(move || model::run(farm, &best, |i| open[i], limits, watch));
                let grown = self.grow(master, &mut tree);
                let failed = || Err(PlanError::Solver("a thread that ended early".to_owned()));
                (kernel.join().unwrap_or_else(|_| failed()), grown)
            });
            self.parts.threads = threads;
            grown?;
            let before = self.value;
            self.offer(&raw?.choice);
            if self.value > before - LITTLE * self.asked * before {
                // More pairs would hardly better it; what is left is the bound's.
                tried = usize::MAX;
            }
            // A second time only when the bound alone does not do.
            self.grow(master, &mut tree)?;
        }
        Ok(())
    }

    /// Looks at some branches, and makes plans of the mixtures that nearly are.
    fn grow(&mut self, master: &mut Master, tree: &mut Tree) -> Result<(), PlanError> {
        let aim = Aim {
            value: self.value,
            asked: self.asked,
            slack: self.slack(),
            end: self.end,
        };
        tree.grow(&mut self.parts, master, aim, BESIDE, self.watch)?;
        self.raise(tree.bound());
        for weights in std::mem::take(&mut tree.whole) {
            self.offer_amounts(self.heaviest(&weights));
        }
        Ok(())
    }

    /// The shed whole: a bound that knows packs and deliveries, and a purchase to plan for.
    fn whole_shed(&mut self) -> Result<(), PlanError> {
        let limits = Limits {
            seconds: 0.3 * self.left(),
            gap: 0.1 * self.asked,
            absolute: 1e-6,
            linear: false,
        };
        let floor = mix::floor(&self.parts, limits, self.watch)?;
        self.raise(floor.bound);
        if self.done() || self.over() || !floor.found {
            return Ok(());
        }
        let Some(mix) = mix::within(&self.parts, &floor, self.left())? else {
            return Ok(());
        };
        let raw = (self.heaviest(&mix.weights), floor.counts);
        self.offer(&raw);
        let slack = self.slack();
        if !self.over() {
            self.parts.evaluate(&mix.price, slack, self.end);
        }
        Ok(())
    }

    /// Goes on until the gap is reached, the time is up, or nothing moves any more.
    pub fn run(&mut self) -> Result<(), PlanError> {
        let farm = self.parts.farm;
        if let Some(cut) = self.parts.cuts.last() {
            self.offer_amounts(self.own_best(cut));
        }
        let mut master = Master::new(&self.parts)?;
        let mix = self.settle_prices(&mut master)?;
        if let Some(mix) = &mix
            && !self.done()
        {
            self.offer_amounts(self.heaviest(&mix.weights));
        }
        if let Some(mix) = &mix
            && farm.ground.len() * farm.stuff.len() <= KERNEL
        {
            return self.branches(&mut master, mix);
        }
        for _ in 0..WHOLE_ROUNDS {
            if self.done() || self.over() {
                break;
            }
            let before = (self.value, self.bound);
            self.whole_shed()?;
            let moved = (before.0 - self.value) + (self.bound - before.1);
            if moved <= 0.02 * self.asked * self.value {
                break;
            }
        }
        Ok(())
    }
}
