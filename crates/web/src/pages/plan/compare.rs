//! Two plans of the season side by side.

use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::parts::choose::choice;
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use farmwork::side_by_side::{self, Row};
use farmwork::words;
use maud::{Markup, html};

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let plans = book.plans_made(farm.season)?;
        let f = Fields(query);
        let wanted = |key: &str, usual: usize| -> Option<i64> {
            let made = match f.maybe(key) {
                Some(id) => plans.iter().find(|p| p.0.to_string() == id),
                None => plans.get(usual),
            };
            made.map(|(id, _)| *id)
        };
        let pair = wanted("new", 0).zip(wanted("old", 1));
        let body = html! {
            div {
                p.meta { a href="/plan" { "Plan for " (farm.season) } }
                h1 { "Two plans side by side" }
                @if plans.len() < 2 { p.lede { "There is one plan only so far. Each time you make the plan the one before is kept, and the two can be compared here." } }
                @else {
                    form method="get" action="/plan/compare" {
                        div.row {
                            (choice("new", "This plan", options(&plans), &pair.map(|p| p.0.to_string()).unwrap_or_default()))
                            (choice("old", "against", options(&plans), &pair.map(|p| p.1.to_string()).unwrap_or_default()))
                            div.field { button.q { "Compare" } }
                        }
                    }
                }
            }
            @if let Some((new, old)) = pair {
                @let (new, old) = (at_hand::numbered(book, new)?, at_hand::numbered(book, old)?);
                @let found = side_by_side::compare(&new, &old);
                div.span {
                    h2 { "What each comes to" }
                    (facts(&found.facts))
                    h2 { "Amounts that differ" }
                    @if found.rows.is_empty() { p { "Every amount is the same." } }
                    @else { (rows(found.rows, &f)) }
                }
            }
        };
        Ok(page(&farm, "Plan", "Two plans", &body))
    })
    .await
}

fn options(plans: &[(i64, String)]) -> Vec<(String, String)> {
    plans
        .iter()
        .map(|(id, made_at)| {
            let at = made_at.get(..16).unwrap_or(made_at).replace('T', " ");
            (id.to_string(), format!("No. {id}, made {at}"))
        })
        .collect()
}

fn facts(all: &[(String, String, String)]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
            thead { tr { th.l scope="col" { "" } th scope="col" { "this" } th scope="col" { "against" } } }
            tbody { @for (what, new, old) in all { tr { td.l { (what) } td { (new) } td { (old) } } } }
        } }
    }
}

fn rows(all: Vec<Row>, f: &Fields) -> Markup {
    let list = List {
        path: "/plan/compare",
        key: "",
        rows: "amounts",
        keep: &["new", "old"],
    };
    let leaf = Leaf::of(list, f, all, |r| {
        format!("{} {} {}", r.block, r.material, r.pass)
    });
    html! {
        (leaf.head())
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr {
                    th.l scope="col" { "Block" } th.l scope="col" { "Material" } th.l scope="col" { "Pass" }
                    th scope="col" { "this" } th scope="col" { "against" } th scope="col" { "difference" }
                } }
                tbody { @for row in &leaf.rows {
                    tr {
                        td.l { (row.block) } td.l { (row.material) } td.l { (row.pass) }
                        td { (words::lb(row.new_lb)) } td { (words::lb(row.old_lb)) }
                        td { @if row.new_lb >= row.old_lb { "+" } @else { "−" } (words::lb((row.new_lb - row.old_lb).abs())) }
                    }
                } }
            }
        }
        (leaf.foot())
    }
}
