use crate::farm::Farm;
use crate::polish::{Bags, polish};
use crate::{Plan, PlanError, Problem, Status};
use crate::{check, model, report, rounding, start};
use std::time::Instant;

/// Plans the whole farm.
///
/// The same problem gives the same plan unless the time runs out first. A problem without blocks
/// gives an empty plan. Otherwise there is always a plan: spreading only what is held is one.
///
/// # Errors
/// When the problem cannot be meant (a number that is no amount, an id that is there twice, a
/// held amount that breaks a rule) or when the solver fails.
pub fn solve(problem: &Problem) -> Result<Plan, PlanError> {
    let began = Instant::now();
    check::check(problem)?;
    let farm = Farm::new(problem);
    let unavoidable = model::unavoidable(&farm);
    let first = start::start(&farm);
    let left = (problem.options.seconds - began.elapsed().as_secs_f64()).max(0.0);
    let raw = model::run(&farm, (&first.0, &first.1), left)?;
    let model_objective =
        model::decided(&farm, &raw.amounts, &raw.counts, unavoidable) + unavoidable;
    let rounded = rounding::round(&farm, &raw.amounts, &raw.counts);
    // Rounding may lose what the first plan, which is on the scale already, had.
    let money =
        |plan: &(Vec<f64>, Vec<Vec<u32>>)| model::decided(&farm, &plan.0, &plan.1, unavoidable);
    let mut polished = rounded.clone();
    polish(&farm, &mut polished.0, Bags::Whole, None);
    polished.1 = rounding::settle(&farm, &polished.0, &rounded.1);
    let (amounts, counts) = [polished, rounded, first]
        .into_iter()
        .reduce(|x, y| if money(&y) < money(&x) { y } else { x })
        .unwrap_or_default();
    let decided = model::decided(&farm, &amounts, &counts, unavoidable);
    // The bound carries the solver's tolerance; no plan is better than itself.
    let bound = raw.bound.min(decided);
    let gap = if decided > 0.0 {
        (decided - bound) / decided
    } else {
        0.0
    };
    let status = if problem.blocks.is_empty() {
        Status::Empty
    } else if !raw.proven {
        Status::OutOfTime
    } else if gap <= problem.options.gap + 1e-9 || decided - bound <= 1e-6 {
        Status::WithinGap
    } else {
        Status::WithinGapBeforeRounding
    };
    let mut plan = report::report(&farm, &amounts, &counts);
    plan.model_objective = model_objective;
    plan.unavoidable = unavoidable;
    plan.objective = decided + unavoidable;
    plan.bound = bound + unavoidable;
    plan.gap = gap;
    plan.status = status;
    plan.seconds = began.elapsed().as_secs_f64();
    Ok(plan)
}
