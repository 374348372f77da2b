//! Where the blocks lie: a map to scale, the areas beside it, and a file of outlines to bring in.

use crate::ask::{Asked, At, Parcel};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{choice, field, tick};
use crate::parts::leaf::{Leaf, List};
use crate::parts::plot::{MOST_LETTERED, Plot, one_frame};
use crate::state::{App, LookedAt, held};
use axum::extract::State;
use farmbook::{Book, Shape};
use farmwork::outlines::{self, Ask, Fate, Ground, Proposal};
use ground::GridUnit;
use maud::{Markup, html};
use quantity::plain;
use std::sync::Arc;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = match query.text("done") {
            "kept" => Some("The outlines are kept. The areas of the blocks stay as they were until you take one over."),
            "area" => Some("The block’s area is now that of its outline."),
            "dropped" => Some("The outline was taken out. “Changes and undo” at the foot of the page brings it back."),
            _ => None,
        };
        whole(book, &query, done, None)
    })
    .await
}

fn whole(
    book: &Book,
    query: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    whole_of(book, query, done, problem, None)
}

/// The page, with the file that was looked at, what was asked of it and its name.
fn whole_of(
    book: &Book,
    query: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
    seen: Option<(&Proposal, &Fields, &str)>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let all = at_hand::outlines(book)?;
    let without = book.blocks()?.len() - all.len();
    let differ = all.iter().filter(|g| !g.agrees()).count();
    let body = html! {
        div {
            p.meta { a href="/ground" { "Ground" } }
            h1 { "Where the blocks lie" }
            p.lede {
                @if all.is_empty() { "No block has an outline yet. Bring in a file: drawn on any map, or recorded by a phone while you walk around each block." }
                @else {
                    (all.len()) @if all.len() == 1 { " block has an outline" } @else { " blocks have outlines" }
                    @if without > 0 { ", " (without) " have none" }
                    "."
                    @if differ > 0 { " " (differ) @if differ == 1 { " differs" } @else { " differ" } " from the area in the book by more than 2 %." }
                }
            }
            (said(done))
            (wrong(problem))
            @if let Some((seen, asked, name)) = seen { (proposal(seen)) (form(asked, Some(name))) }
            p.noprint { a.btn.q href="/ground/draw" { "Draw on it" } @if !all.is_empty() { " " a.btn.q href="/ground/map.pdf" { "The map as PDF, to scale" } " " a.btn.q href="/ground/outlines.geojson" { "As a file for other maps" } }
                " " a.btn.q href="/ground/setbacks" { "How far from water" } }
            (map(&all))
            @if !all.is_empty() { (areas(&all, query)) }
            @if seen.is_none() { (form(&Fields::default(), None)) }
            (picture(book)?)
        }
        aside {
            h3 { "What is read" }
            p { "GeoJSON, KML, KMZ, a GPX track or route around each block, or a zipped shapefile. Each outline goes to the block of its name. What a GeoJSON file calls a well, water, road and so on under “kind” stands beside the blocks, with its “width_ft” or “width_m”." }
            h3 { "What an area is" }
            p { "Measured on the earth’s ellipsoid. A phone wanders some 10 ft, so a small block is better measured with a tape." }
            h3 { "Cores" }
            p { "Each block’s own page of the map spreads the cores of a sample over it and gives the walk." }
        }
    };
    Ok(page(&farm, "Ground", "Where the blocks lie", &body))
}

/// The map; nothing where there is no outline.
fn map(all: &[Ground]) -> Markup {
    let Some(frame) = one_frame(all.iter().map(|g| &g.outline.outline)) else {
        return html! {};
    };
    let first = matches!(frame, ground::Frame::Earth { .. });
    let drawn: Vec<(&Ground, geo::MultiPolygon)> = all
        .iter()
        .filter(|g| (g.outline.outline.coordinates == ground::Coordinates::Degrees) == first)
        .map(|g| (g, frame.shape(&g.outline.outline)))
        .collect();
    let corners = drawn
        .iter()
        .flat_map(|(_, s)| s.iter().flat_map(|p| p.exterior().coords().copied()));
    let Some(plot) = Plot::around(corners) else {
        return html! {};
    };
    let names: Vec<&str> = drawn.iter().map(|(g, _)| g.block.name.as_str()).collect();
    let lettered = drawn.len() <= MOST_LETTERED;
    let picture = html! {
        g fill="#eee9dd" fill-rule="evenodd" stroke="#5f4a25" stroke-width=(if lettered { "1.5" } else { "0.7" }) {
            @for (g, shape) in &drawn {
                a href={ "/ground/walk/" (g.block.id) } { path d=(plot.path(shape)) { title { (g.block.name) } } }
            }
        }
        @for (at, (_, shape)) in drawn.iter().enumerate().filter(|_| lettered) {
            @if let Some(place) = geo::InteriorPoint::interior_point(shape) {
                text.v pointer-events="none" x=(format!("{:.1}", plot.x(place.into()))) y=(format!("{:.1}", plot.y(place.into()) + 4.0)) text-anchor="middle" {
                    (at + 1)
                }
            }
        }
    };
    let label = if lettered {
        format!("Map of {}", names.join(", "))
    } else {
        format!("Map of {} blocks; the table below names each", names.len())
    };
    html! {
        (plot.picture(&label, &picture))
        @if drawn.len() < all.len() {
            p.meta { "Blocks on a plain grid of their own are not on this map; each has its own." }
        }
    }
}

fn areas(all: &[Ground], f: &Fields) -> Markup {
    let list = List {
        path: "/ground/diagram",
        key: "",
        rows: "blocks",
        keep: &[],
    };
    let leaf = Leaf::of(list, f, (1..).zip(all).collect(), |(_, g)| {
        g.block.name.clone()
    });
    html! {
        h2 { "Areas" }
        (leaf.head())
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Block" }
                    th scope="col" { "Outline, ft²" }
                    th scope="col" { "Bed tops, ft²" }
                    th scope="col" { "In the book, ft²" }
                    th.l scope="col" { "" }
                } }
                tbody {
                    @for (at, g) in &leaf.rows {
                        tr {
                            td.l { (at) " " a href={ "/ground/walk/" (g.block.id) } { b { (g.block.name) } } }
                            td data-label="Outline, ft²" { (plain(g.gross.to_square_feet(), 5)) small { (plain(g.gross.to_acres(), 3)) " acre" } }
                            td data-label="Bed tops, ft²" {
                                @match (&g.beds, &g.block.shape) {
                                    (Some(b), _) => { (plain(b.tops.to_square_feet(), 5)) small { (b.beds.len()) " beds" } }
                                    (None, Shape::Beds { .. }) => "do not fit",
                                    _ => "–",
                                }
                            }
                            td data-label="In the book, ft²" { (plain(g.block.shape.spread_area().to_square_feet(), 5)) @if !g.agrees() { small { "differs" } } }
                            td.l {
                                @if let Some(note) = &g.note { small { (note) } }
                                @if !g.agrees() && (g.beds.is_some() || !matches!(g.block.shape, Shape::Beds { .. })) {
                                    form.noprint method="post" action={ "/ground/walk/" (g.block.id) "/area" } {
                                        button.q { "Take this area over" }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
        (leaf.foot())
    }
}

fn form(f: &Fields, looked_at: Option<&str>) -> Markup {
    let open = ["swap", "far", "add", "grid", "match", "skip"];
    html! {
        form.noprint method="post" action="/ground/diagram" enctype="multipart/form-data" {
            h2 { @if looked_at.is_some() { "Keep it" } @else { "Bring in outlines" } }
            @if let Some(name) = looked_at { input type="hidden" name="looked_at" value=(name); }
            div.row {
                div.field {
                    label for="file" { @if looked_at.is_some() { "Another file instead" } @else { "The file" } }
                    input type="file" id="file" name="file" accept=".geojson,.json,.kml,.kmz,.gpx,.zip" required[looked_at.is_none()];
                }
                button name="do" value="look" { "Look at it first" }
                button.q name="do" value="keep" { "Keep the outlines" }
            }
            details open[open.iter().any(|key| f.maybe(key).is_some())] {
                summary { "If something does not fit" }
                (tick("swap", "Exchange latitude and longitude of what lies wrong", f.ticked("swap")))
                (tick("far", "What lies far from the farm is right", f.ticked("far")))
                (tick("add", "Outlines without a block become new blocks", f.ticked("add")))
                div.row {
                    (choice("grid", "Coordinates that are no degrees are", [("", "as the file says"), ("feet", "feet"), ("metres", "metres")], f.text("grid")))
                    (field("match", "Whose outline it is", f.text("match"), "OUTLINE=BLOCK, parted by semicolons"))
                    (field("skip", "Leave out", f.text("skip"), "names or numbers, parted by semicolons"))
                }
            }
        }
    }
}

/// What a file would do, before anything is kept.
fn proposal(seen: &Proposal) -> Markup {
    let stops = seen.stops();
    html! {
        h2 { (seen.file_name) }
        p { "A " (seen.form.name()) " file. Nothing is kept yet." }
        @if !stops.is_empty() {
            div.wrong role="alert" { ul { @for stop in &stops { li { (stop) } } } }
        }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "Outline" } th.l scope="col" { "Becomes" } th scope="col" { "ft²" } th scope="col" { "acres" } } }
                tbody {
                    @for line in &seen.lines {
                        tr {
                            td.l {
                                (line.number) " " b { @if line.feature.name.is_empty() { "without a name" } @else { (line.feature.name) } }
                                @for note in &line.feature.notes { small { (note) } }
                            }
                            td.l {
                                @match &line.fate {
                                    Fate::Block { block, replaces } => { (block.name) @if *replaces { small { "in place of the one it has" } } }
                                    Fate::New => "a new block",
                                    Fate::NoBlock => "nothing: no block has this name",
                                    Fate::Skipped => "left out",
                                }
                            }
                            td { (plain(line.area.to_square_feet(), 5)) }
                            td { (plain(line.area.to_acres(), 3)) }
                        }
                    }
                }
            }
        }
        @if !seen.marks.is_empty() {
            p { "Beside the blocks: " @for (at, m) in seen.marks.iter().enumerate() {
                @if at > 0 { "; " }
                (m.called()) " (" (m.kind.name()) @if let Some(w) = m.mark.width { ", " (plain(w.to_feet(), 4)) " ft wide" } ")" @if m.id != 0 { ", in place of the one there is" }
            } "." }
        }
        @if !seen.passed_over.is_empty() { p.meta { "Passed over: " (seen.passed_over.join(", ")) "." } }
        @for shared in &seen.shared { p { (shared) } }
        @if stops.is_empty() { p.first { "If this is right, keep the outlines below." } }
    }
}

/// The photo or scan under the sheet.
fn picture(book: &Book) -> Result<Markup, Page> {
    let held = book.picture()?;
    Ok(html! {
        form.noprint method="post" action="/ground/picture" enctype="multipart/form-data" {
            h2 { "A photo or scan beneath" }
            @if let Some(p) = &held {
                p { (p.file_name) ", " (plain(quantity::Length::metres(p.place.width).to_feet(), 5)) " ft wide, lies under " a href="/ground/draw" { "the sheet" } "." }
            } @else {
                p { "A plan on paper or a view from above, to draw over. It lies with its upper edge in the north." }
            }
            div.row {
                div.field {
                    label for="picture" { "PNG or JPEG, up to 20 MB" }
                    input type="file" id="picture" name="picture" accept=".png,.jpg,.jpeg" required[held.is_none()];
                }
                (field("width", "What it shows is wide", "", "ft from its left to its right edge"))
            }
            details {
                summary { "Or by two places that you know" }
                p { "Points of the picture are counted from its upper left corner; feet from the sheet’s middle." }
                @for at in ["1", "2"] {
                    div.row {
                        (field(&format!("across{at}"), &format!("Place {at}: points from the left"), "", ""))
                        (field(&format!("down{at}"), "points from above", "", ""))
                        (field(&format!("east{at}"), "lies east", "", "ft"))
                        (field(&format!("north{at}"), "lies north", "", "ft"))
                    }
                }
            }
            div.row {
                button.q { "Lay it under the sheet" }
                @if held.is_some() { button.q name="do" value="remove" formnovalidate { "Take it away" } }
            }
        }
    })
}

fn parted(text: &str) -> Vec<String> {
    text.split(';')
        .map(str::trim)
        .filter(|t| !t.is_empty())
        .map(str::to_owned)
        .collect()
}

fn asked(f: &Fields) -> Result<Ask, String> {
    let mut matches = Vec::new();
    for pair in parted(f.text("match")) {
        let (outline, block) = pair
            .rsplit_once('=')
            .ok_or_else(|| format!("“{pair}” is not OUTLINE=BLOCK, as in 3=Barn Field."))?;
        matches.push((outline.to_owned(), block.to_owned()));
    }
    Ok(Ask {
        grid: match f.text("grid") {
            "feet" => Some(GridUnit::Feet),
            "metres" => Some(GridUnit::Metres),
            _ => None,
        },
        swap: f.ticked("swap"),
        far: f.ticked("far"),
        add: f.ticked("add"),
        matches,
        skip: parted(f.text("skip")),
    })
}

pub(crate) async fn load(State(app): State<App>, Parcel(mut form): Parcel) -> Result<Markup, Page> {
    let unfit = |e: &axum::extract::multipart::MultipartError| {
        if e.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
            Page::TooLarge(
                "The file is larger than 20 MB, which no farm’s outlines are; nothing was kept."
                    .to_owned(),
            )
        } else {
            Page::sentence("The file did not arrive whole; load it again.")
        }
    };
    let mut file = None;
    let mut fields = Fields::default();
    while let Some(part) = form.next_field().await.map_err(|e| unfit(&e))? {
        let key = part.name().unwrap_or_default().to_owned();
        if key == "file" {
            let name = part.file_name().unwrap_or("file").to_owned();
            file = Some((name, part.bytes().await.map_err(|e| unfit(&e))?));
        } else {
            let bytes = part.bytes().await.map_err(|e| unfit(&e))?;
            fields
                .0
                .push((key, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    let shelf = Arc::clone(&app.looked_at);
    app.with(move |book| {
        let mut shelf = held(&shelf);
        let chosen = file.filter(|(name, _)| !name.is_empty());
        let again = || {
            let held = shelf.as_ref()?;
            (held.name == fields.text("looked_at")).then(|| (held.name.clone(), held.bytes.clone()))
        };
        let Some((name, bytes)) = chosen.or_else(again) else {
            return whole(book, &Fields::default(), None, Some("No file was chosen."));
        };
        let ask = match asked(&fields) {
            Ok(ask) => ask,
            Err(why) => return whole(book, &Fields::default(), None, Some(&why)),
        };
        let seen = match outlines::propose(book, &name, &bytes, &ask) {
            Ok(seen) => seen,
            Err(why) => return whole(book, &Fields::default(), None, Some(&why.to_string())),
        };
        if fields.text("do") != "keep" || !seen.stops().is_empty() {
            *shelf = Some(LookedAt {
                name: name.clone(),
                bytes,
            });
            return whole_of(
                book,
                &Fields::default(),
                None,
                None,
                Some((&seen, &fields, &name)),
            );
        }
        match outlines::keep(book, &seen) {
            Ok(_) => {
                *shelf = None;
                Err(Page::Go("/ground/diagram?done=kept".to_owned()))
            }
            Err(why) => whole(book, &Fields::default(), None, Some(&why.to_string())),
        }
    })
    .await
}

/// The map to scale, for paper.
pub(crate) async fn pdf(State(app): State<App>) -> Result<axum::response::Response, Page> {
    let map = app
        .with(|book| Ok(farmwork::map_sheet::of_farm(book)?))
        .await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::farm_map(&map))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(crate::pages::order::as_pdf("farm-map.pdf", bytes))
}

/// Blocks and what stands beside them, for other maps.
pub(crate) async fn file(State(app): State<App>) -> Result<axum::response::Response, Page> {
    let text = app.with(|book| Ok(outlines::geojson(book)?)).await?;
    let kind = "application/geo+json";
    Ok(download("farm.geojson", kind, text.into()))
}

pub(crate) async fn area(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        super::the(book, id)?;
        match outlines::take_area(book, id) {
            Ok(_) => Err(Page::Go("/ground/diagram?done=area".to_owned())),
            Err(why) => whole(book, &Fields::default(), None, Some(&why.to_string())),
        }
    })
    .await
}

pub(crate) async fn drop_outline(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        super::the(book, id)?;
        book.remove_outline(id)?;
        Err(Page::Go("/ground/diagram?done=dropped".to_owned()))
    })
    .await
}
