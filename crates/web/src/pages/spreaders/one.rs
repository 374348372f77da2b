//! One walk: what it says with its working, and the form that corrects it.

use super::{form, mind, rate, walked_words};
use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::pages::log::{material_name, today};
use crate::parts::working::{mark, steps};
use crate::state::App;
use agronomy::spreader::{verdict, verdict_words};
use axum::extract::State;
use farmbook::{Book, Id};
use farmwork::spreaders::{self, Told, Typed};
use farmwork::words;
use maud::{Markup, html};
use std::slice;

/// What a walk says, beside the rate that is wanted where there is one.
pub(super) fn result(told: &Told, wanted: Option<f64>) -> Markup {
    let held = wanted.and_then(|w| Some((w, verdict(told.rate.value, w)?)));
    html! {
        p.sentence { (walked_words(told)) }
        @if let Some((wanted, v)) = &held {
            div.first {
                p { b { (verdict_words(told.walk.way, *wanted, v)) } " " small { (v.source.text) " " (mark(&v.source)) } }
                p.meta { "In two passes of half each, one pass is to lay down " (rate(wanted / 2.0)) "." }
            }
        }
        (steps(&told.rate))
    }
}

fn the(book: &Book, id: Id) -> Result<farmbook::SpreaderWalk, Page> {
    book.walk(id)
        .map_err(|_| Page::Missing("There is no such walk.".to_owned()))
}

fn page_of(
    book: &Book,
    id: Id,
    done: Option<&str>,
    f: &Fields,
    problem: Option<&str>,
    tried: Option<&Told>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let told = spreaders::told(the(book, id)?)?;
    let wanted = f.maybe_number("wanted", "a rate").ok().flatten();
    let title = format!(
        "{} with {}",
        words::capital(&told.kept.spreader),
        material_name(&told.kept.material).to_lowercase()
    );
    let shown = tried.unwrap_or(&told);
    let body = html! {
        div {
            p.meta { a href="/spreaders" { "Spreaders and buckets" } " · walk of " (told.kept.day) }
            h1 { (title) }
            (said(done))
            (wrong(problem))
            (result(shown, wanted))
            @if tried.is_some() { p.meta { "It is worked out and not kept." } }
            (form::form(book, &format!("/spreaders/{id}"), f, slice::from_ref(&known(&told)))?)
            form method="post" action={ "/spreaders/" (id) "/forget" } { button.q { "Forget this walk" } }
        }
        aside { (mind(&[told.walk.way])) }
    };
    Ok(page(&farm, "Jobs", &title, &body))
}

/// The walk alone, for the name that the form offers.
fn known(told: &Told) -> spreaders::Known {
    spreaders::Known {
        spreader: told.kept.spreader.clone(),
        material: told.kept.material.clone(),
        way: told.walk.way,
        walks: Vec::new(),
        settings: Vec::new(),
    }
}

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<Id>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let asked = Fields(query);
        let done = match asked.text("done") {
            "kept" => Some("The walk is kept, and job sheets go by it."),
            "corrected" => Some("The walk is corrected; Changes and undo brings the earlier back."),
            _ => None,
        };
        let mut f = form::fields(Typed::of(&the(book, id)?)?);
        let wanted = asked.text("wanted").to_owned();
        f.0.push(("wanted".to_owned(), wanted));
        page_of(book, id, done, &f, None, None)
    })
    .await
}

pub(crate) async fn change(
    State(app): State<App>,
    At(id): At<Id>,
    Sent(sent): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(sent);
        the(book, id)?;
        let walk = match form::typed(&f, Some(id)).walk(today()) {
            Ok(walk) => walk,
            Err(why) => return page_of(book, id, None, &f, Some(&why.to_string()), None),
        };
        if f.text("do") == "try" {
            let told = spreaders::told(walk)?;
            return page_of(book, id, None, &f, None, Some(&told));
        }
        match book.keep_walk(&walk) {
            Ok(_) => Err(Page::Go(format!("/spreaders/{id}?done=corrected"))),
            Err(why) => page_of(book, id, None, &f, Some(&why.to_string()), None),
        }
    })
    .await
}

pub(crate) async fn forget(State(app): State<App>, At(id): At<Id>) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        book.forget_walk(id)?;
        Err(Page::Go("/spreaders?done=forgotten".to_owned()))
    })
    .await
}
