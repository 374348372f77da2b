//! The years: what each test found, what happened, and whether the soil moved.

mod account;

use super::order::as_pdf;
use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::parts::leaf::{Leaf, List};
use crate::parts::taught;
use crate::parts::working::{cautions, fold};
use crate::state::App;
use agronomy::soil::{Analyte, Bound};
use axum::extract::State;
use axum::response::Response;
use farmbook::{Book, Id, Learnable, TestSpan};
use farmwork::history::{self, Course, History, Run, Years};
use farmwork::learned::{self, Decision};
use farmwork::{ledger, words};
use jiff::ZonedDateTime;
use maud::{Markup, PreEscaped, html};
use std::collections::HashMap;

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let blocks = book.blocks()?;
        let count = blocks.len();
        let spans: HashMap<Id, TestSpan> =
            book.test_spans()?.into_iter().map(|s| (s.block, s)).collect();
        let span = |id| spans.get(&id);
        let many = blocks.iter().filter(|b| span(b.id).is_some_and(|s| s.reports > 1)).count();
        let list = List { path: "/years", key: "", rows: "blocks", keep: &[] };
        let leaf = Leaf::of(list, &Fields(query), blocks, |b| b.name.clone());
        let body = html! {
            div {
                h1 { "The years" }
                p.lede {
                    @if many == 0 {
                        "No block has two tests yet. From the second on, its page says whether the soil moved by more than noise."
                    } @else {
                        (many) " of " (count) " blocks have been tested more than once. Each block’s page says whether its soil moved by more than noise."
                    }
                }
                @if count == 0 { p { a.btn href="/ground/new" { "Add a block" } } }
                @else {
                    (leaf.head())
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr {
                                th.l scope="col" { "Block" }
                                th scope="col" { "Tests" }
                                th scope="col" { "First" }
                                th scope="col" { "Last" }
                            } }
                            tbody {
                                @for block in &leaf.rows {
                                    tr {
                                        td.l { a href={ "/years/" (block.id) } { b { (block.name) } } }
                                        @match span(block.id) {
                                            None => { td { "none" } td { "·" } td { "·" } }
                                            Some(s) => {
                                                td { (s.reports) }
                                                td { @match s.first { Some(d) => (d), None => "·" } }
                                                td { @match s.last { Some(d) => (d), None => "·" } }
                                            }
                                        }
                                    }
                                }
                            }
                        }
                    }
                    (leaf.foot())
                }
            }
            aside {
                h3 { "Keep to one way" }
                p { "Only tests of one lab by one method stand beside each other. Sample at the same time of the year, to the same depth, with as many cores." }
            }
        };
        Ok(page(&farm, "Years", "The years", &body))
    })
    .await
}

fn of(book: &Book, id: i64) -> Result<History, Page> {
    match book.block(id) {
        Ok(_) => Ok(history::of_block(book, id)?),
        Err(_) => Err(Page::Missing(
            "There is no such block; it may have been taken out.".to_owned(),
        )),
    }
}

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let history = of(book, id)?;
        let ledger = ledger::of_block(book, id)?;
        let body = html! {
            div {
                p.meta { a href="/years" { "The years" } }
                h1 { (history.block.name) }
                p.lede { (history.opening()) }
                @if let Some(years) = history.years() {
                    @if !history.events.is_empty() {
                        figure.course {
                            (PreEscaped(history::strip(&history)))
                            figcaption.meta { "What happened, on the years of the pictures below. " a href="#happened" { "Each with its amount" } "." }
                        }
                    }
                    @for course in &history.courses { (one(course, years)) }
                }
                (taught::of_block(id, &ledger.taught))
            }
            aside {
                p.noprint { a.btn href={ "/years/" (id) "/sheet.pdf" } { "As a PDF" } " " a.btn.q href={ "/reading/" (id) } { "Its reading" } " " a.btn.q href={ "/adviser/" (id) } { "For the adviser" } }
                h3 { "How to read a picture" }
                p { "A mark is a test. The bar through it is where the true mean of the ground lies in four of five cases. Tests of one lab by one method share a mark and are joined; others are not." }
                h3 { "What happened" }
                p { "A bar is a crop from planting to harvest; dashed where a day is not known. A square is lime, a triangle what was spread, an arrow a harvest, a dot a test. A line through a mark: only the year is known." }
                (cautions(history.courses.iter().flat_map(|c| &c.cautions)))
            }
            div.span {
                (account::seasons(&ledger))
                h2 id="happened" { "What happened" }
                @if history.events.is_empty() { p { "Nothing is written down for this block yet." } }
                @else { (line_of_time(&history)) }
            }
        };
        Ok(page(&farm, "Years", &history.block.name, &body))
    })
    .await
}

/// What the grower decides of what the soil taught; back to the page that asked.
pub(crate) async fn decide(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        super::ground::the(book, id)?;
        let f = Fields(fields);
        let item = Learnable::from_key(f.text("item"))
            .ok_or_else(|| Page::sentence("Say what it is about: lime, phosphate or potash."))?;
        let decision = Decision::from_key(f.text("do")).ok_or_else(|| {
            Page::sentence("Say whether it is taken, refused or left to the program.")
        })?;
        learned::decide(book, id, item, decision, ZonedDateTime::now().date())?;
        let back = match f.text("back") {
            page @ ("reading" | "plan") => page,
            _ => "years",
        };
        Err(Page::Go(format!("/{back}/{id}#taught-{}", item.key())))
    })
    .await
}

fn one(course: &Course, years: Years) -> Markup {
    html! {
        section.matter {
            h2 { (course.analyte.name()) @if !course.unit.is_empty() { " " small.meta { (course.unit) } } }
            @for run in &course.runs { (says(run, course.runs.len() > 1)) }
            figure.course { (PreEscaped(history::chart(course, years))) }
            @for why in &course.apart { p.meta { (why) } }
            details {
                summary { "The values" }
                (values(course))
                @for said in &course.estimated { p.meta { (said) } }
            }
            (fold("Where it comes from", &course.working()))
        }
    }
}

fn says(run: &Run, named: bool) -> Markup {
    let all: Vec<&str> = run.said().map(|m| m.says.as_str()).collect();
    html! {
        @if !all.is_empty() {
            p { @if named { b { (words::capital(&run.name())) ". " } } (all.join(" ")) }
        }
    }
}

/// The same values as a table.
fn values(course: &Course) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr {
                    th.l scope="col" { "Day" }
                    th scope="col" { (course.analyte.name()) @if !course.unit.is_empty() { small { (course.unit) } } }
                    th scope="col" { "Likely" small { "4 of 5" } }
                    th.l scope="col" { "Method and lab" }
                    th.l scope="col" { "Sample" }
                } }
                tbody {
                    @for run in &course.runs {
                        @for p in &run.points {
                            tr {
                                td.l { (p.on) }
                                td {
                                    @match p.bound { Bound::Below => "< ", Bound::Above => "> ", Bound::Exact => "" }
                                    (words::measured(course.analyte, p.value))
                                    @let about = p.about();
                                    @if !about.is_empty() { small { (about) ", an estimate" } }
                                }
                                td { @match p.likely { Some((l, h)) => { (ends(course.analyte, l)) " to " (ends(course.analyte, h)) }, None => "·" } }
                                td.l { (words::capital(&run.name())) }
                                td.l { (p.sample) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn ends(analyte: Analyte, value: f64) -> String {
    words::measured(analyte, value)
}

fn line_of_time(history: &History) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows {
                thead { tr { th.l scope="col" { "When" } th.l scope="col" { "What" } th.l scope="col" { "" } } }
                tbody {
                    @for e in &history.events {
                        tr {
                            td.l.num { (e.when()) }
                            td.l { (words::capital(e.kind.name())) }
                            td.l { b { (e.what) } @if !e.more.is_empty() { small { (e.more) } } }
                        }
                    }
                }
            }
        }
    }
}

pub(crate) async fn pdf(State(app): State<App>, At(id): At<i64>) -> Result<Response, Page> {
    let (farm, history, taught) = app
        .with(move |book| {
            let history = of(book, id)?;
            let taught = ledger::of_block(book, id)?.taught;
            Ok((book.farm()?, history, taught))
        })
        .await?;
    let bytes = tokio::task::spawn_blocking(move || {
        sheets::history(&farm.name, &farm.season.to_string(), &history, &taught)
    })
    .await
    .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
    .bytes;
    Ok(as_pdf("years.pdf", bytes))
}
