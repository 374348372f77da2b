//! The draft of a nutrient management plan for a licensed planner.

use super::log::today;
use super::order::as_pdf;
use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, print_button};
use crate::parts::leaf::{Leaf, List};
use crate::parts::working::{cautions, mark};
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmwork::nutrient_plan::{self as draft, Field, Front, Source};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

/// Fields on a page at a time; one takes up to 4 kB.
const FIELDS: usize = 40;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let front = at_hand::draft_front(book)?;
        let list = List {
            path: "/nutrient-plan",
            key: "",
            rows: "fields",
            keep: &[],
        };
        let leaf = Leaf::of_so_many(FIELDS, list, &Fields(query), book.blocks()?, |b| {
            b.name.clone()
        });
        let here: Vec<i64> = leaf.rows.iter().map(|b| b.id).collect();
        let fields = at_hand::draft_fields(book, &here)?;
        let body = html! {
            div.span {
                p.meta { a href="/adviser" { "For the adviser" } }
                h1 { "Nutrient management plan" }
                div.first { p { b { (draft::DRAFT) } } }
                p.lede {
                    "Laid out by the headings of the federal conservation practice standard for nutrient management (code 590): "
                    (plain(front.count as f64, 9)) " fields with " (plain(front.acres, 3)) " acres, season of " (front.season) ". What the book does not hold is a line to fill on the printed plan."
                }
                p.noprint { a.btn href="/nutrient-plan.pdf" { "As a PDF, with lines to fill" } " " (print_button()) }
                @if fields.len() < front.count {
                    p { "This page shows some of the fields at a time, and prints those alone; the PDF holds all of them. Acres, cautions and the record are those of the whole farm." }
                }
                (leaf.head())
                (parts(&front, &fields))
                (leaf.foot())
            }
        };
        Ok(page_with(&["print.js"], &farm, "Plan", "Nutrient management plan", &body))
    })
    .await
}

/// A heading with what it serves and what is asked under it.
fn head(front: &Front, key: &str) -> Markup {
    html! {
        @if let Some(s) = front.section(key) {
            h2 id=(s.key) { (s.heading) }
            p.meta { (s.part) }
            details {
                summary { "What is asked here" }
                ul.why { @for a in &s.asks { li { (words::capital(&a.what)) ". " small { (a.source.text) " " (mark(&a.source)) } } } }
            }
        }
    }
}

fn to_fill(what: &[&str]) -> Markup {
    html! { p { b { "To fill: " } (what.join("; ")) "." } }
}

fn wide(label: &str, table: &Markup) -> Markup {
    html! { div.scroll tabindex="0" role="region" aria-label={ (label) ", a table that may scroll sideways" } { (table) } }
}

fn or_to_fill(text: &str) -> Markup {
    html! { @if text.is_empty() { small { "to fill" } } @else { (text) } }
}

fn parts(front: &Front, fields: &[Field]) -> Markup {
    html! {
        (head(front, "farm"))
        (to_fill(&["owner or operator", "address and telephone", "county and state", "farm and tract numbers", "period of the plan", "concerns about water and erosion"]))
        (wide("Fields", &html! { table.rows.num {
            thead { tr { th.l scope="col" { "Field" } th.l scope="col" { "Kind" } th scope="col" { "Acres spread" } th.l scope="col" { "Soil" } th.l scope="col" { "Next crop" } } }
            tbody { @for f in fields { tr {
                td.l { a href={ "/adviser/" (f.sheet.block_id) } { b { (f.sheet.block) } } }
                td.l { (f.sheet.kind) }
                td { (plain(f.sheet.acres, 3)) }
                td.l { (f.sheet.soil) }
                td.l { (or_to_fill(f.sheet.crop.as_deref().unwrap_or_default())) }
            } } }
        } }))
        (head(front, "maps"))
        @if front.mapped { p { "The " a href="/ground/map.pdf" { "map of the farm" } " is part of the printed plan." } }
        @else { p { "No field has an outline yet: " a href="/ground/draw" { "draw one" } " or put in a map by hand." } }
        (to_fill(&["soil survey map", "the setbacks asked in your state", "other sensitive ground"]))
        (wide("Wells and water", &html! { table.rows.num {
            thead { tr { th.l scope="col" { "Field" } th.l scope="col" { "Wells and water on the map" } } }
            tbody { @for f in fields { tr { td.l { (f.sheet.block) } td.l { (near(f)) } } } }
        } }))
        (head(front, "tests"))
        @for f in fields { (tests(f)) }
        (head(front, "crops"))
        (wide("Crops and yields", &html! { table.rows.num {
            thead { tr { th.l scope="col" { "Field" } th.l scope="col" { "Rotation" } th.l scope="col" { "Yield goal" } th.l scope="col" { "Harvested" } } }
            tbody { @for f in fields { tr {
                td.l { (f.sheet.block) }
                td.l { @if f.rotation.is_empty() { small { "to fill" } } @for (season, crop) in &f.rotation { div { (season) " " (crop.to_lowercase()) } } }
                td.l { (f.sheet.yield_goal) small { (f.sheet.days) } }
                td.l { (draft::in_words(&f.harvested)) }
            } } }
        } }))
        (head(front, "budget"))
        @for f in fields { (budget(f)) }
        (head(front, "apply"))
        (apply(fields))
        (head(front, "risk"))
        p { "Only a planner can do these by the tools that the state approves; the book gives what it knows of the soil." }
        (to_fill(&["nitrogen leaching index", "phosphorus index", "soil loss", "what follows from them"]))
        ul { @for f in fields { li { b { (f.sheet.block) } ", soil test phosphorus: " (f.phosphorus) } } }
        (head(front, "guidance"))
        (cautions(front.conditions.iter().chain(&front.cautions)))
        (head(front, "upkeep"))
        (head(front, "records"))
        p {
            "The book holds " (front.records.spreads) " entries of spreading, " (front.records.harvests) " harvests and " (front.records.deliveries) " deliveries"
            @if let Some(day) = front.records.first { " since " (day) }
            ". " a href="/record" { "The record for an inspector" } " prints them by field and date."
        }
        (head(front, "statement"))
        p { "The figures were worked out from the farm’s book, by the tables named beside them. They were not checked against the standard in force in your state." }
        (to_fill(&["standard in force, with its date", "who prepared it and who approves it, with certification and number", "signatures and days"]))
    }
}

fn near(f: &Field) -> Markup {
    html! {
        @if !f.outlined { small { "no outline" } }
        @else if f.near.is_empty() { small { "none drawn" } }
        @for n in f.near.iter().take(3) { div {
            (n.name) ": "
            @if n.feet > 0.0 { (plain(n.feet.round(), 4)) " ft" } @else { "reaches into the field" }
        } }
    }
}

fn tests(f: &Field) -> Markup {
    let last = f.sheet.tests.columns.len().saturating_sub(1);
    html! {
        p {
            b { (f.sheet.block) } ": "
            @match f.sheet.tests.columns.last() {
                None => { "no soil test in the book; " small { "to fill" } },
                Some(c) => {
                    (c.day) ", " @if c.lab.is_empty() { "lab not named" } @else { (c.lab) } ", sample " (c.sample) ". "
                    @for r in &f.sheet.tests.rows { @if let Some(v) = r.values.get(last).filter(|v| !v.is_empty()) {
                        span.num { (r.name) " " (v) @if !r.unit.is_empty() { " " (r.unit) } @if !r.method.is_empty() { " (" (r.method) ")" } "; " }
                    } }
                },
            }
        }
    }
}

fn line(s: &Source) -> Markup {
    html! { tr { td.l { (s.name) } @for lb in s.lb { td { (plain(lb, 2)) } } } }
}

fn group(name: &str, all: &[Source]) -> Markup {
    html! { @if !all.is_empty() { tr { td.l colspan="4" { small { (name) } } } @for s in all { (line(s)) } } }
}

fn budget(f: &Field) -> Markup {
    let b = &f.budget;
    html! {
        h3 { (f.sheet.block) }
        (wide(&format!("Budget of {}", f.sheet.block), &html! { table.rows.num {
            thead { tr { th.l scope="col" { "lb/acre" } th scope="col" { "N" } th scope="col" { "P2O5" } th scope="col" { "K2O" } } }
            tbody {
                tr { td.l { b { "Asked for" } } @for a in b.total.asked { td { @match a { Some(lb) => b { (plain(lb, 3)) }, None => "no rate" } } } }
                (group("Credits", &b.credits))
                (group("Went on this season", &b.spread))
                (group("Still to go on by the plan", &b.planned))
                tr { td.l { b { "Given by all sources" } } @for lb in b.total.given { td { b { (plain(lb, 3)) } } } }
                tr { td.l { "Given beside asked" } @for at in 0..3 { td { @match b.total.over(at) {
                    None => "·",
                    Some(lb) if lb.abs() < 1e-9 => "met",
                    Some(lb) if lb < 0.0 => { (plain(-lb, 2)) " short" },
                    Some(lb) => { (plain(lb, 2)) " over" },
                } } } }
                @if let Some((lb, source)) = &b.removed {
                    tr { td.l { "Carried off by the harvest" small { (source.text) " " (mark(source)) } } @for x in lb { td { (plain(*x, 2)) } } }
                }
            }
        } }))
    }
}

fn apply(fields: &[Field]) -> Markup {
    html! {
        (wide("Source, rate, time and place", &html! { table.rows.num {
            thead { tr { th.l scope="col" { "Field" } th.l scope="col" { "Source" } th scope="col" { "Rate" small { "lb/acre" } } th.l scope="col" { "Time" } th.l scope="col" { "Place and method" } } }
            tbody { @for f in fields {
                @if f.sheet.plan.is_empty() { tr { td.l { (f.sheet.block) } td.l colspan="4" { "nothing is planned" } } }
                @for l in &f.sheet.plan { tr {
                    td.l { (f.sheet.block) }
                    td.l { b { (l.material) } small { (l.analysis) } }
                    td { (plain(l.lb_per_acre, 3)) small { (plain(l.lb, 3)) " lb in all" } }
                    td.l { (l.when) small { (l.done) } }
                    td.l { (or_to_fill(&l.how)) }
                } }
            } }
        } }))
    }
}

pub(crate) async fn pdf(State(app): State<App>) -> Result<Response, Page> {
    let plan = app.with(|book| Ok(draft::of_farm(book, today())?)).await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::nutrient_plan(&plan))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("nutrient-plan-draft.pdf", bytes))
}
