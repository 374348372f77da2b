//! What a plan would be if one thing were otherwise; every answer is a plan solved anew.

use crate::{Binding, Lock, Nutrient, Plan, PlanError, Problem, Warm, Watch, solve_warm};
use serde::{Deserialize, Serialize};

/// A limit that can be eased.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    Budget,
    /// The delivery charge of a supplier, by id.
    Delivery(String),
    /// Stock of a material, by id.
    Stock(String),
    /// The least even amount of a material, by id.
    LeastEven(String),
    /// The most per acre of a material, by id.
    Most(String),
    /// The ceiling of a nutrient on a block, by id.
    Ceiling(String, Nutrient),
    /// An amount held: block, material, pass.
    Lock(String, String, String),
}

/// What a change saves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Saving {
    pub limit: Limit,
    /// Money that the plan found without the limit, or with it eased by a tenth, costs less.
    pub saves: f64,
    /// No plan with the limit eased so could save more than this (proven).
    pub saves_at_most: f64,
}

/// The limits that a plan names as binding, each once: from the balances' reasons, the locks, the
/// deliveries that are paid, and a budget that is all but spent.
pub fn binding_limits(problem: &Problem, plan: &Plan) -> Vec<Limit> {
    let mut limits = Vec::new();
    let mut add = |limit: Limit| {
        if !limits.contains(&limit) {
            limits.push(limit);
        }
    };
    if let Some(budget) = &problem.options.budget
        && plan.cost > 0.9 * budget.money
    {
        add(Limit::Budget);
    }
    for delivery in plan.deliveries.iter().filter(|d| d.charge > 0.0) {
        add(Limit::Delivery(delivery.supplier.clone()));
    }
    for balance in &plan.balances {
        match &balance.binding {
            Some(Binding::Ceiling { nutrient, .. }) => {
                add(Limit::Ceiling(balance.block.clone(), *nutrient));
            }
            Some(Binding::LeastEven { material }) => add(Limit::LeastEven(material.clone())),
            Some(Binding::Most { material }) => add(Limit::Most(material.clone())),
            Some(Binding::StockUsedUp { material }) => add(Limit::Stock(material.clone())),
            _ => {}
        }
    }
    for Lock {
        block,
        material,
        pass,
        ..
    } in &problem.options.locks
    {
        add(Limit::Lock(block.clone(), material.clone(), pass.clone()));
    }
    limits
}

/// The problem with a limit eased: a lock or a delivery charge taken away, anything else eased by
/// a tenth.
pub fn eased(problem: &Problem, limit: &Limit) -> Problem {
    let mut problem = problem.clone();
    let options = &mut problem.options;
    match limit {
        Limit::Budget => {
            if let Some(budget) = &mut options.budget {
                budget.money *= 1.1;
            }
        }
        Limit::Delivery(id) => {
            for supplier in problem.suppliers.iter_mut().filter(|s| s.id == *id) {
                supplier.delivery = 0.0;
            }
        }
        Limit::Lock(block, material, pass) => options
            .locks
            .retain(|l| (&l.block, &l.material, &l.pass) != (block, material, pass)),
        Limit::Ceiling(block, nutrient) => problem
            .blocks
            .iter_mut()
            .filter(|b| b.id == *block)
            .flat_map(|b| &mut b.needs)
            .filter(|n| n.nutrient == *nutrient)
            .filter_map(|n| n.ceiling_lb_per_acre.as_mut())
            .for_each(|c| *c *= 1.1),
        Limit::Stock(id) | Limit::LeastEven(id) | Limit::Most(id) => {
            for material in problem.materials.iter_mut().filter(|m| m.id == *id) {
                match limit {
                    Limit::Stock(_) => material.stock_lb += 0.1 * material.on_hand(),
                    Limit::LeastEven(_) => material.least_even_lb_per_acre *= 0.9,
                    _ => {
                        for most in [
                            &mut material.most_lb_per_acre,
                            &mut material.most_lb_per_acre_each_pass,
                        ] {
                            *most = most.map(|m| m * 1.1);
                        }
                    }
                }
            }
        }
    }
    problem
}

/// What easing each limit would save against the plan, by planning again from what the plan's
/// search learnt. A lock's saving is what the lock costs.
///
/// # Errors
/// As [`crate::solve`].
pub fn savings(
    problem: &Problem,
    plan: &Plan,
    limits: &[Limit],
    warm: &Warm,
    watch: &Watch,
) -> Result<Vec<Saving>, PlanError> {
    let mut out = Vec::new();
    for (done, limit) in limits.iter().enumerate() {
        watch.done(done, limits.len());
        let (other, _) = solve_warm(&eased(problem, limit), warm, watch)?;
        out.push(Saving {
            limit: limit.clone(),
            saves: (plan.objective - other.objective).max(0.0),
            saves_at_most: (plan.objective - other.bound).max(0.0),
        });
    }
    Ok(out)
}

/// Money of shortages and surpluses of the plan by the problem's weights. Another problem of the same
/// farm may be asked, so that plans made by other weights are measured alike.
pub fn off_target(problem: &Problem, plan: &Plan) -> f64 {
    let mut sum = 0.0;
    for balance in &plan.balances {
        let need = problem
            .blocks
            .iter()
            .find(|b| b.id == balance.block)
            .and_then(|b| b.needs.iter().find(|n| n.nutrient == balance.nutrient));
        let Some(need) = need else { continue };
        let low = balance.low_lb.unwrap_or(balance.need_lb);
        let high = balance.high_lb.unwrap_or(balance.need_lb);
        let between = need.band.as_ref().map_or(0.0, |b| b.between_cost);
        sum += (low - balance.supplied_lb).max(0.0) * need.shortage_cost
            + (high - balance.supplied_lb.max(low)).max(0.0) * between
            + (balance.supplied_lb - high).max(0.0) * need.surplus_cost;
    }
    sum
}
