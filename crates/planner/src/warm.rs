use crate::farm::Farm;
use crate::model::Choice;
use crate::parts::{Parts, Prices};
use crate::scale;
use std::collections::HashMap;

/// How many of the last prices are kept.
const PRICES: usize = 4;

/// How many plans of each block are kept.
const PLANS: usize = 40;

/// Ids of a material and a pass, and lb.
type Spread = (String, String, f64);

/// What a search learnt, to begin the next one with: plans of the blocks, prices, the last plan.
/// It fits any problem: what a changed problem does not know or allow is left aside, and nothing
/// in it is taken for proven.
#[derive(Debug, Clone, Default)]
pub struct Warm {
    /// Plans by id of the block.
    plans: HashMap<String, Vec<Vec<Spread>>>,
    /// Money per lb by id of the material, and for using a block, material, pass at all.
    prices: Vec<Worth>,
    /// The plan that was found: block, material, pass, lb.
    last: Vec<(Key, f64)>,
    /// The gap that was reached.
    pub(crate) gap: f64,
    pub(crate) thorough: bool,
}

/// Block, material, pass.
type Key = (String, String, String);

/// Money per lb by id of the material, and for using a pair at all.
type Worth = (HashMap<String, f64>, Vec<(Key, f64)>);

fn key(farm: &Farm, pair: usize) -> Key {
    let pair = &farm.pairs[pair];
    (
        farm.problem.blocks[pair.block].id.clone(),
        farm.problem.materials[pair.material].id.clone(),
        farm.problem.pass_id(pair.pass).to_owned(),
    )
}

impl Warm {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.plans.is_empty() && self.last.is_empty()
    }

    /// The same for a search that goes on to the gap that is asked for.
    pub fn thorough(mut self) -> Self {
        self.thorough = true;
        self
    }

    /// Keeps what a search learnt.
    pub(crate) fn keep(farm: &Farm, parts: Option<&Parts>, best: &Choice, gap: f64) -> Self {
        let mut warm = Self {
            gap,
            ..Self::default()
        };
        for (i, lb) in best.0.iter().enumerate() {
            if *lb > 0.0 {
                warm.last.push((key(farm, i), *lb));
            }
        }
        let Some(parts) = parts else { return warm };
        for (b, known) in parts.known.iter().enumerate() {
            let block = &farm.problem.blocks[b];
            let plans = known
                .iter()
                .rev()
                .take(PLANS)
                .map(|part| {
                    part.shares
                        .iter()
                        .map(|(k, u)| {
                            let cell = &parts.plots[b].cells[*k];
                            let (_, material, pass) = key(farm, cell.pair);
                            (material, pass, cell.high * u)
                        })
                        .collect()
                })
                .collect();
            warm.plans.insert(block.id.clone(), plans);
        }
        for cut in parts.cuts.iter().rev().take(PRICES) {
            let lb = farm
                .problem
                .materials
                .iter()
                .zip(&cut.price.lb)
                .map(|(m, price)| (m.id.clone(), *price))
                .collect();
            let using = cut
                .price
                .pair
                .iter()
                .enumerate()
                .filter(|(_, money)| **money > 0.0)
                .map(|(i, money)| (key(farm, i), *money))
                .collect();
            warm.prices.push((lb, using));
        }
        warm
    }

    /// The prices as they stand for this farm.
    pub(crate) fn prices(&self, farm: &Farm) -> Vec<Prices> {
        let places = places(farm);
        self.prices
            .iter()
            .map(|(lb, using)| {
                let mut price = Prices {
                    lb: farm
                        .problem
                        .materials
                        .iter()
                        .enumerate()
                        .map(|(m, material)| {
                            let asked = crate::polish::asking(farm, m);
                            lb.get(&material.id).copied().unwrap_or(asked)
                        })
                        .collect(),
                    pair: Vec::new(),
                };
                if !using.is_empty() {
                    price.pair = vec![0.0; farm.pairs.len()];
                    for (key, money) in using {
                        if let Some(i) = places.get(key) {
                            price.pair[*i] = *money;
                        }
                    }
                }
                price
            })
            .collect()
    }

    /// Gives the blocks' plans to the parts; those that break a rule by now are left out there.
    pub(crate) fn teach(&self, parts: &mut Parts) {
        let farm = parts.farm;
        for b in 0..parts.plots.len() {
            let Some(plans) = self.plans.get(&farm.problem.blocks[b].id) else {
                continue;
            };
            let cells: HashMap<(&str, &str), usize> = parts.plots[b]
                .cells
                .iter()
                .enumerate()
                .map(|(k, cell)| {
                    let material = farm.problem.materials[cell.material].id.as_str();
                    ((material, farm.problem.pass_id(cell.pass)), k)
                })
                .collect();
            let known: Vec<Vec<(usize, f64)>> = plans
                .iter()
                .map(|plan| {
                    let mut shares: Vec<(usize, f64)> = plan
                        .iter()
                        .filter_map(|(material, pass, lb)| {
                            let k = *cells.get(&(material.as_str(), pass.as_str()))?;
                            let cell = &parts.plots[b].cells[k];
                            Some((k, (lb / cell.high).clamp(cell.low, 1.0)))
                        })
                        .collect();
                    shares.sort_by_key(|(k, _)| *k);
                    shares
                })
                .collect();
            for shares in known {
                parts.add(b, shares);
            }
        }
    }

    /// The last plan's amounts where they may still stand; a block whose amounts break a rule by
    /// now begins with what is held there.
    pub(crate) fn amounts(&self, farm: &Farm) -> Vec<f64> {
        let places = places(farm);
        let mut amounts: Vec<f64> = farm
            .pairs
            .iter()
            .map(|p| if p.fixed { p.low } else { 0.0 })
            .collect();
        for (key, lb) in &self.last {
            let Some(i) = places.get(key) else { continue };
            let pair = &farm.pairs[*i];
            if !pair.fixed {
                amounts[*i] = scale::down(*lb, pair.step).clamp(pair.low, pair.high);
            }
        }
        for b in 0..farm.ground.len() {
            if !sound(farm, b, &amounts) {
                for i in farm.of_block[b].clone() {
                    if !farm.pairs[i].fixed {
                        amounts[i] = 0.0;
                    }
                }
            }
        }
        amounts
    }
}

fn places(farm: &Farm) -> HashMap<Key, usize> {
    (0..farm.pairs.len()).map(|i| (key(farm, i), i)).collect()
}

/// Whether the amounts keep the block's own rules.
fn sound(farm: &Farm, b: usize, amounts: &[f64]) -> bool {
    let used: Vec<usize> = farm.of_block[b]
        .clone()
        .filter(|i| amounts[*i] > 0.0)
        .collect();
    let mut kinds: Vec<usize> = used.iter().map(|i| farm.pairs[*i].material).collect();
    kinds.dedup();
    let within = kinds.iter().all(|m| {
        let all: f64 = used
            .iter()
            .filter(|i| farm.pairs[**i].material == *m)
            .map(|i| amounts[*i])
            .sum();
        farm.most_of_year(b, *m)
            .is_none_or(|most| !crate::farm::above(all, most))
    });
    let few = farm
        .problem
        .options
        .most_materials_per_block
        .is_none_or(|most| kinds.len() <= most as usize);
    let clash = used
        .iter()
        .any(|i| used.iter().any(|j| farm.clash_of(*i, *j)));
    within && few && !clash && farm.ground[b].under_ceilings(&farm.supplied(b, amounts))
}
