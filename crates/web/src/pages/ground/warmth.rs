//! How warm the soil is by the farm’s own thermometer, and what goes by it.

use crate::ask::{Asked, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::pages::log::today;
use crate::parts::choose::choice;
use crate::parts::working::mark;
use crate::state::App;
use agronomy::material::warmth_rules;
use axum::extract::State;
use farmbook::{Book, SoilPlace, SoilTime};
use farmwork::soil_temperature::{self as soil, Degrees, shown};
use maud::{Markup, html};
use std::collections::BTreeMap;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = (query.text("done") == "kept").then_some("The temperatures are kept.");
        let unit = Degrees::from_key(query.text("unit")).unwrap_or_default();
        let mut filled = vec![("unit".to_owned(), unit.key().to_owned())];
        for place in SoilPlace::ALL {
            let held = book.soil_temperatures(place)?;
            filled.push((place.key().to_owned(), soil::listed(&held, unit)));
        }
        whole(book, &Fields(filled), done, None)
    })
    .await
}

fn whole(
    book: &Book,
    f: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let mut counts = Vec::new();
    for place in SoilPlace::ALL {
        let held = book.soil_temperatures(place)?;
        if !held.is_empty() {
            counts.push(format!("{}: {}", place.name(), counted(&held)));
        }
    }
    let units = [
        (Degrees::Fahrenheit.key(), "°F"),
        (Degrees::Celsius.key(), "°C"),
    ];
    let body = html! {
        div {
            p.meta { a href="/ground" { "Ground" } " · " a href="/calendar" { "Calendar" } }
            h1 { "How warm the soil is" }
            p.lede {
                @if counts.is_empty() { "Nothing is known of your soil’s warmth yet. Days of spreading do not go by it, and nitrogen week by week goes by an invented year." }
                @else { "You gave, for " (counts.join("; ")) ". Days of spreading and nitrogen week by week go by it." }
            }
            (said(done))
            (wrong(problem))
            form method="post" action="/ground/warmth" {
                (choice("unit", "Numbers without a unit are", units, f.text("unit")))
                div.row {
                    @for place in SoilPlace::ALL {
                        div.field {
                            label for=(place.key()) { @if place == SoilPlace::Open { "Open ground" } @else { "Tunnels" } }
                            textarea id=(place.key()) name=(place.key()) rows="14" placeholder="2027-03-15 44\nweek 20 58" { (f.raw(place.key())) }
                        }
                    }
                }
                p.meta { "A line for each: the day and its temperature, or the week of the year (1 to 52) and what it usually is. Lines pasted from a table do as well. What is taken out of the list is forgotten." }
                p.noprint { button { "Keep the temperatures" } }
            }
        }
        aside {
            h3 { "How to measure" }
            p { "With a soil thermometer, 4 to 6 inches deep, in the morning, at the same spot. A reading a week will do." }
            h3 { "What goes by it" }
            ul {
                @for rule in warmth_rules() {
                    li { (shown(rule.celsius)) ": " (rule.why) ". " small { "(" (rule.source.text) ") " (mark(&rule.source)) } }
                }
            }
            h3 { "Which temperature holds for a day" }
            p { "What you measured in its week. Else what you gave for that week of the year, else what you measured in that week of other years. Where none is known, nothing moves." }
        }
    };
    Ok(page(&farm, "Ground", "How warm the soil is", &body))
}

fn counted(held: &BTreeMap<SoilTime, f64>) -> String {
    let days = held
        .keys()
        .filter(|t| matches!(t, SoilTime::Day(_)))
        .count();
    let weeks = held.len() - days;
    let some = |n: usize, one: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {one}s")),
    };
    let both = [some(days, "day"), some(weeks, "week")];
    let both: Vec<String> = both.into_iter().flatten().collect();
    both.join(" and ")
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let unit = Degrees::from_key(f.text("unit")).unwrap_or_default();
        match set(book, &f, unit) {
            Ok(()) => Err(Page::Go(format!(
                "/ground/warmth?done=kept&unit={}",
                unit.key()
            ))),
            Err(why) => whole(book, &f, None, Some(&why)),
        }
    })
    .await
}

/// Both lists or none.
fn set(book: &mut Book, f: &Fields, unit: Degrees) -> Result<(), String> {
    let mut lists = Vec::new();
    for place in SoilPlace::ALL {
        let held = book.soil_temperatures(place).map_err(|e| e.to_string())?;
        let text = f.raw(place.key());
        // As it was where the list says what it said.
        let list = if text.replace('\r', "") == soil::listed(&held, unit) {
            held
        } else {
            soil::typed(text, unit, today()).map_err(|why| format!("{}: {why}", place.name()))?
        };
        lists.push((place, list));
    }
    book.together("Set the temperatures of the soil", |book| {
        lists
            .iter()
            .try_for_each(|(place, list)| book.set_soil_temperatures(*place, list))
    })
    .map_err(|e| e.to_string())
}
