//! The search over prices: blocks apart, the shed exact, plans from what the blocks propose.

use crate::beside::{Beside, Terms};
use crate::farm::Farm;
use crate::fence::Fence;
use crate::master::{Master, Mix, Mixed};
use crate::mip::Limits;
use crate::mix;
use crate::model::{self, Choice};
use crate::parts::{Cut, Parts, Prices};
use crate::polish::asking;
use crate::solve::{gap, weigh};
use crate::tree::{self, Aim, Tree};
use crate::{PlanError, Progress, Watch, start};
use std::time::Instant;

/// Rounds of prices before the shed is solved whole.
const ROUNDS: usize = 40;

/// Rounds with the shed solved whole.
const WHOLE_ROUNDS: usize = 4;

/// Blocks times materials up to which the shed is branched over.
const KERNEL: usize = 1_200;

/// Branches looked at before plans are, when an earlier search was of a like farm.
const FIRST: usize = 20;

/// Branches looked at while a plan is bettered.
const STEP: usize = 12;

/// Plans of branches that are bettered at once.
const IDEAS: usize = 2;

/// Times that nothing better comes before no more plans are looked for.
const IDLE: usize = 12;

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
        self.take(choice);
    }

    /// Keeps a plan on the scale if it is the best; whether it is.
    fn take(&mut self, choice: Choice) -> bool {
        let value = model::decided(self.parts.farm, &choice, self.unavoidable);
        let better = value < self.value - 1e-9;
        if better {
            self.value = value;
            self.best = choice;
            self.take_best();
            self.tell();
        }
        better
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
        self.parts.amounts(&tree::heaviest(weights))
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

    /// Branches over the shed and the pairs for the bound; beside them plans are bettered.
    fn branches(&mut self, master: &mut Master, mix: &Mix) -> Result<(), PlanError> {
        let mut tree = Tree::new(&self.parts, self.bound);
        tree.note(&self.parts, mix);
        if self.warm {
            // The plan is near the best already: the bound alone may do.
            self.grow(master, &mut tree, FIRST)?;
        }
        if self.done() || self.over() {
            return Ok(());
        }
        let terms = Terms {
            farm: self.parts.farm,
            unavoidable: self.unavoidable,
            gap: 0.3 * self.asked,
            end: self.end,
            watch: self.watch,
        };
        let threads = std::mem::replace(&mut self.parts.threads, 1);
        std::thread::scope(|scope| {
            let mut beside = Beside::start(scope, terms, self.best.clone());
            let mut idle = 0;
            while !self.done() && !self.over() && (idle < IDLE || !tree.done()) {
                if idle < IDLE {
                    let ideas = self.ideas(std::mem::take(&mut tree.seen));
                    let mut pool = tree.used.clone();
                    for (open, lb) in pool.iter_mut().zip(&self.best.0) {
                        *open |= *lb > 0.0;
                    }
                    beside.ask(ideas, pool);
                } else {
                    tree.seen.clear();
                    self.parts.threads = threads;
                }
                self.grow(master, &mut tree, STEP)?;
                if let Some(choice) = beside.hear()? {
                    idle = if self.take(choice) { 0 } else { idle + 1 };
                }
            }
            if let Some(choice) = beside.end()? {
                self.take(choice);
            }
            Ok(())
        })?;
        self.parts.threads = threads;
        Ok(())
    }

    /// Looks at so many branches.
    fn grow(
        &mut self,
        master: &mut Master,
        tree: &mut Tree,
        count: usize,
    ) -> Result<(), PlanError> {
        let aim = Aim {
            value: self.value,
            asked: self.asked,
            slack: self.slack(),
            end: self.end,
        };
        tree.grow(&mut self.parts, master, aim, count, self.watch)?;
        self.raise(tree.bound());
        Ok(())
    }

    /// What the branches looked at suggest, the cheapest first.
    fn ideas(&self, seen: Vec<Vec<usize>>) -> Vec<Choice> {
        let farm = self.parts.farm;
        let mut ideas: Vec<(f64, Choice)> = seen
            .iter()
            .map(|choice| {
                let amounts = self.parts.amounts(choice);
                let counts = start::buy(farm, &farm.used(&amounts));
                let choice = (amounts, counts);
                (model::decided(farm, &choice, self.unavoidable), choice)
            })
            .filter(|(_, choice)| farm.few_enough(&farm.used(&choice.0)))
            .collect();
        ideas.sort_by(|a, b| a.0.total_cmp(&b.0));
        ideas
            .into_iter()
            .map(|(_, choice)| choice)
            .take(IDEAS)
            .collect()
    }

    /// The shed whole: a bound that knows packs and deliveries, and a purchase to plan for.
    fn whole_shed(&mut self) -> Result<(), PlanError> {
        let limits = Limits {
            seconds: 0.3 * self.left(),
            gap: 0.1 * self.asked,
            absolute: 1e-6,
            linear: false,
            nodes: None,
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
