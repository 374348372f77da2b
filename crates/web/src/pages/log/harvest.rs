//! Harvests: a form and the list.

use super::{today, whole};
use crate::ask::{At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, date, field, number, why};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use farmbook::{Block, Book, Harvest, Id, new_mark};
use farmwork::record::{beside, entry};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;
use std::collections::HashMap;

/// The part of the page that is about harvests.
pub(super) fn part(
    book: &Book,
    season: i64,
    names: &HashMap<Id, String>,
    f: &Fields,
) -> Result<Markup, Page> {
    let every = book.all_harvests_in(season)?;
    let mut all: Vec<&Harvest> = every.iter().filter(|h| h.season == season).collect();
    all.reverse();
    let none = all.is_empty();
    let list = List {
        path: "/log",
        key: "-harvests",
        rows: "harvests",
        keep: super::KEEP,
    };
    let leaf = Leaf::of(list, f, all, |h| {
        format!(
            "{} {} {}",
            h.day,
            names.get(&h.block).map_or("", String::as_str),
            h.crop.replace('_', " ")
        )
    });
    let blocks = book.blocks()?;
    let mark = f.maybe("mark").map_or_else(new_mark, str::to_owned);
    let day = f
        .maybe("day")
        .map_or_else(|| today().to_string(), str::to_owned);
    Ok(html! {
        h2 { "Harvests" }
        @if !none {
            (leaf.head())
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "Block" } th scope="col" { "Counted" } th scope="col" { "Weight" } th.l scope="col" { "Entry" } } }
                tbody { @for h in &leaf.rows { @let stands = beside::successor(&every, *h).is_none(); tr {
                    td.l { (h.day) }
                    td.l { b { (names.get(&h.block).map_or("", String::as_str)) } small { (h.crop.replace('_', " ")) } }
                    td { (plain(h.count, 4)) " " (h.unit) }
                    td { @if stands { (words::weighed(h.weight)) } @else { del { (words::weighed(h.weight)) } } }
                    td.l { "No. " (h.id) small { (beside::stands(&every, *h)) }
                        @if stands && !h.weight.is_zero() { a.noprint href={ "/log/harvest/" (h.id) } aria-label={ "Correct harvest " (h.id) } { "Correct" } }
                    }
                } } }
            } }
            (leaf.foot())
        }
        @if !blocks.is_empty() {
            form.noprint method="post" action="/log/harvest" {
                input type="hidden" name="mark" value=(mark);
                div.row {
                    (asks(&blocks, f, &day))
                    div.field { button { "Write the harvest down" } }
                }
            }
        }
    })
}

/// The fields of a harvest.
fn asks(blocks: &[Block], f: &Fields, day: &str) -> Markup {
    html! {
        (choice("of", "Block", blocks.iter().map(|b| (&b.name, &b.name)), f.text("of")))
        (date("on", "Day", day))
        (number("count", "How many", f.text("count"), ""))
        (field("unit", "Of what", if f.text("unit").is_empty() { "lb" } else { f.text("unit") }, "lb, kg, or boxes and the like"))
        (field("each", "What one weighs", f.text("each"), "for boxes: 25 lb"))
    }
}

/// The harvest that the form tells of; `same` is the block of the one that it corrects, which may have
/// been put away since.
fn told(book: &Book, f: &Fields, same: Option<&Block>) -> Result<Harvest, String> {
    let said = |e: farmwork::WorkError| e.to_string();
    let day = entry::day(f.text("on")).map_err(said)?;
    let count = f.positive("count", "The count of the harvest")?;
    let each = f.maybe("each").map(entry::weight).transpose();
    let each = each.map_err(said)?;
    let (name, unit) = (f.text("of"), f.text("unit"));
    let new = match same.filter(|b| b.name == name) {
        Some(block) => entry::harvest_of(book, block.id, day, count, unit, each),
        None => entry::harvest(book, name, day, count, unit, each),
    };
    let mut new = new.map_err(said)?;
    f.give_mark(&mut new.mark);
    Ok(new)
}

fn gone(_: farmbook::Error) -> Page {
    Page::Missing("There is no such harvest.".to_owned())
}

/// The form that corrects a harvest, filled as it stands.
pub(crate) async fn one(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let h = book.harvest(id).map_err(gone)?;
        let each = if matches!(h.unit.as_str(), "lb" | "kg" | "cwt" | "ton") || h.count <= 0.0 {
            String::new()
        } else {
            format!("{} lb", plain(h.weight.to_pounds() / h.count, 6))
        };
        let f = Fields::of([
            ("mark", new_mark()),
            ("of", book.block(h.block)?.name),
            ("on", h.day.to_string()),
            ("count", plain(h.count, 9).replace(',', "")),
            ("unit", h.unit),
            ("each", each),
        ]);
        correction(book, id, &f, None)
    })
    .await
}

fn correction(book: &Book, id: Id, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let body = html! {
        div {
            p.meta { a href="/log" { "Log" } }
            h1 { "Correct a harvest" }
            p.lede { "Harvest " (id) " stays in the record beside its correction, with the day and the reason." }
            (wrong(problem))
            form.thumb method="post" action={ "/log/harvest/" (id) } {
                input type="hidden" name="mark" value=(f.text("mark"));
                (asks(&book.all_blocks()?, f, f.text("on")))
                (why(f))
                p { button { "Keep the correction" } }
                p { button.q name="back" value="yes" { "It never happened: take the harvest back" } }
            }
        }
    };
    Ok(page(&farm, "Log", "Correct a harvest", &body))
}

/// Keeps the correction of a harvest beside it.
pub(crate) async fn correct(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let same = book.block(book.harvest(id).map_err(gone)?.block)?;
        let new = || -> Result<Harvest, String> {
            let said = |e: farmwork::WorkError| e.to_string();
            if f.ticked("back") {
                let mut back = entry::take_back_harvest(book, id, f.text("why")).map_err(said)?;
                f.give_mark(&mut back.mark);
                return Ok(back);
            }
            let new = told(book, &f, Some(&same))?;
            entry::correct_harvest(book, id, new, f.text("why"), today()).map_err(said)
        }();
        match new.and_then(|h| book.log_harvest(&h).map_err(|e| e.to_string())) {
            Ok(_) => Err(Page::Go("/log?done=harvest-corrected".to_owned())),
            Err(why) => correction(book, id, &f, Some(&why)),
        }
    })
    .await
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let new = told(book, &f, None);
        match new.and_then(|h| book.log_harvest(&h).map_err(|e| e.to_string())) {
            Ok(_) => Err(Page::Go("/log?done=harvest".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why)),
        }
    })
    .await
}
