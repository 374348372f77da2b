//! The boxes of soil: what is written on each, when it was sent, which report answered it.

use crate::ask::{Asked, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, SampleBox};
use jiff::civil::Date;
use maud::{Markup, html};

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = (Fields(query).text("done") == "kept").then_some("The boxes are kept.");
        whole(book, done, None)
    })
    .await
}

fn whole(book: &Book, done: Option<&str>, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let blocks = book.blocks()?;
    let boxes = book.boxes()?;
    let reports = book.reports()?;
    let waiting = boxes.iter().filter(|b| b.awaited()).count();
    let home = boxes.iter().filter(|b| b.sent_on.is_none()).count();
    let body = html! {
        div {
            p.meta { a href="/lab" { "Lab" } }
            h1 { "Boxes of soil" }
            p.lede {
                @match (home, waiting) {
                    (0, 0) => "Write down what stands on each box before it goes. The report is then matched by it, whatever the lab calls the sample.",
                    (h, 0) => { (h) " not sent yet." },
                    (0, w) => { (w) " sent and waiting for results." },
                    (h, w) => { (h) " not sent yet, " (w) " sent and waiting for results." },
                }
            }
            (said(done))
            (wrong(problem))
            @if blocks.is_empty() {
                p { "There is no block yet. " a href="/ground/new" { "Add one" } "." }
            } @else {
                form method="post" action="/lab/boxes" {
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows {
                            thead { tr {
                                th.l scope="col" { "Block" } th.l scope="col" { "Written on the box" }
                                th.l scope="col" { "Sent on" } th.l scope="col" { "Results" } th.l scope="col" { "Take out" }
                            } }
                            tbody {
                                @for block in &blocks {
                                    @for b in boxes.iter().rev().filter(|b| b.block == block.id) {
                                        @let answered = b.report.and_then(|id| reports.iter().find(|r| r.id == id));
                                        tr {
                                            td.l { (block.name) }
                                            @if let Some(report) = answered {
                                                td.l { (b.label) }
                                                td.l { @if let Some(day) = b.sent_on { (day) } }
                                                td.l { a href={ "/lab/" (report.id) } { (report.file_name) } }
                                                td {}
                                            } @else {
                                                td.l { input.short name={ "label-" (b.id) } value=(b.label) aria-label={ "Written on the box of " (block.name) }; }
                                                td.l { input type="date" name={ "sent-" (b.id) } value=(b.sent_on.map(|d| d.to_string()).unwrap_or_default()) aria-label={ "Day the box of " (block.name) " was sent" }; }
                                                td.l { @if b.awaited() { "waiting" } @else { "at home" } }
                                                td.l { input type="checkbox" name={ "drop-" (b.id) } value="yes" aria-label={ "Take out box " (b.label) }; }
                                            }
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
                    div.row {
                        div.field {
                            label for="all" { "Those at home were all sent on" }
                            input id="all" type="date" name="all";
                        }
                    }
                    p { button { "Keep" } }
                }
            }
        }
        aside {
            h3 { "On the box" }
            p { "Short and only once: a number or the block’s name. The same on the lab’s form." }
            h3 { "When results come" }
            p { "Load the report on the " a href="/lab" { "Lab" } " page: the boxes that it answers are closed by themselves." }
        }
    };
    Ok(page(&farm, "Lab", "Boxes of soil", &body))
}

/// What the form asks for: boxes to set and numbers of boxes to take out.
fn typed(book: &Book, f: &Fields) -> Result<(Vec<SampleBox>, Vec<i64>), String> {
    let day = |key: &str| f.maybe_of::<Date>(key, "a day such as 2026-10-20");
    let all = day("all")?;
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
        let new = SampleBox {
            label: label.to_owned(),
            sent_on: day(&format!("sent-{}", b.id))?.or(all),
            ..b.clone()
        };
        if new != b {
            set.push(new);
        }
    }
    for block in book.blocks().map_err(said)? {
        if let Some(label) = f.maybe(&format!("new-{}", block.id)) {
            set.push(SampleBox {
                sent_on: all,
                ..SampleBox::new(block.id, label)
            });
        }
    }
    Ok((set, drop))
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let (set, drop) = match typed(book, &Fields(fields)) {
            Ok(typed) => typed,
            Err(why) => return whole(book, None, Some(&why)),
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
            Ok(()) => Err(Page::Go("/lab/boxes?done=kept".to_owned())),
            Err(why) => whole(book, None, Some(&why.to_string())),
        }
    })
    .await
}
