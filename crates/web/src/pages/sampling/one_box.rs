//! One box on the phone: its cores to tick off in the order of the walk, and its next step.

use super::today;
use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, said, wrong};
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use farmbook::{Book, BoxPart, BoxState, SampleBox};
use farmwork::core_walk::{self, Ask, CoreWalk};
use farmwork::sampling::{self, Step};
use farmwork::words;
use jiff::civil::Date;
use maud::{Markup, html};
use quantity::plain;

fn the(book: &Book, id: i64) -> Result<SampleBox, Page> {
    book.sample_box(id)
        .map_err(|_| Page::Missing("There is no such box; it may have been taken out.".to_owned()))
}

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let b = the(book, id)?;
        let done = match Fields(query).text("done") {
            "step" => Some(format!("Box {} is {}.", b.label, b.state().name())),
            _ => None,
        };
        whole(book, &b, done.as_deref(), None)
    })
    .await
}

/// The places of a part's cores; none without an outline, or where it has changed so that they no longer fit.
pub(super) fn walk(book: &Book, part: &BoxPart) -> Option<CoreWalk> {
    let ask = Ask {
        cores: Some(part.cores),
        seed: Some(part.seed),
        ..Ask::default()
    };
    core_walk::of_block(book, part.block, &ask).ok()
}

fn whole(
    book: &Book,
    b: &SampleBox,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let blocks = b
        .blocks()
        .into_iter()
        .map(|id| Ok(book.block(id)?))
        .collect::<Result<Vec<_>, Page>>()?;
    let names: Vec<String> = blocks.iter().map(|x| x.name.clone()).collect();
    let (taken, of) = b.cores();
    let line = sampling::form(book, std::slice::from_ref(b))?;
    let line = line.first();
    let body = html! {
        div.tickoff data-keep="ticks" {
            p.meta { a href="/sampling/boxes" { "Boxes of soil" } }
            h1 { "Box " (b.label) }
            p.lede {
                (words::and(&names)) ", " b { (b.state().name()) } "."
                @if let Some(l) = line { " Every core " (l.depth.replace("0 to ", "to ")) " deep." }
            }
            (said(done))
            (wrong(problem))
            p.unsent data-unsent role="status" hidden {}
            @if of > 0 && b.state() <= BoxState::Filled {
                p.sentence { span data-count="taken" { (taken) } " of " (of) " cores taken" }
                @for part in &b.parts {
                    @if b.parts.len() > 1 {
                        h2 { (names_of(&blocks, part)) }
                    }
                    (cores(b, part, walk(book, part).as_ref()))
                }
            } @else if of > 0 {
                p { (taken) " of " (of) " cores were ticked off." }
            }
            (steps(b))
            p.meta data-away hidden {}
        }
        aside {
            @for part in &b.parts {
                p { a href={ "/ground/walk/" (part.block) "?cores=" (part.cores) "&seed=" (part.seed) } { "Map of " (names_of(&blocks, part)) } }
            }
            @if let Some(l) = line {
                h3 { "On the lab’s form" }
                dl.facts {
                    dt { "Sample" } dd { (l.sample) }
                    dt { "Crop" } dd { @if l.crop.is_empty() { "not set" } @else { (l.crop) } }
                    dt { "Depth" } dd { (l.depth) }
                    dt { "Tests" } dd { (words::and(&l.tests.iter().map(|t| t.name().to_owned()).collect::<Vec<_>>())) }
                }
            }
            h3 { "Into the box" }
            ol.why { @for a in sampling::handling(std::slice::from_ref(b)) { li { (a.text) } } }
            p { small { "Where each of these stands is on the page of the " a href="/sampling/boxes" { "boxes" } "." } }
        }
    };
    let title = format!("Box {}", b.label);
    Ok(page_with(&["ticks.js"], &farm, "Sampling", &title, &body))
}

fn names_of(blocks: &[farmbook::Block], part: &BoxPart) -> String {
    blocks
        .iter()
        .find(|x| x.id == part.block)
        .map_or_else(String::new, |x| x.name.clone())
}

/// One button a core, as wide as the page.
fn cores(b: &SampleBox, part: &BoxPart, walk: Option<&CoreWalk>) -> Markup {
    let told = |n: u32| {
        walk.and_then(|w| w.walk.cores.iter().find(|c| c.number == n))
            .map_or("", |c| c.told.as_str())
    };
    html! {
        @if let Some(w) = walk {
            p.meta { "From " (w.walk.from) ", " (plain(w.walk.length.to_feet().round(), 6)) " ft in all." }
        } @else {
            p.meta { "This block has no outline yet: spread the cores evenly over it, none at its edges." }
        }
        ol.cores {
            @for n in 1..=part.cores {
                @let on = part.taken.binary_search(&n).is_ok();
                li id={ "core-" (part.block) "-" (n) } {
                    form method="post" action={ "/sampling/box/" (b.id) "/core" } data-tick=(on) {
                        input type="hidden" name="block" value=(part.block);
                        input type="hidden" name="core" value=(n);
                        input type="hidden" name="taken" value=(if on { "no" } else { "yes" });
                        button.core.on[on] aria-pressed=(if on { "true" } else { "false" }) {
                            span.box aria-hidden="true" { @if on { "✓" } }
                            b { (n) } " "
                            span { (told(n)) @if told(n).is_empty() { "core " (n) } }
                        }
                    }
                }
            }
        }
    }
}

fn steps(b: &SampleBox) -> Markup {
    let next = Step::next(b.state()).map(|s| {
        let says = match s {
            Step::Fill => (
                "The box is filled",
                "Filled: kept on this phone until there is a signal.",
            ),
            Step::Send => (
                "It was sent today",
                "Sent: kept on this phone until there is a signal.",
            ),
            Step::Receive => (
                "The lab has it",
                "Received: kept on this phone until there is a signal.",
            ),
        };
        (s.key(), says)
    });
    html! {
        @if let Some((key, (says, later))) = next {
            form.wide method="post" action={ "/sampling/box/" (b.id) "/step" } data-later=(later) {
                input type="hidden" name="step" value=(key);
                button { (says) }
            }
        }
        @match b.state() {
            BoxState::Received => p { "Its results are awaited: load the report on the " a href="/lab" { "Lab" } " page." },
            BoxState::ResultsIn => p { @if let Some(id) = b.report { a href={ "/lab/" (id) } { "The report that answers it" } } },
            _ => {},
        }
        @if matches!(b.state(), BoxState::Filled | BoxState::Sent | BoxState::Received) {
            form method="post" action={ "/sampling/box/" (b.id) "/step" } {
                input type="hidden" name="step" value="back";
                button.link { "That was a slip: one step back" }
            }
        }
    }
}

pub(crate) async fn tick(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Response, Page> {
    app.with(move |book| {
        let b = the(book, id)?;
        let f = Fields(fields);
        let number = |key: &str| f.text(key).parse::<i64>().ok();
        let (Some(block), Some(core)) = (number("block"), number("core")) else {
            return Err(Page::sentence(
                "A core is named by its block and its number; nothing was changed.",
            ));
        };
        let core = u32::try_from(core).unwrap_or(0);
        let on = f.text("taken") == "yes";
        match sampling::mark_core(book, id, block, core, on) {
            Ok(_) if f.text("by") == "script" => Ok(StatusCode::NO_CONTENT.into_response()),
            Ok(_) => Err(Page::Go(format!("/sampling/box/{id}#core-{block}-{core}"))),
            Err(why) if f.text("by") == "script" => Err(why.into()),
            Err(why) => Ok(whole(book, &b, None, Some(&why.to_string()))?.into_response()),
        }
    })
    .await
}

pub(crate) async fn step(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Response, Page> {
    app.with(move |book| {
        let b = the(book, id)?;
        let f = Fields(fields);
        let done = match (f.text("step"), Step::from_key(f.text("step"))) {
            ("back", _) => sampling::back(book, id).map_err(|e| e.to_string()),
            (_, Some(step)) => f
                .maybe_of::<Date>("day", "a day such as 2026-10-20")
                .and_then(|day| {
                    sampling::step(book, id, step, day.unwrap_or_else(today))
                        .map_err(|e| e.to_string())
                }),
            (other, None) => Err(format!("“{other}” is no step of a box.")),
        };
        match done {
            Ok(_) if f.text("by") == "script" => Ok(StatusCode::NO_CONTENT.into_response()),
            Ok(_) => Err(Page::Go(format!("/sampling/box/{id}?done=step"))),
            Err(why) if f.text("by") == "script" => Err(Page::Sentence(why)),
            Err(why) => Ok(whole(book, &b, None, Some(&why))?.into_response()),
        }
    })
    .await
}
