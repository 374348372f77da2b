//! What each published system would say of the same soil, and why they differ.

use super::reading::needs_of;
use crate::ask::At;
use crate::error::Page;
use crate::layout::page;
use crate::parts::working::{fold, mark};
use crate::state::App;
use agronomy::reading::{self, Comparison, Edge, Standing};
use axum::extract::State;
use farmwork::needs;
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let n = needs_of(book, id)?;
        let block = &n.reading.block;
        let all: Vec<(f64, Comparison)> = n
            .reading
            .lines
            .iter()
            .filter_map(|line| {
                let group = line
                    .reading
                    .as_ref()
                    .map(|r| r.group.as_str())
                    .filter(|g| *g != "all");
                reading::compare(&n.reading.tables, &line.measured, group)
                    .ok()
                    .map(|c| (line.measured.value, c))
            })
            .collect();
        let body = html! {
            div {
                p.meta { a href={ "/reading/" (block.id) } { (block.name) } }
                h1 { "Side by side" }
                p.lede { "What each published table would say of this soil. Only tables for the extractant your lab used read a value; the others are named and say nothing." }
                @if all.is_empty() {
                    p { "No test with a named extractant is matched to this block yet." }
                    p { a.btn href="/lab" { "Load a lab’s file" } }
                }
                @for (value, comparison) in &all { (one(*value, comparison)) }
                @if let Some(lime) = needs::lime_side_by_side(&n.reading) {
                    h2 { "Lime to pH " (words::measured(agronomy::soil::Analyte::Ph, lime.target_ph)) }
                    div.scroll tabindex="0" role="region" aria-label="Lime by every method that fits; it may scroll sideways" {
                        table.rows {
                            thead { tr { th.l scope="col" { "Method" } th scope="col" { "Rate" small { "lb/acre" } } th.l scope="col" { "Counts" } } }
                            tbody {
                                @for (method, rate) in &lime.methods {
                                    tr {
                                        td.l { b { (method.name()) } @if method.evidence().unconfirmed() { " " span.tag.doubt { "unconfirmed" } } }
                                        @match rate {
                                            Ok(figure) => {
                                                td.num { (plain(figure.value, 4)) }
                                                td.l { (figure.what) (fold("Working", std::slice::from_ref(figure))) }
                                            }
                                            Err(why) => { td { "–" } td.l { (why) } }
                                        }
                                    }
                                }
                            }
                        }
                    }
                    p.meta { "Methods were made on different soils, for different depths and limes. The one that belongs to your lab’s buffer decides; the recalled ones never do." }
                }
            }
            aside {
                h3 { "Why they differ" }
                ul {
                    @for note in why(&all) { li { (note.text) " " small { (note.source.text) } } }
                }
            }
        };
        Ok(page(&farm, "Reading", "Side by side", &body))
    })
    .await
}

/// The reasons, each once.
fn why(all: &[(f64, Comparison)]) -> Vec<&'static agronomy::meaning::Note> {
    let mut once: Vec<&agronomy::meaning::Note> = Vec::new();
    for note in all.iter().flat_map(|(_, c)| &c.differences) {
        if !once.iter().any(|n| n.text == note.text) {
            once.push(note);
        }
    }
    once
}

fn one(value: f64, c: &Comparison) -> Markup {
    html! {
        h2 { (c.analyte.name()) ", " (words::measured(c.analyte, value)) " " (c.analyte.unit()) " by " (c.extractant.name()) }
        @if let Some((low, high)) = c.spread() {
            p {
                @if low == high { "All say the same: " b { (low.name()) } "." }
                @else { "From " b { (low.name()) } " to " b { (high.name()) } "." }
                @if let Some((range, standing)) = &c.common {
                    " Common practice looks for " (plain(range.low, 3))
                    @if let Some(high) = range.high { " to " (plain(high, 3)) } @else { " or more" }
                    " " (range.unit) ", whatever the extractant: this is " (match standing {
                        Standing::Below => "below it.",
                        Standing::Within => "within it.",
                        Standing::Above => "above it.",
                    })
                }
            }
        }
        @if c.verdicts.is_empty() {
            p { "No table held reads it." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label="What each table says; it may scroll sideways" {
                table.rows {
                    thead { tr { th.l scope="col" { "Table" } th.l scope="col" { "Says" } th.l scope="col" { "Class" } th.l scope="col" { "Next class" } } }
                    tbody {
                        @for v in &c.verdicts {
                            tr {
                                td.l { b { (v.name) } small { (v.region) @if v.group != "all" { ", " (v.group.replace('_', " ")) } } }
                                td.l { (v.category) @if v.category != v.level.name() { small { (v.level.name()) } } }
                                td.l.num { (v.span) small { (mark(&v.source)) } }
                                td.l.num { (edge(v.below.as_ref(), "under")) (edge(v.above.as_ref(), "from")) }
                            }
                        }
                    }
                }
            }
        }
        @if !c.silent.is_empty() || !c.elsewhere.is_empty() {
            details {
                summary { "Tables that say nothing of it" }
                ul {
                    @for s in &c.silent { li { b { (s.name) } ": " (s.why) } }
                    @for e in &c.elsewhere { li { b { (e.name) } ": " (e.why) } }
                }
            }
        }
    }
}

fn edge(edge: Option<&Edge>, word: &str) -> Markup {
    html! {
        @if let Some(e) = edge {
            div {
                @if let Some(beyond) = &e.beyond { (beyond) " " }
                (word) " " (plain(e.ppm, 3)) " ppm"
            }
        }
    }
}
