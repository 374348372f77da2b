//! What is wrong with outlines, each thing a sentence and a way out of it.

use crate::earth::{area, around, distance, ring_area};
use crate::frame::Frame;
use crate::outline::{Coordinates, Feature, Outline};
use crate::walked::crossing;
use geo::validation::{InvalidPolygon, Validation};
use geo::{Area as _, BooleanOps, BoundingRect, Coord, Intersects, MultiPolygon};
use quantity::{Area, Length, plain};
use std::collections::HashMap;

/// Blocks of one farm that lie further apart are asked about.
const FAR: Length = Length::metres(100_000.0);
/// A piece of ground this long or longer is a slip.
const LONGEST: Length = Length::metres(50_000.0);
/// The most that the book takes for a block.
const LARGEST_ACRES: f64 = 20_000.0;
/// Less than this is no piece of ground, m².
pub(crate) const SMALLEST_M2: f64 = 0.1;
/// No field lies nearer to a pole: the northernmost grow near 70 degrees, the southernmost near 55.
const FARMED: std::ops::RangeInclusive<f64> = -56.0..=72.0;

/// What to do about a doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// The outline is of no use as it stands.
    Stops,
    /// It is kept when the grower says that it is right.
    Asks,
}

/// The sort of a doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    TooFewCorners,
    /// Latitude and longitude exchanged.
    Swapped,
    /// On no part of the earth where a field could be.
    OutOfRange,
    SelfCrossing,
    NoArea,
    TooLarge,
    /// A hole that is not inside its outline, or parts that lie on each other.
    Holes,
    FarAway,
    SameName,
}

/// Something that is wrong or may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Which of the features, from 0.
    pub feature: usize,
    pub kind: Kind,
    pub weight: Weight,
    /// What was found.
    pub sentence: String,
    /// What to do about it.
    pub way_out: String,
}

/// Every doubt about some features, beside the outlines that the farm has already.
pub fn doubts(features: &[Feature], known: &[Outline]) -> Vec<Doubt> {
    let mut all = Vec::new();
    for (at, feature) in features.iter().enumerate() {
        one(at, feature, &mut all);
    }
    places(features, known, &mut all);
    same_names(features, &mut all);
    all.sort_by_key(|d| (d.feature, d.weight));
    all
}

fn called(feature: &Feature) -> String {
    if feature.name.is_empty() {
        "An outline without a name".to_owned()
    } else {
        format!("“{}”", feature.name)
    }
}

/// The shape of one outline; stops at the first thing that makes the rest meaningless.
fn one(at: usize, feature: &Feature, all: &mut Vec<Doubt>) {
    let who = called(feature);
    let outline = &feature.outline;
    let mut say = |kind, weight, sentence: String, way_out: &str| {
        all.push(Doubt {
            feature: at,
            kind,
            weight,
            sentence,
            way_out: way_out.to_owned(),
        });
    };
    if let Some(short) = outline.rings().map(Vec::len).find(|n| *n < 3) {
        say(
            Kind::TooFewCorners,
            Weight::Stops,
            format!(
                "{who} has a ring of {short} {}, and an outline takes at least 3.",
                if short == 1 { "corner" } else { "corners" }
            ),
            "Draw or walk it again with every corner.",
        );
        return;
    }
    if outline.coordinates == Coordinates::Degrees && !on_earth(outline) {
        let (kind, sentence, way_out) = impossible(&who, outline);
        say(kind, Weight::Stops, sentence, way_out);
        return;
    }
    let size = area(outline);
    let long = extent(outline);
    if long >= LONGEST || size.to_acres() > LARGEST_ACRES {
        say(
            Kind::TooLarge,
            Weight::Stops,
            format!(
                "{who} is {} km across, more than any block; a corner is somewhere else.",
                plain(long.si() / 1_000.0, 2)
            ),
            "Look for a corner at 0, 0 or with a digit too few, and mend it where it was drawn.",
        );
        return;
    }
    let Some(frame) = Frame::around([outline]) else {
        return;
    };
    for ring in outline.rings() {
        let plane: Vec<Coord> = ring.iter().map(|c| frame.to_plane(*c)).collect();
        if let Some((i, j, place)) = crossing(&plane) {
            let [x, y] = frame.from_plane(place);
            say(
                Kind::SelfCrossing,
                Weight::Stops,
                format!(
                    "{who} crosses itself: side {} meets side {} of {} at {}.",
                    i + 1,
                    j + 1,
                    ring.len(),
                    told(outline.coordinates, x, y)
                ),
                "Put the corners in walking order around the block, or draw it as two blocks.",
            );
            return;
        }
        if ring_area(outline.coordinates, ring).si() < SMALLEST_M2 {
            say(
                Kind::NoArea,
                Weight::Stops,
                format!(
                    "{who} has no ground inside: its {} corners lie in a line or in one place.",
                    ring.len()
                ),
                "Draw or walk it again around the block.",
            );
            return;
        }
    }
    for polygon in frame.shape(outline) {
        let Err(why) = polygon.check_validation() else {
            continue;
        };
        let sentence = match why {
            InvalidPolygon::InteriorRingNotContainedInExteriorRing(_) => {
                format!("{who} has a hole that is not inside it.")
            }
            InvalidPolygon::IntersectingRingsOnALine(..)
            | InvalidPolygon::IntersectingRingsOnAnArea(..) => {
                format!("{who} has holes that touch its edge or each other.")
            }
            _ => format!("{who} is not drawn cleanly: {why}."),
        };
        say(
            Kind::Holes,
            Weight::Stops,
            sentence,
            "Draw the hole inside the outline, or take it out and draw the outline around it.",
        );
        return;
    }
    if parts_meet(&frame.shape(outline)) {
        say(
            Kind::Holes,
            Weight::Stops,
            format!("{who} has parts that lie on each other, so ground would count twice."),
            "Join the parts, or give each a name of its own.",
        );
    }
}

fn parts_meet(shape: &MultiPolygon) -> bool {
    shape.0.iter().enumerate().any(|(i, a)| {
        shape.0.iter().skip(i + 1).any(|b| {
            let near = match (a.bounding_rect(), b.bounding_rect()) {
                (Some(a), Some(b)) => a.intersects(&b),
                _ => false,
            };
            near && a.intersection(b).unsigned_area() > SMALLEST_M2
        })
    })
}

/// The longest way across its bounds.
fn extent(outline: &Outline) -> Length {
    outline.bounds().map_or(Length::ZERO, |[w, s, e, n]| {
        let across = distance(outline.coordinates, [w, s], [e, n]);
        // Corners on both sides of the globe have a short way between them.
        across.max(around(outline) / 4.0)
    })
}

fn on_earth(outline: &Outline) -> bool {
    outline
        .corners()
        .all(|[lon, lat]| lon.abs() <= 180.0 && FARMED.contains(&lat))
}

fn impossible(who: &str, outline: &Outline) -> (Kind, String, &'static str) {
    let [lon, lat] = middle(outline);
    let [slon, slat] = [lat, lon];
    if on_earth(&outline.swapped()) {
        return (
            Kind::Swapped,
            format!(
                "{who} would lie at {}, where no field is; with latitude and longitude exchanged it lies at {}.",
                told(Coordinates::Degrees, lon, lat),
                told(Coordinates::Degrees, slon, slat)
            ),
            "Exchange latitude and longitude of the file as it comes in.",
        );
    }
    (
        Kind::OutOfRange,
        format!(
            "{who} would lie at {}, where no field is.",
            told(Coordinates::Degrees, lon, lat)
        ),
        "Save the file again in degrees (WGS 84), longitude before latitude.",
    )
}

fn middle(outline: &Outline) -> [f64; 2] {
    let [w, s, e, n] = outline.bounds().unwrap_or_default();
    [w + (e - w) / 2.0, s + (n - s) / 2.0]
}

/// A place in words: degrees with their sides of the globe, or east and north.
pub(crate) fn told(coordinates: Coordinates, x: f64, y: f64) -> String {
    match coordinates {
        Coordinates::Degrees => format!(
            "{:.5}° {}, {:.5}° {}",
            y.abs(),
            if y < 0.0 { "S" } else { "N" },
            x.abs(),
            if x < 0.0 { "W" } else { "E" }
        ),
        Coordinates::Grid(_) => format!("{x:.1} east, {y:.1} north"),
    }
}

/// On a sphere, which is near enough for whether blocks are of one farm.
fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    let point = |[lon, lat]: [f64; 2]| {
        let (sin_lat, cos_lat) = lat.to_radians().sin_cos();
        let (sin_lon, cos_lon) = lon.to_radians().sin_cos();
        [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat]
    };
    let chord: f64 = point(a)
        .iter()
        .zip(point(b))
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt();
    2.0 * 6_371_008.8 * (chord / 2.0).min(1.0).asin()
}

/// The one of some places that lies in the middle of most.
fn heart(places: &[[f64; 2]]) -> Option<[f64; 2]> {
    places
        .iter()
        .map(|a| {
            let mut to_others: Vec<f64> = places.iter().map(|b| apart(*a, *b)).collect();
            to_others.sort_by(f64::total_cmp);
            (
                to_others.get(to_others.len() / 2).copied().unwrap_or(0.0),
                *a,
            )
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, place)| place)
}

fn places(features: &[Feature], known: &[Outline], all: &mut Vec<Doubt>) {
    let degrees = |o: &&Outline| o.coordinates == Coordinates::Degrees;
    let held: Vec<[f64; 2]> = known.iter().filter(degrees).map(middle).collect();
    let stopped: Vec<usize> = all.iter().map(|d| d.feature).collect();
    let fresh: Vec<(usize, &Feature)> = features
        .iter()
        .enumerate()
        .filter(|(at, f)| degrees(&&f.outline) && !stopped.contains(at))
        .collect();
    let own: Vec<[f64; 2]> = fresh.iter().map(|(_, f)| middle(&f.outline)).collect();
    let (home, others) = if held.is_empty() {
        (heart(&own), "the others of the file")
    } else {
        (heart(&held), "the blocks in the book")
    };
    let Some(home) = home else { return };
    for (at, feature) in fresh {
        let here = middle(&feature.outline);
        let far = Length::metres(apart(here, home));
        if far <= FAR {
            continue;
        }
        let who = called(feature);
        let km = |l: Length| {
            format!(
                "{} km ({} miles)",
                plain(l.si() / 1_000.0, 3),
                plain(l.to_feet() / 5_280.0, 3)
            )
        };
        let turned = feature.outline.swapped();
        let near = Length::metres(apart(middle(&turned), home));
        let (kind, weight, sentence, way_out) = if on_earth(&turned) && near <= FAR {
            (
                Kind::Swapped,
                Weight::Stops,
                format!(
                    "{who} lies {} from {others}, at {}; with latitude and longitude exchanged it lies {} from them.",
                    km(far),
                    told(Coordinates::Degrees, here[0], here[1]),
                    km(near)
                ),
                "Exchange latitude and longitude of the file as it comes in.",
            )
        } else {
            (
                Kind::FarAway,
                Weight::Asks,
                format!(
                    "{who} lies {} from {others}, at {}.",
                    km(far),
                    told(Coordinates::Degrees, here[0], here[1])
                ),
                "Leave it out, or say that it is right.",
            )
        };
        all.push(Doubt {
            feature: at,
            kind,
            weight,
            sentence,
            way_out: way_out.to_owned(),
        });
    }
}

fn same_names(features: &[Feature], all: &mut Vec<Doubt>) {
    let mut first: HashMap<String, usize> = HashMap::new();
    for (at, feature) in features.iter().enumerate() {
        let key = feature.name.to_lowercase();
        if key.is_empty() {
            continue;
        }
        if let Some(earlier) = first.get(&key) {
            all.push(Doubt {
                feature: at,
                kind: Kind::SameName,
                weight: Weight::Stops,
                sentence: format!(
                    "“{}” is the name of outlines {} and {} of the file.",
                    feature.name,
                    earlier + 1,
                    at + 1
                ),
                way_out: "Give each its own name, or say which block each is.".to_owned(),
            });
        } else {
            first.insert(key, at);
        }
    }
}

/// Pairs of outlines that share ground, and how much: places in the list, from 0.
///
/// The outlines must be of one kind of coordinates; those of another kind than the first are left out.
pub fn overlaps(outlines: &[Outline]) -> Vec<(usize, usize, Area)> {
    let Some(first) = outlines.first() else {
        return Vec::new();
    };
    let same = |o: &&Outline| o.coordinates == first.coordinates;
    let Some(frame) = Frame::around(outlines.iter().filter(same)) else {
        return Vec::new();
    };
    let shapes: Vec<(usize, MultiPolygon)> = outlines
        .iter()
        .enumerate()
        .filter(|(_, o)| same(o))
        .map(|(at, o)| (at, frame.shape(o)))
        .collect();
    let mut found = Vec::new();
    for (place, (i, a)) in shapes.iter().enumerate() {
        for (j, b) in shapes.iter().skip(place + 1) {
            let near = match (a.bounding_rect(), b.bounding_rect()) {
                (Some(a), Some(b)) => a.intersects(&b),
                _ => false,
            };
            if near {
                let shared = a.intersection(b).unsigned_area();
                // What lies along a common fence is a matter of drawing.
                let least = 0.01 * a.unsigned_area().min(b.unsigned_area());
                if shared > least.max(SMALLEST_M2) {
                    found.push((*i, *j, Area::square_metres(shared)));
                }
            }
        }
    }
    found
}
