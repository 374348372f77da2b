//! How much cheaper a material that a plan leaves out would have to be to come in.

use crate::{Plan, PlanError, Problem, Warm, Watch, solve_warm};
use serde::{Deserialize, Serialize};

/// What a material that the plan buys none of would have to cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Id of the material.
    pub material: String,
    /// The share of its present prices at which a plan with it was found that is no dearer; none where it
    /// was not taken even as a gift.
    pub share: Option<f64>,
    /// lb that the plan at that price uses.
    pub lb: f64,
    /// Blocks that it goes on there.
    pub blocks: usize,
    /// Money that a plan with it at that price could still save (proven): how sure the share is.
    pub open: f64,
}

/// Rounds after which a share is given as it stands.
const ROUNDS: usize = 4;

/// Seconds for each search.
const SECONDS: f64 = 2.0;

/// Materials that are for sale and of which the plan uses none, in the problem's order.
pub fn left_out(problem: &Problem, plan: &Plan) -> Vec<String> {
    problem
        .materials
        .iter()
        .filter(|m| !m.packs.is_empty() && !plan.amounts.iter().any(|a| a.material == m.id))
        .map(|m| m.id.clone())
        .collect()
}

/// The price at which a material that the plan leaves out comes in.
///
/// Let `V(s)` be the money of the best plan with the material's packs at the share `s` of their price,
/// and `c` what the packs in that plan cost at full price. `V` rises with `s` and is concave, as the
/// least of many straight lines, so at `s' = (V(1) - V(s) + s c) / c` that same plan costs what the present
/// one does, and going on from there closes in on the largest such share (Dinkelbach's method for ratios,
/// 1967, from memory). Each step is a whole plan, so a share is as sure as the gap of its plan.
///
/// # Errors
/// As [`crate::solve`].
pub fn entry(
    problem: &Problem,
    plan: &Plan,
    material: &str,
    warm: &Warm,
    watch: &Watch,
) -> Result<Entry, PlanError> {
    let mut entry = Entry {
        material: material.to_owned(),
        share: None,
        lb: 0.0,
        blocks: 0,
        open: 0.0,
    };
    // What is within arithmetic of the present plan saves nothing.
    let nothing = 1e-6 * plan.objective.abs().max(1.0);
    let mut share = 0.0;
    for _ in 0..ROUNDS {
        let (other, _) = solve_warm(&priced(problem, material, share), warm, watch)?;
        if watch.cancelled() {
            break;
        }
        let full = full_price(problem, &other, material);
        let taken = |p: &Plan| p.amounts.iter().any(|a| a.material == material);
        if other.objective >= plan.objective - nothing || !taken(&other) || full <= 0.0 {
            entry.open = (plan.objective - other.bound).max(0.0);
            break;
        }
        let next = ((plan.objective - other.objective) / full + share).min(1.0);
        entry.share = Some(next);
        entry.lb = used(&other, material);
        entry.blocks = blocks(&other, material);
        entry.open = (other.objective - other.bound).max(0.0);
        if next - share < 1e-3 {
            break;
        }
        share = next;
    }
    Ok(entry)
}

/// The problem with the packs of one material at a share of their prices.
fn priced(problem: &Problem, material: &str, share: f64) -> Problem {
    let mut problem = problem.clone();
    problem.options.seconds = problem.options.seconds.min(SECONDS);
    for pack in problem
        .materials
        .iter_mut()
        .filter(|m| m.id == material)
        .flat_map(|m| &mut m.packs)
    {
        pack.price *= share;
        for lower in &mut pack.breaks {
            lower.price *= share;
        }
        if share == 0.0 {
            // Nothing is cheaper than a gift.
            pack.breaks.clear();
        }
    }
    problem
}

/// What the plan's packs of the material cost at the problem's own prices.
fn full_price(problem: &Problem, plan: &Plan, material: &str) -> f64 {
    plan.purchases
        .iter()
        .filter(|p| p.material == material)
        .map(|bought| {
            let pack = problem
                .materials
                .iter()
                .filter(|m| m.id == material)
                .flat_map(|m| &m.packs)
                .find(|p| p.label == bought.pack && p.supplier == bought.supplier);
            pack.map_or(0.0, |p| {
                f64::from(bought.count) * crate::packs::price_at(p, bought.count)
            })
        })
        .sum()
}

fn used(plan: &Plan, material: &str) -> f64 {
    plan.amounts
        .iter()
        .filter(|a| a.material == material)
        .map(|a| a.lb)
        .sum()
}

fn blocks(plan: &Plan, material: &str) -> usize {
    let mut all: Vec<&str> = plan
        .amounts
        .iter()
        .filter(|a| a.material == material)
        .map(|a| a.block.as_str())
        .collect();
    all.sort_unstable();
    all.dedup();
    all.len()
}
