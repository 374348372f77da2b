//! What holds the plan back, and what easing it would save.

use super::super::order::plan_of;
use super::search::from_plan;
use crate::error::Page;
use crate::layout::page;
use crate::search::found_for;
use crate::state::App;
use axum::extract::State;
use farmwork::{limits, words};
use maud::{Markup, html};

pub(crate) async fn find(State(app): State<App>) -> Page {
    from_plan(
        &app,
        "Looking for what holds the plan back",
        "/plan/limits",
        limits::limits,
        |known, found| known.limits = Some(found),
    )
    .await
}

pub(crate) async fn show(State(app): State<App>) -> Result<Markup, Page> {
    let inside = app.clone();
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let known = inside.known();
        let found = found_for(&known.limits, made.stored.id);
        let body = html! {
            div {
                p.meta { a href="/plan" { "Plan for " (farm.season) } }
                h1 { "What holds it back" }
                p.lede { "Each limit that binds is eased on its own and the whole farm planned again." }
                @match found {
                    None => form method="post" action="/plan/limits" { button { "Find out" } },
                    Some(found) if found.is_empty() => p { "Nothing that could be eased would save a whole " (farm.currency) "." },
                    Some(found) => div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr { th.l scope="col" { "With" } th scope="col" { "would save" small { (farm.currency) } } th scope="col" { "no more than" small { "proven" } } } }
                            tbody { @for held in found {
                                tr { td.l { (held.eased) } td { (words::cents(held.saves)) } td { (words::cents(held.saves_at_most)) } }
                            } }
                        }
                    },
                }
                p.meta { "What is saved counts money and what shortages and surpluses weigh." }
            }
        };
        Ok(page(&farm, "Plan", "What holds it back", &body))
    })
    .await
}
