//! Several plans at once to choose from, on one picture of money against distance from the need.

use crate::planning::{self, Made};
use crate::whole::whole;
use crate::{Result, side_by_side};
use farmbook::{Book, Wish};
use planner::{Plan, Problem, Warm, Watch};
use serde::Serialize;

/// Which plan it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Name {
    /// As the book is set now
    AsSet,
    Cheapest,
    Closest,
    FewestVisits,
    /// A point of the picture between the named ones
    Between,
}

impl Name {
    pub fn key(self) -> &'static str {
        match self {
            Self::AsSet => "as-set",
            Self::Cheapest => "cheapest",
            Self::Closest => "closest",
            Self::FewestVisits => "fewest-visits",
            Self::Between => "between",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::AsSet => "As it is set now",
            Self::Cheapest => "Cheapest",
            Self::Closest => "Closest to the need",
            Self::FewestVisits => "Fewest visits",
            Self::Between => "In between",
        }
    }
}

/// A plan to choose from.
#[derive(Debug, Clone, Serialize)]
pub struct Offer {
    pub name: Name,
    /// How the book would be set for it.
    pub wish: Wish,
    pub problem: Problem,
    pub plan: Plan,
    /// Money for packs and deliveries.
    pub cost: f64,
    /// lb of N, P2O5 and K2O by which blocks stay below what they need, farm-wide.
    pub short_lb: f64,
    /// lb of N, P2O5 and K2O by which blocks get more, farm-wide.
    pub over_lb: f64,
    /// What shortages and surpluses weigh in money by the weights as usual.
    pub off_target: f64,
    pub visits: usize,
    pub materials: usize,
}

/// How far the weights are moved for the outermost offers.
const FAR: f64 = 16.0;
const MIDDLE: f64 = 4.0;

/// How the book would be set for each offer.
fn settings(now: &Wish) -> Vec<(Name, Wish)> {
    let held = |x: f64| x.clamp(0.01, 100.0);
    let close = |times: f64| Wish {
        closeness: held(now.closeness * times),
        ..now.clone()
    };
    vec![
        (Name::AsSet, now.clone()),
        (Name::Cheapest, close(1.0 / FAR)),
        (Name::Between, close(1.0 / MIDDLE)),
        (Name::Between, close(MIDDLE)),
        (Name::Closest, close(FAR)),
        (
            Name::FewestVisits,
            Wish {
                visits: held(now.visits * FAR),
                ..now.clone()
            },
        ),
    ]
}

/// Plans to choose from, cheapest first; each keeps every rule, as the plan itself does.
///
/// The search of each begins from `warm`. What `watch` ends stays out.
///
/// # Errors
/// Nothing to plan, or the book’s own.
pub fn offers(question: &Asked, warm: &Warm, watch: &Watch) -> Result<Vec<Offer>> {
    let mut out = Vec::new();
    for (done, (name, wish, problem)) in question.settings.iter().enumerate() {
        watch.done(done, question.settings.len());
        let (plan, _) = planning::search(problem, warm, watch)?;
        out.push(offer(
            *name,
            wish.clone(),
            problem.clone(),
            plan,
            &question.usual,
        ));
    }
    out.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    Ok(out)
}

/// What the offers are made from, read from the book once so that the search needs it no longer.
pub struct Asked {
    settings: Vec<(Name, Wish, Problem)>,
    /// The question with the weights as usual, by which all are measured.
    usual: Problem,
}

/// Reads the book for [`offers`].
///
/// # Errors
/// Nothing to plan, or the book’s own.
pub fn asked(book: &Book) -> Result<Asked> {
    let now = book.wish(book.farm()?.season)?;
    let with = |wish: &Wish| -> Result<Problem> {
        let question = planning::question_with(book, wish)?;
        planning::ready(&question)?;
        Ok(question.problem)
    };
    Ok(Asked {
        usual: with(&Wish {
            closeness: 1.0,
            visits: 1.0,
            ..now.clone()
        })?,
        settings: settings(&now)
            .into_iter()
            .map(|(name, wish)| Ok((name, wish.clone(), with(&wish)?)))
            .collect::<Result<_>>()?,
    })
}

/// Sets the book as an offer is and keeps its plan, as one change.
///
/// # Errors
/// The book’s own.
pub fn choose(book: &mut Book, offer: &Offer) -> Result<Made> {
    let season = book.farm()?.season;
    whole(book, "Chose a plan", |book| {
        book.set_wish(season, &offer.wish)?;
        planning::keep(book, &offer.problem, offer.plan.clone())
    })
}

fn offer(name: Name, wish: Wish, problem: Problem, plan: Plan, usual: &Problem) -> Offer {
    let (short_lb, over_lb) = side_by_side::off(&plan);
    let mut used: Vec<_> = plan.amounts.iter().map(|a| &a.material).collect();
    used.sort_unstable();
    used.dedup();
    let materials = used.len();
    Offer {
        name,
        wish,
        cost: plan.cost,
        short_lb,
        over_lb,
        off_target: planner::off_target(usual, &plan),
        visits: plan.visits(),
        materials,
        problem,
        plan,
    }
}
