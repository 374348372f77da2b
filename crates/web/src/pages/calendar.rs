//! When each material goes on: what is late first, then week by week, or block by block.

use super::order::plan_of;
use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::page;
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use agronomy::working::Source;
use axum::extract::State as Shared;
use axum::response::Response;
use farmbook::Book;
use farmwork::calendar::{Application, Bound, Calendar, State, ical};
use farmwork::{planning::Made, words};
use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use maud::{Markup, html};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

fn of(book: &Book) -> Result<(Arc<Made>, Arc<Calendar>), Page> {
    let made = plan_of(book)?;
    let all = at_hand::calendar(book, &made)?;
    Ok((made, all))
}

pub(crate) async fn show(Shared(app): Shared<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let (made, all) = of(book)?;
        let query = Fields(query);
        let by_block = query.text("by") == "block";
        let leaf = leaf_of(&all, by_block, &query);
        let body = html! {
            div {
                h1 { "Calendar" }
                p.lede { (opening(&all)) }
                @if !made.out_of_date.is_empty() {
                    div.first { p { b { "Out of date. " } "Since the plan was made: " (words::and(&made.out_of_date)) ". " a href="/plan" { "Make it again" } "." } }
                }
                p.noprint {
                    a.btn href="/calendar.ics" { "To a phone’s calendar" } " "
                    @if by_block { a.btn.q href="/calendar" { "By week" } }
                    @else { a.btn.q href="/calendar?by=block" { "By block" } }
                    " " a.btn.q href="/spreaders" { "Spreaders and buckets" }
                }
                (leaf.head())
                @if by_block { (blocks(&leaf.rows)) } @else { (urgent(&leaf.rows)) (weeks(&leaf.rows)) (undated(&leaf.rows)) }
                (leaf.foot())
            }
            aside {
                h3 { "Wherever you spread" }
                ul {
                    @for c in &all.conditions { li { (c.text) " " (source(&c.source)) } }
                }
                p { a href="/ground/setbacks" { "How far from water and wells" } br; a href="/ground/warmth" { "How warm the soil is" } }
                h3 { "On a phone" }
                p { "The file holds a day for each job. Take it in again after a change: the days that moved are moved, and nothing stands there twice." }
            }
        };
        Ok(page(&farm, "Jobs", "Calendar", &body))
    })
    .await
}

/// What is to be done, in two sentences.
fn opening(all: &Calendar) -> String {
    let count = |state: State| all.in_state(state).count();
    let jobs = |n: usize| format!("{n} {}", if n == 1 { "job" } else { "jobs" });
    let mut says = Vec::new();
    for (state, words) in [
        (State::Shut, "too late and need another way"),
        (State::Late, "late"),
        (State::Open, "can go on now"),
        (State::NotYet, "still to come"),
        (State::Missing, "without a day"),
        (State::Done, "done"),
    ] {
        let n = count(state);
        if n > 0 {
            says.push(format!("{} {words}", jobs(n)));
        }
    }
    if says.is_empty() {
        "The plan spreads nothing.".to_owned()
    } else {
        format!("{}: {}.", all.today, words::and(&says))
    }
}

/// The jobs in the order in which the page shows them, as far as one leaf holds.
fn leaf_of<'a>(all: &'a Calendar, by_block: bool, f: &Fields) -> Leaf<'static, &'a Application> {
    let mut jobs: Vec<&Application> = all.applications.iter().collect();
    if by_block {
        // What is late comes first, the rest as it falls, each block in one piece.
        let mut first: HashMap<i64, (State, usize)> = HashMap::new();
        for (at, a) in jobs.iter().enumerate() {
            let here = first.entry(a.block_id).or_insert((a.state, at));
            here.0 = here.0.min(a.state);
        }
        jobs.sort_by_key(|a| first.get(&a.block_id).copied());
    } else {
        jobs.sort_by_key(|a| match a.state {
            State::Shut => 0,
            State::Late => 1,
            State::Missing => 3,
            _ => 2,
        });
    }
    let list = List {
        path: "/calendar",
        key: "",
        rows: "jobs",
        keep: &["by"],
    };
    Leaf::of(list, f, jobs, |a| {
        format!("{} {} {}", a.block, a.material, a.pass.name())
    })
}

fn in_state<'a>(all: &[&'a Application], state: State) -> impl Iterator<Item = &'a Application> {
    all.iter().copied().filter(move |a| a.state == state)
}

/// What is late, with the ways out.
fn urgent(all: &[&Application]) -> Markup {
    let late: Vec<&Application> = in_state(all, State::Shut)
        .chain(in_state(all, State::Late))
        .collect();
    html! {
        @if !late.is_empty() {
            h2 { "Late" }
            @for a in late {
                div.matter.first {
                    h2 { (job(a)) }
                    p { b { (a.state.name()) ". " } (a.says) (strip(a)) }
                    @if !a.ways.is_empty() { ul { @for way in &a.ways { li { (way) } } } }
                    (reasons(a))
                }
            }
        }
    }
}

/// The Monday of the week of a day.
fn monday(day: Date) -> Date {
    let back = i64::from(day.weekday().since(Weekday::Monday));
    day.checked_sub(back.days()).unwrap_or(day)
}

fn weeks(all: &[&Application]) -> Markup {
    let mut weeks: BTreeMap<Date, Vec<&Application>> = BTreeMap::new();
    for a in all {
        if let Some(on) = a.on.filter(|_| a.state != State::Late) {
            weeks.entry(monday(on)).or_default().push(a);
        }
    }
    html! {
        @for (week, here) in &weeks {
            h2 { "Week of " (week) }
            (table(here))
        }
    }
}

fn blocks(all: &[&Application]) -> Markup {
    html! {
        @for here in all.chunk_by(|a, b| a.block_id == b.block_id) {
            h2 { a href={ "/jobs/" (here[0].block_id) } { (here[0].block) } }
            (table(here))
        }
    }
}

fn table(here: &[&Application]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Day" }
                    th.l scope="col" { "Job" }
                    th.l scope="col" { "From" }
                    th.l scope="col" { "By" }
                    th.l scope="col" { "How it stands" }
                } }
                tbody {
                    @for a in here {
                        tr {
                            td.l.tight data-label="Day" { @match a.on { Some(day) => b { (day) }, None => "–" } }
                            td.l data-label="Job" { (job(a)) small { (a.pass.name()) } }
                            td.l.tight data-label="From" { @if let Some(w) = &a.window { (w.earliest.day) } }
                            td.l.tight data-label="By" { @if let Some(w) = &a.window { (w.latest.day) } }
                            td.l data-label="How it stands" {
                                b { (a.state.name()) } ". " (a.says)
                                (strip(a))
                                @for way in &a.ways { small { (way) } }
                                (reasons(a))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What cannot be told before a day is set.
fn undated(all: &[&Application]) -> Markup {
    let missing: Vec<&Application> = in_state(all, State::Missing).collect();
    html! {
        @if !missing.is_empty() {
            h2 { "Without a day" }
            ul {
                @for a in missing {
                    li { (job(a)) ". " (a.says) (strip(a)) " " a href={ "/ground/" (a.block_id) } { "Set it" } "." }
                }
            }
        }
    }
}

/// The ground that gets none.
fn strip(a: &Application) -> Markup {
    html! { @if let Some(near) = &a.near { small.strip { b { (near.says()) } } } }
}

fn job(a: &Application) -> Markup {
    html! {
        a href={ "/job-sheets.pdf?job=" (a.key) } { (a.material) " on " (a.block) } ", " span.num { (words::lb(a.lb)) }
    }
}

/// The reason and its source beside each day, to unfold.
fn reasons(a: &Application) -> Markup {
    let bound = |name: &str, b: &Bound| {
        html! {
            tr { td { (name) } td { (b.day) } td { (b.why) } td { (source(&b.source)) } }
        }
    };
    html! {
        @if let Some(w) = &a.window {
            details {
                summary { "Why these days" }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.work.num {
                        tbody {
                            (bound("from", &w.earliest))
                            (bound("best", &w.best))
                            (bound("by", &w.latest))
                            @if let Some(stop) = &w.stop { (bound("never after", stop)) }
                        }
                    }
                }
                @for n in &w.notes { p { (n.text) " " (source(&n.source)) } }
            }
        }
    }
}

fn source(of: &Source) -> Markup {
    html! {
        small { "(" (of.text) @if of.evidence.unconfirmed() { "; unconfirmed" } ")" }
    }
}

pub(crate) async fn file(Shared(app): Shared<App>) -> Result<Response, Page> {
    let text = app.with(|book| Ok(ical::file(&of(book)?.1))).await?;
    let kind = "text/calendar; charset=utf-8";
    Ok(download("spreading.ics", kind, text.into()))
}
