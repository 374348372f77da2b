//! What the soil tests say.

use crate::ask::{Asked, At};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::parts::leaf::{Leaf, List};
use crate::parts::scale;
use crate::parts::taught;
use crate::parts::working::{cautions, fold, steps};
use crate::state::App;
use agronomy::reading::Level;
use agronomy::soil::{Analyte, Bound, Measured};
use agronomy::working::{Evidence, Source};
use axum::extract::State;
use farmbook::Book;
use farmwork::letter;
use farmwork::needs::{self, BlockNeeds};
use farmwork::readings::Line;
use farmwork::words;
use maud::{Markup, html};
use planner::Nutrient;
use quantity::plain;

pub(super) fn needs_of(book: &Book, id: i64) -> Result<BlockNeeds, Page> {
    match book.block(id) {
        Ok(block) if !block.archived => Ok(needs::one(book, id)?),
        _ => Err(Page::Missing(
            "There is no such block; it may have been taken out.".to_owned(),
        )),
    }
}

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let all = at_hand::needs(book)?;
        let tested = all.iter().filter(|n| n.reading.test.is_some()).count();
        let acid = all
            .iter()
            .filter(|n| n.line(Nutrient::Lime).is_some_and(|l| l.asked.unwrap_or(0.0) > 0.0))
            .count();
        let rich = all
            .iter()
            .filter(|n| n.reading.reading(Analyte::P).is_some_and(|r| r.level.above_optimum()))
            .count();
        let list = List { path: "/reading", key: "", rows: "blocks", keep: &[] };
        let leaf = Leaf::of(list, &Fields(query), all.iter().collect(), |n| {
            let crop = n.reading.crop.as_ref().map_or("", |c| c.name.as_str());
            format!("{} {crop} {}", n.reading.block.name, first_thing(n))
        });
        let body = html! {
            div {
                h1 { "Reading" }
                @if tested == 0 {
                    p.lede { "No soil test is matched to a block yet." }
                    p { a.btn href="/lab" { "Load a lab’s file" } }
                } @else {
                    p.lede {
                        (tested) " of " (all.len()) " blocks have a soil test. "
                        @if acid > 0 { (acid) " ask for lime, which comes first. " }
                        @if rich > 0 { (rich) " hold more phosphorus than a crop can use: nothing with phosphate should go there." }
                    }
                    p { a.btn href="/plan" { "To the plan" } }
                    (leaf.head())
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr {
                                th.l scope="col" { "Block" }
                                th scope="col" { "pH" }
                                th scope="col" { "P" small { "ppm" } }
                                th scope="col" { "K" small { "ppm" } }
                                th scope="col" { "Mg" small { "ppm" } }
                                th scope="col" { "Organic matter" small { "%" } }
                                th.l scope="col" { "First thing to do" }
                            } }
                            tbody {
                                @for n in &leaf.rows { (row(n)) }
                            }
                        }
                    }
                    (leaf.foot())
                }
            }
            aside {
                h3 { "How a value is read" }
                p { "Only with a table made for the extractant the lab used. No table, no class; a value without its extractant gets none." }
                h3 { "Doubt" }
                p { "A test is one draw from an uneven field. A value near the edge of a class may as well belong to the next one." }
            }
        };
        Ok(page(&farm, "Reading", "Reading", &body))
    })
    .await
}

fn cell(n: &BlockNeeds, analyte: Analyte) -> Markup {
    let line = n.reading.line(analyte);
    html! {
        td {
            @match line {
                None => "·",
                Some(line) => {
                    (value(&line.measured))
                    @if let Some(reading) = &line.reading { small { (reading.category) } }
                }
            }
        }
    }
}

fn value(m: &Measured) -> String {
    let sign = match m.bound {
        Bound::Exact => "",
        Bound::Below => "< ",
        Bound::Above => "> ",
    };
    format!("{sign}{}", words::measured(m.analyte, m.value))
}

fn row(n: &BlockNeeds) -> Markup {
    let block = &n.reading.block;
    html! {
        tr {
            td.l {
                a href={ "/reading/" (block.id) } { b { (block.name) } }
                small { @if let Some(crop) = &n.reading.crop { (crop.name) } @else { "no next crop" } }
            }
            @if n.reading.test.is_none() {
                td.l colspan="6" { "no soil test matched" }
            } @else {
                (cell(n, Analyte::Ph)) (cell(n, Analyte::P)) (cell(n, Analyte::K)) (cell(n, Analyte::Mg)) (cell(n, Analyte::OrganicMatter))
                td.l { (first_thing(n)) }
            }
        }
    }
}

/// The most urgent thing in a few words.
fn first_thing(n: &BlockNeeds) -> String {
    let acres = n.acres();
    if let Some(lime) = n.line(Nutrient::Lime) {
        match lime.asked {
            Some(_) if lime.need > 0.0 => {
                return format!(
                    "lime for {} of calcium carbonate",
                    words::lb(lime.need * acres)
                );
            }
            None if n.reading.test.is_some() => return "lime: no rate".to_owned(),
            _ => {}
        }
    }
    if let Some(sulfur) = n.line(Nutrient::Sulfur) {
        return if sulfur.need > 0.0 {
            format!("{} of sulfur", words::lb(sulfur.need * acres))
        } else {
            "sulfur: no rate".to_owned()
        };
    }
    if n.reading
        .reading(Analyte::P)
        .is_some_and(|r| r.level.above_optimum())
    {
        return "keep phosphate off".to_owned();
    }
    if !n.ready() {
        return "choose the next crop".to_owned();
    }
    "pH is right".to_owned()
}

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let n = needs_of(book, id)?;
        let letter = letter::of(&n);
        let block = &n.reading.block;
        let body = html! {
            div {
                @if let Some(test) = &n.reading.test {
                    p.meta {
                        "Sample " (test.sample)
                        @if let Some(day) = test.sampled_on { ", taken " (day) }
                        @if let Some(depth) = test.test.depth_in {
                            ", " (plain(depth, 3)) " in deep: " (plain(depth * 0.3, 3)) " million lb of soil to the acre"
                        }
                        @if let Some(crop) = &n.reading.crop { " · next: " (crop.name.to_lowercase()) }
                    }
                }
                h1 { (block.name) }
                p.lede { (letter.opening) }
                @if n.reading.test.is_none() {
                    p { a.btn href="/lab" { "Load a lab’s file" } }
                }
                (super::ground::parcel::past(book, id)?)
                @for point in &letter.points { (matter(point)) }
                @if let Some(fine) = &letter.in_order { p { (fine) } }
                (taught::of_needs(&n, "reading"))
                @if !letter.shown.is_empty() {
                    details.numbers {
                        summary { "For information: organic matter, cations, salts under cover" }
                        @for shown in &letter.shown { (for_information(shown)) }
                    }
                }
                @if n.reading.test.is_some() {
                    details.numbers {
                        summary { "The numbers on the report" }
                        @for line in &n.reading.lines { (found(line, &n)) }
                    }
                }
                @if !n.lines.is_empty() {
                    details.numbers {
                        summary { "What it needs, per acre" }
                        (needs_table(&n))
                    }
                }
            }
            aside {
                h3 { "Next step" }
                p { a.btn href={ "/plan/" (block.id) } { "Its plan" } " " a.btn.q href={ "/ground/" (block.id) } { "Change the block" } }
                @if n.reading.test.is_some() { p { a href={ "/reading/" (block.id) "/compare" } { "What other tables would say" } } }
                @if !n.notes.is_empty() {
                    h3 { "To know" }
                    ul { @for note in &n.notes { li { (note) } } }
                }
                (cautions(n.lines.iter().flat_map(|l| l.cautions())))
            }
        };
        Ok(page(&farm, "Reading", &block.name, &body))
    })
    .await
}

/// One matter of the letter: found, how sure, what it means, what to do, and where it comes from.
fn matter(point: &letter::Point) -> Markup {
    html! {
        section.matter.first[point.first] {
            h2 { (point.heading) }
            p {
                (point.found)
                @if let Some(sure) = &point.sure { " " span.meta { (sure) } }
            }
            @for said in &point.means { div.meaning { (said.text) " " (from(&said.source)) } }
            p.advice { (point.advice) }
            @if let Some(confirm) = &point.confirm { p.meta { (confirm) } }
            (fold("Where it comes from", &point.working))
        }
    }
}

/// What is shown and not chased.
fn for_information(shown: &letter::Shown) -> Markup {
    html! {
        section.matter {
            h2 { (shown.heading) }
            p { (shown.found) }
            @for said in &shown.means { div.meaning { (said.text) " " (from(&said.source)) } }
            (fold("Where it comes from", &shown.working))
        }
    }
}

/// A source one click away.
fn from(source: &Source) -> Markup {
    html! {
        details.src {
            summary { "source" }
            span { (source.text) @if source.evidence.unconfirmed() { " (unconfirmed)" } @else if source.evidence == Evidence::Secondary { " (read in a copy)" } }
        }
    }
}

fn found(line: &Line, n: &BlockNeeds) -> Markup {
    let m = &line.measured;
    let range = n.reading.crop.as_ref().and_then(|c| c.target_ph.as_ref());
    html! {
        div.scale {
            div.n {
                (m.analyte.name())
                small {
                    @if let Some(e) = m.extractant { (e.name()) } @else if let Some(b) = m.buffer { (b.name()) }
                    " " (m.analyte.unit())
                }
            }
            @if let Some(reading) = &line.reading {
                (scale::reading(reading))
                div.say {
                    (words::capital(&reading.category))
                    @if matches!(m.analyte, Analyte::P | Analyte::K) { small { (level_words(reading.level)) } }
                }
                details {
                    summary { "How it was read" }
                    p.meta { (line.why) }
                    (steps(&reading.figure))
                    @if !line.others.is_empty() {
                        p.meta {
                            "Other tables for " (reading.extractant.name()) ": "
                            @for (i, other) in line.others.iter().enumerate() {
                                @if i > 0 { "; " }
                                (other.system) " says " (other.category)
                            }
                            "."
                        }
                    }
                }
            } @else if let (Analyte::Ph, Some(r)) = (m.analyte, range) {
                (scale::ph(m.value, r.low, r.high))
                div.say { (value(m)) small { "range " (words::measured(Analyte::Ph, r.low)) " to " (words::measured(Analyte::Ph, r.high)) ", " (r.source.text) } }
            } @else {
                div.meta { (line.why) }
                div.say { b.num { (value(m)) } " " (m.analyte.unit()) }
            }
        }
    }
}

fn level_words(level: Level) -> &'static str {
    match level {
        Level::VeryLow | Level::Low => "a crop will answer to more",
        Level::Medium => "a crop may answer to more",
        Level::Optimum => "enough; hold it there",
        Level::High => "more than enough",
        Level::VeryHigh => "far more than enough; add none",
    }
}

/// Needs with credits and working.
pub(super) fn needs_table(n: &BlockNeeds) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Nutrient" }
                    th scope="col" { "Asked" small { "lb/acre" } }
                    th scope="col" { "Credits" small { "lb/acre" } }
                    th scope="col" { "To bring" small { "lb/acre" } }
                    th.l scope="col" { "By" }
                } }
                tbody {
                    @for line in &n.lines {
                        tr {
                            td.l { b { (name(line.nutrient)) } }
                            @match line.asked {
                                None => { td data-label="Asked, lb/acre" { "–" } td data-label="Credits" { "–" } td data-label="To bring" { "no rate" } }
                                Some(asked) => {
                                    @let split = !line.later.is_empty();
                                    td data-label="Asked, lb/acre" { (plain(asked, 3)) @if split { (range(line)) } }
                                    td data-label="Credits, lb/acre" {
                                        @if line.credits.is_empty() { "·" }
                                        @for (what, lb) in &line.credits { div { (plain(*lb, 3)) small { (what) } } }
                                    }
                                    td data-label="To bring, lb/acre" {
                                        b { (plain(line.need, 3)) }
                                        @if split { small { "this season" } } @else { (range(line)) }
                                    }
                                }
                            }
                            td.l data-label="By" {
                                (line.basis)
                                @if line.weakest().is_some_and(|e| e.unconfirmed()) { " " span.tag.doubt { "rests on unconfirmed figures" } }
                                @if let Some((_, why)) = &line.ceiling { small { (why) } }
                                @if !line.others.is_empty() {
                                    details { summary { "Other published figures" } @for other in &line.others { div.num { (other) } } }
                                }
                                (fold("Working", &line.working))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn range(line: &needs::Line) -> Markup {
    html! {
        @if let Some((low, high)) = line.range && high - low > 0.01 * high {
            small { "likely " (plain(low, 3)) " to " (plain(high, 3)) }
        }
    }
}

pub(super) fn name(nutrient: Nutrient) -> &'static str {
    match nutrient {
        Nutrient::N => "Nitrogen",
        Nutrient::P2o5 => "Phosphate, P2O5",
        Nutrient::K2o => "Potash, K2O",
        Nutrient::Lime => "Lime, fully effective",
        Nutrient::Sulfur => "Sulfur, to acidify",
        other => other.name(),
    }
}
