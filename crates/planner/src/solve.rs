use crate::decompose::Hunt;
use crate::farm::Farm;
use crate::mip::Limits;
use crate::model::{Choice, Use};
use crate::polish::polish;
use crate::till::Bags;
use crate::{Plan, PlanError, Problem, Status, Warm, Watch};
use crate::{check, model, report, rounding, start, till};
use std::time::{Duration, Instant};

/// Pairs of block, material and pass up to which one model is solved at once.
const ONE_MODEL: usize = 160;

/// The same where almost nothing may be left open.
const ONE_MODEL_EXACT: usize = 600;

/// How many times the gap that is asked for will do when planning anew from warm.
const WARM: f64 = 2.0;

/// Pairs up to which the whole model is given what time the prices leave.
const FINISH: usize = 6_000;

/// Plans the whole farm.
///
/// A small farm is one mixed-integer model. A larger one is taken apart into its blocks, which
/// know of each other through prices alone; the bound that the prices prove holds for the whole.
/// The same problem gives the same plan unless the time runs out first. A problem without blocks
/// gives an empty plan. Otherwise there is always a plan: spreading only what is held is one.
///
/// # Errors
/// When the problem cannot be meant (a number that is no amount, an id that is there twice, a
/// held amount that breaks a rule) or when the solver fails.
pub fn solve(problem: &Problem) -> Result<Plan, PlanError> {
    solve_warm(problem, &Warm::default(), &Watch::default()).map(|(plan, _)| plan)
}

/// [`solve`] from what an earlier search of a like problem learnt, followed by `watch`. Gives back
/// what this search learnt. From warm it is content with twice the gap asked for, or with the gap
/// that was reached before where that is wider, unless it is to be [`Warm::thorough`].
///
/// # Errors
/// As [`solve`].
pub fn solve_warm(
    problem: &Problem,
    warm: &Warm,
    watch: &Watch,
) -> Result<(Plan, Warm), PlanError> {
    let began = Instant::now();
    check::check(problem)?;
    let farm = Farm::new(problem);
    afford(&farm)?;
    let unavoidable = model::unavoidable(&farm);
    let end = until(began, problem.options.seconds);
    let open = farm.pairs.iter().filter(|p| !p.fixed).count();
    let exact = problem.options.gap < 1e-4 && open <= ONE_MODEL_EXACT;
    if open <= ONE_MODEL || exact {
        let first = if warm.is_empty() {
            start::start(&farm, end)
        } else {
            begin(&farm, warm.amounts(&farm), unavoidable, end)
        };
        let (choice, ending) = whole(&farm, first, unavoidable, end, watch)?;
        let kept = Warm::keep(&farm, None, &choice, 0.0);
        return Ok((finish(&farm, choice, &ending, unavoidable, began), kept));
    }
    let first = begin(&farm, warm.amounts(&farm), unavoidable, end);
    let mut hunt = Hunt::new(&farm, first, unavoidable, (began, end), watch);
    if !warm.is_empty() && !warm.thorough {
        hunt.warm = true;
        hunt.asked = (WARM * hunt.asked).max(warm.gap * 1.05 + 5e-4);
    }
    warm.teach(&mut hunt.parts);
    hunt.first_prices(&warm.prices(&farm));
    hunt.run()?;
    let mut model_value = hunt.value;
    if !hunt.done() && open <= FINISH && !watch.cancelled() && Instant::now() < end {
        let limits = Limits {
            seconds: end.saturating_duration_since(Instant::now()).as_secs_f64(),
            gap: hunt.asked,
            absolute: 1e-6,
            linear: false,
            nodes: None,
        };
        let raw = model::run(&farm, &hunt.best, |_| Use::Maybe, limits, watch)?;
        model_value = model::decided(&farm, &raw.choice, unavoidable);
        hunt.raise(raw.bound);
        hunt.offer(&raw.choice);
    }
    let ending = Ending {
        bound: hunt.bound,
        proven: gap(model_value.min(hunt.value), hunt.bound) <= problem.options.gap + 1e-9,
        as_before: hunt.done(),
        model_objective: model_value + unavoidable,
        cancelled: watch.cancelled(),
    };
    let kept = Warm::keep(
        &farm,
        Some(&hunt.parts),
        &hunt.best,
        gap(hunt.value, hunt.bound),
    );
    let plan = finish(&farm, hunt.best, &ending, unavoidable, began);
    Ok((plan, kept))
}

/// A plan to begin with, from amounts that keep the blocks' rules: bettered, or what is held alone
/// where that is cheaper or where there is not enough of something.
fn begin(farm: &Farm, amounts: Vec<f64>, unavoidable: f64, end: Instant) -> Choice {
    let held: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    let none = rounding::purchase(farm, &held, start::buy(farm, &farm.used(&held)));
    let least = (held, none);
    if amounts == least.0 || !farm.few_enough(&farm.used(&amounts)) {
        return least;
    }
    let counts = start::buy(farm, &farm.used(&amounts));
    weigh(farm, &(amounts, counts), least, unavoidable, end)
}

/// Seconds beyond which no clock is needed.
const EVER: f64 = 1e6;

fn until(began: Instant, seconds: f64) -> Instant {
    began + Duration::from_secs_f64(seconds.clamp(0.0, EVER))
}

/// Plans the whole farm by one mixed-integer model alone, whatever its size.
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
    let (choice, ending) = whole(&farm, first, unavoidable, end, watch)?;
    Ok(finish(&farm, choice, &ending, unavoidable, began))
}

fn whole(
    farm: &Farm,
    first: Choice,
    unavoidable: f64,
    end: Instant,
    watch: &Watch,
) -> Result<(Choice, Ending), PlanError> {
    let limits = Limits {
        seconds: end.saturating_duration_since(Instant::now()).as_secs_f64(),
        gap: farm.problem.options.gap,
        absolute: 1e-6,
        linear: false,
        nodes: None,
    };
    let raw = model::run(farm, &first, |_| Use::Maybe, limits, watch)?;
    let ending = Ending {
        bound: raw.bound,
        proven: raw.proven,
        model_objective: model::decided(farm, &raw.choice, unavoidable) + unavoidable,
        cancelled: watch.cancelled(),
        as_before: false,
    };
    Ok((weigh(farm, &raw.choice, first, unavoidable, end), ending))
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
    let now = Instant::now();
    let share = end.saturating_duration_since(now).mul_f64(0.1);
    let end = now + share.max(Duration::from_millis(50));
    polish(farm, &mut polished.0, Bags::Whole, None, end);
    polished.1 = rounding::settle(farm, &polished.0, &rounded.1);
    let money = |choice: &Choice| model::decided(farm, choice, unavoidable);
    let mut best = if money(&rounded) < money(&polished) {
        rounded
    } else {
        polished
    };
    if money(&other) <= money(&best) {
        return other;
    }
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
    /// Whether the gap of an earlier plan was reached, where that is wider than the one asked for.
    pub as_before: bool,
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
    } else if !ending.proven && ending.as_before {
        Status::AsBefore
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
