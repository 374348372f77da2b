//! Three years on: where each block is heading.

use super::super::order::plan_of;
use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use farmwork::years::{Course, Reach, YEARS};
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let all = at_hand::look_ahead(book, &made)?;
        let list = List { path: "/plan/years", key: "", rows: "blocks", keep: &[] };
        let leaf = Leaf::of(list, &Fields(query), all.iter().collect(), |b| format!("{} {}", b.block, b.crop));
        let body = html! {
            div {
                p.meta { a href="/plan" { "Plan for " (farm.season) } }
                h1 { "Three years on" }
                p.lede { "Where the ground is heading if the same crop came each year, fed by this plan now and by the same tables after." }
            }
            aside {
                h3 { "How sure" }
                p { "A guide, not a forecast. The smaller figures are the ends between which a value likely lies: they carry the doubt of the test and what is published of how far a pound moves it. Let the next test say." }
            }
            div.span {
                (leaf.head())
                @for block in &leaf.rows {
                    h2 { a href={ "/plan/" (block.id) } { (block.block) } }
                    p.meta { (block.crop) }
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr {
                                th.l scope="col" { "" }
                                th scope="col" { "now" }
                                @for year in 1..=YEARS { th scope="col" { "after " (farm.season + year as i64 - 1) } }
                                th.l scope="col" { "Heading" }
                            } }
                            tbody { @for course in &block.courses { (row(course)) } }
                        }
                    }
                }
                (leaf.foot())
            }
        };
        Ok(page(&farm, "Plan", "Three years on", &body))
    })
    .await
}

fn row(course: &Course) -> Markup {
    html! {
        tr {
            td.l { b { (course.analyte.name()) } small { (course.unit) } }
            @for i in 0..=YEARS {
                td { @match course.at.get(i) { Some(reach) => (value(reach)), None => "·" } }
            }
            td.l { (course.says) }
        }
    }
}

fn value(reach: &Reach) -> Markup {
    html! { (plain(reach.value, 2)) small { (plain(reach.low, 2)) " to " (plain(reach.high, 2)) } }
}
