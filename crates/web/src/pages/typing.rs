//! A report typed by hand: a row a sample.

use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::pages::lab::problems;
use crate::parts::choose::{choice, field, number};
use crate::state::App;
use agronomy::soil::{Buffer, Extractant};
use axum::extract::State;
use farmbook::Book;
use farmwork::WorkError;
use farmwork::typed::{self, COLUMNS, In, Typed};
use maud::{Markup, html};

/// Rows beyond one for every block.
const SPARE: usize = 4;
/// Blocks whose names stand in an empty form.
const NAMED: usize = 60;
/// The most rows that a form may carry.
const MOST: usize = 1_000;

pub(crate) async fn blank(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| form(book, &Fields::default(), None)).await
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let outcome = typed_in(&f)
            .map_err(WorkError::Said)
            .and_then(|typed| typed::take_in(book, &typed));
        match outcome {
            Ok(id) => Err(Page::Go(format!("/lab/{id}?done=read"))),
            Err(why) => form(book, &f, Some(&why)),
        }
    })
    .await
}

fn cell(row: usize, at: usize) -> String {
    format!("v-{row}-{at}")
}

fn sample(row: usize) -> String {
    format!("sample-{row}")
}

/// The rows that came with the form.
fn rows(f: &Fields) -> usize {
    f.0.iter()
        .filter_map(|(key, _)| key.strip_prefix("sample-")?.parse::<usize>().ok())
        .filter(|row| *row < MOST)
        .max()
        .map_or(0, |last| last + 1)
}

fn typed_in(f: &Fields) -> Result<Typed, String> {
    Ok(Typed {
        lab: f.text("lab").to_owned(),
        sampled_on: f.maybe_of("sampled_on", "a day, such as 2026-10-30")?,
        extractant: Extractant::from_key(f.text("extractant")),
        others: Extractant::from_key(f.text("others")),
        buffer: Buffer::from_key(f.text("buffer")),
        unit: match f.text("unit") {
            "lb" => In::LbPerAcre,
            _ => In::Ppm,
        },
        depth_in: f.maybe_number("depth", "the depth sampled in inches")?,
        rows: (0..rows(f))
            .map(|row| {
                let cells = (0..COLUMNS.len())
                    .map(|at| f.text(&cell(row, at)).to_owned())
                    .collect();
                (f.text(&sample(row)).to_owned(), cells)
            })
            .collect(),
    })
}

fn form(book: &Book, f: &Fields, problem: Option<&WorkError>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let names: Vec<String> = match rows(f) {
        0 => book
            .blocks()?
            .into_iter()
            .map(|b| b.name)
            .take(NAMED)
            .chain(std::iter::repeat_n(String::new(), SPARE))
            .collect(),
        n => (0..n).map(|row| f.text(&sample(row)).to_owned()).collect(),
    };
    let t = |key: &str| f.text(key).to_owned();
    let extractants = |none: &'static str| {
        std::iter::once(("", none)).chain(Extractant::ALL.map(|e| (e.key(), e.name())))
    };
    let buffers = std::iter::once(("", "none, or not stated"))
        .chain(Buffer::ALL.map(|b| (b.key(), b.name())));
    let body = html! {
        div {
            p.meta { a href="/lab" { "Lab" } }
            h1 { "Type a report" }
            p.lede { "A row a sample; leave empty what the report does not print. “<0.1” is understood." }
            (problems(problem))
            form method="post" action="/lab/type" {
                div.row {
                    (field("lab", "The lab’s name", &t("lab"), ""))
                    div.field {
                        label for="sampled_on" { "Day sampled" }
                        input type="date" id="sampled_on" name="sampled_on" value=(t("sampled_on"));
                    }
                    (number("depth", "Depth sampled", &t("depth"), "in"))
                }
                div.row {
                    (choice("extractant", "Extractant of P, K, Ca and Mg", extractants("the report does not say"), &t("extractant")))
                    (choice("others", "Of S, B and the metals", extractants("the same"), &t("others")))
                    (choice("buffer", "Buffer", buffers, &t("buffer")))
                    (choice("unit", "Nutrients are printed in", [("ppm", "ppm, which is mg/kg"), ("lb", "lb/acre")], &t("unit")))
                }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.typing {
                        thead { tr {
                            th.l scope="col" { "Sample" }
                            @for a in COLUMNS {
                                th scope="col" { (a.name()) @if !a.needs_extractant() && !a.unit().is_empty() { small { (a.unit()) } } }
                            }
                        } }
                        tbody {
                            @for (row, name) in names.iter().enumerate() {
                                tr {
                                    td.l { input name=(sample(row)) value=(name) aria-label={ "Sample in row " (row + 1) }; }
                                    @for (at, a) in COLUMNS.into_iter().enumerate() {
                                        td { input.short name=(cell(row, at)) value=(f.text(&cell(row, at))) inputmode="decimal" aria-label={ (a.name()) ", row " (row + 1) }; }
                                    }
                                }
                            }
                        }
                    }
                }
                p { button { "Keep these values" } " " a.btn.q href="/lab" { "Leave" } }
            }
        }
        aside {
            h3 { "What is kept" }
            p { "The rows become a file in the book like one a lab sent: it can be read again, downloaded and taken out." }
            h3 { "Extractant" }
            p { "The report prints it by the table, in a footnote or with “method”. Without it the values are kept and no table reads them." }
            h3 { "Salts" }
            p { "Soluble salts in dS/m are the same number as in mmhos/cm." }
        }
    };
    Ok(page(&farm, "Lab", "Type a report", &body))
}
