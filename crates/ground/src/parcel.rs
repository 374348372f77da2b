//! Ground cut in two along a line, and ground laid together.

use crate::beds::Lie;
use crate::check::SMALLEST_M2;
use crate::error::GroundError;
use crate::frame::Frame;
use crate::limits::MOST_CORNERS;
use crate::outline::{Coordinates, Outline, Part, tidy_ring};
use crate::walked::crossing;
use geo::{
    Area as _, BooleanOps, BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Polygon,
};
use quantity::Length;
use std::f64::consts::TAU;

/// The steps of the arc that closes one side of a line, far outside the block.
const ARC_STEPS: u32 = 64;

fn refused(why: impl Into<String>) -> GroundError {
    GroundError::NoParcel(why.into())
}

/// An outline of a shape in metres, without pieces and holes too small to be ground.
fn outline_of(frame: &Frame, coordinates: Coordinates, shape: &MultiPolygon) -> Outline {
    let ring = |line: &LineString| tidy_ring(line.coords().map(|c| frame.from_plane(*c)).collect());
    let large =
        |line: &LineString| Polygon::new(line.clone(), Vec::new()).unsigned_area() >= SMALLEST_M2;
    let mut parts: Vec<&Polygon> = shape
        .iter()
        .filter(|p| p.unsigned_area() >= SMALLEST_M2)
        .collect();
    parts.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    Outline {
        coordinates,
        parts: parts
            .into_iter()
            .map(|p| Part {
                outer: ring(p.exterior()),
                holes: p
                    .interiors()
                    .iter()
                    .filter(|h| large(h))
                    .map(ring)
                    .collect(),
            })
            .collect(),
    }
}

/// An outline in two: what lies to the left of a line as one walks along it, then what lies to its right.
///
/// The line is in the outline's own numbers, of two or more places; its first and last stretch go on
/// until they are outside.
///
/// # Errors
/// A line that is none, crosses itself or leaves all of the ground on one side.
pub fn split(outline: &Outline, line: &[[f64; 2]]) -> Result<(Outline, Outline), GroundError> {
    let frame = Frame::around([outline]).ok_or_else(|| refused("The outline has no corners."))?;
    let shape = frame.shape(outline);
    if line.len() > MOST_CORNERS || line.iter().flatten().any(|v| !v.is_finite()) {
        return Err(refused("The line is not made of places on the ground."));
    }
    let mut way: Vec<Coord> = line.iter().map(|c| frame.to_plane(*c)).collect();
    way.dedup();
    let [first, second, before, last] = ends(&way)?;
    let bounds = shape
        .bounding_rect()
        .ok_or_else(|| refused("The outline has no corners."))?;
    let reach = way
        .iter()
        .map(|c| c.x.hypot(c.y))
        .fold(bounds.width() + bounds.height(), f64::max);
    if reach > 1_000_000.0 {
        return Err(refused("The line lies far from the block."));
    }
    let far = 10.0 * reach;
    let start = beyond(second, first, far);
    let end = beyond(before, last, far);
    way.insert(0, start);
    way.push(end);
    // Around the outside from the end back to the start, counter-clockwise, closes what lies on the left.
    let (from, to) = (end.y.atan2(end.x), start.y.atan2(start.x));
    let turn = (to - from).rem_euclid(TAU);
    let out = start.x.hypot(start.y).max(end.x.hypot(end.y)) * 1.5;
    for step in 0..=ARC_STEPS {
        let angle = from + turn * f64::from(step) / f64::from(ARC_STEPS);
        way.push(Coord {
            x: out * angle.cos(),
            y: out * angle.sin(),
        });
    }
    if crossing(&way).is_some() {
        return Err(refused(
            "The line crosses itself; draw it from one side of the block straight or bent to the other.",
        ));
    }
    let side = MultiPolygon::from(Polygon::new(LineString::from(way), Vec::new()));
    let left = outline_of(&frame, outline.coordinates, &shape.intersection(&side));
    let right = outline_of(&frame, outline.coordinates, &shape.difference(&side));
    if left.parts.is_empty() || right.parts.is_empty() {
        return Err(refused(
            "The line leaves all of the block on one side; draw it across the block.",
        ));
    }
    Ok((left, right))
}

/// The first two and the last two places of a line.
fn ends(way: &[Coord]) -> Result<[Coord; 4], GroundError> {
    match way {
        [first, .., last] => Ok([*first, way[1], way[way.len() - 2], *last]),
        _ => Err(refused("A line takes two places that differ.")),
    }
}

/// The place that lies `far` behind `to`, coming from `from`.
fn beyond(from: Coord, to: Coord, far: f64) -> Coord {
    let long = (to.x - from.x).hypot(to.y - from.y).max(f64::MIN_POSITIVE);
    Coord {
        x: to.x + (to.x - from.x) / long * far,
        y: to.y + (to.y - from.y) / long * far,
    }
}

/// Outlines laid together to one; ground that two of them hold counts once.
///
/// # Errors
/// Fewer than two, degrees beside a plain grid, or nothing left.
pub fn merge(outlines: &[&Outline]) -> Result<Outline, GroundError> {
    let [first, rest @ ..] = outlines else {
        return Err(refused("Laying together takes two outlines or more."));
    };
    if rest.is_empty() {
        return Err(refused("Laying together takes two outlines or more."));
    }
    if rest.iter().any(|o| o.coordinates != first.coordinates) {
        return Err(refused(
            "One outline is in degrees and another on a plain grid; they cannot be laid together.",
        ));
    }
    let frame = Frame::around(outlines.iter().copied())
        .ok_or_else(|| refused("The outlines have no corners."))?;
    let whole = rest.iter().fold(frame.shape(first), |so_far, o| {
        so_far.union(&frame.shape(o))
    });
    let outline = outline_of(&frame, first.coordinates, &whole);
    if outline.parts.is_empty() {
        return Err(refused("The outlines hold no ground."));
    }
    Ok(outline)
}

/// The edges of a block as it lies, from which a line can be told: its two ends, then its two sides.
///
/// # Errors
/// The outline has no corners.
pub fn edges(outline: &Outline) -> Result<[&'static str; 4], GroundError> {
    let frame = Frame::around([outline]).ok_or_else(|| refused("The outline has no corners."))?;
    let lie = Lie::longways(&frame.shape(outline));
    let ((high, low), (right, left)) = (lie.ends(), lie.sides());
    Ok([low, high, left, right])
}

/// A line across a block at a distance from one of its [`edges`] and along that edge, in the outline's own
/// numbers.
///
/// # Errors
/// No such edge, or a distance that is none.
pub fn line_from(
    outline: &Outline,
    edge: &str,
    distance: Length,
) -> Result<[[f64; 2]; 2], GroundError> {
    let frame = Frame::around([outline]).ok_or_else(|| refused("The outline has no corners."))?;
    let shape = frame.shape(outline);
    let lie = Lie::longways(&shape);
    let bounds = shape
        .map_coords(|c| lie.turn(c))
        .bounding_rect()
        .ok_or_else(|| refused("The outline has no corners."))?;
    let d = distance.si();
    if !(0.0..=100_000.0).contains(&d) {
        return Err(refused("The distance from the edge is 0 ft or more."));
    }
    let (min, max) = (bounds.min(), bounds.max());
    let names = edges(outline)?;
    let across = |y: f64| [Coord { x: min.x, y }, Coord { x: max.x, y }];
    let along = |x: f64| [Coord { x, y: min.y }, Coord { x, y: max.y }];
    let line = match names.iter().position(|n| *n == edge.trim()) {
        Some(0) => across(min.y + d),
        Some(1) => across(max.y - d),
        Some(2) => along(min.x + d),
        Some(3) => along(max.x - d),
        _ => {
            return Err(refused(format!(
                "Found the edge “{}”, and this block has {}.",
                edge.trim(),
                names.join(", ")
            )));
        }
    };
    Ok(line.map(|c| frame.from_plane(lie.turn_back(c))))
}
