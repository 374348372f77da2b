//! What stands on a farm beside its blocks: a well, a stream, a road, a tree.

use crate::error::GroundError;
use crate::frame::Frame;
use crate::limits::MOST_CORNERS;
use crate::outline::{Coordinates, Outline, Part, Ring};
use geo::buffer::{BufferStyle, LineCap, LineJoin};
use geo::{
    BooleanOps, Buffer, Distance, Euclidean, Intersects, LineString, MultiPolygon, Point, Polygon,
};
use quantity::Length;
use serde::{Deserialize, Serialize};

/// The place of something, in the numbers of its coordinates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "as", content = "at")]
pub enum Spot {
    Point([f64; 2]),
    Line(Vec<[f64; 2]>),
    Area(Ring),
}

/// Where something lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    pub coordinates: Coordinates,
    pub spot: Spot,
    /// Across a point or a line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
}

/// Across a point or a line of which nobody said how wide it is: a step to either side.
pub const USUAL_WIDTH: Length = Length::metres(1.8288);
/// The angle of a round border's chords, radians: where cores are kept off, and where the law counts.
const ROUND: f64 = 0.2;
const FINE: f64 = 0.01;

impl Mark {
    /// The ground it takes up, on a plane in metres.
    pub(crate) fn ground(&self, frame: &Frame) -> MultiPolygon {
        let half = self.width.unwrap_or(USUAL_WIDTH).si() / 2.0;
        self.grown(frame, half, ROUND)
    }

    /// The ground within a distance of its edge, on a plane in metres; where the border is round it is
    /// drawn with chords that cut off 13 parts in a million of the distance.
    pub(crate) fn within(&self, frame: &Frame, distance: Length) -> MultiPolygon {
        self.grown(frame, self.half_width() + distance.si(), FINE)
    }

    /// Its places with the ground so many metres around them; an area is already as large as it is.
    fn grown(&self, frame: &Frame, reach: f64, angle: f64) -> MultiPolygon {
        let places: LineString = self.places().iter().map(|c| frame.to_plane(*c)).collect();
        let round = || {
            BufferStyle::new(reach)
                .line_join(LineJoin::Round(angle))
                .line_cap(LineCap::Round(angle))
        };
        match &self.spot {
            Spot::Point(at) => Point::from(frame.to_plane(*at)).buffer_with_style(round()),
            Spot::Line(_) => places.buffer_with_style(round()),
            Spot::Area(_) => {
                let inside = MultiPolygon::from(Polygon::new(places.clone(), Vec::new()));
                if angle > FINE {
                    return inside;
                }
                let mut ring = places;
                ring.close();
                inside.union(&ring.buffer_with_style(round()))
            }
        }
    }

    /// From its middle to its edge, metres: a line of which nobody said how wide it is takes up a step
    /// to either side; a point, nothing; the places of an area are its edge.
    pub(crate) fn half_width(&self) -> f64 {
        let width = match &self.spot {
            Spot::Area(_) => None,
            Spot::Line(_) => Some(self.width.unwrap_or(USUAL_WIDTH)),
            Spot::Point(_) => self.width,
        };
        width.map_or(0.0, |w| w.si() / 2.0)
    }

    pub fn places(&self) -> &[[f64; 2]] {
        match &self.spot {
            Spot::Point(at) => std::slice::from_ref(at),
            Spot::Line(places) | Spot::Area(places) => places,
        }
    }

    /// The mark as an outline of one part, for what is drawn and framed together with blocks.
    pub fn as_outline(&self) -> Outline {
        Outline {
            coordinates: self.coordinates,
            parts: vec![Part {
                outer: self.places().to_vec(),
                holes: Vec::new(),
            }],
        }
    }

    /// # Errors
    /// Places that are none on the earth or the grid, too few of them or too many.
    pub fn check(&self) -> Result<(), GroundError> {
        let places = self.places();
        let least = match self.spot {
            Spot::Point(_) => 1,
            Spot::Line(_) => 2,
            Spot::Area(_) => 3,
        };
        if places.len() < least || places.len() > MOST_CORNERS {
            return Err(GroundError::NoParcel(format!(
                "Found {} places; a point takes 1, a line at least 2 and an area at least 3, and none more than 10,000.",
                places.len()
            )));
        }
        let most = match self.coordinates {
            Coordinates::Degrees => [180.0, 90.0],
            Coordinates::Grid(_) => [1e8, 1e8],
        };
        if self
            .width
            .is_some_and(|w| !(0.0..=1_000.0).contains(&w.si()))
        {
            return Err(GroundError::NoParcel(
                "The width must be from 0 to 3,000 ft.".to_owned(),
            ));
        }
        let sound = |at: &[f64; 2]| at.iter().zip(most).all(|(v, most)| v.abs() <= most);
        if places.iter().all(sound) {
            Ok(())
        } else {
            Err(GroundError::NoParcel(
                "A place lies outside of the earth or the grid.".to_owned(),
            ))
        }
    }
}

/// How far the nearest ground of an outline is from the edge of something; zero where it reaches into it,
/// none where one is in degrees and the other on a plain grid, or one has no place.
///
/// Measured on the plane around the outline, whose error [`Frame`] tells: true from the middle of the
/// block, and elsewhere within four parts in ten million out to 10 km.
pub fn apart(outline: &Outline, mark: &Mark) -> Option<Length> {
    if outline.coordinates != mark.coordinates {
        return None;
    }
    let frame = Frame::around([outline])?;
    let shape = frame.shape(outline);
    let line: LineString = mark.places().iter().map(|c| frame.to_plane(*c)).collect();
    let half = mark.half_width();
    let metres = |to: Option<f64>| {
        to.filter(|m| m.is_finite())
            .map(|m| Length::metres((m - half).max(0.0)))
    };
    match &mark.spot {
        Spot::Point(at) => {
            let at = Point::from(frame.to_plane(*at));
            metres(nearest(&shape, |p| Euclidean.distance(p, &at)))
        }
        Spot::Line(_) => metres(nearest(&shape, |p| {
            if p.intersects(&line) {
                0.0
            } else {
                Euclidean.distance(p, &line)
            }
        })),
        Spot::Area(_) => {
            let area = Polygon::new(line, Vec::new());
            metres(nearest(&shape, |p| {
                if p.intersects(&area) {
                    0.0
                } else {
                    Euclidean.distance(p, &area)
                }
            }))
        }
    }
}

fn nearest(shape: &MultiPolygon, to: impl Fn(&Polygon) -> f64) -> Option<f64> {
    shape.iter().map(to).reduce(f64::min)
}
