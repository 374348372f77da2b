//! A walk around a block with a receiver, made into an outline.
//!
//! A walk seldom ends exactly where it began, often runs a little past its start, and a receiver
//! that stands still draws loops. What is done about it is told in a sentence each.

use crate::earth::distance;
use crate::frame::Frame;
use crate::outline::{Coordinates, Outline, Part, Ring, tidy_ring};
use geo::{Coord, LineString, Simplify};
use quantity::{Length, plain};

/// A gap up to this is within what a receiver wanders.
const SMALL_GAP_M: f64 = 10.0;
/// A walk past its own start may not be longer than this share of the whole.
const MOST_OVERLAP: f64 = 0.3;
/// Loops are taken out by straightening bends smaller than these, the smallest that does it.
const STRAIGHTEN_M: [f64; 4] = [0.5, 1.0, 2.0, 3.0];

pub(crate) fn outline(places: Ring, notes: &mut Vec<String>) -> Outline {
    let mut places = places;
    places.dedup();
    let whole = |outer: Ring| Outline {
        coordinates: Coordinates::Degrees,
        parts: vec![Part {
            outer,
            holes: Vec::new(),
        }],
    };
    let on_earth = |[lon, lat]: &[f64; 2]| lon.abs() <= 360.0 && lat.abs() <= 90.0;
    let (Some(first), Some(last)) = (places.first().copied(), places.last().copied()) else {
        return whole(places);
    };
    if places.len() < 4 || !places.iter().all(on_earth) {
        return whole(tidy_ring(places));
    }
    let places = tidy_ring(places);
    let raw = whole(places.clone());
    let Some(frame) = Frame::around([&raw]) else {
        return raw;
    };
    let mut line: Vec<Coord> = places.iter().map(|p| frame.to_plane(*p)).collect();
    let mut changed = false;
    if let Some(cut) = cut_overlap(&line) {
        line = cut;
        changed = true;
        notes.push(
            "The walk ran past its own start; it was cut where it crosses itself.".to_owned(),
        );
    } else {
        let gap = distance(Coordinates::Degrees, first, last);
        if gap.si() > SMALL_GAP_M {
            notes.push(format!(
                "The walk ends {} ft from where it began; it was closed with a straight line. Walk it again if a corner is missing.",
                plain(gap.to_feet(), 2)
            ));
        } else if gap > Length::ZERO {
            notes.push(format!(
                "The walk was closed over a gap of {} ft.",
                plain(gap.to_feet(), 2)
            ));
        }
    }
    if crossing(&line).is_some() {
        let loopy = LineString::from(line.clone());
        let straight = STRAIGHTEN_M.iter().find_map(|by| {
            let simple = loopy.simplify(*by).into_inner();
            (simple.len() >= 3 && crossing(&simple).is_none()).then_some((*by, simple))
        });
        if let Some((by, simple)) = straight {
            line = simple;
            changed = true;
            notes.push(format!(
                "The walk crossed itself in small loops; bends of less than {} ft were straightened.",
                plain(Length::metres(by).to_feet(), 2)
            ));
        }
    }
    if !changed {
        return raw;
    }
    whole(tidy_ring(
        line.into_iter().map(|c| frame.from_plane(c)).collect(),
    ))
}

/// The walk between the two passes of the place where its end crosses its beginning.
fn cut_overlap(line: &[Coord]) -> Option<Vec<Coord>> {
    let step = |i: usize| {
        let (a, b) = (line.get(i).copied()?, line.get(i + 1).copied()?);
        Some((b.x - a.x).hypot(b.y - a.y))
    };
    let mut along = vec![0.0];
    for i in 0..line.len().saturating_sub(1) {
        let so_far = along.last().copied().unwrap_or(0.0);
        along.push(so_far + step(i)?);
    }
    let total = along.last().copied()?;
    let mut best: Option<(f64, usize, usize, Coord)> = None;
    pairs(line, false, |i, j, at| {
        let beyond = |k: usize| along[k] + (at.x - line[k].x).hypot(at.y - line[k].y);
        let beside = beyond(i) + (total - beyond(j));
        if j > i + 2
            && beside <= MOST_OVERLAP * total
            && best.is_none_or(|(least, ..)| beside < least)
        {
            best = Some((beside, i, j, at));
        }
        true
    });
    let (_, i, j, at) = best?;
    let mut cut = vec![at];
    cut.extend_from_slice(line.get(i + 1..=j)?);
    Some(cut)
}

/// Where a closed ring first crosses or touches itself: the two sides and the place.
pub(crate) fn crossing(ring: &[Coord]) -> Option<(usize, usize, Coord)> {
    let mut found = None;
    pairs(ring, true, |i, j, at| {
        found = Some((i.min(j), i.max(j), at));
        false
    });
    found
}

/// Tells every pair of sides that are not neighbours and have a place in common; stops when `tell`
/// says so. Sides are looked at in the order of their western ends, each with those it can reach.
fn pairs(corners: &[Coord], closed: bool, mut tell: impl FnMut(usize, usize, Coord) -> bool) {
    use geo::line_intersection::{LineIntersection, line_intersection};
    let n = corners.len();
    let count = if closed { n } else { n.saturating_sub(1) };
    let side = |i: usize| geo::Line::new(corners[i], corners[(i + 1) % n]);
    let mut order: Vec<(f64, f64, usize)> = (0..count)
        .map(|i| {
            let l = side(i);
            (l.start.x.min(l.end.x), l.start.x.max(l.end.x), i)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (place, (_, reach, i)) in order.iter().enumerate() {
        let a = side(*i);
        let (low, high) = (a.start.y.min(a.end.y), a.start.y.max(a.end.y));
        for (west, _, j) in order.iter().skip(place + 1) {
            if west > reach {
                break;
            }
            let apart = i.abs_diff(*j);
            if apart <= 1 || (closed && apart == n - 1) {
                continue;
            }
            let b = side(*j);
            if b.start.y.min(b.end.y) > high || b.start.y.max(b.end.y) < low {
                continue;
            }
            let at = match line_intersection(a, b) {
                Some(LineIntersection::SinglePoint { intersection, .. }) => intersection,
                Some(LineIntersection::Collinear { intersection }) => intersection.start,
                None => continue,
            };
            if !tell(*i.min(j), *i.max(j), at) {
                return;
            }
        }
    }
}
