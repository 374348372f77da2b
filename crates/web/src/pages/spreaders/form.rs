//! The form for a walk, in three ways; works without script.

use super::whole;
use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::pages::log::today;
use crate::parts::choose::{choice, date, field, number};
use crate::state::App;
use agronomy::material;
use agronomy::spreader::{self, Way};
use axum::extract::State;
use farmbook::{Book, Id};
use farmwork::spreaders::{self, Known, MEASURES, Typed};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

/// What was typed.
pub(super) fn typed(f: &Fields, id: Option<Id>) -> Typed {
    let text = |key: &str| f.text(key).to_owned();
    Typed {
        id,
        way: text("way"),
        spreader: text("spreader"),
        material: text("material"),
        setting: text("setting"),
        day: text("day"),
        width: text("width"),
        overlap: text("overlap"),
        spacing: text("spacing"),
        pans: text("pans"),
        length: text("length"),
        trips: text("trips"),
        used: text("used"),
        before: text("before"),
        left: text("left"),
        count: text("count"),
        of: text("of"),
        each: text("each"),
        note: text("note"),
    }
}

/// The fields of a walk that is kept.
pub(super) fn fields(t: Typed) -> Fields {
    let all = [
        ("way", t.way),
        ("spreader", t.spreader),
        ("material", t.material),
        ("setting", t.setting),
        ("day", t.day),
        ("width", t.width),
        ("overlap", t.overlap),
        ("spacing", t.spacing),
        ("pans", t.pans),
        ("length", t.length),
        ("trips", t.trips),
        ("used", t.used),
        ("before", t.before),
        ("left", t.left),
        ("count", t.count),
        ("of", t.of),
        ("each", t.each),
        ("note", t.note),
    ];
    Fields::of(all)
}

/// The materials that plans may use first, then the others.
fn materials(book: &Book) -> Result<Vec<(String, String)>, Page> {
    let chosen = book.materials()?;
    let ticked = |id: &str| chosen.iter().any(|c| c.material == id && c.use_it);
    let (mut first, rest): (Vec<_>, Vec<_>) =
        material::materials().iter().partition(|m| ticked(&m.id));
    first.extend(rest);
    Ok(first
        .into_iter()
        .map(|m| (m.id.clone(), m.name.clone()))
        .collect())
}

pub(super) fn form(book: &Book, to: &str, f: &Fields, all: &[Known]) -> Result<Markup, Page> {
    let mut names: Vec<&str> = all.iter().map(|k| k.spreader.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let day = f
        .maybe("day")
        .map_or_else(|| today().to_string(), str::to_owned);
    let (least, most) = spreader::usual_overlap();
    let correcting = to != "/spreaders";
    Ok(html! {
        h2 #walk { @if correcting { "Correct it" } @else { "Write down a walk" } }
        form method="post" action=(to) {
            fieldset {
                legend { "Which spreader" }
                div.row.top {
                    (choice("way", "How it spreads", Way::ALL.map(|w| (w.key(), words::capital(w.name()))), f.text("way")))
                    div.field {
                        label for="spreader" { "What you call it" }
                        input id="spreader" name="spreader" value=(f.text("spreader")) list=[(!names.is_empty()).then_some("known-spreaders")] autocomplete="off";
                        @if !names.is_empty() { datalist id="known-spreaders" { @for name in &names { option value=(name) {} } } }
                        small { "such as Drop cart; by hand, who threw" }
                    }
                    (choice("material", "With", materials(book)?, f.text("material")))
                    (field("setting", "Setting", f.text("setting"), "as marked: 6, 6½, low; nothing where there are no marks"))
                    (date("day", "Day", &day))
                }
            }
            fieldset {
                legend { "The strip" }
                div.row.top {
                    (field("width", "Width", f.text("width"), "3 ft or 30 in: inside of the hopper, the swath, or the bed"))
                    (field("length", "Length walked", f.text("length"), "with the gate open: 100 ft"))
                    (number("trips", "Trips", if f.text("trips").is_empty() { "1" } else { f.text("trips") }, "over the same strip, weighed together"))
                }
                details open[!f.text("overlap").is_empty() || !f.text("pans").is_empty()] {
                    summary { "A broadcast spreader: the swath from its throw, or from pans" }
                    div.row.top {
                        (number("overlap", "Overlap", f.text("overlap"), &format!("% of the throw; then the width above is the throw. Usual is {} to {} %.", plain(least, 3), plain(most, 3))))
                    }
                    div.row.top {
                        (field("pans", "Pans", f.text("pans"), "what each caught, left to right, in any unit: 1 3 6 7 6 3 1"))
                        (field("spacing", "Pans apart", f.text("spacing"), "middle to middle: 2 ft"))
                    }
                }
            }
            fieldset {
                legend { "What went on: one of three" }
                div.row.top { (field("used", "Caught or used up", f.text("used"), "1.2 lb, 19 oz or 540 g")) }
                div.row.top {
                    (field("before", "Or put in", f.text("before"), "10 lb"))
                    (field("left", "and left over", f.text("left"), "8 lb 12 oz is 8.75 lb; 0 for nothing"))
                }
                div.row.top {
                    (number("count", "Or counted", f.text("count"), ""))
                    (choice("of", "of", MEASURES.map(|m| (m, m)), f.text("of")))
                    (field("each", "One weighs", f.text("each"), "4 oz: weigh ten and divide"))
                }
            }
            div.row.top {
                (number("wanted", "Wanted", f.text("wanted"), "lb on 1,000 ft², to hold it against"))
                (field("note", "Note", f.text("note"), "who walked, how fast"))
            }
            p {
                button name="do" value="keep" { @if correcting { "Keep the correction" } @else { "Keep the walk" } } " "
                button.q name="do" value="try" { "Only work it out" }
            }
        }
    })
}

pub(crate) async fn keep(State(app): State<App>, Sent(sent): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(sent);
        let wanted = match f.maybe_number("wanted", "the rate that is wanted") {
            Ok(wanted) => wanted.filter(|w| *w > 0.0),
            Err(why) => return whole(book, None, &f, Some(&why), None),
        };
        let walk = match typed(&f, None).walk(today()) {
            Ok(walk) => walk,
            Err(why) => return whole(book, None, &f, Some(&why.to_string()), None),
        };
        if f.text("do") == "try" {
            let told = spreaders::told(walk)?;
            return whole(book, None, &f, None, Some(&told));
        }
        match book.keep_walk(&walk) {
            Ok(id) => {
                let wanted = wanted.map_or_else(String::new, |w| format!("&wanted={w}"));
                Err(Page::Go(format!("/spreaders/{id}?done=kept{wanted}")))
            }
            Err(why) => whole(book, None, &f, Some(&why.to_string()), None),
        }
    })
    .await
}
