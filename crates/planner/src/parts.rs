//! The farm taken apart: blocks that know of each other only through the price of each material.
//!
//! For prices `p` let `f(p)` be the sum over the blocks of the least money against `p`. Whatever
//! amounts `u` of the materials the blocks use together, their money is at least `f(p) - p u`: each
//! evaluation is a cut on what the ground costs when the farm uses `u`. The shed's exact model under
//! these cuts gives a proven bound for the whole farm; the block plans found on the way, mixed by a
//! linear program, give the next prices and the supports of good plans.

use crate::branch::{Found, Search};
use crate::farm::Farm;
use crate::plot::Plot;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

/// A plan of one block.
#[derive(Clone)]
pub(crate) struct Part {
    /// Money without the materials.
    pub cost: f64,
    /// Shares by cell.
    pub shares: Vec<(usize, f64)>,
    /// lb by material.
    pub used: Vec<(usize, f64)>,
}

/// What the blocks are asked to pay.
#[derive(Clone, Default)]
pub(crate) struct Prices {
    /// Money per lb by material.
    pub lb: Vec<f64>,
    /// Money for using a pair at all; empty where that is not priced.
    pub pair: Vec<f64>,
}

impl Prices {
    pub fn using(&self, pair: usize) -> f64 {
        self.pair.get(pair).copied().unwrap_or_default()
    }
}

/// What prices prove.
#[derive(Clone)]
pub(crate) struct Cut {
    pub price: Prices,
    /// What all pairs together pay for using each material.
    pub using: Vec<f64>,
    /// The blocks' bounds.
    pub bounds: Vec<f64>,
}

pub(crate) struct Parts<'a> {
    pub farm: &'a Farm<'a>,
    pub plots: Vec<Plot>,
    /// Known plans by block.
    pub known: Vec<Vec<Part>>,
    pub cuts: Vec<Cut>,
    /// lb of each material that is held.
    pub held: Vec<f64>,
    /// The most lb of each that the blocks could use, held ones included.
    pub most: Vec<f64>,
    pub threads: usize,
    /// Whether a material has to be opened, with a pack or at a cost, before any of it is used;
    /// all false on farms so large that this hardly matters.
    pub opens: Vec<bool>,
    /// Nodes that the blocks' searches took so far.
    pub nodes: usize,
}

impl<'a> Parts<'a> {
    pub fn new(farm: &'a Farm<'a>) -> Self {
        let plots: Vec<Plot> = (0..farm.ground.len()).map(|b| Plot::new(farm, b)).collect();
        let (mut held, mut most) = (vec![0.0; farm.stuff.len()], vec![0.0; farm.stuff.len()]);
        for pair in &farm.pairs {
            most[pair.material] += pair.high;
            if pair.fixed {
                held[pair.material] += pair.low;
            }
        }
        let mut parts = Self {
            farm,
            known: plots.iter().map(|_| Vec::new()).collect(),
            plots,
            cuts: Vec::new(),
            held,
            opens: opens(farm),
            most,
            threads: std::thread::available_parallelism().map_or(1, |n| n.get().min(2)),
            nodes: 0,
        };
        for b in 0..parts.plots.len() {
            parts.add(b, Vec::new());
        }
        parts
    }

    /// Takes a plan of a block up; false when it breaks a rule or is known.
    pub fn add(&mut self, b: usize, shares: Vec<(usize, f64)>) -> bool {
        let plot = &self.plots[b];
        let Some(cost) = plot.cost(&shares) else {
            return false;
        };
        let alike = |other: &Part| {
            other.shares.len() == shares.len()
                && other
                    .shares
                    .iter()
                    .zip(&shares)
                    .all(|(x, y)| x.0 == y.0 && (x.1 - y.1).abs() < 1e-7)
        };
        if self.known[b].iter().any(alike) {
            return false;
        }
        let mut used: Vec<(usize, f64)> = Vec::new();
        for (k, u) in &shares {
            let cell = &plot.cells[*k];
            match used.last_mut() {
                Some((m, lb)) if *m == cell.material => *lb += cell.high * u,
                _ => used.push((cell.material, cell.high * u)),
            }
        }
        self.known[b].push(Part { cost, shares, used });
        true
    }

    /// Takes the blocks' parts of a plan of the farm up.
    pub fn add_amounts(&mut self, amounts: &[f64]) {
        for b in 0..self.plots.len() {
            let shares = self.plots[b]
                .cells
                .iter()
                .enumerate()
                .filter(|(_, cell)| amounts[cell.pair] > 0.0)
                .map(|(k, cell)| (k, (amounts[cell.pair] / cell.high).min(1.0)))
                .collect();
            self.add(b, shares);
        }
    }

    /// Solves every block against the prices; the cut is taken up, new plans too. None when the
    /// time ran out first.
    pub fn evaluate(&mut self, price: &Prices, slack: f64, until: Instant) -> Option<Vec<f64>> {
        let bounds = self.bounds(price, slack, &[], until)?;
        let mut using = vec![0.0; self.farm.stuff.len()];
        for (pair, money) in self.farm.pairs.iter().zip(&price.pair) {
            using[pair.material] += money;
        }
        self.cuts.push(Cut {
            price: price.clone(),
            using,
            bounds: bounds.clone(),
        });
        Some(bounds)
    }

    /// Solves every block against the prices, where it is decided of some pairs whether they are
    /// used; new plans are taken up. Gives each block's bound, or none when the time ran out first.
    pub fn bounds(
        &mut self,
        price: &Prices,
        slack: f64,
        decided: &[(usize, bool)],
        until: Instant,
    ) -> Option<Vec<f64>> {
        let found = self.solve_blocks(price, slack, decided, until)?;
        let bounds = found.iter().map(|f| f.bound).collect();
        for (b, found) in found.into_iter().enumerate() {
            self.nodes += found.nodes;
            self.add(b, found.shares);
        }
        Some(bounds)
    }

    /// Whether every block may be left with what is held on it.
    pub fn can_rest(&self) -> bool {
        self.known
            .iter()
            .all(|known| known.iter().any(|p| p.shares.is_empty()))
    }

    /// How many plans of blocks are known.
    pub fn count_known(&self) -> usize {
        self.known.iter().map(Vec::len).sum()
    }

    fn solve_blocks(
        &self,
        price: &Prices,
        slack: f64,
        decided: &[(usize, bool)],
        until: Instant,
    ) -> Option<Vec<Found>> {
        let next = AtomicUsize::new(0);
        let count = self.plots.len();
        let late = || Instant::now() >= until;
        let work = || {
            let mut search = Search::new();
            let mut done: Vec<(usize, Found)> = Vec::new();
            loop {
                let b = next.fetch_add(1, Ordering::Relaxed);
                if b >= count || late() {
                    return done;
                }
                let known = self.known[b].iter().map(|p| p.shares.as_slice());
                let here: Vec<(usize, bool)> = decided
                    .iter()
                    .filter(|(pair, _)| self.farm.pairs[*pair].block == b)
                    .filter_map(|(pair, used)| {
                        let cells = &self.plots[b].cells;
                        Some((cells.iter().position(|c| c.pair == *pair)?, *used))
                    })
                    .collect();
                let found = search.run(&self.plots[b], price, slack, known, &here);
                done.push((b, found));
            }
        };
        let done = if self.threads < 2 || count < 4 {
            work()
        } else {
            std::thread::scope(|scope| {
                let other = scope.spawn(work);
                let mut done = work();
                // A thread that failed leaves its blocks undone; the count below tells.
                done.extend(other.join().unwrap_or_default());
                done
            })
        };
        let mut all: Vec<Option<Found>> = vec![None; count];
        for (b, found) in done {
            all[b] = Some(found);
        }
        all.into_iter().collect()
    }

    /// lb by pair, from one plan for each block.
    pub fn amounts(&self, choice: &[usize]) -> Vec<f64> {
        let mut amounts: Vec<f64> = self
            .farm
            .pairs
            .iter()
            .map(|p| if p.fixed { p.low } else { 0.0 })
            .collect();
        for (b, part) in choice.iter().enumerate() {
            for (k, u) in &self.known[b][*part].shares {
                let cell = &self.plots[b].cells[*k];
                let pair = &self.farm.pairs[cell.pair];
                amounts[cell.pair] = (cell.high * u).clamp(pair.low, pair.high);
            }
        }
        amounts
    }
}

/// Blocks times materials up to which opening a material is priced pair by pair.
pub(crate) const SMALL: usize = 4_000;

fn opens(farm: &Farm) -> Vec<bool> {
    let options = &farm.problem.options;
    let asked = options.material_cost > 0.0 || options.most_materials.is_some();
    let mut opens = vec![true; farm.stuff.len()];
    if farm.ground.len() * farm.stuff.len() > SMALL {
        opens.fill(false);
        return opens;
    }
    for pair in &farm.pairs {
        // Stock may serve it without a pack.
        if !pair.fixed && pair.low <= farm.stuff[pair.material].stock {
            opens[pair.material] = asked;
        }
    }
    opens
}
