//! Searches in the background: making a plan, and what is looked for from one.

use super::super::order::plan_of;
use crate::error::Page;
use crate::search::Known;
use crate::state::App;
use axum::extract::State;
use farmwork::collisions::collisions;
use farmwork::planning::{self, Made};
use planner::{Warm, Watch};

pub(crate) async fn make(State(app): State<App>) -> Page {
    plan(&app, "made", true).await
}

/// Plans from the book as it stands and from what earlier searches learnt, and keeps the plan. A search
/// that is not thorough is content with less, and quick.
pub(super) async fn plan(app: &App, done: &'static str, thorough: bool) -> Page {
    let question = app
        .with(|book| {
            let question = planning::question(book)?;
            planning::ready(&question)?;
            let currency = book.farm()?.currency;
            let collide = !collisions(&question, &currency)?.is_empty();
            Ok((question, collide))
        })
        .await;
    let question = match question {
        Ok((question, false)) => question,
        Ok((_, true)) => return Page::Go("/plan?done=collide".to_owned()),
        Err(page) => return page,
    };
    let inside = app.clone();
    app.begin("Looking for the plan", move |watch| {
        let warm = inside.known().warm.clone();
        let (plan, learnt) = if thorough {
            planning::search(&question.problem, &warm.thorough(), watch)?
        } else {
            planning::fit_anew(&question.problem, &warm, watch)?
        };
        inside.known().warm = learnt;
        inside.on_book(|book| Ok(planning::keep(book, &question.problem, plan)?))?;
        Ok(format!("/plan?done={done}"))
    })
    .await
}

/// Looks for what the newest plan gives rise to, in the background, and keeps it with the plan's number.
pub(super) async fn from_plan<T: Send + 'static>(
    app: &App,
    what: &'static str,
    to: &'static str,
    look: fn(&Made, &Warm, &Watch) -> farmwork::Result<Vec<T>>,
    keep: fn(&mut Known, (i64, Vec<T>)),
) -> Page {
    let made = match app.with(|book| plan_of(book)).await {
        Ok(made) => made,
        Err(page) => return page,
    };
    let inside = app.clone();
    app.begin(what, move |watch| {
        let warm = inside.known().warm.clone();
        let found = look(&made, &warm, watch)?;
        keep(&mut inside.known(), (made.stored.id, found));
        Ok(to.to_owned())
    })
    .await
}
