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
use farmwork::drawing::{self, Cut, Drawn, DrawnBlock, Join};
use farmwork::placing::{self, Axis, Placing};
use maud::{Markup, html};
use quantity::{Length, plain};

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = match query.text("done") {
            "added" => Some("The block is on the map."),
            "placed" => Some("The farm has its place on the earth. “Changes and undo” at the foot of the page takes it back."),
            _ => None,
        };
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
            (board(farm.season, sheet.picture.is_some()))
            (by_hand(typed))
            (on_earth(&sheet, typed))
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

/// A tool that is used on the sheet.
fn tool(key: &str, words: &str) -> Markup {
    html! { button.q type="button" data-tool=(key) aria-pressed="false" { (words) } }
}

/// Something that is done at once.
fn press(key: &str, words: &str) -> Markup {
    html! { button.q type="button" data-draw=(key) { (words) } }
}

/// A tool that asks for something first; its fields open beneath the tools.
fn asks(key: &str, words: &str) -> Markup {
    html! { button.q type="button" data-strip=(key) data-draw={ "tool-" (key) } aria-expanded="false" aria-controls={ "panel-" (key) } { (words) } }
}

/// The fields of a tool that asks.
fn panel(key: &str, legend: &str, body: &Markup) -> Markup {
    html! {
        fieldset.strip id={ "panel-" (key) } data-panel=(key) data-draw=(key) hidden {
            legend { (legend) }
            (body)
        }
    }
}

/// The sheet and its tools; hidden until the script runs.
fn board(season: i64, picture: bool) -> Markup {
    let year = season.to_string();
    let units = [("ft", "feet"), ("m", "metres")];
    html! {
        section #draw.draw.noprint hidden data-picture=[picture.then_some("yes")] aria-label="Drawing" {
            div.tools role="toolbar" aria-label="Tools" {
                (tool("move", "Move")) (tool("rectangle", "Rectangle")) (tool("outline", "Corner by corner")) (tool("corners", "Reshape"))
                (asks("add", "By measure")) (asks("cut", "Cut")) (asks("join", "Join")) (asks("mark", "Mark")) (asks("photo", "Photo"))
                (press("undo", "Back")) (press("redo", "Forward"))
                (press("in", "Nearer")) (press("out", "Further")) (press("whole", "All"))
            }
            (panel("add", "Add a block by measure", &html! {
                div.row {
                    (field("draw_new_name", "Name", "", ""))
                    (number("draw_new_length", "Length", "100", ""))
                    (number("draw_new_width", "Width", "30", ""))
                    (number("draw_new_direction", "Turned", "0", "°"))
                    (number("draw_new_east", "East", "", ""))
                    (number("draw_new_north", "North", "", ""))
                    (press("add-block", "Add"))
                }
                p.meta { "East and north are of its middle; left empty, it lies where you look." }
            }))
            (panel("cut", "Cut the chosen block", &html! {
                div.row {
                    (field("draw_left", "Left of the line", "", ""))
                    (field("draw_right", "Right of it", "", ""))
                    (number("draw_cut_year", "from the year", &year, ""))
                    (tool("cut", "Draw the line"))
                }
            }))
            (panel("join", "Join blocks", &html! {
                div.row {
                    div.field {
                        label for="draw_join_with" data-draw="join-of" { "The chosen block and" }
                        select id="draw_join_with" name="draw_join_with" {}
                    }
                    (field("draw_join_name", "become", "", ""))
                    (number("draw_join_year", "from the year", &year, ""))
                    (press("join-blocks", "Lay together"))
                }
            }))
            (panel("mark", "What else is there", &html! {
                div.row {
                    (choice("draw_kind", "A", MarkKind::ALL.map(|k| (k.key(), k.name())), "well"))
                    (number("draw_mark_width", "Width", "", "empty: 6 ft"))
                    (tool("point", "Point")) (tool("line", "Line")) (tool("area", "Area"))
                }
                p.meta { "A double click ends a line. No core is placed on it, and setbacks are measured from its edge." }
            }))
            (panel("photo", "Lay the photo by places in it", &photo()))
            div.sheet data-draw="sheet" tabindex="0" role="application" aria-label="The sheet; choose a block in the list, then move it with the arrow keys" {}
            p.said data-draw="said" role="status" {}
            div.row.keep {
                button type="button" data-draw="keep" { "Keep the drawing" }
                p.meta data-draw="tally" {}
            }
            div.row {
                (field("draw_find", "Find", "", ""))
                div.field {
                    label for="draw_list" { "Chosen" }
                    select id="draw_list" data-draw="list" {}
                }
                (choice("draw_unit", "Lengths in", units, "ft"))
                (tick("draw_snap", "Snap to corners, sides and grid", true))
            }
            div data-draw="chosen" hidden {
                div.row {
                    (field("draw_name", "Name", "", ""))
                    div.inline data-of="block" {
                        (number("draw_length", "Length", "", ""))
                        (number("draw_width", "Width", "", ""))
                        (number("draw_direction", "Direction", "", "° from north"))
                        (number("draw_east", "Middle, east", "", ""))
                        (number("draw_north", "Middle, north", "", ""))
                    }
                    div.inline data-of="mark" { (number("draw_across", "Width", "", "empty: 6 ft")) }
                    (press("set", "Set")) (press("delete", "Delete"))
                }
                p.meta data-draw="area" {}
                div.row data-of="block" {
                    (number("draw_times", "Copy it side by side", "1", "times"))
                    (number("draw_gap", "with a path of", "1.5", ""))
                    (press("copy", "Copy"))
                    (number("draw_since", "Outlines changed hold from the year", "", "empty: a slip is mended"))
                }
            }
        }
    }
}

/// The places by which the photo is laid: clicked, or typed.
fn photo() -> Markup {
    let place = |at: u8| {
        let short = |key: &str, label: &str| {
            let name = format!("photo_{key}{at}");
            html! {
                div.field {
                    label for=(name) { (label) }
                    input.short id=(name) name=(name) inputmode="decimal";
                }
            }
        };
        html! {
            div.row.place role="group" aria-label={ "Place " (at) } {
                b.num { (at) }
                (short("across", "Points across")) (short("down", "down"))
                button.q type="button" data-pick={ "photo-" (at) } aria-label={ "Click place " (at) " on the photo" } { "On the photo" }
                (short("east", "Lies east")) (short("north", "north"))
                button.q type="button" data-pick={ "sheet-" (at) } aria-label={ "Click where place " (at) " lies" } { "Where it lies" }
            }
        }
    };
    html! {
        p.meta { "Click a place on the photo, then where it lies on the sheet, or type both. Two places are enough; more share what does not fit. Points are counted from the photo’s upper left corner." }
        (place(1)) (place(2))
        details { summary { "More places" } (place(3)) (place(4)) }
        div.row {
            (number("photo_apart", "Or the distance from 1 to 2", "", "as measured"))
            (press("fit", "Lay the photo so"))
        }
    }
}

fn by_hand(f: &Fields) -> Markup {
    html! {
        form.noprint method="post" action="/ground/draw" {
            details open[f.maybe("name").or(f.maybe("length")).is_some()] {
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
        h2 #listed { "On the sheet" }
        (leaf.head())
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "Block" } th scope="col" { "ft²" } th.l scope="col" { "" } } }
                tbody {
                    @for g in &leaf.rows {
                        tr {
                            td.l { a href={ "/ground/" (g.block.id) } { (g.block.name) } }
                            td.tight { (plain(g.gross.to_square_feet(), 4)) small { (plain(g.gross.to_acres(), 3)) " acre" } }
                            td.l { a href={ "/ground/parcel/" (g.block.id) } { "Beds, spots, split" } }
                        }
                    }
                }
            }
        }
        (leaf.foot())
    })
}

/// The farm’s place on the earth, while it lies on a plain grid.
fn on_earth(sheet: &drawing::Sheet, f: &Fields) -> Markup {
    let on_grid = matches!(sheet.frame, ground::Frame::Grid { .. });
    html! {
        @if on_grid || sheet.elsewhere > 0 {
            form.noprint method="post" action="/ground/place" {
                details open[f.maybe("latitude").is_some() || f.maybe("longitude").is_some()] {
                    summary { "Give the farm its place on the earth" }
                    p { "Then tracks of a phone and files of other maps fit to it. Read off one point, such as the corner of the barn, and say where on the sheet it is; all that is drawn moves there together, and areas stay as they are." }
                    div.row {
                        (field("latitude", "Latitude of the point", f.text("latitude"), "44.1234 or 44 07 24.2 N"))
                        (field("longitude", "Longitude of the point", f.text("longitude"), "-72.5678 or 72 34 04.1 W"))
                    }
                    div.row {
                        (number("place_east", "It is on the sheet, east", f.text("place_east"), "ft of the middle"))
                        (number("place_north", "and north", f.text("place_north"), "ft of the middle"))
                        (number("turned", "The sheet’s north points to", f.text("turned"), "° clockwise from true north"))
                    }
                    @if f.ticked("doubted") { (tick("sure", "It is right so", f.ticked("sure"))) input type="hidden" name="doubted" value="yes"; }
                    button { "Put it there" }
                }
            }
        }
    }
}

fn placing(f: &Fields) -> Result<Placing, String> {
    let (mut lat, mut lon) = (f.text("latitude"), f.text("longitude"));
    // Both as they are copied from a map: 44.1234, -72.5678.
    if lon.is_empty()
        && let Some((first, second)) = lat.split_once(',')
    {
        (lat, lon) = (first.trim(), second.trim());
    }
    let feet = |key: &str, what: &str| -> Result<f64, String> {
        let value = f.maybe_number(key, what)?;
        Ok(value.map_or(0.0, |v| Length::feet(v).si()))
    };
    let latitude = placing::degrees(lat, Axis::Latitude)?;
    Ok(Placing {
        at: [placing::degrees(lon, Axis::Longitude)?, latitude],
        sheet: [
            feet("place_east", "the place on the sheet to the east")?,
            feet("place_north", "the place on the sheet to the north")?,
        ],
        turned: f
            .maybe_number("turned", "the direction of the sheet’s north")?
            .unwrap_or(0.0),
    })
}

/// Gives the farm its place on the earth; what is doubtful is asked once.
pub(crate) async fn place(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let mut f = Fields(fields);
        let asked = match placing(&f) {
            Ok(asked) => asked,
            Err(why) => return whole(book, &Fields::default(), None, Some(&why), &f),
        };
        if let Some(doubt) = placing::doubt(&asked).filter(|_| !f.ticked("sure")) {
            f.0.push(("doubted".to_owned(), "yes".to_owned()));
            return whole(book, &Fields::default(), None, Some(&doubt), &f);
        }
        match placing::place(book, &asked) {
            Ok(_) => Err(Page::Go("/ground/draw?done=placed".to_owned())),
            Err(why) => whole(book, &Fields::default(), None, Some(&why.to_string()), &f),
        }
    })
    .await
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
        picture: None,
        since: None,
    }))
}

pub(super) fn json(status: StatusCode, text: String) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], text).into_response()
}

pub(super) fn told(status: StatusCode, words: &str) -> Response {
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

/// Blocks laid together; answers with a sentence either way.
pub(crate) async fn join(State(app): State<App>, body: Result<Bytes, BytesRejection>) -> Response {
    let asked = body
        .ok()
        .and_then(|b| serde_json::from_slice::<Join>(&b).ok());
    let Some(asked) = asked else {
        return told(
            StatusCode::UNPROCESSABLE_ENTITY,
            "The blocks did not arrive as the page sends them; nothing was changed. Open the page again.",
        );
    };
    let name = asked.name.clone();
    match app.with(move |book| Ok(drawing::join(book, &asked)?)).await {
        Ok(_) => told(
            StatusCode::OK,
            &format!(
                "They are “{name}” now. “Changes and undo” at the foot of the page takes it back."
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
