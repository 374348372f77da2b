//! One block on the map: its beds’ direction, spots without cores, how far from water it is, what it was
//! before, and cutting it in two or laying it together with others.

use crate::ask::{At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, field, number, tick};
use crate::state::App;
use agronomy::setback::Class;
use axum::extract::State;
use farmbook::{Block, BlockOutline, Book, MarkKind};
use farmwork::{drawing, parcels, setback, words};
use ground::LeaveOut;
use maud::{Markup, html};
use quantity::{Length, plain};

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| whole(book, id, None, &Fields::default()))
        .await
}

fn whole(book: &Book, id: i64, problem: Option<&str>, f: &Fields) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let block = super::the(book, id)?;
    let held = book.outline(id)?;
    let body = html! {
        div {
            p.meta { a href="/ground" { "Ground" } " · " a href="/ground/diagram" { "Where the blocks lie" } }
            h1 { (block.name) " on the map" }
            (wrong(problem))
            @if let Some(held) = &held {
                p.lede { b.num { (plain(ground::area(&held.outline).to_square_feet(), 5)) " ft²" } " lie inside its outline"
                    @if let Some(since) = held.since { ", as it is since " (since) } "." }
                (away(book, id)?)
                @if !block.archived {
                    (beds(id, held, f))
                    (spots(book, id, held, f)?)
                    (cut(&block, held, farm.season, f)?)
                    (together(book, &block, farm.season, f)?)
                }
            } @else {
                p.lede { "It has no outline yet." }
                p { a.btn href="/ground/draw" { "Draw it" } }
            }
            (past(book, id)?)
        }
        aside {
            h3 { "A block that changes" }
            p { "Cutting a block or laying blocks together puts the old ones away with their reports, harvests and records. The new ones begin without a report of their own, and show those of the ground they came from." }
            h3 { "Until a new report" }
            p { "Old numbers were of a mixed sample of other ground. They say what the soil was like there, not what the new block needs." }
        }
    };
    Ok(page(
        &farm,
        "Ground",
        &format!("{} on the map", block.name),
        &body,
    ))
}

/// The reports of the ground that a block came from; nothing where it came from none.
pub(crate) fn past(book: &Book, id: i64) -> Result<Markup, Page> {
    let before = parcels::before(book, id)?;
    let earlier = book.earlier_outlines(id)?;
    let became = book.children(id)?;
    let mut later = Vec::new();
    for child in &became {
        later.push(book.block(child.block)?);
    }
    Ok(html! {
        @if !before.is_empty() {
            section.past {
                h2 { "The ground it came from" }
                p { "These reports are not its own: they are of the ground before it was cut or laid together." }
                ul {
                    @for b in &before {
                        li {
                            a href={ "/reading/" (b.block.id) } { b { (b.block.name) } } ", until " (b.until) ": "
                            @if b.tests.is_empty() { "no report" }
                            @for (at, test) in b.tests.iter().enumerate() {
                                @if at > 0 { ", " }
                                "sample “" (test.sample) "”"
                                @if let Some(day) = test.sampled_on { " of " (day) }
                            }
                        }
                    }
                }
            }
        }
        @if !later.is_empty() {
            p { "It became " @for (at, b) in later.iter().enumerate() { @if at > 0 { " and " } a href={ "/ground/parcel/" (b.id) } { (b.name) } } "." }
        }
        @if !earlier.is_empty() {
            h2 { "How it lay before" }
            ul { @for e in &earlier { li {
                @if let Some(since) = e.since { "from " (since) " " } "until " (e.until) ": " (plain(ground::area(&e.outline).to_square_feet(), 5)) " ft²"
            } } }
        }
    })
}

fn away(book: &Book, id: i64) -> Result<Markup, Page> {
    let kinds = [MarkKind::Well, MarkKind::Water, MarkKind::Sinkhole];
    let all = setback::of_block(book, id, &kinds)?;
    let (setbacks, block) = (setback::Setbacks::of(book)?, super::the(book, id)?);
    let strips: Vec<_> = Class::ALL
        .into_iter()
        .filter_map(|class| Some((class, setbacks.on_class(&block, class)?)))
        .collect();
    Ok(html! {
        @if !all.is_empty() {
            h2 { "Wells and water" }
            ul { @for a in all.iter().take(6) { li {
                b { (a.mark.called()) } ": "
                @if a.distance.si() == 0.0 { "reaches into the block" }
                @else { (plain(a.distance.to_feet(), 4)) " ft from the nearest ground of the block" }
            } } }
            @for (class, near) in &strips { p { b { (words::capital(class.name())) ". " } (near.says()) } }
            p.meta { "Measured from their edge. How far each material is " a href="/ground/setbacks" { "kept from them" } " can be set; your state and your certifier may ask for more." }
        }
    })
}

fn beds(id: i64, held: &BlockOutline, f: &Fields) -> Markup {
    let value = f.maybe("bearing").map_or_else(
        || held.bearing.map_or_else(String::new, |b| plain(b, 4)),
        str::to_owned,
    );
    html! {
        form.noprint method="post" action={ "/ground/parcel/" (id) "/beds" } {
            h2 { "Direction of the beds" }
            div.row {
                (number("bearing", "Beds run", &value, "° clockwise from north; empty: along the block"))
                button { "Set" }
            }
        }
    }
}

fn spots(book: &Book, id: i64, held: &BlockOutline, f: &Fields) -> Result<Markup, Page> {
    let frame = drawing::frame(book)?;
    Ok(html! {
        form.noprint method="post" action={ "/ground/parcel/" (id) "/spots" } {
            h2 { "Spots without cores" }
            @for (at, spot) in held.leave_out.iter().enumerate() {
                @let c = frame.to_plane(spot.at);
                (tick(&format!("keep-{at}"), &format!("{} ft east and {} ft north of the sheet’s middle, {} ft around",
                    plain(Length::metres(c.x).to_feet(), 4), plain(Length::metres(c.y).to_feet(), 4), plain(spot.radius.to_feet(), 3)), true))
            }
            div.row {
                (number("east", "East of the sheet’s middle", f.text("east"), "ft"))
                (number("north", "North of it", f.text("north"), "ft"))
                (number("radius", "Leave out around it", f.text("radius"), "ft"))
                button { "Keep the spots" }
            }
        }
    })
}

fn cut(block: &Block, held: &BlockOutline, season: i64, f: &Fields) -> Result<Markup, Page> {
    let edges = ground::edges(&held.outline).map_err(|e| Page::sentence(e.to_string()))?;
    let year = f
        .maybe("year")
        .map_or_else(|| season.to_string(), str::to_owned);
    Ok(html! {
        form.noprint method="post" action={ "/ground/parcel/" (block.id) "/split" } {
            h2 { "Split it" }
            div.row {
                (number("feet", "Along a line", f.text("feet"), "ft"))
                (choice("edge", "from its edge in the", edges.map(|e| (e, e)), f.text("edge")))
                (field("near", "The part at that edge is called", f.text("near"), ""))
                (field("rest", "and the rest", f.text("rest"), ""))
                (number("year", "from the year", &year, ""))
                button { "Split it" }
            }
        }
    })
}

fn together(book: &Book, block: &Block, season: i64, f: &Fields) -> Result<Markup, Page> {
    let blocks = book.blocks()?;
    let others: Vec<Block> = book
        .outlines()?
        .iter()
        .filter(|o| o.block != block.id)
        .filter_map(|o| blocks.iter().find(|b| b.id == o.block).cloned())
        .collect();
    let year = f
        .maybe("year")
        .map_or_else(|| season.to_string(), str::to_owned);
    Ok(html! {
        @if !others.is_empty() {
            form.noprint method="post" action={ "/ground/parcel/" (block.id) "/merge" } {
                h2 { "Lay it together" }
                details {
                    summary { "With which blocks" }
                    @for other in &others { (tick(&format!("with-{}", other.id), &other.name, f.ticked(&format!("with-{}", other.id)))) }
                }
                div.row {
                    (field("whole", "The whole is called", f.text("whole"), ""))
                    (number("merge_year", "from the year", &year, ""))
                    button { "Lay together" }
                }
            }
        }
    })
}

/// After a form: on to the block it is about, or the page again with what was wrong.
fn ended(book: &Book, id: i64, done: Result<i64, String>, f: &Fields) -> Result<Markup, Page> {
    match done {
        Ok(to) => Err(Page::Go(format!("/ground/parcel/{to}"))),
        Err(why) => whole(book, id, Some(&why), f),
    }
}

/// Keeps an outline, and gives the number of its block.
fn set(book: &mut Book, outline: &BlockOutline) -> Result<i64, String> {
    book.set_outline(outline).map_err(|e| e.to_string())?;
    Ok(outline.block)
}

/// The outline of a block that must have one.
fn outline(book: &Book, id: i64) -> Result<BlockOutline, Page> {
    super::the(book, id)?;
    book.outline(id)?
        .ok_or_else(|| Page::sentence("The block has no outline yet; draw it first."))
}

pub(crate) async fn set_beds(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let held = outline(book, id)?;
        let bearing = f.maybe_number("bearing", "the direction of the beds");
        let done = bearing.and_then(|bearing| set(book, &BlockOutline { bearing, ..held }));
        ended(book, id, done, &f)
    })
    .await
}

pub(crate) async fn set_spots(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let held = outline(book, id)?;
        let frame = drawing::frame(book)?;
        let mut leave_out: Vec<LeaveOut> = held
            .leave_out
            .iter()
            .enumerate()
            .filter(|(at, _)| f.ticked(&format!("keep-{at}")))
            .map(|(_, spot)| *spot)
            .collect();
        let new_spot = || -> Result<Option<LeaveOut>, String> {
            if f.maybe("radius").is_none() {
                return Ok(None);
            }
            let feet = |key: &str, what: &str| Ok::<_, String>(Length::feet(f.number(key, what)?));
            let at = geo::Coord {
                x: feet("east", "how far east it is")?.si(),
                y: feet("north", "how far north it is")?.si(),
            };
            Ok(Some(LeaveOut {
                at: frame.from_plane(at),
                radius: Length::feet(f.positive("radius", "the distance around")?),
            }))
        };
        let done = new_spot().and_then(|spot| {
            leave_out.extend(spot);
            set(book, &BlockOutline { leave_out, ..held })
        });
        ended(book, id, done, &f)
    })
    .await
}

fn year(f: &Fields, key: &str) -> Result<i64, String> {
    f.maybe_of::<i64>(key, "a year, such as 2027")?
        .ok_or_else(|| "Give the year from which it holds.".to_owned())
}

pub(crate) async fn split(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        super::the(book, id)?;
        let mut done = || -> Result<i64, String> {
            let distance = Length::feet(f.positive("feet", "the distance from the edge")?);
            let year = year(&f, "year")?;
            let edge = (f.text("edge"), distance);
            let names = [f.text("near"), f.text("rest")];
            let cut = parcels::split_from(book, id, edge, names, year);
            cut.map(|[near, _]| near).map_err(|e| e.to_string())
        };
        let done = done();
        ended(book, id, done, &f)
    })
    .await
}

pub(crate) async fn merge(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        super::the(book, id)?;
        let mut ids = vec![id];
        ids.extend(
            f.0.iter()
                .filter(|(_, v)| !v.trim().is_empty())
                .filter_map(|(k, _)| k.strip_prefix("with-")?.parse::<i64>().ok()),
        );
        let laid = year(&f, "merge_year").and_then(|year| {
            parcels::merge(book, &ids, f.text("whole"), year).map_err(|e| e.to_string())
        });
        ended(book, id, laid, &f)
    })
    .await
}
