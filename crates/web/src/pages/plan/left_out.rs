//! What the materials that the plan leaves out would have to cost to come in.

use super::super::order::plan_of;
use super::search::from_plan;
use crate::error::Page;
use crate::layout::page;
use crate::search::found_for;
use crate::state::App;
use axum::extract::State;
use farmwork::left_out::{LeftOut, left_out};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn find(State(app): State<App>) -> Page {
    from_plan(
        &app,
        "Looking for the prices at which other materials come in",
        "/plan/left-out",
        left_out,
        |known, found| known.left_out = Some(found),
    )
    .await
}

pub(crate) async fn show(State(app): State<App>) -> Result<Markup, Page> {
    let inside = app.clone();
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let known = inside.known();
        let found = found_for(&known.left_out, made.stored.id);
        let body = html! {
            div {
                p.meta { a href="/plan" { "Plan for " (farm.season) } }
                h1 { "Materials left out" }
                p.lede { "For each material that is for sale and not in the plan: the price at which a plan with it is no dearer. Each price is found by planning the whole farm again." }
                @match found {
                    None => form method="post" action="/plan/left-out" { button { "Find the prices" } },
                    Some(found) if found.is_empty() => p { "Every material for sale is in the plan." },
                    Some(found) => (table(found, &farm.currency)),
                }
                p.meta { "All packs of a material are taken to fall in price alike. What a plan costs here counts money and what shortages and surpluses weigh, so a price holds for this plan and these weights." }
            }
        };
        Ok(page(&farm, "Plan", "Materials left out", &body))
    })
    .await
}

fn table(found: &[LeftOut], currency: &str) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr {
                    th.l scope="col" { "Material" }
                    th.l scope="col" { "Pack" }
                    th scope="col" { "price now" small { (currency) } }
                    th scope="col" { "comes in at" small { (currency) } }
                    th scope="col" { "cheaper by" }
                    th.l scope="col" { "then it would be" }
                } }
                tbody { @for one in found {
                    tr {
                        td.l { (one.material) }
                        td.l { (one.pack) }
                        td { (words::cents(one.price)) }
                        @match one.would_enter_at {
                            Some(at) => {
                                td { (words::cents(at)) }
                                td { @if let Some(by) = one.cheaper_by() { (plain(by, 2)) " %" } }
                                td.l { (words::lb(one.lb)) " on " (one.blocks) @if one.blocks == 1 { " block" } @else { " blocks" } }
                            }
                            None => td.l colspan="3" { "not taken even as a gift" }
                        }
                    }
                } }
            }
        }
    }
}
