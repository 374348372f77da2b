//! The form for one job, to be filled with a thumb; and what comes of it.

use super::{calendar, jobs, material_name, today};
use crate::ask::{Asked, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, wrong};
use crate::pages::spreaders::walk_first;
use crate::parts::choose::{choice, date, field};
use crate::parts::job_map;
use crate::state::App;
use agronomy::material::{self, Pass};
use axum::extract::State as Shared;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use farmbook::{Book, Done, Spread, new_mark};
use farmwork::calendar::Application;
use farmwork::record::entry::{self, Typed};
use farmwork::record::stock::{self, Moves};
use farmwork::setback::Near;
use farmwork::{spreaders, words};
use maud::{Markup, html};
use std::collections::BTreeSet;

/// An empty form, that of a job of the plan (`job`), or that which corrects an entry (`entry`).
pub(crate) async fn blank(Shared(app): Shared<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let asked = Fields(query);
        let mut f = vec![("mark", new_mark())];
        if let Some(key) = asked.maybe("job") {
            let calendar = calendar(book)?;
            let job = jobs(calendar.as_deref())
                .iter()
                .find(|a| a.key == key)
                .ok_or_else(|| {
                    Page::Missing(
                        "The plan has no such job; the Log page lists those it has.".to_owned(),
                    )
                })?;
            f.extend(of_job(book, job)?);
        } else if let Some(id) = asked.maybe("entry") {
            f.extend(of_entry(book, id)?);
        }
        // Of two the first is shown: a correction keeps the day of what it corrects.
        f.push(("day", today().to_string()));
        let f = Fields::of(f);
        show(book, &f, None)
    })
    .await
}

fn of_job(book: &Book, job: &Application) -> Result<Vec<(&'static str, String)>, Page> {
    Ok(vec![
        ("job", job.key.clone()),
        ("block", job.block.clone()),
        ("material", job.material_id.clone()),
        ("amount", words::lb(job.lb).replace(',', "")),
        ("pass", job.pass.key().to_owned()),
        (
            "strip",
            job.near.as_ref().map_or_else(String::new, Near::says),
        ),
        ("how", Done::AsPlanned.key().to_owned()),
        (
            "lot",
            lots(book, &job.material_id)?
                .into_iter()
                .next()
                .unwrap_or_default(),
        ),
        ("person", last_person(book)?),
    ])
}

/// Who wrote the last entry: most often the same person again.
fn last_person(book: &Book) -> Result<String, Page> {
    Ok(book.last_spread()?.map_or_else(String::new, |s| s.person))
}

fn of_entry(book: &Book, id: &str) -> Result<Vec<(&'static str, String)>, Page> {
    let found = id.parse().ok().and_then(|id| book.spread(id).ok());
    let s = found.ok_or_else(|| Page::Missing("There is no such entry.".to_owned()))?;
    Ok(vec![
        ("corrects", s.id.to_string()),
        ("day", s.day.to_string()),
        ("block", book.block(s.block)?.name),
        ("beds", s.beds),
        ("material", s.material),
        ("amount", format!("{} lb", s.weight.to_pounds())),
        ("lot", s.lot),
        ("pass", s.pass),
        ("how", s.how.key().to_owned()),
        ("person", s.person),
        ("weather", s.weather),
        ("spreader", s.spreader),
        ("note", s.note),
    ])
}

/// The lots of a material that there is some of, in the order of their use.
fn lots(book: &Book, material: &str) -> Result<Vec<String>, Page> {
    let choices: Vec<_> = book.material(material)?.into_iter().collect();
    Ok(stock::now(&choices, &Moves::of(book)?)
        .into_iter()
        .filter(|b| b.material == material && !b.lot.is_empty() && b.end > quantity::Weight::ZERO)
        .map(|b| b.lot)
        .collect())
}

/// The words of the last two seasons that have entries, to choose from: who, weather, spreader.
fn lately(book: &Book) -> Result<[Vec<String>; 3], Page> {
    let seasons = book.spread_seasons()?;
    let from = seasons.iter().take(2).min().copied().unwrap_or_default();
    let mut known: [BTreeSet<String>; 3] = Default::default();
    for words in book.spread_words(from)? {
        for (known, word) in known.iter_mut().zip(words) {
            known.insert(word);
        }
    }
    Ok(known.map(|words| words.into_iter().filter(|w| !w.is_empty()).collect()))
}

/// A field of one’s own width, with words that were written before to choose from.
fn words_field(key: &str, label: &str, value: &str, known: &[String]) -> Markup {
    let list = format!("known-{key}");
    html! {
        div.field {
            label for=(key) { (label) }
            input id=(key) name=(key) value=(value) list=[(!known.is_empty()).then_some(&list)] autocomplete="off";
            @if !known.is_empty() { datalist id=(list) { @for word in known { option value=(word) {} } } }
        }
    }
}

fn show(book: &Book, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let correcting = f.maybe("corrects").is_some();
    let of_plan = f.maybe("job").is_some();
    let blocks = book.blocks()?;
    let [people, weathers, mut tools] = lately(book)?;
    tools.extend(book.walks()?.into_iter().map(|w| w.spreader));
    tools.sort();
    tools.dedup();
    let mut materials: Vec<(String, String)> = Vec::new();
    let chosen = book.materials()?;
    for m in material::materials() {
        let ticked = chosen.iter().any(|c| c.material == m.id && c.use_it);
        if ticked || m.id == f.text("material") {
            materials.push((m.id.clone(), m.name.clone()));
        }
    }
    for m in material::materials() {
        if !materials.iter().any(|(id, _)| *id == m.id) {
            materials.push((m.id.clone(), m.name.clone()));
        }
    }
    let passes = std::iter::once((String::new(), "none: beside the plan".to_owned()))
        .chain(Pass::ALL.map(|p| (p.key().to_owned(), p.name().to_owned())));
    let title = if correcting {
        "Correct an entry"
    } else {
        "Write down a job"
    };
    let body = html! {
        div {
            p.meta { a href="/log" { "Log" } }
            h1 { (title) }
            @if of_plan {
                p.sentence { b { (f.text("amount")) } " of " (material_name(f.text("material")).to_lowercase()) " on " b { (f.text("block")) } "." }
                (how(book, f.text("job"))?)
            }
            @if let Some(strip) = f.maybe("strip") { p.first { b { (strip) } } }
            (wrong(problem))
            div #waiting role="status" {}
            form.thumb method="post" action="/log" data-keep="job" {
                input type="hidden" name="mark" value=(f.text("mark"));
                @if correcting { input type="hidden" name="corrects" value=(f.text("corrects")); }
                @if of_plan {
                    input type="hidden" name="job" value=(f.text("job"));
                    input type="hidden" name="strip" value=(f.text("strip"));
                }
                (choice("how", "How it went", Done::ALL.map(|d| (d.key(), words::capital(d.name()))), if f.text("how").is_empty() { Done::Extra.key() } else { f.text("how") }))
                (field("amount", "How much went on", f.text("amount"), "with its unit: 24 lb, 8 oz, 11 kg"))
                (date("day", "Day", f.text("day")))
                (words_field("person", "Who", f.text("person"), &people))
                (words_field("weather", "Weather", f.text("weather"), &weathers))
                (words_field("lot", "Lot", f.text("lot"), &lots(book, f.text("material"))?))
                (words_field("spreader", "Spreader or tool", f.text("spreader"), &tools))
                @if of_plan {
                    input type="hidden" name="block" value=(f.text("block"));
                    input type="hidden" name="material" value=(f.text("material"));
                    input type="hidden" name="pass" value=(f.text("pass"));
                } @else {
                    (choice("block", "Block", blocks.iter().map(|b| (&b.name, &b.name)), f.text("block")))
                    (choice("material", "Material", materials, f.text("material")))
                    (choice("pass", "Pass of the plan", passes, f.text("pass")))
                }
                (field("beds", "Beds", f.text("beds"), "where it was not the whole block"))
                (field("note", "Note", f.text("note"), ""))
                p { button { @if correcting { "Keep the correction" } @else { "Write it down" } } }
                @if correcting {
                    p { button.q name="back" value="yes" { "It never happened: take the entry back" } }
                }
            }
        }
        aside {
            h3 { "Done in parts" }
            p { "Choose “A part of it” and give what is on now. The rest stays with the job." }
            h3 { "Another amount" }
            p { "“Differently” closes the job with what really went on; the plan is made again around it." }
        }
    };
    Ok(page_with(&["log.js"], &farm, "Log", title, &body))
}

/// What the spreader is set to for a job, how far a bucket goes, and where the block lies.
fn how(book: &Book, key: &str) -> Result<Markup, Page> {
    let Some(made) = at_hand::plan(book)? else {
        return Ok(html! {});
    };
    let all = at_hand::crew_sheets(book, &made)?;
    let job = all.iter().find(|j| j.key == key);
    Ok(html! {
        @if let Some(job) = job {
            ul.why {
                @let goes = spreaders::goes(job);
                @if !goes.is_empty() { li { (goes) } }
                @for s in &job.settings { li { (s.says(spreaders::on(job))) } }
                @if job.walk_first { li { (walk_first(job)) } }
            }
            @if let Some(map) = (*at_hand::farm_map(book)?).as_ref().and_then(|farm| farm.of_job(job)) {
                (job_map::picture(&map))
            }
        }
    })
}

/// The entry that the form asks for.
fn entry_of(book: &Book, f: &Fields) -> Result<Spread, String> {
    let corrects = f.maybe_of("corrects", "the number of an entry")?;
    let said = |e: farmwork::WorkError| e.to_string();
    if let (Some(id), true) = (corrects, f.ticked("back")) {
        let mut entry = entry::take_back(book, id, f.text("note")).map_err(said)?;
        f.give_mark(&mut entry.mark);
        return Ok(entry);
    }
    let plan = match f.maybe("job") {
        None => None,
        Some(_) => at_hand::plan(book).map_err(said)?.map(|m| m.stored.id),
    };
    let text = |key: &str| f.text(key).to_owned();
    let typed = Typed {
        mark: text("mark"),
        block: text("block"),
        material: text("material"),
        amount: text("amount"),
        day: text("day"),
        beds: text("beds"),
        lot: text("lot"),
        pass: text("pass"),
        how: text("how"),
        person: text("person"),
        weather: text("weather"),
        spreader: text("spreader"),
        note: text("note"),
        plan,
        corrects,
        season: None,
    };
    typed.entry(book, today()).map_err(said)
}

/// Writes the entry down. With `answer=short` the answer is a line for a program that sends again until
/// it hears that the entry is in the book.
pub(crate) async fn keep(Shared(app): Shared<App>, Sent(fields): Sent) -> Result<Response, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let short = f.text("answer") == "short";
        let said = |e: farmbook::Error| e.to_string();
        let kept = entry_of(book, &f).and_then(|mut entry| {
            // Sent again after the plan was made anew, it is still the entry of the first time.
            if let Some(first) = book.spread_marked(&entry.mark).map_err(said)? {
                entry.plan = first.plan;
            }
            book.log_spread(&entry).map_err(said)
        });
        match kept {
            Ok(id) if short => Ok(format!("kept as entry {id}").into_response()),
            Ok(_) => {
                let done = if f.maybe("corrects").is_some() {
                    "corrected"
                } else {
                    "kept"
                };
                Err(Page::Go(format!("/log?done={done}")))
            }
            Err(why) if short => Ok((StatusCode::UNPROCESSABLE_ENTITY, why).into_response()),
            Err(why) => Ok(show(book, &f, Some(&why))?.into_response()),
        }
    })
    .await
}
