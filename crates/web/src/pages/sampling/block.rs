//! One block’s sampling with every reason, what cores buy, and what the grower knows of its ground.

use super::{buys, reasons};
use crate::ask::{Asked, At, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{date, field, number, tick};
use crate::parts::working::mark;
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, GroundNote};
use farmwork::sampling::BlockSampling;
use farmwork::words;
use jiff::civil::Date;
use maud::{Markup, html};

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(query);
        let done = (f.text("done") == "kept").then_some("It is kept.");
        whole(book, id, &f, done, None)
    })
    .await
}

fn whole(
    book: &Book,
    id: i64,
    f: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    crate::pages::ground::the(book, id)?;
    let farm = book.farm()?;
    let plan = at_hand::sampling(book)?;
    let Some(b) = plan.block(id) else {
        return Err(Page::Missing("That block is out of use.".to_owned()));
    };
    let name = &b.block.name;
    let body = html! {
        div {
            p.meta { a href="/sampling" { "Sampling" } }
            h1 { "Sampling " (name) }
            p.lede { (words::capital(b.due.name())) @if !super::days(b).is_empty() { ": " (super::days(b)) } "." }
            (said(done))
            (wrong(problem))
            h2 { "When it is due" }
            (reasons(&b.why_due))
            h2 { "When in the year" }
            @if let Some((day, why)) = &b.not_before {
                p.first { b { "Better not before " (day) ". " } (why.text) " " small { (why.source.text) " " (mark(&why.source)) } }
            }
            (reasons(&b.when))
            h2 { "How deep" }
            (reasons(&b.depth))
            h2 { "What to ask the lab for" }
            dl.facts.asks {
                @for (kind, why) in &b.asks {
                    dt { b { (words::capital(kind.name())) } }
                    dd { (why.text) " " small { (why.source.text) " " (mark(&why.source)) } }
                }
            }
            h2 id="how-many" { "How many cores" }
            (buys::section(book, b, f)?)
            (form(b))
        }
        aside {
            h3 { "Where" }
            p { a href={ "/ground/walk/" (id) } { "The places of its cores" } }
            @for open in &b.open {
                p { a href={ "/sampling/box/" (open.id) } { "Box " (open.label) } ", " (open.state().name()) }
            }
            h3 { "Two samples of one block" }
            p { "Two boxes of the same block at one time show how far chance alone moves its numbers. A few such pairs on the farm tell your own ground’s scatter, which then stands in place of that of published fields." }
        }
    };
    Ok(page(&farm, "Sampling", &format!("Sampling {name}"), &body))
}

fn form(b: &BlockSampling) -> Markup {
    let day = |d: Option<Date>| d.map(|d| d.to_string()).unwrap_or_default();
    html! {
        form.noprint method="post" action={ "/sampling/" (b.block.id) } {
            h2 { "What you know of this ground" }
            div.row {
                (field("soil", "The soil is called", &b.note.soil, "such as creek bottom; blocks of one name are one soil"))
                (number("cores", "Cores to a box", &b.block.cores.map(|c| c.to_string()).unwrap_or_default(), ""))
            }
            div.row {
                (date("limed_on", "Last lime", &day(b.note.limed_on)))
                (date("manured_on", "Last manure or compost", &day(b.note.manured_on)))
            }
            (tick("old_ground", "An old orchard, a house or a busy road stood here or near", b.note.old_ground))
            p { button { "Keep" } }
        }
    }
}

pub(crate) async fn keep(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let block = crate::pages::ground::the(book, id)?;
        let f = Fields(fields);
        let day = |key: &str| f.maybe_of::<Date>(key, "a day such as 2026-10-20");
        let typed = (|| {
            let note = GroundNote {
                block: id,
                soil: f.text("soil").to_owned(),
                old_ground: f.ticked("old_ground"),
                limed_on: day("limed_on")?,
                manured_on: day("manured_on")?,
            };
            let cores = f.maybe_count("cores", "a number of cores")?;
            book.together(
                &format!("Set the sampling of “{}”", block.name),
                |book| {
                    book.set_ground_note(&note)?;
                    book.change_block(&farmbook::Block {
                        cores,
                        ..block.clone()
                    })
                },
            )
            .map_err(|e| e.to_string())
        })();
        match typed {
            Ok(()) => Err(Page::Go(format!("/sampling/{id}?done=kept"))),
            Err(why) => whole(book, id, &Fields::default(), None, Some(&why)),
        }
    })
    .await
}
