//! From needs and choices to a plan, kept in the book with all that it was made from.

mod ask;
mod changed;
mod columns;
mod worth;

pub use ask::{Question, question, question_with};
pub use columns::Column;

use crate::record::{Record, standing};
use crate::{Result, WorkError};
use farmbook::{Book, NewPlan, StoredPlan};
use planner::{Amount, Plan, Problem, Warm, Watch};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// A plan with what it was made from.
#[derive(Debug, Clone, Serialize)]
pub struct Made {
    #[serde(skip)]
    pub stored: StoredPlan,
    pub problem: Problem,
    pub plan: Plan,
    /// What changed in the book since; empty while the plan is current.
    pub out_of_date: Vec<String>,
}

/// Whether there is anything to plan for and with.
///
/// # Errors
/// There is not: the sentence says what to do first.
pub fn ready(question: &Question) -> Result<()> {
    let what = if question.problem.blocks.is_empty() {
        "There is no block with a next crop to plan for: set the crops on the Ground page first."
    } else if question.problem.materials.is_empty() {
        "No material is ticked that this farm may use: choose some on the Materials page first."
    } else if question.problem.passes.is_empty() {
        "No pass of the season is left in: let the plan use at least one on the Plan page."
    } else {
        return Ok(());
    };
    Err(WorkError::Said(what.to_owned()))
}

/// Looks for a plan, from what an earlier search learnt, and goes over it by arithmetic alone.
///
/// # Errors
/// A lock that cannot be kept, or a plan that does not pass its own check.
pub fn search(problem: &Problem, warm: &Warm, watch: &Watch) -> Result<(Plan, Warm)> {
    let (plan, warm) = planner::solve_warm(problem, warm, watch)?;
    match planner::verify(problem, &plan).first() {
        None => Ok((plan, warm)),
        Some(first) => Err(WorkError::Said(format!(
            "The plan did not pass its own check and was not kept: {first}"
        ))),
    }
}

/// Seconds for fitting a plan anew after a single change.
const MOMENT: f64 = 0.28;

/// [`search`] for somebody who waits: after an earlier search it takes a moment and gives the best that
/// is found in it.
///
/// # Errors
/// As [`search`].
pub fn fit_anew(problem: &Problem, warm: &Warm, watch: &Watch) -> Result<(Plan, Warm)> {
    if warm.is_empty() {
        return search(problem, warm, watch);
    }
    let mut soon = problem.clone();
    soon.options.seconds = soon.options.seconds.min(MOMENT);
    search(&soon, warm, watch)
}

/// Keeps a plan in the book with the question that it answers.
///
/// # Errors
/// The book’s own.
pub fn keep(book: &mut Book, problem: &Problem, plan: Plan) -> Result<Made> {
    let stored = to_value("plan", problem)?;
    let new = NewPlan {
        season: book.farm()?.season,
        inputs_hash: hash(&stored),
        locks: to_value("lock", &problem.options.locks)?,
        plan: to_value("plan", &plan)?,
        problem: stored,
    };
    let id = book.save_plan(&new)?;
    read(book, book.plan(id)?)
}

/// Makes a plan from the book as it stands and keeps it there.
///
/// # Errors
/// Nothing to plan for or with, a lock that cannot be kept, or the book’s own.
pub fn make(book: &mut Book) -> Result<Made> {
    let question = question(book)?;
    ready(&question)?;
    let (plan, _) = search(&question.problem, &Warm::default(), &Watch::default())?;
    keep(book, &question.problem, plan)
}

/// The newest plan of the farm’s season; none before the first.
pub fn latest(book: &Book) -> Result<Option<Made>> {
    let farm = book.farm()?;
    book.latest_plan(farm.season)?
        .map(|stored| read(book, stored))
        .transpose()
}

/// A plan by its number.
///
/// # Errors
/// No such plan, or the book’s own.
pub fn numbered(book: &Book, id: i64) -> Result<Made> {
    read(book, book.plan(id)?)
}

/// The plan alone, without what it was made from and what changed since.
///
/// # Errors
/// A plan that the book cannot give back.
pub fn plan_in(stored: &StoredPlan) -> Result<Plan> {
    from_json(&stored.plan)
}

/// What a plan puts where, without the rest of it.
///
/// # Errors
/// A plan that the book cannot give back.
pub(crate) fn amounts_in(stored: &StoredPlan) -> Result<Vec<Amount>> {
    #[derive(Deserialize)]
    struct Amounts {
        amounts: Vec<Amount>,
    }
    Ok(from_json::<Amounts>(&stored.plan)?.amounts)
}

fn read(book: &Book, mut stored: StoredPlan) -> Result<Made> {
    let problem: Problem = from_json(&stored.problem)?;
    let plan = plan_in(&stored)?;
    // They stand beside it now; of a large farm they are large.
    (stored.problem, stored.plan) = (String::new(), String::new());
    // What was done as planned does not put a plan out of date; what was done otherwise does.
    let wish = book.wish(book.farm()?.season)?;
    let then = Record::at_plan(book, stored.id)?;
    let now = ask::question_by(book, &wish, &then)?.problem;
    let mut made = Made {
        out_of_date: changed::since(&problem, &now),
        stored,
        problem,
        plan,
    };
    made.out_of_date.extend(standing::otherwise(book, &made)?);
    Ok(made)
}

fn from_json<T: DeserializeOwned>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|e| WorkError::Stored("plan", e.to_string()))
}

fn to_value<T: Serialize>(what: &'static str, value: &T) -> Result<serde_json::Value> {
    serde_json::to_value(value).map_err(|e| WorkError::Stored(what, e.to_string()))
}

/// A stable mark of what a plan was made from (FNV-1a, 64 bit); not a defence against anybody.
fn hash(value: &serde_json::Value) -> String {
    let hash = value
        .to_string()
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |h, byte| {
            (h ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
    format!("{hash:016x}")
}
