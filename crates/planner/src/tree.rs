//! Branches over the shed: which suppliers come, which prices and packs are bought, what is opened.
//! In each branch the prices settle anew from all the block plans known so far, and prove a bound
//! for the branch; the least of the branches' bounds holds for the farm.

use crate::fence::{Fence, Of, Parting};
use crate::master::{Master, Mix, Mixed};
use crate::parts::{Parts, Prices};
use crate::solve::gap;
use crate::{PlanError, Watch};
use std::collections::HashMap;
use std::time::Instant;

/// Rounds of prices in a branch.
const ROUNDS: usize = 6;

/// Partings tried before one is taken.
const TRIED: usize = 6;

/// Money: a gain beyond which more is no better, and one that stands for none.
const FAR: f64 = 1e4;
const SMALL: f64 = 0.1;

/// Trials of a side after which what it gained before is believed.
const TIMES: usize = 2;

/// The least distance of a relaxation from a side that counts.
const NEAR: f64 = 0.05;

struct Branch {
    fence: Fence,
    bound: f64,
    /// Those of the branch it came from.
    price: Option<Prices>,
}

/// What the search is to reach, and when it ends.
#[derive(Clone, Copy)]
pub(crate) struct Aim {
    /// Of the best plan.
    pub value: f64,
    pub asked: f64,
    pub slack: f64,
    pub end: Instant,
}

impl Aim {
    fn reached(&self, bound: f64) -> bool {
        gap(self.value, bound) <= self.asked
    }

    fn over(&self, watch: &Watch) -> bool {
        watch.cancelled() || Instant::now() >= self.end
    }
}

pub(crate) struct Tree {
    open: Vec<Branch>,
    /// The least bound of the branches that end.
    ended: f64,
    gains: Gains,
    /// Pairs that the mixtures use.
    pub used: Vec<bool>,
    /// For each branch looked at, the plans that weigh most in its mixture, by block.
    pub seen: Vec<Vec<usize>>,
}

impl Tree {
    pub fn new(parts: &Parts, bound: f64) -> Self {
        Self {
            open: vec![Branch {
                fence: Fence::default(),
                bound,
                price: None,
            }],
            ended: f64::INFINITY,
            gains: Gains::default(),
            used: vec![false; parts.farm.pairs.len()],
            seen: Vec::new(),
        }
    }

    /// Proven for the farm.
    pub fn bound(&self) -> f64 {
        let open = self.open.iter().map(|b| b.bound);
        open.fold(self.ended, f64::min)
    }

    /// Whether there is nothing left to part.
    pub fn done(&self) -> bool {
        self.open.is_empty()
    }

    /// Looks at so many branches, the weakest first.
    pub fn grow(
        &mut self,
        parts: &mut Parts,
        master: &mut Master,
        aim: Aim,
        branches: usize,
        watch: &Watch,
    ) -> Result<(), PlanError> {
        for _ in 0..branches {
            if aim.over(watch) || aim.reached(self.bound()) {
                return Ok(());
            }
            let weakest = (0..self.open.len())
                .min_by(|a, b| self.open[*a].bound.total_cmp(&self.open[*b].bound));
            let Some(weakest) = weakest else {
                return Ok(());
            };
            let branch = self.open.swap_remove(weakest);
            self.look(parts, master, aim, branch, watch)?;
        }
        Ok(())
    }

    fn look(
        &mut self,
        parts: &mut Parts,
        master: &mut Master,
        aim: Aim,
        mut branch: Branch,
        watch: &Watch,
    ) -> Result<(), PlanError> {
        let mut last = None;
        if let (Some((_, true)), Some(price)) = (branch.fence.pairs.last(), &branch.price) {
            // There may be no plan yet that uses the pair.
            let found = parts.bounds(price, aim.slack, &branch.fence.pairs, aim.end);
            if found.is_some_and(|bounds| bounds.iter().any(|b| b.is_infinite())) {
                return Ok(());
            }
        }
        for _ in 0..ROUNDS {
            let mix = match master.solve(parts, &branch.fence, aim.end)? {
                Mixed::Mix(mix) => mix,
                // Nothing is bought or used for plans that spread nothing: where not even they
                // fit, no others do.
                Mixed::Impossible if branch.fence.pairs.is_empty() && parts.can_rest() => {
                    return Ok(());
                }
                Mixed::Impossible => {
                    self.ended = self.ended.min(branch.bound);
                    return Ok(());
                }
                Mixed::Late => break,
            };
            let known = parts.count_known();
            let Some(bounds) = parts.bounds(&mix.price, aim.slack, &branch.fence.pairs, aim.end)
            else {
                break;
            };
            branch.bound = branch.bound.max(mix.bound(&bounds));
            let open = gap(mix.value, branch.bound);
            let settled = open <= 0.1 * aim.asked || parts.count_known() == known;
            last = Some(mix);
            if aim.reached(branch.bound) || settled || aim.over(watch) {
                break;
            }
        }
        let Some(mix) = last else {
            self.open.push(branch);
            return Ok(());
        };
        self.note(parts, &mix);
        self.seen.push(heaviest(&mix.weights));
        if aim.reached(branch.bound) {
            self.ended = self.ended.min(branch.bound);
        } else if let Some(fences) = self.choose(parts, master, aim, &branch.fence, &mix)? {
            self.open.extend(fences.into_iter().map(|fence| Branch {
                fence,
                bound: branch.bound,
                price: Some(mix.price.clone()),
            }));
        } else {
            self.ended = self.ended.min(branch.bound);
        }
        Ok(())
    }

    pub fn note(&mut self, parts: &Parts, mix: &Mix) {
        for (used, share) in self.used.iter_mut().zip(use_of_pairs(parts, mix)) {
            *used |= share > 1e-6;
        }
    }
}

/// What partings have gained where they were tried, for each unit of the relaxation's distance.
#[derive(Default)]
struct Gains(HashMap<(Of, usize), (f64, usize)>);

impl Gains {
    fn add(&mut self, of: Of, side: usize, gain: f64, far: f64) {
        let (sum, times) = self.0.entry((of, side)).or_default();
        *sum += gain / far.max(NEAR);
        *times += 1;
    }

    /// What all sides may gain, when they were tried often enough to tell.
    fn guess(&self, parting: &Parting) -> Option<Vec<f64>> {
        let side = |(k, (_, far)): (usize, &(Fence, f64))| {
            let (sum, times) = self.0.get(&(parting.of, k))?;
            (*times >= TIMES).then(|| (sum / *times as f64 * far.max(NEAR)).min(FAR))
        };
        parting.sides.iter().enumerate().map(side).collect()
    }
}

impl Tree {
    /// The parting whose weaker side gains most by the plans known so far.
    fn choose(
        &mut self,
        parts: &Parts,
        master: &mut Master,
        aim: Aim,
        fence: &Fence,
        mix: &Mix,
    ) -> Result<Option<Vec<Fence>>, PlanError> {
        let mut ways = fence.parts(&mix.shed, TRIED);
        if ways.is_empty() {
            let share = use_of_pairs(parts, mix);
            let pairs = mixed_pairs(&share).into_iter().take(TRIED);
            ways = pairs
                .map(|pair| fence.part_pair(pair, share[pair]))
                .collect();
        }
        let mut best: Option<(f64, Parting)> = None;
        for way in ways {
            let mut gains = match self.gains.guess(&way) {
                Some(gains) => gains,
                None => {
                    let mut gains = Vec::with_capacity(way.sides.len());
                    for (k, (fence, far)) in way.sides.iter().enumerate() {
                        let gain = match master.solve(parts, fence, aim.end)? {
                            Mixed::Mix(other) => (other.value - mix.value).clamp(0.0, FAR),
                            Mixed::Impossible => FAR,
                            Mixed::Late => 0.0,
                        };
                        self.gains.add(way.of, k, gain, *far);
                        gains.push(gain);
                    }
                    gains
                }
            };
            gains.sort_by(f64::total_cmp);
            let [weak, .., strong] = gains.as_slice() else {
                continue;
            };
            let score = (weak + SMALL) * (strong + SMALL);
            if best.as_ref().is_none_or(|(most, _)| score > *most) {
                best = Some((score, way));
            }
        }
        Ok(best.map(|(_, way)| way.sides.into_iter().map(|(fence, _)| fence).collect()))
    }
}

/// Pairs that some plans of a mixture use and others do not, the most mixed first.
fn mixed_pairs(share: &[f64]) -> Vec<usize> {
    let mixed = |i: usize| f64::min(share[i], 1.0 - share[i]);
    let mut pairs: Vec<usize> = (0..share.len()).filter(|i| mixed(*i) > 1e-3).collect();
    pairs.sort_by(|a, b| mixed(*b).total_cmp(&mixed(*a)));
    pairs
}

/// The weight of the plans in a mixture that use each pair.
fn use_of_pairs(parts: &Parts, mix: &Mix) -> Vec<f64> {
    let mut share = vec![0.0; parts.farm.pairs.len()];
    for (b, weights) in mix.weights.iter().enumerate() {
        for (part, w) in parts.known[b].iter().zip(weights) {
            for (k, _) in &part.shares {
                share[parts.plots[b].cells[*k].pair] += w;
            }
        }
    }
    share
}

/// The plan that weighs most, by block.
pub(crate) fn heaviest(weights: &[Vec<f64>]) -> Vec<usize> {
    weights
        .iter()
        .map(|w| {
            (0..w.len())
                .max_by(|a, b| w[*a].total_cmp(&w[*b]).then(b.cmp(a)))
                .unwrap_or_default()
        })
        .collect()
}
