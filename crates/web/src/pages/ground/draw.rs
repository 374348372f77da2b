//! The sheet on which blocks are drawn: the page, what it loads and what it sends back.

use crate::ask::{Asked, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, said, wrong};
use crate::parts::choose::{choice, field, number, tick};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use farmbook::{Book, MarkKind};
use farmwork::drawing::{self, Cut, Drawn, DrawnBlock};
use maud::{Markup, html};
use quantity::{Length, plain};

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = (query.text("done") == "added").then_some("The block is on the map.");
        whole(book, &query, done, None, &Fields::default())
    })
    .await
}

fn whole(
    book: &Book,
    query: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
    typed: &Fields,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let sheet = drawing::sheet(book)?;
    let on = matches!(sheet.frame, ground::Frame::Earth { .. });
    let body = html! {
        div {
            p.meta { a href="/ground" { "Ground" } " · " a href="/ground/diagram" { "Where the blocks lie" } }
            h1 { "Draw the blocks" }
            p.lede {
                @if sheet.blocks.is_empty() { "Nothing is drawn yet. Draw each block as a rectangle or corner by corner, or type its length and width." }
                @else { (sheet.blocks.len()) @if sheet.blocks.len() == 1 { " block lies" } @else { " blocks lie" } " on the sheet"
                    @if on { ", on real coordinates" } "." }
                @if sheet.elsewhere > 0 { " " (sheet.elsewhere) " more on a grid of their own are not on it." }
            }
            (said(done))
            (wrong(problem))
            (board(farm.season))
            (by_hand(typed))
            @if !sheet.blocks.is_empty() { (listed(book, query)?) }
        }
        aside {
            h3 { "Where things lie" }
            p { "East and north are counted from the middle of the sheet. " @if on { "It lies in the middle of the farm’s outlines." } @else { "Choose any corner of the farm for it, such as the barn." } }
            h3 { "With keys" }
            p { "Choose a block in the list, then on the sheet: arrows move it (with Shift ten times as far), [ and ] turn it, Delete takes it away, + and − come nearer and go back. Ctrl Z goes a step back, Ctrl Y forward." }
            h3 { "What is kept" }
            p { "Nothing until you press “Keep the drawing”. A new block takes its area from the drawing; for one that is in the book, take the area over where the blocks lie." }
        }
    };
    Ok(page_with(
        &["draw.js"],
        &farm,
        "Ground",
        "Draw the blocks",
        &body,
    ))
}

/// The sheet and its tools; hidden until the script runs.
fn board(season: i64) -> Markup {
    let tool = |key: &str, words: &str| {
        html! { button.q type="button" data-tool=(key) aria-pressed="false" { (words) } }
    };
    let press = |key: &str, words: &str| {
        html! { button.q type="button" data-draw=(key) { (words) } }
    };
    let units = [("ft", "feet"), ("m", "metres")];
    html! {
        section #draw.draw.noprint hidden aria-label="Drawing" {
            div.tools role="toolbar" aria-label="Tools" {
                (tool("move", "Choose and move")) (tool("rectangle", "Rectangle")) (tool("outline", "Corner by corner")) (tool("corners", "Move corners"))
                (press("undo", "Step back")) (press("redo", "Step forward"))
                (press("in", "Nearer")) (press("out", "Further")) (press("whole", "Whole farm"))
            }
            div.sheet data-draw="sheet" tabindex="0" role="application" aria-label="The sheet; choose a block in the list, then move it with the arrow keys" {}
            p.said data-draw="said" role="status" {}
            div.row {
                div.field {
                    label for="draw_list" { "Chosen" }
                    select id="draw_list" data-draw="list" {}
                }
                (choice("draw_unit", "Lengths in", units, "ft"))
                (tick("draw_snap", "Snap to corners, sides and grid", true))
            }
            div data-draw="chosen" {
                div.row {
                    (field("draw_name", "Name", "", ""))
                    (number("draw_length", "Length", "", ""))
                    (number("draw_width", "Width", "", ""))
                    (number("draw_direction", "Direction", "", "° from north"))
                    (number("draw_east", "Middle, east", "", ""))
                    (number("draw_north", "Middle, north", "", ""))
                    (press("set", "Set")) (press("delete", "Delete"))
                }
                p.meta data-draw="area" {}
                div.row {
                    (number("draw_times", "Copy it side by side", "1", "times"))
                    (number("draw_gap", "with a path of", "1.5", ""))
                    (press("copy", "Copy"))
                }
            }
            fieldset {
                legend { "Cut the chosen block" }
                div.row {
                    (field("draw_left", "To the left of the line", "", ""))
                    (field("draw_right", "To its right", "", ""))
                    (number("draw_cut_year", "from the year", &season.to_string(), ""))
                    (tool("cut", "Draw the line"))
                }
            }
            fieldset {
                legend { "Add by measure" }
                div.row {
                    (field("draw_new_name", "Name", "", ""))
                    (number("draw_new_length", "Length", "100", ""))
                    (number("draw_new_width", "Width", "30", ""))
                    (number("draw_new_direction", "Direction", "0", "° from north"))
                    (number("draw_new_east", "Middle, east", "", "the view’s where empty"))
                    (number("draw_new_north", "Middle, north", "", ""))
                    (press("add", "Add"))
                }
            }
            fieldset {
                legend { "What else is there" }
                div.row {
                    (choice("draw_kind", "A", MarkKind::ALL.map(|k| (k.key(), k.name())), "well"))
                    (tool("point", "as a point")) (tool("line", "as a line")) (tool("area", "as an area"))
                }
                p.meta { "No core is placed on it. A double click, or Enter in the fields, ends a line." }
            }
            div.row {
                (number("draw_since", "Outlines changed hold from the year", "", "empty: a slip is mended"))
                button type="button" data-draw="keep" { "Keep the drawing" }
                p.meta data-draw="tally" {}
            }
        }
    }
}

fn by_hand(f: &Fields) -> Markup {
    html! {
        form.noprint method="post" action="/ground/draw" {
            details open[!f.0.is_empty()] {
                summary { "Without drawing: a rectangle by its measures" }
                div.row {
                    (field("name", "The block’s name", f.text("name"), ""))
                    (choice("unit", "Lengths in", [("ft", "feet"), ("m", "metres")], f.text("unit")))
                    (number("length", "Length", f.text("length"), ""))
                    (number("width", "Width", f.text("width"), ""))
                    (number("direction", "Direction of its length", f.text("direction"), "° clockwise from north"))
                    (number("east", "Its middle, east", f.text("east"), ""))
                    (number("north", "and north of the sheet’s middle", f.text("north"), ""))
                    button { "Put it on the map" }
                }
            }
        }
    }
}

fn listed(book: &Book, f: &Fields) -> Result<Markup, Page> {
    let list = List {
        path: "/ground/draw",
        key: "",
        rows: "blocks",
        keep: &[],
    };
    let all = at_hand::outlines(book)?;
    let leaf = Leaf::of(list, f, all.iter().collect(), |g| g.block.name.clone());
    Ok(html! {
        h2 { "On the sheet" }
        (leaf.head())
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "Block" } th scope="col" { "ft²" } th scope="col" { "acres" } th.l scope="col" { "" } } }
                tbody {
                    @for g in &leaf.rows {
                        tr {
                            td.l { a href={ "/ground/" (g.block.id) } { (g.block.name) } }
                            td { (plain(g.gross.to_square_feet(), 5)) }
                            td { (plain(g.gross.to_acres(), 3)) }
                            td.l { a href={ "/ground/parcel/" (g.block.id) } { "Beds, spots, split" } }
                        }
                    }
                }
            }
        }
        (leaf.foot())
    })
}

/// A rectangle that was typed.
pub(crate) async fn add(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let drawn = match typed(book, &f)? {
            Ok(drawn) => drawn,
            Err(why) => return whole(book, &Fields::default(), None, Some(&why), &f),
        };
        match drawing::keep(book, &drawn) {
            Ok(_) => Err(Page::Go("/ground/draw?done=added".to_owned())),
            Err(why) => whole(book, &Fields::default(), None, Some(&why.to_string()), &f),
        }
    })
    .await
}

fn typed(book: &Book, f: &Fields) -> Result<Result<Drawn, String>, Page> {
    let unit: fn(f64) -> Length = if f.text("unit") == "m" {
        Length::metres
    } else {
        Length::feet
    };
    let frame = drawing::frame(book)?;
    let block = || -> Result<DrawnBlock, String> {
        let length = unit(f.positive("length", "the length")?);
        let width = unit(f.positive("width", "the width")?);
        let direction = f.maybe_number("direction", "the direction")?.unwrap_or(0.0);
        let east = unit(
            f.maybe_number("east", "the place to the east")?
                .unwrap_or(0.0),
        );
        let north = unit(
            f.maybe_number("north", "the place to the north")?
                .unwrap_or(0.0),
        );
        Ok(DrawnBlock {
            id: book
                .block_by_name(f.text("name"))
                .map_err(|e| e.to_string())?
                .map_or(0, |b| b.id),
            name: f.text("name").to_owned(),
            parts: vec![vec![drawing::rectangle(
                [east.si(), north.si()],
                length,
                width,
                direction,
            )]],
        })
    };
    Ok(block().map(|block| Drawn {
        frame,
        blocks: vec![block],
        marks: Vec::new(),
        gone: Vec::new(),
        gone_marks: Vec::new(),
        since: None,
    }))
}

fn json(status: StatusCode, text: String) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], text).into_response()
}

fn told(status: StatusCode, words: &str) -> Response {
    json(status, serde_json::json!({ "said": words }).to_string())
}

pub(crate) async fn sheet(State(app): State<App>) -> Result<Response, Page> {
    let sheet = app.with(|book| Ok(drawing::sheet(book)?)).await?;
    let text = serde_json::to_string(&sheet)
        .map_err(|_| Page::sentence("The sheet could not be written."))?;
    Ok(json(StatusCode::OK, text))
}

/// A block cut along a drawn line; answers with a sentence either way.
pub(crate) async fn cut(State(app): State<App>, body: Result<Bytes, BytesRejection>) -> Response {
    let asked = body
        .ok()
        .and_then(|b| serde_json::from_slice::<Cut>(&b).ok());
    let Some(asked) = asked else {
        return told(
            StatusCode::UNPROCESSABLE_ENTITY,
            "The line did not arrive as the page sends it; nothing was changed. Open the page again.",
        );
    };
    let names = asked.names.join("” and “");
    match app.with(move |book| Ok(drawing::cut(book, &asked)?)).await {
        Ok(_) => told(
            StatusCode::OK,
            &format!(
                "It is cut into “{names}”. “Changes and undo” at the foot of the page takes it back."
            ),
        ),
        Err(why) => told(
            StatusCode::UNPROCESSABLE_ENTITY,
            &format!("{} Nothing was changed.", why.says()),
        ),
    }
}

/// What was drawn, checked and kept as one change; answers with a sentence either way.
pub(crate) async fn keep(State(app): State<App>, body: Result<Bytes, BytesRejection>) -> Response {
    let Ok(body) = body else {
        return told(
            StatusCode::PAYLOAD_TOO_LARGE,
            "The drawing is larger than 8 MB, which no farm’s is; nothing was kept.",
        );
    };
    let drawn: Drawn = match serde_json::from_slice(&body) {
        Ok(drawn) => drawn,
        Err(_) => {
            return told(
                StatusCode::UNPROCESSABLE_ENTITY,
                "The drawing did not arrive as the page sends it; nothing was kept. Open the page again.",
            );
        }
    };
    let kept = app
        .with(move |book| Ok(drawing::keep(book, &drawn)?.len()))
        .await;
    match kept {
        Ok(count) => told(
            StatusCode::OK,
            &format!(
                "The drawing is kept ({count} {}). “Changes and undo” at the foot of the page takes it back.",
                if count == 1 { "block" } else { "blocks" }
            ),
        ),
        Err(why) => told(
            StatusCode::UNPROCESSABLE_ENTITY,
            &format!("{} Nothing was kept.", why.says()),
        ),
    }
}
