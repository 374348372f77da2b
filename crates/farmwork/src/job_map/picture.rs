//! The small map as SVG, the same for page and paper. Read without colour: the job’s block is black with its
//! name on a plate, its strip that gets none is white with a broken edge, the neighbours are light.

use super::label::{Label, Labels, TEXT, short};
use super::{EDGE, HIGH, JobMap, WIDE};
use crate::drawing::DrawnMark;
use crate::history::escaped;
use farmbook::MarkKind;
use geo::{BooleanOps, BoundingRect, Coord, InteriorPoint, MultiPolygon, Rect};
use quantity::{Length, round_at_most};
use std::fmt::Write;

/// Room for the bar and the arrow below the frame.
const FOOT: f64 = 24.0;
const INK: &str = "#22211e";
const LIGHT: &str = "#f1ede2";
const EDGES: &str = "#8a7a5c";
const WATER: &str = "#1f5c74";

/// Words that stand on the map in the language of who reads it.
pub struct MapWords<'a> {
    /// Something that has no name of its own.
    pub mark: &'a dyn Fn(MarkKind) -> String,
    /// A length in feet.
    pub feet: &'a dyn Fn(f64) -> String,
    /// The picture in words.
    pub said: &'a str,
}

fn path(shape: &MultiPolygon) -> String {
    let mut d = String::new();
    for ring in shape
        .iter()
        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
    {
        // A ring says its first corner twice.
        let corners = ring.0.len().saturating_sub(1);
        for (i, c) in ring.0.iter().take(corners).enumerate() {
            let sign = if i == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{sign}{:.1} {:.1}", c.x, c.y);
        }
        d.push('Z');
    }
    d
}

fn way(at: &[[f64; 2]], closed: bool) -> String {
    let mut d = String::new();
    for (i, [x, y]) in at.iter().enumerate() {
        let sign = if i == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{sign}{x:.1} {y:.1}");
    }
    if closed {
        d.push('Z');
    }
    d
}

impl JobMap {
    /// Millimetres of paper that the picture is wide; text on it is about 7 points high then.
    pub const PAPER_MM: f64 = 60.0;

    pub fn svg(&self, words: &MapWords<'_>) -> String {
        let high = HIGH + FOOT;
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE} {high}\" width=\"100%\" role=\"img\" aria-label=\"{}\" font-family=\"'Source Sans 3', sans-serif\" font-size=\"{TEXT}\"><clipPath id=\"job-map\"><path d=\"M0 0h{WIDE}v{HIGH}h-{WIDE}z\"/></clipPath><g clip-path=\"url(#job-map)\" fill-rule=\"evenodd\" stroke-linejoin=\"round\">",
            escaped(words.said)
        );
        let _ = write!(svg, "<g fill=\"{LIGHT}\" stroke=\"{EDGES}\">");
        for n in &self.neighbours {
            let _ = write!(svg, "<path d=\"{}\"/>", path(&n.shape));
        }
        svg.push_str("</g>");
        for m in self.marks.iter().filter(|m| m.form != "point") {
            ground(&mut svg, m);
        }
        let _ = write!(
            svg,
            "<path class=\"here\" d=\"{}\" fill=\"{INK}\" stroke=\"{INK}\" stroke-width=\"1.5\"/>",
            path(&self.here.shape)
        );
        if self.has_strip() {
            let _ = write!(
                svg,
                "<path class=\"strip\" d=\"{}\" fill=\"#fff\" stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"4 2.5\"/>",
                path(&self.strip)
            );
        }
        for m in self.marks.iter().filter(|m| m.form == "point") {
            point(&mut svg, m);
        }
        let _ = write!(
            svg,
            "</g><path d=\"M.5 .5H{}V{}H.5Z\" fill=\"none\" stroke=\"{INK}\" stroke-width=\".8\"/>",
            WIDE - 0.5,
            HIGH - 0.5
        );
        for label in self.labels(words).all() {
            write_label(&mut svg, label);
        }
        self.foot(&mut svg, words);
        svg.push_str("</svg>");
        svg
    }

    /// The names, what matters most first: the block, water and wells, neighbours by how near they are.
    fn labels(&self, words: &MapWords<'_>) -> Labels {
        let mut labels = Labels::default();
        let here = &self.here.shape;
        if let Some(bounds) = here.bounding_rect() {
            // What gets none would lie under the plate.
            let inside = here
                .interior_point()
                .map(Coord::from)
                .filter(|_| !self.has_strip());
            labels.here(&short(&self.here.name), here, bounds, inside);
        }
        let (first, rest): (Vec<_>, Vec<_>) = self.marks.iter().partition(|m| {
            matches!(
                MarkKind::from_key(&m.kind),
                Some(MarkKind::Water | MarkKind::Well | MarkKind::Sinkhole)
            )
        });
        for m in first {
            labels.other(&called(m, words), here, beside(m));
        }
        let frame = Rect::new(Coord { x: 0.0, y: 0.0 }, Coord { x: WIDE, y: HIGH });
        for n in &self.neighbours {
            let seen = match n.shape.bounding_rect() {
                Some(r) if within(&r, &frame) => n.shape.interior_point(),
                // Of a block that leaves the frame, the middle of what is in it.
                _ => n
                    .shape
                    .intersection(&MultiPolygon::from(frame.to_polygon()))
                    .interior_point(),
            };
            labels.other(&short(&n.name), here, seen.map(Coord::from));
        }
        for m in rest {
            labels.other(&called(m, words), here, beside(m));
        }
        labels
    }

    /// A bar in feet, up to a third of the width, and an arrow to the north.
    fn foot(&self, svg: &mut String, words: &MapWords<'_>) {
        let foot = Length::feet(1.0).si() * self.scale;
        let feet = round_at_most(WIDE / 3.0 / foot);
        let (long, y) = (feet * foot, HIGH + 15.0);
        let north = WIDE - 6.0;
        let _ = write!(
            svg,
            "<path d=\"M1 {:.1}v6h{long:.1}v-6M{north:.1} {:.1}v-17m-4 6l4 -6l4 6\" fill=\"none\" stroke=\"{INK}\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"{INK}\">{}</text><text x=\"{:.1}\" y=\"{:.1}\" class=\"v\" text-anchor=\"end\" font-weight=\"600\" fill=\"{INK}\">N</text>",
            y - 6.0,
            y + 6.0,
            long + 7.0,
            y + 3.0,
            escaped(&(words.feet)(feet)),
            north - 9.0,
            y + 3.0
        );
    }
}

fn within(r: &Rect, frame: &Rect) -> bool {
    let (low, high) = (frame.min(), frame.max());
    r.min().x >= low.x && r.min().y >= low.y && r.max().x <= high.x && r.max().y <= high.y
}

/// Its name, else the word for its sort.
fn called(m: &DrawnMark, words: &MapWords<'_>) -> String {
    if m.name.is_empty() {
        MarkKind::from_key(&m.kind).map_or_else(String::new, words.mark)
    } else {
        short(&m.name)
    }
}

/// Where the name of something may stand, the best place first.
fn beside(m: &DrawnMark) -> Vec<Coord> {
    let mut places = Vec::new();
    let mut around = |x: f64, y: f64| {
        for (dx, dy) in [(0.0, 14.0), (0.0, -14.0), (38.0, 0.0), (-38.0, 0.0)] {
            places.push(Coord {
                x: x + dx,
                y: y + dy,
            });
        }
    };
    if let [[x, y]] = m.at.as_slice() {
        around(*x, *y);
        return places;
    }
    // Along a line or an edge, the places nearest to the middle of the frame first.
    let mut along: Vec<[f64; 2]> = Vec::new();
    for pair in m.at.windows(2) {
        if let [[ax, ay], [bx, by]] = pair {
            let mut steps = (bx - ax).hypot(by - ay) / (2.0 * EDGE);
            steps = steps.clamp(1.0, 200.0).ceil();
            let mut n = 0.5;
            while n < steps {
                let part = n / steps;
                along.push([ax + (bx - ax) * part, ay + (by - ay) * part]);
                n += 1.0;
            }
        }
    }
    along.retain(|[x, y]| (0.0..=WIDE).contains(x) && (0.0..=HIGH).contains(y));
    let off = |[x, y]: &[f64; 2]| (x - WIDE / 2.0).hypot(y - HIGH / 2.0);
    along.sort_by(|a, b| off(a).total_cmp(&off(b)));
    for [x, y] in along {
        around(x, y);
    }
    places
}

/// A line or an area.
fn ground(svg: &mut String, m: &DrawnMark) {
    let kind = MarkKind::from_key(&m.kind);
    let closed = m.form == "area";
    let d = way(&m.at, closed);
    // As wide as it is on the ground, but never too thin to be seen.
    let wide = m.width.unwrap_or(0.0);
    let _ = match (kind, closed) {
        (Some(MarkKind::Water), true) => write!(
            svg,
            "<path class=\"water\" d=\"{d}\" fill=\"#cfe0e6\" stroke=\"{WATER}\" stroke-width=\"1.5\" stroke-dasharray=\"6 2\"/>"
        ),
        (Some(MarkKind::Water), false) => write!(
            svg,
            "<path class=\"water\" d=\"{d}\" fill=\"none\" stroke=\"#cfe0e6\" stroke-width=\"{:.1}\"/><path d=\"{d}\" fill=\"none\" stroke=\"{WATER}\" stroke-width=\"1.8\" stroke-dasharray=\"9 3 2 3\"/>",
            wide.max(5.0)
        ),
        (Some(MarkKind::Road), false) => {
            let wide = wide.max(4.0);
            write!(
                svg,
                "<path d=\"{d}\" fill=\"none\" stroke=\"#6d6a63\" stroke-width=\"{wide:.1}\"/><path d=\"{d}\" fill=\"none\" stroke=\"#fff\" stroke-width=\"{:.1}\"/>",
                wide - 1.6
            )
        }
        (Some(MarkKind::Building), true) => write!(
            svg,
            "<path d=\"{d}\" fill=\"#b9b4a8\" stroke=\"{INK}\" stroke-width=\".8\"/>"
        ),
        _ => write!(
            svg,
            "<path d=\"{d}\" fill=\"none\" stroke=\"#6d6a63\" stroke-dasharray=\"1.5 2.5\"/>"
        ),
    };
}

/// A well is a ring with a dot; anything else that has but a place is a small square.
fn point(svg: &mut String, m: &DrawnMark) {
    let Some([x, y]) = m.at.first() else { return };
    let _ = match MarkKind::from_key(&m.kind) {
        Some(MarkKind::Well | MarkKind::Water | MarkKind::Sinkhole) => write!(
            svg,
            "<circle class=\"well\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\" fill=\"#fff\" stroke=\"{WATER}\" stroke-width=\"1.8\"/><circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"1.8\" fill=\"{WATER}\"/>"
        ),
        _ => write!(
            svg,
            "<path d=\"M{:.1} {:.1}h6v6h-6z\" fill=\"#fff\" stroke=\"#6d6a63\"/>",
            x - 3.0,
            y - 3.0
        ),
    };
}

fn write_label(svg: &mut String, label: &Label) {
    let (low, at) = (label.room.min(), label.room.center());
    let (x, y) = (at.x, at.y + 0.34 * TEXT);
    let said = escaped(&label.text);
    let _ = if label.plate {
        write!(
            svg,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#fff\" stroke=\"{INK}\" stroke-width=\".8\"/><text class=\"v\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" font-weight=\"600\" fill=\"{INK}\">{said}</text>",
            low.x,
            low.y,
            label.room.width(),
            label.room.height(),
        )
    } else {
        write!(
            svg,
            "<text class=\"halo\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" fill=\"{INK}\" stroke=\"#fff\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\">{said}</text>"
        )
    };
}
