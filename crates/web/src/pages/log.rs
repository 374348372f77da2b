//! The record: what was spread and carried off, and what is still to do.

mod form;
mod harvest;

pub(crate) use form::{blank, keep};
pub(crate) use harvest::{correct as correct_harvest, keep as keep_harvest, one as one_harvest};

use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, said, wrong};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use agronomy::material::{self, Pass};
use axum::extract::State as Shared;
use farmbook::{Book, Id, Spread};
use farmwork::calendar::{Application, Calendar, State};
use farmwork::record::beside;
use farmwork::words;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use maud::{Markup, html};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

pub(crate) fn today() -> Date {
    ZonedDateTime::now().date()
}

pub(crate) async fn list(Shared(app): Shared<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = match query.text("done") {
            "kept" => Some("Written down."),
            "corrected" => Some("The correction stands beside the entry, and both are kept."),
            "harvest" => Some("The harvest is written down."),
            "harvest-corrected" => {
                Some("The correction stands beside the harvest, and both are kept.")
            }
            _ => None,
        };
        whole(book, done, &query, None)
    })
    .await
}

/// The jobs of the plan by their days; none before the first plan.
fn calendar(book: &Book) -> Result<Option<Arc<Calendar>>, Page> {
    let made = at_hand::plan(book)?;
    made.map(|made| at_hand::calendar(book, &made)).transpose()
}

fn jobs(calendar: Option<&Calendar>) -> &[Application] {
    calendar.map_or(&[], |c| &c.applications)
}

pub(super) fn whole(
    book: &Book,
    done: Option<&str>,
    f: &Fields,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let calendar = calendar(book)?;
    let jobs = jobs(calendar.as_deref());
    let seasons = seasons(book)?;
    let season = shown(f, farm.season, &seasons);
    let names: HashMap<Id, String> = book
        .all_blocks()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let body = html! {
        div {
            h1 { "Log" }
            p.lede { (opening(jobs, book.newest_spread()?.as_ref())) }
            (said(done))
            (wrong(problem))
            div #waiting role="status" {}
            p.noprint {
                a.btn href="/log/new" { "Write down a job" } " "
                a.btn.q href="/stock" { "In the shed" } " "
                a.btn.q href="/record" { "For the inspector" } " "
                a.btn.q href="/costs" { "Costs" } " "
                a.btn.q href="/spreaders" { "Spreaders and buckets" }
            }
            (to_do(jobs, f))
            h2 { "Written down" @if seasons.len() > 1 { " for " (season) } }
            (other_seasons(&seasons, season))
            (entries(book, season, &names, f)?)
            (harvest::part(book, season, &names, f)?)
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

/// The fields of the address that say which entries are shown.
const KEEP: &[&str] = &["season"];

/// The seasons that anything was written down for, newest first.
fn seasons(book: &Book) -> Result<Vec<i64>, Page> {
    let all: BTreeSet<i64> = book
        .spread_seasons()?
        .into_iter()
        .chain(book.harvest_seasons()?)
        .collect();
    Ok(all.into_iter().rev().collect())
}

/// The season that is shown: the one asked for, else the farm’s, else the newest that has entries.
fn shown(f: &Fields, of_farm: i64, seasons: &[i64]) -> i64 {
    let asked = f.text("season").parse().ok();
    let known = |s: &i64| seasons.contains(s);
    asked
        .filter(known)
        .or(Some(of_farm).filter(known))
        .or(seasons.first().copied())
        .unwrap_or(of_farm)
}

fn other_seasons(seasons: &[i64], shown: i64) -> Markup {
    html! {
        @if seasons.len() > 1 {
            nav.leaves.noprint aria-label="Seasons" {
                @for season in seasons {
                    @if *season == shown { b aria-current="page" { (season) } } @else { a href={ "/log?season=" (season) } { (season) } }
                    " "
                }
            }
        }
    }
}

fn opening(jobs: &[Application], newest: Option<&Spread>) -> String {
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
    match newest {
        None => plan,
        Some(last) => format!("{plan} The last entry is of {}.", last.day),
    }
}

pub(crate) fn material_name(key: &str) -> String {
    material::find(key).map_or_else(|| key.to_owned(), |m| m.name.clone())
}

fn to_do(jobs: &[Application], f: &Fields) -> Markup {
    let list = List {
        path: "/log",
        key: "-jobs",
        rows: "jobs",
        keep: KEEP,
    };
    let left: Vec<&Application> = jobs.iter().filter(|a| a.state != State::Done).collect();
    let leaf = Leaf::of(list, f, left, |a| {
        format!("{} {} {}", a.block, a.material, a.pass.name())
    });
    html! {
        @if jobs.iter().any(|a| a.state != State::Done) {
            h2 { "Still to do" }
            p.meta.noprint { "Follow a job to write it down." }
            (leaf.head())
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Job" } th scope="col" { "Amount" } th.l scope="col" { "Day" } } }
                tbody { @for a in &leaf.rows { tr {
                    td.l { a href={ "/log/new?job=" (a.key) } { b { (a.block) } } small { (a.material) ", " (a.pass.name().to_lowercase()) } @if let Some(near) = &a.near { small { b { (near.says()) } } } }
                    td { (words::lb(a.lb)) @if a.spread.last_on.is_some() { small { (a.how_far()) } } }
                    td.l { @if let Some(day) = a.on { (day) } small { (a.state.name()) } }
                } } }
            } }
            (leaf.foot())
        }
    }
}

fn entries(
    book: &Book,
    season: i64,
    names: &HashMap<Id, String>,
    f: &Fields,
) -> Result<Markup, Page> {
    let mut all = book.all_spreads_in(season)?;
    all.reverse();
    let none = all.is_empty();
    let corrections = book.spread_corrections()?;
    let stands = |s: &Spread| !corrections.contains_key(&s.id);
    let list = List {
        path: "/log",
        key: "",
        rows: "entries",
        keep: KEEP,
    };
    let leaf = Leaf::of(list, f, all, |s| {
        format!(
            "{} {} {} {} {} {} {}",
            s.day,
            names.get(&s.block).map_or("", String::as_str),
            material_name(&s.material),
            s.lot,
            s.person,
            s.note,
            s.id
        )
    });
    Ok(html! {
        @if none { p { "Nothing yet." } }
        @else {
            (leaf.head())
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "Where" } th.l scope="col" { "What" } th scope="col" { "Amount" } th.l scope="col" { "Who, weather" } th.l scope="col" { "Entry" } } }
                tbody { @for s in &leaf.rows { tr {
                    td.l { (s.day) }
                    td.l { b { (names.get(&s.block).map_or("", String::as_str)) } @if !s.beds.is_empty() { small { "beds " (s.beds) } } }
                    td.l { (material_name(&s.material)) small {
                        @if !s.lot.is_empty() { "lot " (s.lot) } @else { "no lot" }
                        @if let Some(pass) = Pass::from_key(&s.pass) { ", " (pass.name().to_lowercase()) }
                        @if !s.spreader.is_empty() { ", " (s.spreader) }
                    } }
                    td { @if stands(s) { (words::weighed(s.weight)) } @else { del { (words::weighed(s.weight)) } } }
                    td.l { (s.person) small { (s.weather) } @if !s.note.is_empty() { small { (s.note) } } }
                    td.l { "No. " (s.id) small { (beside::how(&corrections, s)) }
                        @if stands(s) && !s.takes_back() { a.noprint href={ "/log/new?entry=" (s.id) } aria-label={ "Correct entry " (s.id) } { "Correct" } }
                    }
                } } }
            } }
            (leaf.foot())
        }
    })
}
