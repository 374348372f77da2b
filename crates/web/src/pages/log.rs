//! The record: what was spread and carried off, and what is still to do.

mod form;
mod harvest;

pub(crate) use form::{blank, keep};
pub(crate) use harvest::{correct as correct_harvest, keep as keep_harvest, one as one_harvest};

use crate::ask::Asked;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, said, wrong};
use crate::state::App;
use agronomy::material::{self, Pass};
use axum::extract::State as Shared;
use farmbook::{Book, Id, Spread};
use farmwork::calendar::{self, Application, State};
use farmwork::record::beside;
use farmwork::{planning, words};
use jiff::ZonedDateTime;
use jiff::civil::Date;
use maud::{Markup, html};
use std::collections::HashMap;

pub(crate) fn today() -> Date {
    ZonedDateTime::now().date()
}

pub(crate) async fn list(Shared(app): Shared<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "kept" => Some("Written down."),
            "corrected" => Some("The correction stands beside the entry, and both are kept."),
            "harvest" => Some("The harvest is written down."),
            "harvest-corrected" => {
                Some("The correction stands beside the harvest, and both are kept.")
            }
            _ => None,
        };
        whole(book, done, &Fields::default(), None)
    })
    .await
}

/// The jobs of the plan by their days; none before the first plan.
fn jobs(book: &Book) -> Result<Vec<Application>, Page> {
    let Some(made) = planning::latest(book)? else {
        return Ok(Vec::new());
    };
    Ok(calendar::of_plan(book, &made, today())?.applications)
}

pub(super) fn whole(
    book: &Book,
    done: Option<&str>,
    f: &Fields,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let jobs = jobs(book)?;
    let all = book.all_spreads()?;
    let names: HashMap<Id, String> = book
        .all_blocks()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let body = html! {
        div {
            h1 { "Log" }
            p.lede { (opening(&jobs, &all)) }
            (said(done))
            (wrong(problem))
            div #waiting role="status" {}
            p.noprint {
                a.btn href="/log/new" { "Write down a job" } " "
                a.btn.q href="/stock" { "In the shed" } " "
                a.btn.q href="/record" { "For the inspector" }
            }
            (to_do(&jobs))
            h2 { "Written down" }
            (entries(&all, &names))
            (harvest::part(book, &names, f)?)
        }
        aside {
            h3 { "What is kept" }
            p { "Nothing is overwritten. A correction takes the place of an entry, and both stay in the record." }
            p { "What is in the shed falls by what is written down, and the plan is made again around it." }
            p { "One entry for each lot: when a bag runs out in the middle of a block, write the rest down with the next lot." }
        }
    };
    Ok(page_with(&["log.js"], &farm, "Log", "Log", &body))
}

fn opening(jobs: &[Application], all: &[Spread]) -> String {
    let done = jobs.iter().filter(|a| a.state == State::Done).count();
    let left = jobs.len() - done;
    let now = jobs
        .iter()
        .filter(|a| matches!(a.state, State::Open | State::Late))
        .count();
    let plan = match (jobs.len(), left) {
        (0, _) => {
            "There is no plan with jobs yet; what you spread can be written down all the same."
                .to_owned()
        }
        (_, 0) => "Every job of the plan is done.".to_owned(),
        _ => format!(
            "{left} of the plan’s {} jobs are still to do, {now} of them can go on now.",
            jobs.len()
        ),
    };
    match all.last() {
        None => plan,
        Some(last) => format!("{plan} The last entry is of {}.", last.day),
    }
}

pub(crate) fn material_name(key: &str) -> String {
    material::find(key).map_or_else(|| key.to_owned(), |m| m.name.clone())
}

fn to_do(jobs: &[Application]) -> Markup {
    let left: Vec<&Application> = jobs.iter().filter(|a| a.state != State::Done).collect();
    html! {
        @if !left.is_empty() {
            h2 { "Still to do" }
            p.meta.noprint { "Follow a job to write it down." }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Job" } th scope="col" { "Amount" } th.l scope="col" { "Day" } } }
                tbody { @for a in left { tr {
                    td.l { a href={ "/log/new?job=" (a.key) } { b { (a.block) } } small { (a.material) ", " (a.pass.name().to_lowercase()) } }
                    td { (words::lb(a.lb)) @if a.spread.last_on.is_some() { small { (a.how_far()) } } }
                    td.l { @if let Some(day) = a.on { (day) } small { (a.state.name()) } }
                } } }
            } }
        }
    }
}

fn entries(all: &[Spread], names: &HashMap<Id, String>) -> Markup {
    let stands = |s: &Spread| beside::successor(all, s).is_none();
    html! {
        @if all.is_empty() { p { "Nothing yet." } }
        @else {
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "Where" } th.l scope="col" { "What" } th scope="col" { "Amount" } th.l scope="col" { "Who, weather" } th.l scope="col" { "Entry" } } }
                tbody { @for s in all.iter().rev() { tr {
                    td.l { (s.day) }
                    td.l { b { (names.get(&s.block).map_or("", String::as_str)) } @if !s.beds.is_empty() { small { "beds " (s.beds) } } }
                    td.l { (material_name(&s.material)) small {
                        @if !s.lot.is_empty() { "lot " (s.lot) } @else { "no lot" }
                        @if let Some(pass) = Pass::from_key(&s.pass) { ", " (pass.name().to_lowercase()) }
                        @if !s.spreader.is_empty() { ", " (s.spreader) }
                    } }
                    td { @if stands(s) { (words::weighed(s.weight)) } @else { del { (words::weighed(s.weight)) } } }
                    td.l { (s.person) small { (s.weather) } @if !s.note.is_empty() { small { (s.note) } } }
                    td.l { "No. " (s.id) small { (beside::how(all, s)) }
                        @if stands(s) && !s.takes_back() { a.noprint href={ "/log/new?entry=" (s.id) } aria-label={ "Correct entry " (s.id) } { "Correct" } }
                    }
                } } }
            } }
        }
    }
}
