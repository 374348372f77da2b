//! Making a plan: begun here, followed while it goes on, and ended early with the best so far.

use crate::error::Page;
use crate::layout::page;
use crate::state::App;
use axum::extract::State;
use axum::http::HeaderName;
use axum::response::{IntoResponse, Response};
use farmwork::planning;
use maud::html;
use quantity::plain;

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
    app.begin("the plan", move |watch| {
        let warm = inside.known().warm.clone();
        let (plan, learnt) = planning::search(&question.problem, &warm, watch)?;
        inside.known().warm = learnt;
        inside.on_book(|book| Ok(planning::keep(book, &question.problem, plan)?))?;
        Ok(format!("/plan?done={done}"))
    })
    .await
}

/// How far the search has come; the page asks again each second.
pub(crate) async fn show(State(app): State<App>) -> Result<Response, Page> {
    let Some(search) = app.search().filter(|s| s.outcome().is_none()) else {
        return Err(app.take().await);
    };
    let (what, seconds, progress) = (search.what, search.seconds(), search.progress());
    let farm = app.farm().await?;
    let body = html! {
        div {
            h1 { "Looking for " (what) }
            p.lede role="status" {
                span.num { (plain(seconds, 2)) } " s so far. "
                @match progress {
                    Some(p) => { "The best found is within " span.num { (plain(p.gap * 100.0, 2)) } " % of the proven best." },
                    None => { "No bound is proven yet." },
                }
            }
            @if let Some(p) = progress {
                p { progress max="100" value=(format!("{:.1}", 100.0 - (p.gap * 100.0).clamp(0.0, 100.0))) aria-label="How close the best plan is proven to be" {} }
            }
            form method="post" action="/plan/end" { button.q { "Take the best so far" } }
            p.meta { "The page looks again each second." }
        }
    };
    let refresh = (HeaderName::from_static("refresh"), "1;url=/plan/search");
    Ok(([refresh], page(&farm, "Plan", "Planning", &body)).into_response())
}

pub(crate) async fn end(State(app): State<App>) -> Page {
    app.end().await
}
