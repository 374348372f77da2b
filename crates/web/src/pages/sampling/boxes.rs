//! The boxes of soil by how far they have come, their labels, and what to write on the lab's form.

use super::today;
use crate::ask::{Asked, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{choice, field, number};
use crate::parts::working::mark;
use crate::state::App;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::Redirect;
use farmbook::{Block, Book, BoxState, ReportFile, SampleBox};
use farmwork::sampling::{self, FormLine};
use farmwork::words;
use jiff::civil::Date;
use maud::{Markup, html};
use sheets::{LabelStock, Language};

/// The boxes stood under the lab before they were planned.
pub(crate) async fn moved() -> Redirect {
    Redirect::permanent("/sampling/boxes")
}

pub(crate) async fn list(
    State(app): State<App>,
    headers: HeaderMap,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    let at = super::paper::here(&app, &headers);
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "kept" => Some("The boxes are kept."),
            "made" => Some("The boxes are made: print their labels, then take the walks."),
            _ => None,
        };
        whole(book, &at, done, None)
    })
    .await
}

struct Shelf {
    blocks: Vec<Block>,
    boxes: Vec<SampleBox>,
    reports: Vec<ReportFile>,
}

impl Shelf {
    fn in_state(&self, state: BoxState) -> Vec<&SampleBox> {
        let all = self.boxes.iter().rev();
        all.filter(|b| b.state() == state).collect()
    }

    fn names(&self, b: &SampleBox) -> String {
        let names: Vec<String> = b
            .blocks()
            .iter()
            .map(|id| {
                let block = self.blocks.iter().find(|x| x.id == *id);
                block.map_or_else(|| "a block out of use".to_owned(), |x| x.name.clone())
            })
            .collect();
        words::and(&names)
    }
}

fn whole(book: &Book, at: &str, done: Option<&str>, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let shelf = Shelf {
        blocks: book.all_blocks()?,
        boxes: book.boxes()?,
        reports: book.reports()?,
    };
    let open: Vec<SampleBox> = BoxState::ALL[..4]
        .iter()
        .flat_map(|s| shelf.in_state(*s))
        .cloned()
        .collect();
    let at_home: Vec<SampleBox> = open
        .iter()
        .filter(|b| b.state() <= BoxState::Filled)
        .cloned()
        .collect();
    let form = sampling::form(book, &at_home)?;
    let body = html! {
        div {
            p.meta { a href="/sampling" { "Sampling" } }
            h1 { "Boxes of soil" }
            p.lede { (opening(&shelf)) }
            (said(done))
            (wrong(problem))
            @for state in BoxState::ALL { (in_state(&shelf, state)) }
            @if !form.is_empty() { (on_the_form(&form)) }
            @if !open.is_empty() { (handling(&open)) }
            (by_hand(&shelf))
        }
        aside {
            @if !at_home.is_empty() {
                (labels(at))
                (walks())
            }
            h3 { "On the box" }
            p { "Short and only once: a number or the block’s name. The same on the lab’s form." }
            h3 { "When results come" }
            p { "Load the report on the " a href="/lab" { "Lab" } " page: the boxes that it answers are closed by themselves." }
        }
    };
    Ok(page(&farm, "Sampling", "Boxes of soil", &body))
}

fn opening(shelf: &Shelf) -> String {
    let parts: Vec<String> = BoxState::ALL[..4]
        .iter()
        .filter_map(|s| match shelf.in_state(*s).len() {
            0 => None,
            n => Some(format!("{n} {}", s.name())),
        })
        .collect();
    if parts.is_empty() {
        "Write down what stands on each box before it goes. The report is then matched by it, whatever the lab calls the sample.".to_owned()
    } else {
        format!("{}.", words::capital(&words::and(&parts)))
    }
}

fn in_state(shelf: &Shelf, state: BoxState) -> Markup {
    let all = shelf.in_state(state);
    html! {
        @if !all.is_empty() {
            h2 { (words::capital(state.name())) }
            table.rows.stack {
                thead { tr {
                    th.l scope="col" { "Box" } th.l scope="col" { "Block" }
                    th.l scope="col" { @if state == BoxState::ToFill { "Cores" } @else if state == BoxState::ResultsIn { "Report" } @else { "Since" } }
                } }
                tbody {
                    @for b in all {
                        @let report = b.report.and_then(|id| shelf.reports.iter().find(|r| r.id == id));
                        tr {
                            td.l { b { a href={ "/sampling/box/" (b.id) } { (b.label) } } }
                            td.l data-label="Block" { (shelf.names(b)) }
                            @match (state, report) {
                                (BoxState::ToFill, _) => td.l data-label="Cores" {
                                    @let (taken, of) = b.cores();
                                    @if of > 0 { (taken) " of " (of) " taken" }
                                },
                                (BoxState::ResultsIn, Some(r)) => td.l data-label="Report" { a href={ "/lab/" (r.id) } { (r.file_name) } },
                                _ => td.l data-label="Since" {
                                    @if let Some(day) = b.received_on.or(b.sent_on).or(b.filled_on) { (day) }
                                },
                            }
                        }
                    }
                }
            }
        }
    }
}

fn on_the_form(lines: &[FormLine]) -> Markup {
    html! {
        h2 { "What to write on the lab’s form" }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows {
                thead { tr {
                    th.l scope="col" { "Sample" } th.l scope="col" { "Field" } th.l scope="col" { "Crop to be grown" }
                    th.l scope="col" { "Ground" } th.l scope="col" { "Depth" } th.l scope="col" { "Tests" }
                } }
                tbody {
                    @for l in lines {
                        tr {
                            td.l { b { (l.sample) } }
                            td.l { (words::and(&l.blocks)) }
                            td.l { @if l.crop.is_empty() { "not set" } @else { (l.crop) } }
                            td.l { (l.ground) }
                            td.l { (l.depth) }
                            td.l { (words::and(&l.tests.iter().map(|t| t.name().to_owned()).collect::<Vec<_>>())) }
                        }
                    }
                }
            }
        }
    }
}

/// Mixing, drying and filling, told once.
pub(super) fn handling(boxes: &[SampleBox]) -> Markup {
    html! {
        h2 { "Mixing, drying, filling" }
        ol.why {
            @for a in sampling::handling(boxes) { li { (a.text) " " small { (a.source.text) " " (mark(&a.source)) } } }
        }
    }
}

fn labels(at: &str) -> Markup {
    html! {
        form.noprint method="get" action="/sampling/labels.pdf" {
            h3 { "Labels" }
            (choice("stock", "On", LabelStock::ALL.map(|s| (s.key(), s.name())), ""))
            (number("from", "Begin at label", "1", "where the sheet is used in part"))
            (field("address", "The code on them opens", at, "the address of these pages"))
            p { button.q { "Labels as PDF" } }
            p { small { "A phone that reads the code must be able to reach this computer at that address. These pages answer on this computer alone, so a phone reaches them only where its own localhost leads here, as over a cable. Without that, the number on the label does: look it up on this page." } }
        }
    }
}

fn walks() -> Markup {
    html! {
        form.noprint method="get" action="/sampling/walks.pdf" {
            h3 { "The walks on paper" }
            (choice("language", "In", Language::ALL.map(|l| (l.key(), l.name())), ""))
            p { button.q { "Walks as PDF" } }
        }
    }
}

/// The boxes as fields: for what is written by hand and many at once.
fn by_hand(shelf: &Shelf) -> Markup {
    let day = |d: Option<Date>| d.map(|d| d.to_string()).unwrap_or_default();
    let in_use: Vec<&Block> = shelf.blocks.iter().filter(|b| !b.archived).collect();
    html! {
        @if in_use.is_empty() {
            p { "There is no block yet. " a href="/ground/new" { "Add one" } "." }
        } @else {
            details.noprint open[shelf.boxes.iter().all(|b| b.report.is_some())] {
                summary { "Write down many at once" }
                form method="post" action="/sampling/boxes" {
                    div.row {
                        div.field { label for="all" { "Those filled were all sent on" } input id="all" type="date" name="all"; }
                        div.field { label for="got" { "Those sent were all received on" } input id="got" type="date" name="got"; }
                    }
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows {
                            thead { tr {
                                th.l scope="col" { "Block" } th.l scope="col" { "Written on the box" } th.l scope="col" { "Filled on" }
                                th.l scope="col" { "Sent on" } th.l scope="col" { "Take out" }
                            } }
                            tbody {
                                @for block in &in_use {
                                    @for b in shelf.boxes.iter().rev().filter(|b| b.block == block.id && b.report.is_none()) {
                                        tr {
                                            td.l { (shelf.names(b)) }
                                            td.l { input.short name={ "label-" (b.id) } value=(b.label) aria-label={ "Written on the box of " (block.name) }; }
                                            td.l { input type="date" name={ "filled-" (b.id) } value=(day(b.filled_on)) aria-label={ "Day the box of " (block.name) " was filled" }; }
                                            td.l { input type="date" name={ "sent-" (b.id) } value=(day(b.sent_on)) aria-label={ "Day the box of " (block.name) " was sent" }; }
                                            td.l { input type="checkbox" name={ "drop-" (b.id) } value="yes" aria-label={ "Take out box " (b.label) }; }
                                        }
                                    }
                                    tr {
                                        td.l { (block.name) }
                                        td.l { input.short name={ "new-" (block.id) } placeholder="a new box" aria-label={ "A new box of " (block.name) }; }
                                        td {} td {} td {}
                                    }
                                }
                            }
                        }
                    }
                    p { button { "Keep" } }
                }
            }
        }
    }
}

/// What the form asks for: boxes to set and numbers of boxes to take out.
fn typed(book: &Book, f: &Fields) -> Result<(Vec<SampleBox>, Vec<i64>), String> {
    let day = |key: &str| f.maybe_of::<Date>(key, "a day such as 2026-10-20");
    let (all, got) = (day("all")?, day("got")?);
    let said = |e: farmbook::Error| e.to_string();
    let (mut set, mut drop) = (Vec::new(), Vec::new());
    for b in book.boxes().map_err(said)? {
        if b.report.is_some() {
            continue;
        }
        if f.ticked(&format!("drop-{}", b.id)) {
            drop.push(b.id);
            continue;
        }
        let Some(label) = f.maybe(&format!("label-{}", b.id)) else {
            continue;
        };
        let filled_on = day(&format!("filled-{}", b.id))?;
        let sent_on = day(&format!("sent-{}", b.id))?.or(all.filter(|_| filled_on.is_some()));
        let new = SampleBox {
            label: label.to_owned(),
            filled_on,
            sent_on,
            received_on: b.received_on.or(got).filter(|_| sent_on.is_some()),
            ..b.clone()
        };
        if new != b {
            set.push(new);
        }
    }
    for block in book.blocks().map_err(said)? {
        if let Some(label) = f.maybe(&format!("new-{}", block.id)) {
            // One that is written down by hand has been filled.
            set.push(SampleBox {
                filled_on: Some(all.map_or_else(today, |d| d.min(today()))),
                sent_on: all,
                ..SampleBox::new(block.id, label)
            });
        }
    }
    Ok((set, drop))
}

pub(crate) async fn keep(
    State(app): State<App>,
    headers: HeaderMap,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    let at = super::paper::here(&app, &headers);
    app.with(move |book| {
        let (set, drop) = match typed(book, &Fields(fields)) {
            Ok(typed) => typed,
            Err(why) => return whole(book, &at, None, Some(&why)),
        };
        let kept = book.together("Set boxes of soil", |book| {
            for id in &drop {
                book.remove_box(*id)?;
            }
            for b in &set {
                book.set_box(b)?;
            }
            Ok(())
        });
        match kept {
            Ok(()) => Err(Page::Go("/sampling/boxes?done=kept".to_owned())),
            Err(why) => whole(book, &at, None, Some(&why.to_string())),
        }
    })
    .await
}
