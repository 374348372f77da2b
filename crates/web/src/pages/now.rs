//! The farm at a glance: what needs attention, this season beside the last, a map of any value.

mod map;

use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::state::App;
use axum::extract::State;
use axum::response::Redirect;
use farmwork::glance::{Attention, Glance, One};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

/// So many of one matter are listed; the rest is a count.
const LISTED: usize = 8;

/// Where the farm’s name leads: to what needs attention once there is ground.
pub(crate) async fn first(State(app): State<App>) -> Result<Redirect, Page> {
    app.with(|book| {
        let to = if book.blocks()?.is_empty() {
            "/ground"
        } else {
            "/now"
        };
        Ok(Redirect::to(to))
    })
    .await
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let of = map::Value::from_key(Fields(query).text("map"));
        let all = at_hand::needs(book)?;
        let glance = at_hand::glance(book)?;
        let outlines = book.outlines()?;
        let body = html! {
            div {
                h1 { "The farm now" }
                p.lede { (opening(&glance)) }
                @for a in &glance.attention { (matter(a)) }
            }
            aside {
                @if let Some((day, block)) = &glance.next_sampling {
                    h3 { "Next sampling" }
                    p { (block) ": due by " (day) "." }
                }
                h3 { "Where to look" }
                p { a href="/reading" { "What the tests say" } }
                p { a href="/years" { "The years: whether the soil moved" } }
            }
            div.span {
                (map::drawn(&all, &outlines, of))
                (beside(&glance, farm.season))
            }
        };
        Ok(page(&farm, "", "The farm now", &body))
    })
    .await
}

fn opening(g: &Glance) -> String {
    match g.attention.first() {
        None => "Nothing waits: every block has a crop and a test that is fresh enough, and no job is late.".to_owned(),
        Some(first) => {
            let more = match g.attention.len() - 1 {
                0 => "Nothing else waits.".to_owned(),
                1 => "One other matter follows.".to_owned(),
                n => format!(
                    "{} other matters follow, the most urgent first.",
                    words::capital(&words::count(n))
                ),
            };
            format!("{} {more}", first.matter.says(first.what.len()))
        }
    }
}

fn matter(a: &Attention) -> Markup {
    let (next, address) = a.matter.next();
    html! {
        section.matter {
            h2 { (a.matter.heading()) }
            p { (a.matter.why()) }
            ul { @for one in a.what.iter().take(LISTED) { li { (named(one)) } } }
            @if a.what.len() > LISTED { p.meta { "and " (a.what.len() - LISTED) " more" } }
            p.noprint { a.btn.q href=(address) { (next) } }
        }
    }
}

fn named(one: &One) -> Markup {
    html! {
        @match one.block {
            Some(id) => { a href={ "/reading/" (id) } { (one.name) } }
            None => { (one.name) }
        }
        @if !one.reason.is_empty() { ": " (one.reason) }
    }
}

fn beside(g: &Glance, season: i64) -> Markup {
    html! {
        h2 { "This season and the last" }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "" } th scope="col" { (season) } th scope="col" { (season - 1) } } }
                tbody {
                    @for row in &g.beside {
                        tr { td.l { (row.what) } td { (plain(row.this, 4)) } td { (plain(row.last, 4)) } }
                    }
                }
            }
        }
        p.meta { "Spread as written down in the log: all that the materials hold, available or not." }
    }
}
