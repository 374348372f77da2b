//! The record for an inspector: five years back, on the page, on paper and as files.

use super::log::today;
use super::order::as_pdf;
use crate::ask::{Asked, At};
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page_with, print_button};
use crate::parts::choose::date;
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmbook::Book;
use farmwork::record::inspection::{self, Inspection, Part};
use jiff::civil::Date;
use maud::{Markup, html};

fn asked(f: &Fields) -> Result<(Date, Date), Page> {
    let (first, last) = inspection::five_years(today());
    let day = |key: &str| f.maybe_of::<Date>(key, "a day such as 2027-04-02");
    let first = day("from").map_err(Page::sentence)?.unwrap_or(first);
    let last = day("to").map_err(Page::sentence)?.unwrap_or(last);
    Ok((first, last))
}

fn of(book: &Book, f: &Fields) -> Result<Inspection, Page> {
    let (first, last) = asked(f)?;
    Ok(inspection::of(book, first, last)?)
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let all = of(book, &Fields(query))?;
        let days = format!("from={}&to={}", all.first, all.last);
        let body = html! {
            div {
                p.meta { a href="/log" { "Log" } }
                h1 { "For the inspector" }
                p.lede {
                    "From " (all.first) " to " (all.last) ": " (count(all.inputs.len(), "input", "inputs")) ", " (count(all.spreads.len(), "entry of spreading", "entries of spreading")) ", " (count(all.arrivals.len(), "delivery", "deliveries")) ". "
                    @if all.doubts.is_empty() { "Everything adds up." }
                    @else { (count(all.doubts.len(), "thing", "things")) " to look at before the inspector does." }
                }
                p.noprint {
                    a.btn href={ "/record.pdf?" (days) } { "As a PDF" } " "
                    a.btn.q href={ "/record/all.xlsx?" (days) } { "As a workbook" } " "
                    a.btn.q href="/adviser" { "For the adviser" } " " (print_button())
                }
                @if !all.doubts.is_empty() {
                    div.first { h2 { "To look at" } ul { @for d in &all.doubts { li { (d) } } } }
                }
                @for part in all.parts() { (table(&part, &days)) }
                form.noprint method="get" action="/record" {
                    div.row {
                        (date("from", "From", &all.first.to_string()))
                        (date("to", "To", &all.last.to_string()))
                        div.field { button.q { "Show these days" } }
                    }
                }
            }
            aside {
                h3 { "What is behind it" }
                p { "Weights are kept in hundredths of an ounce: what was there, what came in and what counts found is what was used and what is left." }
                p { "Entries that were corrected stay in the list beside what corrects them." }
                p { "The papers are on the " a href="/stock" { "shed’s page" } ", each as it was kept." }
            }
        };
        Ok(page_with(&["print.js"], &all.farm, "Log", "For the inspector", &body))
    })
    .await
}

fn table(part: &Part, days: &str) -> Markup {
    html! {
        h2 { (part.title) }
        @if part.rows.is_empty() { p { "Nothing in these days." } }
        @else {
            div.scroll tabindex="0" role="region" aria-label={ (part.title) ", a table that may scroll sideways" } { table.rows.num {
                thead { tr { @for (i, head) in part.head.iter().enumerate() {
                    @if part.rows[0][i].is_number() { th scope="col" { (head.trim_end_matches(", lb")) } } @else { th.l scope="col" { (head) } }
                } } }
                tbody { @for (n, row) in part.rows.iter().enumerate() { tr { @for cell in row {
                    @if cell.is_number() { td.tight { @if part.is_struck(n) { del { (cell.shown()) } } @else { (cell.shown()) } } } @else { @let text = short(&cell.shown()); td.l.tight[text.chars().count() <= 12] { (text) } }
                } } } }
            } }
            p.noprint { a href={ "/record/" (part.key) ".csv?" (days) } { (part.title) " as CSV" } }
        }
    }
}

fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// A mark of 64 letters is shown by its beginning; the files hold it whole.
fn short(text: &str) -> String {
    if text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit()) {
        format!("{}…", &text[..12])
    } else {
        text.to_owned()
    }
}

pub(crate) async fn file(
    State(app): State<App>,
    At(name): At<String>,
    Asked(query): Asked,
) -> Result<Response, Page> {
    app.with(move |book| {
        let all = of(book, &Fields(query))?;
        if name == "all.xlsx" {
            let kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            return Ok(download("record.xlsx", kind, inspection::xlsx(&all)?));
        }
        let part = all
            .parts()
            .into_iter()
            .find(|p| name == format!("{}.csv", p.key))
            .ok_or_else(Page::nowhere)?;
        Ok(download(
            &name,
            "text/csv; charset=utf-8",
            inspection::csv(&part)?,
        ))
    })
    .await
}

pub(crate) async fn pdf(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    let all = app.with(move |book| of(book, &Fields(query))).await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::record(&all))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("record.pdf", bytes))
}
