//! Questions about the numbers of a report, and what was decided.

use super::the;
use crate::ask::{At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::state::App;
use axum::extract::State;
use farmwork::lab::{self, Taken};
use labfiles::{Change, Decision, Doubt};
use maud::{Markup, html};
use quantity::plain;

/// The open questions as a form; nothing where there are none.
pub(super) fn open(id: i64, doubts: &[Doubt]) -> Markup {
    html! {
        @if !doubts.is_empty() {
            section aria-labelledby="doubts" {
                h2 id="doubts" { (count(doubts.len())) }
                p { "The values are used as they stand until you decide. What you decide is kept with the report." }
                form method="post" action={ "/lab/" (id) "/settle" } {
                    @for (at, doubt) in doubts.iter().enumerate() { (one(at, doubt)) }
                    p { button { "Keep what I decided" } }
                }
            }
        }
    }
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
                        (d.asked) " " b { (capital(&d.done)) "." }
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

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|c| c.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

pub(crate) async fn settle(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let f = Fields(fields);
        let open = lab::taken(book, id)?.doubts;
        let decisions = match decisions(&f, &open) {
            Ok(all) => all,
            Err(why) => return super::matched(book, &lab::taken(book, id)?, None, Some(&why)),
        };
        if decisions.is_empty() {
            let why = "Nothing was chosen yet: pick an answer for at least one value.";
            return super::matched(book, &lab::taken(book, id)?, None, Some(why));
        }
        match lab::settle_all(book, id, &decisions) {
            Ok(()) => Err(Page::Go(format!("/lab/{id}?done=settled"))),
            Err(why) => super::matched(book, &lab::taken(book, id)?, None, Some(&why.to_string())),
        }
    })
    .await
}

/// The decisions that the form carries. A key that is open no more is passed over: it was decided in
/// another window.
fn decisions(f: &Fields, open: &[Doubt]) -> Result<Vec<(String, Decision)>, String> {
    let mut all = Vec::new();
    for at in 0..open.len() {
        let key = f.0.iter().find(|(k, _)| *k == format!("d-{at}-key"));
        let Some(doubt) = key.and_then(|(_, key)| open.iter().find(|d| d.key() == *key)) else {
            continue;
        };
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
                        extractant: None,
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
        let key = f.0.iter().find(|(k, _)| k == "key").map_or("", |(_, v)| v);
        lab::unsettle(book, id, key)?;
        Err(Page::Go(format!("/lab/{id}?done=again")))
    })
    .await
}
