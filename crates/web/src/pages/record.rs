//! The record for an inspector: five years back, on the page, on paper and as files.

use super::log::today;
use super::order::as_pdf;
use crate::ask::{Asked, At};
use crate::at_hand::{self, Record};
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page_with, print_button};
use crate::parts::choose::date;
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmbook::Book;
use farmwork::record::inspection::{self, Cell, Part};
use jiff::civil::Date;
use maud::{Markup, html};
use std::sync::Arc;

fn asked(f: &Fields) -> Result<(Date, Date), Page> {
    let (first, last) = inspection::five_years(today());
    let day = |key: &str| f.maybe_of::<Date>(key, "a day such as 2027-04-02");
    let first = day("from").map_err(Page::sentence)?.unwrap_or(first);
    let last = day("to").map_err(Page::sentence)?.unwrap_or(last);
    Ok((first, last))
}

fn of(book: &Book, f: &Fields) -> Result<Arc<Record>, Page> {
    let (first, last) = asked(f)?;
    at_hand::record(book, first, last)
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let record = of(book, &query)?;
        let all = &record.all;
        let days = format!("from={}&to={}", all.first, all.last);
        let list = List { path: "/record", key: "-doubts", rows: "things to look at", keep: KEEP };
        let doubts = Leaf::of(list, &query, all.doubts.iter().collect(), |d| (*d).clone());
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
                    div.first { h2 { "To look at" } (doubts.head()) ul { @for d in &doubts.rows { li { (d) } } } (doubts.foot()) }
                }
                @for part in &record.parts { (table(part, &days, &query)) }
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

/// The fields of the address that say which days are shown.
const KEEP: &[&str] = &["from", "to"];

/// Tells the tables of the page apart in addresses.
fn leaf_key(part: &Part) -> &'static str {
    match part.key {
        "inputs" => "-inputs",
        "composts" => "-composts",
        "spread" => "-spread",
        "came" => "-came",
        "balance" => "-balance",
        "counts" => "-counts",
        _ => "-harvests",
    }
}

fn table(part: &Part, days: &str, f: &Fields) -> Markup {
    let list = List {
        path: "/record",
        key: leaf_key(part),
        rows: "rows",
        keep: KEEP,
    };
    let numbers: Vec<bool> = part
        .rows
        .first()
        .map_or_else(Vec::new, |row| row.iter().map(Cell::is_number).collect());
    let leaf = Leaf::of(
        list,
        f,
        part.rows.iter().enumerate().collect(),
        |(_, row)| {
            let cells: Vec<String> = row.iter().map(Cell::shown).collect();
            cells.join(" ")
        },
    );
    html! {
        h2 { (part.title) }
        @if numbers.is_empty() { p { "Nothing in these days." } }
        @else {
            (leaf.head())
            div.scroll tabindex="0" role="region" aria-label={ (part.title) ", a table that may scroll sideways" } { table.rows.num {
                thead { tr { @for (i, head) in part.head.iter().enumerate() {
                    @if numbers[i] { th scope="col" { (head.trim_end_matches(", lb")) } } @else { th.l scope="col" { (head) } }
                } } }
                tbody { @for (n, row) in &leaf.rows { tr { @for cell in row.iter() {
                    @if cell.is_number() { td.tight { @if part.is_struck(*n) { del { (cell.shown()) } } @else { (cell.shown()) } } } @else { @let text = short(&cell.shown()); td.l.tight[text.chars().count() <= 12] { (text) } }
                } } } }
            } }
            (leaf.foot())
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
        let record = of(book, &Fields(query))?;
        if name == "all.xlsx" {
            let kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            return Ok(download(
                "record.xlsx",
                kind,
                inspection::xlsx(&record.all)?,
            ));
        }
        let part = record
            .parts
            .iter()
            .find(|p| name == format!("{}.csv", p.key))
            .ok_or_else(Page::nowhere)?;
        Ok(download(
            &name,
            "text/csv; charset=utf-8",
            inspection::csv(part)?,
        ))
    })
    .await
}

pub(crate) async fn pdf(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    let all = app.with(move |book| of(book, &Fields(query))).await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::record(&all.all))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("record.pdf", bytes))
}
