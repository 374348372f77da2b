//! For the adviser: a page a block with all that is known of it and all that is meant to go on it.

use super::log::today;
use super::order::as_pdf;
use crate::ask::{Asked, At};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, page_with, print_button};
use crate::parts::working::{cautions, mark};
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmwork::adviser::{self, AccountLine, AdviserSheet, NeedLine, PlanLine, TestTable};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

fn gone() -> Page {
    Page::Missing("There is no such block; it may have been taken out.".to_owned())
}

pub(crate) async fn list(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| {
        let farm = book.farm()?;
        let blocks = book.blocks()?;
        let body = html! {
            div {
                h1 { "For the adviser" }
                p.lede { "One page a block: its soil tests side by side, what it needs and where that is printed, what the plan gives, and what went on." }
                @if blocks.is_empty() { p { "There is no block yet." } p { a.btn href="/ground/new" { "Add a block" } } }
                @else {
                    p { a.btn href="/adviser.pdf" { "All blocks as a PDF" } " " a.btn.q href="/nutrient-plan" { "Nutrient management plan" } }
                    ul.plainly { @for b in &blocks { li { a href={ "/adviser/" (b.id) } { b { (b.name) } } } } }
                }
            }
            aside {
                h3 { "Before you send it" }
                p { "Set the crop, the yield and the days of each block under Ground: what is not set stands as such on the page." }
                p { "The record of what came in and went on is " a href="/record" { "a page of its own" } "." }
            }
        };
        Ok(page(&farm, "Plan", "For the adviser", &body))
    })
    .await
}

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        book.block(id).map_err(|_| gone())?;
        let s = at_hand::adviser_sheet(book, id)?;
        let body = html! {
            div.span {
                p.meta { a href="/adviser" { "For the adviser" } }
                h1 { (s.block) }
                p.lede { (s.opening) }
                p.noprint { a.btn href={ "/adviser.pdf?block=" (id) } { "As a PDF" } " " (print_button()) }
                dl.facts {
                    dt { "Ground" } dd.num { (words::capital(&s.kind)) ", " (s.area) }
                    dt { "Soil" } dd { (words::capital(&s.soil)) }
                    dt { "Crop" } dd { @match &s.crop { Some(c) => (c), None => "none set" } @if !s.days.is_empty() { ", " (s.days) } }
                    dt { "Yield goal" } dd.num { (words::capital(&s.yield_goal)) @if let Some(of) = &s.yield_source { " " small { (of.text) " " (mark(of)) } } }
                }
                (tests(&s.tests))
                (needs(&s.needs))
                (plan(&s))
                (account(&s.account))
                h2 { "Lime and acidity" }
                p { @if s.lime.is_empty() { "No soil test tells it." } @else { (s.lime) } }
                h2 { "What went on this season" }
                @if s.spread.is_empty() { p { "Nothing yet." } } @else { ul { @for l in &s.spread { li.num { (l) } } } }
                h2 { "Not sure" }
                @if s.doubts.is_empty() { p { "Nothing stands out." } } @else { ul.why { @for d in &s.doubts { li { (d) } } } }
                (working(&s))
                (cautions(&s.cautions))
            }
        };
        Ok(page_with(&["print.js"], &farm, "Plan", &s.block, &body))
    })
    .await
}

/// A table that may be wider than a phone.
fn wide(label: &str, table: &Markup) -> Markup {
    html! { div.scroll tabindex="0" role="region" aria-label={ (label) ", a table that may scroll sideways" } { (table) } }
}

fn tests(t: &TestTable) -> Markup {
    html! {
        h2 { "Soil tests" }
        @if t.columns.is_empty() { p { "No soil test is matched to this block." } p.noprint { a href="/lab" { "Load a report" } } }
        @else {
            (wide("Soil tests", &html! { table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "" }
                    th.l scope="col" { "Method" }
                    @for c in &t.columns { th scope="col" {
                        (c.day)
                        small { @if c.lab.is_empty() { "lab not named" } @else { (c.lab) } @if c.boxes > 1 { ", mean of " (c.boxes) " boxes" } @if !c.sampled { ", day of the report" } }
                    } }
                    th.l scope="col" { "The newest means" }
                    th scope="col" { "Chance" }
                } }
                tbody { @for r in &t.rows { tr {
                    td.l { (r.name) @if !r.unit.is_empty() { small { (r.unit) } } }
                    td.l data-label="Method" { @if !r.method.is_empty() { small { (r.method) } } }
                    @for (v, c) in r.values.iter().zip(&t.columns) { td data-label=(c.day) { @if v.is_empty() { "·" } @else { (v) } } }
                    td.l data-label="It means" { (r.means) }
                    td data-label="Chance" { (r.chance) }
                } } }
            } }))
            @if t.older > 0 { p.meta { (t.older) " older, on the page of its years." } }
            @for m in &t.moved { p { (m) } }
        }
    }
}

fn amount(lb: f64) -> String {
    plain(if lb.abs() >= 10.0 { lb.round() } else { lb }, 3)
}

fn needs(all: &[NeedLine]) -> Markup {
    html! {
        h2 { "What the crop and the soil ask for" }
        @if all.is_empty() { p { "Nothing can be said before a crop is set." } }
        @else {
            (wide("Needs", &html! { table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Nutrient" small { "lb/acre" } }
                    th scope="col" { "Asked" }
                    th.l scope="col" { "Less credits" }
                    th scope="col" { "Need" }
                    th scope="col" { "Likely" }
                    th.l scope="col" { "Rests on" }
                } }
                tbody { @for n in all { tr {
                    td.l { b { (n.nutrient) } }
                    td data-label="Asked" { @match n.asked { Some(lb) => (amount(lb)), None => "no rate" } }
                    td.l data-label="Less credits" { @if n.credits.is_empty() { "·" } @for (what, lb) in &n.credits { div { (what) " " (amount(*lb)) } } }
                    td data-label="Need" { @if n.asked.is_some() { b { (amount(n.need)) } } @else { "·" } }
                    td data-label="Likely" { @match n.range.filter(|(low, high)| amount(*low) != amount(*high)) { Some((low, high)) => { (amount(low)) " to " (amount(high)) }, None => "·" } }
                    td.l data-label="Rests on" {
                        (n.basis)
                        @if !n.later.is_empty() { "; later " (n.later) }
                        @for s in &n.sources { small { (s.text) " " (mark(s)) } }
                    }
                } } }
            } }))
        }
    }
}

fn plan(s: &AdviserSheet) -> Markup {
    html! {
        h2 { "What the plan gives" }
        @if s.plan_of.is_empty() { p { "There is no plan for this season yet." } }
        @else if s.plan.is_empty() { p { "Nothing goes on this block by the plan of " (s.plan_of) "." } }
        @else {
            (wide("Plan", &html! { table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Material" }
                    th.l scope="col" { "When and how" }
                    th scope="col" { "lb" }
                    th scope="col" { "lb/acre" }
                    th scope="col" { "lb/1,000 ft²" }
                    th.l scope="col" { "How it stands" }
                } }
                tbody { @for l in &s.plan { (plan_line(l)) } }
            } }))
            p.meta { "By the plan of " (s.plan_of) "." }
        }
    }
}

fn plan_line(l: &PlanLine) -> Markup {
    html! { tr {
        td.l { b { (l.material) } small { (l.analysis) } }
        td.l data-label="When and how" { (l.when) small { (l.how) } }
        td data-label="lb" { b { (plain(l.lb, 3)) } }
        td data-label="lb/acre" { (plain(l.lb_per_acre, 3)) }
        td data-label="lb/1,000 ft²" { (plain(l.lb_per_1000_ft2, 3)) }
        td.l data-label="How it stands" { @if !l.done.is_empty() { (l.done) } @else if let Some(day) = l.on { "To do on " (day) } @else { "·" } }
    } }
}

fn account(all: &[AccountLine]) -> Markup {
    html! {
        h2 { "The account" }
        (wide("The account", &html! { table.rows.num.stack {
            thead { tr {
                th.l scope="col" { "Nutrient" small { "lb/acre" } }
                th scope="col" { "Asked" }
                th scope="col" { "Credits" }
                th scope="col" { "Need" }
                th scope="col" { "Went on" }
                th scope="col" { "Still planned" }
                th scope="col" { "Left" }
                th.l scope="col" { "Why" }
            } }
            tbody { @for a in all { tr {
                td.l { b { (a.nutrient) } }
                td data-label="Asked" { @if a.known { (amount(a.asked)) } @else { "no rate" } }
                td data-label="Credits" { (amount(a.credits)) }
                td data-label="Need" { b { (amount(a.need)) } }
                td data-label="Went on" { (amount(a.spread)) }
                td data-label="Still planned" { (amount(a.planned)) }
                td data-label="Left" { @if a.met() { "met" } @else if a.left < 0.0 { (amount(-a.left)) " short" } @else { (amount(a.left)) " over" } }
                td.l data-label="Why" { (a.why) }
            } } }
        } }))
    }
}

fn working(s: &AdviserSheet) -> Markup {
    html! {
        @if !s.working.is_empty() {
            details {
                summary { "The working in short" }
                ul { @for f in &s.working { li.num { (f.of) ", " (f.what) ": " (f.formula) " = " (f.result) " " small { (f.source.text) " " (mark(&f.source)) } } } }
            }
        }
    }
}

pub(crate) async fn pdf(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    let only = Fields(query)
        .maybe_of::<i64>("block", "the number of a block")
        .map_err(Page::sentence)?;
    let all = app
        .with(move |book| match only {
            None => Ok(adviser::of_farm(book, today())?),
            Some(id) => {
                book.block(id).map_err(|_| gone())?;
                Ok(vec![adviser::of_block(book, id, today())?])
            }
        })
        .await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::adviser(&all))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("for-the-adviser.pdf", bytes))
}
