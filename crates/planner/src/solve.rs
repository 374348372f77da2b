use crate::farm::Farm;
use crate::mip::Limits;
use crate::model::Choice;
use crate::polish::polish;
use crate::till::Bags;
use crate::{Plan, PlanError, Problem, Status, Watch};
use crate::{check, model, report, rounding, start, till};
use std::time::{Duration, Instant};

/// Plans the whole farm.
///
/// The same problem gives the same plan unless the time runs out first. A problem without blocks
/// gives an empty plan. Otherwise there is always a plan: spreading only what is held is one.
///
/// # Errors
/// When the problem cannot be meant (a number that is no amount, an id that is there twice, a
/// held amount that breaks a rule) or when the solver fails.
pub fn solve(problem: &Problem) -> Result<Plan, PlanError> {
    solve_whole(problem, &Watch::default())
}

/// Seconds beyond which no clock is needed.
const EVER: f64 = 1e6;

pub(crate) fn until(began: Instant, seconds: f64) -> Instant {
    began + Duration::from_secs_f64(seconds.clamp(0.0, EVER))
}

/// Plans the whole farm by one mixed-integer model alone.
///
/// # Errors
/// As [`solve`].
pub fn solve_whole(problem: &Problem, watch: &Watch) -> Result<Plan, PlanError> {
    let began = Instant::now();
    check::check(problem)?;
    let farm = Farm::new(problem);
    afford(&farm)?;
    let unavoidable = model::unavoidable(&farm);
    let end = until(began, problem.options.seconds);
    let first = start::start(&farm, end);
    let limits = Limits {
        seconds: end.saturating_duration_since(Instant::now()).as_secs_f64(),
        gap: problem.options.gap,
        absolute: 1e-6,
    };
    let raw = model::run(&farm, &first, |_| true, limits, watch)?;
    let model_objective = model::decided(&farm, &raw.choice, unavoidable) + unavoidable;
    let choice = weigh(&farm, &raw.choice, first, unavoidable, end);
    let ending = Ending {
        bound: raw.bound,
        proven: raw.proven,
        model_objective,
        cancelled: watch.cancelled(),
    };
    Ok(finish(&farm, choice, &ending, unavoidable, began))
}

/// Refuses held amounts that no purchase within the budget can serve.
pub(crate) fn afford(farm: &Farm) -> Result<(), PlanError> {
    let Some(budget) = &farm.problem.options.budget else {
        return Ok(());
    };
    if budget.over_cost.is_some() {
        return Ok(());
    }
    let held: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    let counts = rounding::purchase(farm, &held, start::buy(farm, &farm.used(&held)));
    let bill = till::bill(farm, &counts);
    if bill.over > 0.0 {
        return Err(PlanError::LockOverBudget {
            money: bill.spent(),
            budget: budget.money,
        });
    }
    Ok(())
}

/// A model's solution on the scale's steps, bettered, or the other plan where that is cheaper.
pub(crate) fn weigh(
    farm: &Farm,
    raw: &Choice,
    other: Choice,
    unavoidable: f64,
    end: Instant,
) -> Choice {
    let rounded = rounding::round(farm, raw);
    let mut polished = rounded.clone();
    // Rounding may lose a little even when the time is up; a moment is enough for a small farm.
    let end = end.max(Instant::now() + Duration::from_millis(50));
    polish(farm, &mut polished.0, Bags::Whole, None, end);
    polished.1 = rounding::settle(farm, &polished.0, &rounded.1);
    let money = |choice: &Choice| model::decided(farm, choice, unavoidable);
    let mut best = [polished, rounded, other]
        .into_iter()
        .reduce(|x, y| if money(&y) < money(&x) { y } else { x })
        .unwrap_or_default();
    best.1 = rounding::purchase(farm, &best.0, best.1);
    best
}

/// How a search ended.
pub(crate) struct Ending {
    /// Proven, without the unavoidable part.
    pub bound: f64,
    /// Whether the gap was proven before rounding.
    pub proven: bool,
    pub model_objective: f64,
    pub cancelled: bool,
}

pub(crate) fn gap(objective: f64, bound: f64) -> f64 {
    if objective > 0.0 {
        (objective - bound.min(objective)) / objective
    } else {
        0.0
    }
}

/// The plan of a choice, with what the search knows.
pub(crate) fn finish(
    farm: &Farm,
    (amounts, counts): Choice,
    ending: &Ending,
    unavoidable: f64,
    began: Instant,
) -> Plan {
    let options = &farm.problem.options;
    let choice = (amounts, counts);
    let decided = model::decided(farm, &choice, unavoidable);
    // The bound carries the solver's tolerance; no plan is better than itself.
    let bound = ending.bound.min(decided);
    let gap = gap(decided, bound);
    let status = if farm.problem.blocks.is_empty() {
        Status::Empty
    } else if gap <= options.gap + 1e-9 || decided - bound <= 1e-6 {
        Status::WithinGap
    } else if ending.cancelled {
        Status::Cancelled
    } else if !ending.proven {
        Status::OutOfTime
    } else {
        Status::WithinGapBeforeRounding
    };
    let mut plan = report::report(farm, &choice.0, &choice.1);
    plan.model_objective = ending.model_objective;
    plan.unavoidable = unavoidable;
    plan.objective = decided + unavoidable;
    plan.bound = bound + unavoidable;
    plan.gap = gap;
    plan.status = status;
    plan.seconds = began.elapsed().as_secs_f64();
    plan
}
