//! Questions about the numbers of a report, and what was decided.

use super::the;
use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::state::App;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use farmwork::lab::{self, Taken};
use farmwork::words;
use labfiles::{Change, Decision, Doubt, DoubtKind};
use maud::{Markup, html};
use quantity::plain;

/// As many questions as a person decides at a sitting.
const MOST_SHOWN: usize = 60;

/// The open questions as a form; nothing where there are none.
pub(super) fn open(id: i64, doubts: &[Doubt]) -> Markup {
    html! {
        @if !doubts.is_empty() {
            section aria-labelledby="doubts" {
                h2 id="doubts" { (count(doubts.len())) }
                p { "The values are used as they stand until you decide. What you decide is kept with the report." }
                form method="post" action={ "/lab/" (id) "/settle" } {
                    @let seen = |d: &Doubt| d.kind == DoubtKind::Picture;
                    @if doubts.iter().any(seen) {
                        (pictures(id, doubts))
                    }
                    @for (at, doubt) in doubts.iter().enumerate().filter(|(_, d)| !seen(d)).take(MOST_SHOWN) { (one(at, doubt)) }
                    @let more = doubts.iter().filter(|d| !seen(d)).count().saturating_sub(MOST_SHOWN);
                    @if more > 0 { p.meta { "And " (more) " more, shown when these are decided." } }
                    p { button { "Keep what I decided" } }
                }
            }
        }
    }
}

/// Values read off a picture, each beside the place it stands in.
fn pictures(id: i64, doubts: &[Doubt]) -> Markup {
    html! {
        p { "These values were read off a picture. Compare each with its cut-out and mend what is wrong; an empty field is left out." }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.table-form {
                thead { tr { th.l scope="col" { "Sample" } th.l scope="col" { "Value" } th.l scope="col" { "On the paper" } th scope="col" { "Read as" } } }
                tbody {
                    @for (at, d) in doubts.iter().enumerate().filter(|(_, d)| d.kind == DoubtKind::Picture) {
                        @let name = d.analyte.map_or("", |a| a.name());
                        @let sample = d.sample.as_deref().unwrap_or_default();
                        tr {
                            td.l { (sample) }
                            td.l { (name) " " small { (d.analyte.map_or("", |a| a.unit())) } }
                            td.l {
                                @if let Some(place) = d.place {
                                    img loading="lazy" height="34" alt={ (name) " of " (sample) " as it stands on the paper" }
                                        src={ "/lab/" (id) "/cut?page=" (place.page) "&at=" (place.corners.map(|c| c.to_string()).join(",")) };
                                }
                            }
                            td {
                                input type="hidden" name={ "d-" (at) "-key" } value=(d.key());
                                input type="hidden" name={ "d-" (at) "-seen" } value="yes";
                                input.short name={ "d-" (at) "-own" } inputmode="decimal"
                                    aria-label={ (name) " of " (sample) }
                                    value=(d.value.map(|v| plain(v, 5).replace(',', "")).unwrap_or_default());
                            }
                        }
                    }
                }
            }
        }
        label.tick { input type="checkbox" name="compared" value="yes"; " I compared all of these with the paper" }
    }
}

/// What a compared field says of a value that was read off a picture.
fn compared(f: &Fields, at: usize, doubt: &Doubt) -> Result<Option<Decision>, String> {
    if !f.ticked("compared") {
        return Ok(None);
    }
    let key = format!("d-{at}-own");
    let was = doubt.value.map(|v| plain(v, 5).replace(',', ""));
    Ok(match (f.maybe(&key), was, doubt.analyte) {
        (None, _, _) => Some(Decision::LeaveOut),
        (Some(now), Some(was), _) if now == was => Some(Decision::Accept),
        (Some(_), _, Some(analyte)) => Some(Decision::Correct {
            change: Change::Set {
                analyte,
                extractant: doubt.extractant,
                value: f.number(&key, "the value on the paper")?,
            },
        }),
        (Some(_), _, None) => None,
    })
}

/// A cut-out of a report that is a picture or a PDF.
pub(crate) async fn cut(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Response, Page> {
    let bytes = app
        .with(move |book| {
            the(book, id)?;
            Ok(book.report_bytes(id)?)
        })
        .await?;
    let f = Fields(query);
    let nowhere = || Page::Missing("The report has no such place.".to_owned());
    let corners: Vec<f32> = f
        .text("at")
        .split(',')
        .filter_map(|c| c.parse().ok())
        .collect();
    let corners: [f32; 4] = corners.try_into().map_err(|_| nowhere())?;
    let page: usize = f.text("page").parse().map_err(|_| nowhere())?;
    let picture = tokio::task::spawn_blocking(move || labfiles::pages::crop(&bytes, page, corners))
        .await
        .map_err(|_| nowhere())?
        .map_err(|_| nowhere())?;
    Ok(([(header::CONTENT_TYPE, "image/png")], picture).into_response())
}

fn count(n: usize) -> String {
    match n {
        1 => "One value to look at".to_owned(),
        n => format!("{n} values to look at"),
    }
}

fn one(at: usize, doubt: &Doubt) -> Markup {
    let name = format!("d-{at}");
    let radio = |value: &str, words: &str| {
        html! {
            label.tick { input type="radio" name=(name) value=(value); " " (words) }
        }
    };
    html! {
        fieldset.first {
            legend {
                @match (&doubt.sample, doubt.analyte) {
                    (Some(sample), Some(a)) => { b { (sample) } ", " (a.name()) },
                    (Some(sample), None) => b { (sample) },
                    (None, Some(a)) => b { (a.name()) },
                    (None, None) => b { "The whole file" },
                }
                @if let Some(row) = doubt.row { " " small { "row " (row) } }
            }
            p { (doubt.sentence) }
            @if let (Some(value), Some((low, high))) = (doubt.value, doubt.expected) {
                p.meta.num {
                    "Read: " (plain(value, 4)) " " (doubt.unit) ". Expected: "
                    @if low < high { (plain(low, 3)) " to " (plain(high, 3)) } @else { "about " (plain(low, 3)) }
                    " " (doubt.unit) "."
                }
            }
            input type="hidden" name={ (name) "-key" } value=(doubt.key());
            (radio("accept", "It stands as it is"))
            @for (n, suggestion) in doubt.suggestions.iter().enumerate() {
                (radio(&format!("s{n}"), &suggestion.says))
            }
            @if let Some(analyte) = doubt.analyte {
                @if doubt.sample.is_some() {
                    div.row {
                        (radio("own", "It should be"))
                        input.short name={ (name) "-own" } inputmode="decimal" aria-label={ "The right value of " (analyte.name()) };
                        span.meta { (analyte.unit()) }
                    }
                    @if !doubt.suggestions.iter().any(|s| matches!(s.change, Change::LeaveOut { .. })) {
                        (radio("out", "Leave it out"))
                    }
                }
            } @else if doubt.sample.is_some() && !doubt.suggestions.iter().any(|s| s.change == Change::LeaveOutSample) {
                (radio("out", "Leave the sample out"))
            }
        }
    }
}

/// What was decided, each to be asked again.
pub(super) fn decided(id: i64, taken: &Taken) -> Markup {
    html! {
        @if !taken.decided.is_empty() {
            h3 { "Decided" }
            ul.decided {
                @for d in &taken.decided {
                    li {
                        (d.asked) " " b { (words::capital(&d.done)) "." }
                        form.noprint method="post" action={ "/lab/" (id) "/unsettle" } {
                            input type="hidden" name="key" value=(d.key);
                            button.q { "Ask again" }
                        }
                    }
                }
            }
        }
    }
}

pub(crate) async fn settle(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let f = Fields(fields);
        let taken = lab::taken(book, id)?;
        let outcome = match decisions(&f, &taken.doubts) {
            Ok(all) if all.is_empty() => {
                Err("Nothing was chosen yet: pick an answer for at least one value.".to_owned())
            }
            Ok(all) => lab::settle_all(book, id, &all).map_err(|why| why.to_string()),
            Err(why) => Err(why),
        };
        match outcome {
            Ok(()) => Err(Page::Go(format!("/lab/{id}?done=settled"))),
            Err(why) => super::matched(book, &taken, &Fields::default(), None, Some(&why)),
        }
    })
    .await
}

/// The decisions that the form carries. A key that is open no more is passed over: it was decided in
/// another window.
fn decisions(f: &Fields, open: &[Doubt]) -> Result<Vec<(String, Decision)>, String> {
    let mut all = Vec::new();
    for at in 0..open.len() {
        let key = f.raw(&format!("d-{at}-key"));
        let Some(doubt) = open.iter().find(|d| d.key() == key) else {
            continue;
        };
        if f.ticked(&format!("d-{at}-seen")) {
            if let Some(decision) = compared(f, at, doubt)? {
                all.push((doubt.key(), decision));
            }
            continue;
        }
        let chosen = f.text(&format!("d-{at}"));
        let decision = match chosen {
            "" => continue,
            "accept" => Decision::Accept,
            "out" => Decision::LeaveOut,
            "own" => {
                let analyte = doubt
                    .analyte
                    .ok_or("A value needs a nutrient to stand for.")?;
                Decision::Correct {
                    change: Change::Set {
                        analyte,
                        extractant: doubt.extractant,
                        value: f.number(&format!("d-{at}-own"), "the right value")?,
                    },
                }
            }
            other => other
                .strip_prefix('s')
                .and_then(|n| doubt.suggestions.get(n.parse::<usize>().ok()?))
                .map(|s| Decision::Correct {
                    change: s.change.clone(),
                })
                .ok_or("That answer does not belong to its question; choose again.")?,
        };
        all.push((doubt.key(), decision));
    }
    Ok(all)
}

pub(crate) async fn unsettle(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let f = Fields(fields);
        lab::unsettle(book, id, f.raw("key"))?;
        Err(Page::Go(format!("/lab/{id}?done=again")))
    })
    .await
}
