//! Harvests: a form and the list.

use super::{today, whole};
use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::parts::choose::{choice, date, field, number};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, Id, new_mark};
use farmwork::record::entry;
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
    let mut all = book.harvests_in(season)?;
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
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "Block" } th scope="col" { "Counted" } th scope="col" { "Weight" } } }
                tbody { @for h in &leaf.rows { tr {
                    td.l { (h.day) }
                    td.l { b { (names.get(&h.block).map_or("", String::as_str)) } small { (h.crop.replace('_', " ")) } }
                    td { (plain(h.count, 4)) " " (h.unit) }
                    td { (words::weighed(h.weight)) }
                } } }
            } }
            (leaf.foot())
        }
        @if !blocks.is_empty() {
            form.noprint method="post" action="/log/harvest" {
                input type="hidden" name="mark" value=(mark);
                div.row {
                    (choice("of", "Block", blocks.iter().map(|b| (&b.name, &b.name)), f.text("of")))
                    (date("on", "Day", &day))
                    (number("count", "How many", f.text("count"), ""))
                    (field("unit", "Of what", if f.text("unit").is_empty() { "lb" } else { f.text("unit") }, "lb, kg, or boxes and the like"))
                    (field("each", "What one weighs", f.text("each"), "for boxes: 25 lb"))
                    div.field { button { "Write the harvest down" } }
                }
            }
        }
    })
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let new = || -> Result<farmbook::Harvest, String> {
            let said = |e: farmwork::WorkError| e.to_string();
            let day = entry::day(f.text("on")).map_err(said)?;
            let count = f.positive("count", "The count of the harvest")?;
            let each = f.maybe("each").map(entry::weight).transpose();
            let mut new = entry::harvest(
                book,
                f.text("of"),
                day,
                count,
                f.text("unit"),
                each.map_err(said)?,
            )
            .map_err(said)?;
            if let Some(mark) = f.maybe("mark") {
                mark.clone_into(&mut new.mark);
            }
            Ok(new)
        }();
        match new.and_then(|h| book.log_harvest(&h).map_err(|e| e.to_string())) {
            Ok(_) => Err(Page::Go("/log?done=harvest".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why)),
        }
    })
    .await
}
