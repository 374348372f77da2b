//! Making a plan.

use crate::error::Page;
use crate::state::App;
use axum::extract::State;
use farmwork::planning;

pub(crate) async fn make(State(app): State<App>) -> Page {
    plan(&app, "made").await
}

/// Plans from the book as it stands and from what earlier searches learnt, and keeps the plan.
pub(super) async fn plan(app: &App, done: &'static str) -> Page {
    let question = app
        .with(|book| {
            let question = planning::question(book)?;
            planning::ready(&question)?;
            Ok(question)
        })
        .await;
    let question = match question {
        Ok(question) => question,
        Err(page) => return page,
    };
    let inside = app.clone();
    app.begin("Looking for the plan", move |watch| {
        let warm = inside.known().warm.clone();
        let (plan, learnt) = planning::search(&question.problem, &warm, watch)?;
        inside.known().warm = learnt;
        inside.on_book(|book| Ok(planning::keep(book, &question.problem, plan)?))?;
        Ok(format!("/plan?done={done}"))
    })
    .await
}
