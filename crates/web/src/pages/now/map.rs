//! A map of one value over the farm. Read without colour: a pattern for each class, the value on each
//! block, and the classes in words.

use crate::parts::plot::{MOST_LETTERED, Plot, one_frame};
use agronomy::reading::Level;
use agronomy::soil::{Analyte, Bound};
use farmbook::BlockOutline;
use farmwork::needs::BlockNeeds;
use farmwork::readings::BlockReading;
use farmwork::words;
use maud::{Markup, html};
use std::collections::HashMap;
use std::sync::Arc;

/// What a map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Value(Analyte);

const SHOWN: [Analyte; 5] = [
    Analyte::Ph,
    Analyte::P,
    Analyte::K,
    Analyte::Mg,
    Analyte::OrganicMatter,
];

impl Value {
    /// pH where it is not said or not known.
    pub(super) fn from_key(key: &str) -> Self {
        Self(
            SHOWN
                .into_iter()
                .find(|a| a.key() == key)
                .unwrap_or(Analyte::Ph),
        )
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    Short,
    Right,
    Over,
    Unread,
    Untested,
}

impl Class {
    const ALL: [Self; 5] = [
        Self::Short,
        Self::Right,
        Self::Over,
        Self::Unread,
        Self::Untested,
    ];

    fn words(self, of: Analyte) -> &'static str {
        match (self, of) {
            (Self::Short, Analyte::Ph) => "more acid than the next crop likes",
            (Self::Right, Analyte::Ph) => "right for the next crop",
            (Self::Over, Analyte::Ph) => "less acid than the next crop likes",
            (Self::Short, _) => "short: a crop may answer to more",
            (Self::Right, _) => "enough",
            (Self::Over, _) => "more than enough",
            (Self::Unread, _) => "tested, no class",
            (Self::Untested, _) => "not tested",
        }
    }

    fn fill(self) -> &'static str {
        match self {
            Self::Short => "url(#map-lines)",
            Self::Right => "#e6dcc6",
            Self::Over => "url(#map-dots)",
            Self::Unread => "#fbf9f4",
            Self::Untested => "url(#map-cross)",
        }
    }
}

fn class(r: &BlockReading, of: Analyte) -> Class {
    let Some(line) = r.line(of) else {
        return Class::Untested;
    };
    if of == Analyte::Ph {
        let range = r.crop.as_ref().and_then(|c| c.target_ph.as_ref());
        return match range {
            None => Class::Unread,
            Some(t) if line.measured.value < t.low => Class::Short,
            Some(t) if line.measured.value > t.high => Class::Over,
            Some(_) => Class::Right,
        };
    }
    match line.reading.as_ref().map(|r| r.level) {
        None => Class::Unread,
        Some(Level::VeryLow | Level::Low | Level::Medium) => Class::Short,
        Some(Level::Optimum) => Class::Right,
        Some(Level::High | Level::VeryHigh) => Class::Over,
    }
}

fn value(r: &BlockReading, of: Analyte) -> String {
    r.line(of).map_or_else(
        || "–".to_owned(),
        |l| {
            let sign = match l.measured.bound {
                Bound::Exact => "",
                Bound::Below => "<",
                Bound::Above => ">",
            };
            format!("{sign}{}", words::measured(of, l.measured.value))
        },
    )
}

fn patterns() -> Markup {
    html! {
        defs {
            pattern id="map-lines" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                rect width="7" height="7" fill="#fbf9f4" {}
                path d="M0 0v7" stroke="#8a6d3b" stroke-width="2" {}
            }
            pattern id="map-dots" width="8" height="8" patternUnits="userSpaceOnUse" {
                rect width="8" height="8" fill="#e6dcc6" {}
                circle cx="4" cy="4" r="1.7" fill="#5f4a25" {}
            }
            pattern id="map-cross" width="9" height="9" patternUnits="userSpaceOnUse" {
                rect width="9" height="9" fill="#fbf9f4" {}
                path d="M0 0l9 9M9 0l-9 9" stroke="#c9c2b2" {}
            }
        }
    }
}

/// The map with its legend, and the same in words for blocks that lie on no map.
pub(super) fn drawn(
    all: &[Arc<BlockNeeds>],
    outlines: &[BlockOutline],
    Value(of): Value,
) -> Markup {
    html! {
        h2 id="map" { "The farm by " (name(of)) }
        p.noprint {
            @for (i, a) in SHOWN.into_iter().enumerate() {
                @if i > 0 { " · " }
                @if a == of { b aria-current="true" { (name(a)) } } @else { a href={ "/now?map=" (a.key()) "#map" } { (name(a)) } }
            }
        }
        // Map and legend share the patterns.
        svg.patterns width="0" height="0" aria-hidden="true" { (patterns()) }
        (picture(all, outlines, of))
        (legend(all, of))
    }
}

fn name(of: Analyte) -> String {
    match of {
        Analyte::Ph => "pH".to_owned(),
        a => a.name().to_lowercase(),
    }
}

fn picture(all: &[Arc<BlockNeeds>], outlines: &[BlockOutline], of: Analyte) -> Markup {
    let Some(frame) = one_frame(outlines.iter().map(|o| &o.outline)) else {
        return html! {
            p.meta { "No block has an outline, so there is no map; " a href="/ground/diagram" { "bring outlines in" } "." }
        };
    };
    let degrees = matches!(frame, ground::Frame::Earth { .. });
    let of_block: HashMap<i64, &BlockReading> = all
        .iter()
        .map(|n| (n.reading.block.id, &n.reading))
        .collect();
    let placed: Vec<(&BlockReading, geo::MultiPolygon)> = outlines
        .iter()
        .filter(|o| (o.outline.coordinates == ground::Coordinates::Degrees) == degrees)
        .filter_map(|o| Some((*of_block.get(&o.block)?, frame.shape(&o.outline))))
        .collect();
    let corners = placed
        .iter()
        .flat_map(|(_, s)| s.iter().flat_map(|p| p.exterior().coords().copied()));
    let Some(plot) = Plot::around(corners) else {
        return html! {};
    };
    let lettered = placed.len() <= MOST_LETTERED;
    let drawn = html! {
        g fill-rule="evenodd" stroke="#5f4a25" stroke-width=(if lettered { "1.5" } else { "0.7" }) {
            @for c in Class::ALL {
                g fill=(c.fill()) {
                    @for (r, shape) in placed.iter().filter(|(r, _)| class(r, of) == c) {
                        path d=(plot.path(shape)) { title { (r.block.name) ": " (value(r, of)) ", " (c.words(of)) } }
                    }
                }
            }
        }
        @for (r, shape) in placed.iter().filter(|_| lettered) {
            @if let Some(place) = geo::InteriorPoint::interior_point(shape) {
                text.v.halo pointer-events="none" x=(format!("{:.1}", plot.x(place.into()))) y=(format!("{:.1}", plot.y(place.into()) + 4.0)) text-anchor="middle" {
                    (value(r, of))
                }
            }
        }
    };
    let said = if lettered {
        let all: Vec<String> = placed
            .iter()
            .map(|(r, _)| format!("{} {}", r.block.name, value(r, of)))
            .collect();
        all.join(", ")
    } else {
        format!("{} blocks; the readings list each", placed.len())
    };
    html! {
        (plot.picture(&format!("Map of {}: {said}", name(of)), &drawn))
        @if !lettered { p.meta { "So many blocks have no room for their values: each tells its own when it is pointed at, and " a href="/reading" { "the readings" } " list them all." } }
    }
}

/// Every class that occurs with its pattern, its words and its blocks.
fn legend(all: &[Arc<BlockNeeds>], of: Analyte) -> Markup {
    let unit = of.unit();
    html! {
        ul.legend {
            @for c in Class::ALL {
                @let blocks: Vec<String> = all.iter().map(|n| &n.reading).filter(|r| class(r, of) == c).map(|r| format!("{} {}", r.block.name, value(r, of))).collect();
                @if !blocks.is_empty() {
                    li {
                        svg.key width="26" height="18" viewBox="0 0 26 18" aria-hidden="true" {
                            rect x="1" y="1" width="24" height="16" fill=(c.fill()) stroke="#5f4a25" {}
                        }
                        " " b { (words::capital(c.words(of))) } @if !unit.is_empty() && c != Class::Untested { ", " (unit) }
                        ": " @if blocks.len() > 40 { (blocks.len()) " blocks" } @else { (blocks.join(", ")) }
                    }
                }
            }
        }
    }
}
