//! Work that goes on: how far it has come, and ending it early with the best so far.

use crate::error::Page;
use crate::layout::page;
use crate::state::App;
use axum::extract::State;
use axum::http::HeaderName;
use axum::response::{IntoResponse, Response};
use maud::html;
use quantity::plain;

/// How far the search has come; the page asks again each second.
pub(crate) async fn show(State(app): State<App>) -> Result<Response, Page> {
    let Some(search) = app.search().filter(|s| s.outcome().is_none()) else {
        return Err(app.take().await);
    };
    let (what, seconds, progress) = (search.what, search.seconds(), search.progress());
    let parts = search.parts();
    let farm = app.farm().await?;
    let body = html! {
        div {
            h1 { (what) }
            p.lede role="status" {
                span.num { (plain(seconds, 2)) } " s so far. "
                @match (parts, progress) {
                    (Some((done, of)), _) => { (done) " of " (of) " are done." },
                    (None, Some(p)) => { "The best found is within " span.num { (plain(p.gap * 100.0, 2)) } " % of the proven best." },
                    (None, None) => {},
                }
            }
            @if let Some((done, of)) = parts {
                p { progress max=(of) value=(done) aria-label="How many are done" {} }
            } @else if let Some(p) = progress {
                p { progress max="100" value=(format!("{:.1}", 100.0 - (p.gap * 100.0).clamp(0.0, 100.0))) aria-label="How close the best plan is proven to be" {} }
            }
            @if parts.is_some() {
                form method="post" action="/wait/end" { button.q { "Take what is done" } }
            } @else if progress.is_some() {
                form method="post" action="/wait/end" { button.q { "Take the best so far" } }
            } @else {
                p { progress aria-label="It goes on" {} }
            }
            p.meta { "The page looks again each second." }
        }
    };
    let refresh = (HeaderName::from_static("refresh"), "1;url=/wait");
    Ok(([refresh], page(&farm, "", what, &body)).into_response())
}

pub(crate) async fn end(State(app): State<App>) -> Page {
    app.end().await
}
