//! The cores of one block: a map with the walk, the list in the farm's terms, and a file for a
//! receiver.

use crate::ask::{Asked, At};
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, number, tick};
use crate::parts::plot::Plot;
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmwork::core_walk::{self, Ask, CoreWalk};
use ground::{Coordinates, Corner, Start};
use maud::{Markup, html};
use quantity::{Length, plain};

fn asked(f: &Fields) -> Result<Ask, String> {
    let margin = f.maybe_number("margin", "the distance from the edges")?;
    let seed = match f.maybe("seed") {
        None => None,
        Some(text) => Some(
            text.parse::<u64>()
                .map_err(|_| format!("“{text}” is no seed; give a whole number such as 2027."))?,
        ),
    };
    Ok(Ask {
        cores: f.maybe_count("cores", "a number of cores")?,
        margin: margin.map(Length::feet),
        leave_out: Vec::new(),
        seed,
        start: Corner::from_name(f.text("start")).map(Start::Corner),
        back: f.ticked("back"),
    })
}

/// The question that gives the same walk again.
fn again(f: &Fields) -> String {
    ["cores", "margin", "seed", "start", "back"]
        .iter()
        .filter_map(|key| {
            // What was understood is of letters, digits, points and signs alone.
            let value = f.maybe(key)?;
            value
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '-'))
                .then(|| format!("{key}={value}"))
        })
        .collect::<Vec<_>>()
        .join("&")
}

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let block = super::the(book, id)?;
        let farm = book.farm()?;
        let f = Fields(query);
        let found = match asked(&f) {
            Ok(ask) => core_walk::of_block(book, id, &ask).map_err(|e| e.to_string()),
            Err(why) => Err(why),
        };
        let has_outline = book.outline(id)?.is_some();
        let body = html! {
            div {
                p.meta { a href="/ground" { "Ground" } " · " a href="/ground/diagram" { "Where the blocks lie" } }
                h1 { "Cores of " (block.name) }
                @match &found {
                    Ok(found) => (walk(found, &again(&f))),
                    Err(why) => {
                        (wrong(Some(why)))
                        @if !has_outline { p { a.btn href="/ground/diagram" { "Bring in an outline" } } }
                    }
                }
                @if has_outline {
                    (form(id, &f, found.as_ref().ok()))
                    p.noprint { a href={ "/ground/parcel/" (id) } { "Direction of its beds, spots without cores, splitting" } }
                    form.noprint method="post" action={ "/ground/walk/" (id) "/drop" } {
                        button.link { "Take the outline out of the book" }
                    }
                }
            }
            aside {
                h3 { "How they are spread" }
                p { "The block is parted into as many compact pieces of equal area as there are cores, and one place is drawn by chance in each. Every part that may be sampled is as likely as any other." }
                h3 { "On the way" }
                p { "Keep off odd spots: old piles, wet holes, spills, fence rows. Move a few steps, or leave the core out and write it down." }
                p { "Take every core to the same depth (" (plain(block.depth_in, 3)) " in here) and mix all of them in a clean pail." }
            }
        };
        Ok(page(&farm, "Ground", &format!("Cores of {}", block.name), &body))
    })
    .await
}

fn walk(found: &CoreWalk, again: &str) -> Markup {
    let walk = &found.walk;
    let feet = walk.length.to_feet().round();
    let degrees = found.outline.outline.coordinates == Coordinates::Degrees;
    let id = found.block.id;
    html! {
        p.lede {
            (walk.cores.len()) @if walk.cores.len() == 1 { " core" } @else { " cores" }
            " from " (walk.from) ", a walk of " b.num { (plain(feet, 6)) " ft" }
            @if found.plan.back { " and back" } "."
        }
        (map(found))
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "Core" } th.l scope="col" { "Where" } } }
                tbody { @for core in &walk.cores { tr { td.l { b { (core.number) } } td.l { (core.told) } } } }
            }
        }
        p.meta {
            (plain(walk.site.margin().to_feet(), 2)) " ft are kept from the "
            @if walk.site.beds.is_some() { "ends of the beds" } @else { "edges" }
            ". Seed " (found.plan.seed) ": the same seed gives the same places."
        }
        @if degrees {
            p.noprint { a.btn.q href={ "/ground/walk/" (id) "/cores.gpx?" (again) } { "As GPX for a phone or receiver" } }
        }
    }
}

fn map(found: &CoreWalk) -> Markup {
    let walk = &found.walk;
    let shape = walk.site.frame.shape(&found.outline.outline);
    let start = walk.site.frame.to_plane(walk.start);
    let corners = shape
        .iter()
        .flat_map(|p| p.exterior().coords().copied())
        .chain([start]);
    let Some(plot) = Plot::around(corners) else {
        return html! {};
    };
    let way = std::iter::once(start)
        .chain(walk.cores.iter().map(|c| c.plane))
        .chain(found.plan.back.then_some(start));
    let drawn = html! {
        path d=(plot.path(&shape)) fill="#eee9dd" fill-rule="evenodd" stroke="#5f4a25" stroke-width="1.5" {}
        @if let Some(layout) = &walk.site.beds {
            @for bed in &layout.beds {
                path d=(plot.path(&bed.shape)) fill="#d8c9a6" stroke="#b9a273" stroke-width="0.5" {}
            }
        }
        polyline points=(plot.line(way)) fill="none" stroke="#1f5c74" stroke-width="1" stroke-dasharray="4 3" {}
        rect x=(format!("{:.1}", plot.x(start) - 5.0)) y=(format!("{:.1}", plot.y(start) - 5.0)) width="10" height="10" fill="#9a3f22" { title { "Start" } }
        @for core in &walk.cores {
            @let (x, y) = (plot.x(core.plane), plot.y(core.plane));
            circle cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="10" fill="#fffdf9" stroke="#22211e" stroke-width="1.2" { title { (core.told) } }
            text.v x=(format!("{x:.1}")) y=(format!("{:.1}", y + 4.5)) text-anchor="middle" { (core.number) }
        }
    };
    let said = format!(
        "Map of {} with {} numbered cores and the walk through them",
        found.block.name,
        walk.cores.len()
    );
    plot.picture(&said, &drawn)
}

fn form(id: i64, f: &Fields, found: Option<&CoreWalk>) -> Markup {
    let cores = found.map_or_else(|| f.text("cores").to_owned(), |w| w.plan.cores.to_string());
    let seed = found.map_or_else(|| f.text("seed").to_owned(), |w| w.plan.seed.to_string());
    html! {
        form.noprint method="get" action={ "/ground/walk/" (id) } {
            h2 { "Otherwise" }
            div.row {
                (number("cores", "Cores", &cores, "to a sample"))
                (number("margin", "Keep from the edges", f.text("margin"), "ft"))
                (choice("start", "Begin at", Corner::ALL.map(|c| (c.name(), format!("the {} corner", c.name()))), f.text("start")))
                (number("seed", "Seed", &seed, "another number, other places"))
                button { "Place them" }
            }
            (tick("back", "Come back to the start", f.ticked("back")))
        }
    }
}

pub(crate) async fn gpx(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Response, Page> {
    let text = app
        .with(move |book| {
            super::the(book, id)?;
            let ask = asked(&Fields(query)).map_err(Page::Sentence)?;
            Ok(core_walk::of_block(book, id, &ask)?.gpx()?)
        })
        .await?;
    Ok(download("cores.gpx", "application/gpx+xml", text.into()))
}
