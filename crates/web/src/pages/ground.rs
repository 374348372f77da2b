//! The ground: blocks with their size, soil and next crop.

mod brings;
pub(crate) mod diagram;
pub(crate) mod draw;
mod form;
pub(crate) mod parcel;
pub(crate) mod picture;
pub(crate) mod setbacks;
pub(crate) mod walk;
pub(crate) mod warmth;

use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use agronomy::crop;
use axum::extract::State;
use farmbook::{Block, BlockKind, Book, Id, Planting, Shape};
use farmwork::words;
use form::{Draft, form};
use maud::{Markup, html};
use quantity::{Area, plain};
use std::collections::{HashMap, HashSet};

/// The order a list can stand in.
fn sorted(mut blocks: Vec<Block>, planting_of: &HashMap<Id, &Planting>, by: &str) -> Vec<Block> {
    let crop = |b: &Block| planting_of.get(&b.id).map(|p| p.crop.clone());
    match by {
        "area" => blocks.sort_by(|a, b| {
            let size = |b: &Block| b.shape.spread_area().si();
            size(b).total_cmp(&size(a))
        }),
        "kind" => blocks.sort_by_cached_key(|b| (b.kind.name(), b.name.to_lowercase())),
        "crop" => {
            blocks.sort_by_cached_key(|b| (crop(b).is_none(), crop(b), b.name.to_lowercase()))
        }
        _ => {}
    }
    blocks
}

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let farm = book.farm()?;
        let plantings = book.plantings(farm.season)?;
        let planting_of: HashMap<Id, &Planting> = plantings.iter().map(|p| (p.block, p)).collect();
        let blocks = sorted(book.blocks()?, &planting_of, query.text("by"));
        let total: Area = blocks.iter().map(|b| b.shape.spread_area()).sum();
        let tested: HashSet<Id> = book.test_spans()?.into_iter().map(|s| s.block).collect();
        let done = match query.text("done") {
            "added" => Some("The block is kept."),
            "changed" => Some("The change is kept."),
            "removed" => Some("The block was taken out. “Changes and undo” at the foot of the page brings it back."),
            _ => None,
        };
        let without_crop = blocks
            .iter()
            .filter(|b| !planting_of.contains_key(&b.id))
            .count();
        let count = blocks.len();
        let list = List { path: "/ground", key: "", rows: "blocks", keep: &["by"] };
        let leaf = Leaf::of(list, &query, blocks, |b| {
            let crop = planting_of.get(&b.id).map_or("", |p| crop_name(p));
            format!("{} {} {crop} {}", b.name, b.kind.name(), b.aliases.join(" "))
        });
        let body = html! {
            div {
                h1 { "Ground" }
                @if count == 0 {
                    p.lede { "No ground yet. Begin with one block: a field, a tunnel, a set of beds, or a perennial planting that is sampled and fed as one." }
                    (said(done))
                    p { a.btn href="/ground/new" { "Add the first block" } " " a.btn.q href="/ground/draw" { "Draw the farm" } }
                } @else {
                    p.lede {
                        (count) @if count == 1 { " block" } @else { " blocks" } ", " b.num { (words::area(total)) } " to spread on. "
                        @if without_crop > 0 {
                            (without_crop) " of them "
                            @if without_crop == 1 { "has" } @else { "have" }
                            " no next crop yet, and cannot be planned for."
                        }
                    }
                    (said(done))
                    p { a.btn href="/ground/new" { "Add a block" } " " a.btn.q href="/ground/draw" { "Draw them" } " " a.btn.q href="/ground/diagram" { "Where they lie" } }
                    (leaf.head())
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr {
                                th.l scope="col" { a href="/ground" { "Block" } }
                                th.l scope="col" { a href="/ground?by=kind" { "Kind" } }
                                th scope="col" { a href="/ground?by=area" { "Area" } }
                                th.l scope="col" { "Soil" }
                                th.l scope="col" { a href="/ground?by=crop" { "Next crop" } }
                                th.l scope="col" { "Soil test" }
                            } }
                            tbody {
                                @for block in &leaf.rows {
                                    (row(block, planting_of.get(&block.id).copied(), tested.contains(&block.id)))
                                }
                            }
                        }
                    }
                    (leaf.foot())
                }
            }
            aside {
                h3 { "Next" }
                @if count == 0 {
                    p { "Then load the lab’s file and say what grows where next." }
                } @else {
                    p { a.btn.q href="/lab" { "Load a lab’s file" } }
                }
                h3 { "What the area is" }
                p { "The ground that material goes on: the beds alone, or beds and paths where you spread both." }
            }
        };
        Ok(page(&farm, "Ground", "Ground", &body))
    })
    .await
}

fn crop_name(p: &Planting) -> &str {
    crop::find(&p.crop).map_or(p.crop.as_str(), |c| c.name.as_str())
}

fn row(block: &Block, planting: Option<&Planting>, tested: bool) -> Markup {
    let area = block.shape.spread_area();
    html! {
        tr {
            td.l { a href={ "/ground/" (block.id) } { b { (block.name) } } }
            td.l { (block.kind.name()) @if let Shape::Beds { beds, .. } = block.shape { small { (beds) " beds" } } }
            td { (plain(area.to_square_feet(), 4)) " ft²" small { (plain(area.to_acres(), 2)) " acre · " (plain(area.si(), 3)) " m²" } }
            td.l {
                @if let Some(texture) = block.texture { (texture.name()) } @else { "–" }
                small { "worked " (plain(block.depth_in, 3)) " in" }
            }
            td.l {
                @match planting {
                    Some(p) => (crop_name(p)),
                    None => a href={ "/ground/" (block.id) } { "choose" },
                }
            }
            td.l { @if tested { "matched" } @else { "none yet" } }
        }
    }
}

pub(crate) async fn blank(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| {
        let farm = book.farm()?;
        let draft = Draft::of(
            &Block::new(
                "",
                BlockKind::Field,
                Shape::Rectangle {
                    length: quantity::Length::feet(0.0),
                    width: quantity::Length::feet(0.0),
                },
            ),
            None,
        );
        Ok(form(&farm, None, &draft, None))
    })
    .await
}

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let block = the(book, id)?;
        let planting = book.planting(id, farm.season)?;
        Ok(form(
            &farm,
            Some(&block),
            &Draft::of(&block, planting.as_ref()),
            None,
        ))
    })
    .await
}

pub(crate) fn the(book: &Book, id: i64) -> Result<Block, Page> {
    book.block(id).map_err(|_| {
        Page::Missing("There is no such block; it may have been taken out.".to_owned())
    })
}

pub(crate) async fn add(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| keep(book, None, fields)).await
}

pub(crate) async fn change(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let block = the(book, id)?;
        keep(book, Some(block), fields)
    })
    .await
}

/// Keeps the block and its planting as one change, or shows the form again with a sentence.
fn keep(
    book: &mut Book,
    old: Option<Block>,
    fields: Vec<(String, String)>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let draft = Draft(Fields(fields));
    let again = |why: String| Ok(form(&farm, old.as_ref(), &draft, Some(&why)));
    let block = match draft.block(old.as_ref()) {
        Ok(block) => block,
        Err(why) => return again(why),
    };
    let before = match &old {
        Some(old) => book.planting(old.id, farm.season)?,
        None => None,
    };
    let planting = match draft.planting(before.as_ref(), farm.season) {
        Ok(planting) => planting,
        Err(why) => return again(why),
    };
    let what = if old.is_some() {
        format!("change {}", block.name)
    } else {
        format!("add {}", block.name)
    };
    let kept = book.together(&what, |book| {
        let id = if old.is_some() {
            book.change_block(&block)?;
            block.id
        } else {
            book.add_block(&block)?
        };
        match planting {
            Some(mut planting) => {
                planting.block = id;
                book.set_planting(&planting)
            }
            None => book.clear_planting(id, farm.season),
        }
    });
    match kept {
        Ok(()) => Err(Page::Go(format!(
            "/ground?done={}",
            if old.is_some() { "changed" } else { "added" }
        ))),
        Err(why) => again(why.to_string()),
    }
}

pub(crate) async fn remove(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        book.remove_block(id)?;
        Err(Page::Go("/ground?done=removed".to_owned()))
    })
    .await
}
