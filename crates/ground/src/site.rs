//! The ground of a block in which cores may be taken.

use crate::beds::{BedLayout, BedPlan, Lie, lay_out};
use crate::error::GroundError;
use crate::frame::Frame;
use crate::mark::Mark;
use crate::outline::Outline;
use crate::random::Chance;
use geo::{BooleanOps, BoundingRect, Contains, Coord, Intersects, MapCoords, MultiPolygon, Rect};
use quantity::{Length, plain};
use serde::{Deserialize, Serialize};

/// Common practice keeps off headlands and field edges: this far where there is room.
const FIELD_MARGIN: Length = Length::metres(3.048);
/// From the end of a bed where there is room.
const BED_MARGIN: Length = Length::metres(0.9144);
/// No margin by default is more than this share of the narrower way across, or of a bed's length.
const MOST_OF_WIDTH: f64 = 1.0 / 6.0;
/// How often chance may miss the ground for one place that hits it.
const MOST_MISSES: usize = 400;

/// A spot where no core is taken, such as an old manure pile or a wet hole.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LeaveOut {
    /// In the outline's own numbers.
    pub at: [f64; 2],
    pub radius: Length,
}

/// Where cores may be taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    pub frame: Frame,
    pub lie: Lie,
    /// The beds, where the block has them; cores are then taken from bed tops alone.
    pub beds: Option<BedLayout>,
    /// The whole block, across and along in metres.
    pub(crate) block: MultiPolygon,
    /// One for each bed, or the block; across and along.
    pub(crate) pieces: Vec<MultiPolygon>,
    margin: f64,
    spots: Vec<(Coord, f64)>,
    bounds: Rect,
}

impl Site {
    /// The ground inside an outline without holes, edges and spots, or the tops of its beds without
    /// their ends and spots.
    ///
    /// `margin` is kept from every edge of a field, and from the ends of beds; where none is given,
    /// 10 ft in a field and 3 ft in a bed, less where there is little room. From the sides of a bed a
    /// sixth of its width is kept.
    ///
    /// # Errors
    /// An outline without corners, beds that do not fit, a margin that cannot be.
    pub fn new(
        outline: &Outline,
        beds: Option<&BedPlan>,
        margin: Option<Length>,
        leave_out: &[LeaveOut],
    ) -> Result<Self, GroundError> {
        let nothing = || GroundError::NoPositions("The outline has no corners.".to_owned());
        let frame = Frame::around([outline]).ok_or_else(nothing)?;
        let shape = frame.shape(outline);
        let beds = beds.map(|plan| lay_out(outline, plan)).transpose()?;
        let lie = beds
            .as_ref()
            .map_or_else(|| Lie::longways(&shape), |b| b.lie);
        let turn = |shape: &MultiPolygon| shape.map_coords(|c| lie.turn(c));
        let block = turn(&shape);
        let pieces: Vec<MultiPolygon> = match &beds {
            Some(layout) => layout.beds.iter().map(|b| turn(&b.shape)).collect(),
            None => vec![block.clone()],
        };
        let bounds = block.bounding_rect().ok_or_else(nothing)?;
        let margin = margin.unwrap_or_else(|| match &beds {
            Some(layout) => {
                let shortest = layout
                    .beds
                    .iter()
                    .map(|b| b.length)
                    .fold(Length::metres(bounds.height()), Length::min);
                BED_MARGIN.min(shortest * MOST_OF_WIDTH)
            }
            None => FIELD_MARGIN
                .min(Length::metres(bounds.width().min(bounds.height())) * MOST_OF_WIDTH),
        });
        if !(0.0..=1_000.0).contains(&margin.si()) {
            return Err(GroundError::NoPositions(format!(
                "An edge of {} ft cannot be kept; give a distance of 0 ft or more.",
                plain(margin.to_feet(), 3)
            )));
        }
        let spots = leave_out
            .iter()
            .map(|spot| (lie.turn(frame.to_plane(spot.at)), spot.radius.si()))
            .collect();
        Ok(Self {
            frame,
            lie,
            beds,
            block,
            pieces,
            margin: margin.si(),
            spots,
            bounds,
        })
    }

    /// Takes what stands on the ground out of it, where both are in the same kind of coordinates.
    pub(crate) fn keep_off(&mut self, marks: &[Mark], outline: &Outline) {
        for mark in marks
            .iter()
            .filter(|m| m.coordinates == outline.coordinates)
        {
            let taken = mark.ground(&self.frame).map_coords(|c| self.lie.turn(c));
            for piece in &mut self.pieces {
                if piece.intersects(&taken) {
                    *piece = piece.difference(&taken);
                }
            }
        }
    }

    /// What is kept from edges or from the ends of beds.
    pub fn margin(&self) -> Length {
        Length::metres(self.margin)
    }

    /// The piece that a place across and along lies in, if cores may be taken there.
    pub(crate) fn piece(&self, at: Coord) -> Option<usize> {
        let near = |(spot, radius): &(Coord, f64)| (at.x - spot.x).hypot(at.y - spot.y) < *radius;
        if self.spots.iter().any(near) {
            return None;
        }
        let piece = self.pieces.iter().position(|p| p.contains(&at))?;
        let shape = &self.pieces[piece];
        let fits = match &self.beds {
            Some(_) => {
                let sides = reach(shape, at, EAST) + reach(shape, at, WEST);
                let side = sides * MOST_OF_WIDTH;
                reach(shape, at, NORTH).min(reach(shape, at, SOUTH)) >= self.margin
                    && reach(shape, at, EAST).min(reach(shape, at, WEST)) >= side
            }
            None => from_edge(shape, at) >= self.margin,
        };
        fits.then_some(piece)
    }

    /// Places by chance, each as likely anywhere; across and along.
    pub(crate) fn places(
        &self,
        count: usize,
        chance: &mut Chance,
    ) -> Result<Vec<Coord>, GroundError> {
        let (low, high) = (self.bounds.min(), self.bounds.max());
        let mut found = Vec::with_capacity(count);
        for _ in 0..count.saturating_mul(MOST_MISSES) {
            if found.len() == count {
                break;
            }
            let at = Coord {
                x: chance.between(low.x, high.x),
                y: chance.between(low.y, high.y),
            };
            if self.piece(at).is_some() {
                found.push(at);
            }
        }
        if found.len() < count {
            return Err(GroundError::NoPositions(format!(
                "Hardly any ground is left to take cores from: {} ft are kept from the {}{}. Keep less, or leave out less.",
                plain(self.margin().to_feet(), 2),
                if self.beds.is_some() {
                    "ends of the beds"
                } else {
                    "edges"
                },
                if self.spots.is_empty() {
                    ""
                } else {
                    ", and spots are left out"
                }
            )));
        }
        Ok(found)
    }

    /// West, low end, east, high end of the block, across and along.
    pub(crate) fn bounds(&self) -> Rect {
        self.bounds
    }
}

/// Directions on the turned plane: along is up.
pub(crate) const NORTH: Coord = Coord { x: 0.0, y: 1.0 };
pub(crate) const SOUTH: Coord = Coord { x: 0.0, y: -1.0 };
pub(crate) const EAST: Coord = Coord { x: 1.0, y: 0.0 };
pub(crate) const WEST: Coord = Coord { x: -1.0, y: 0.0 };

fn sides(shape: &MultiPolygon) -> impl Iterator<Item = geo::Line> {
    shape
        .iter()
        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
        .flat_map(geo::LineString::lines)
}

/// How far it is from a place to the first edge in a direction of length 1.
pub(crate) fn reach(shape: &MultiPolygon, from: Coord, to: Coord) -> f64 {
    let mut nearest = f64::INFINITY;
    for side in sides(shape) {
        let (a, b) = (side.start - from, side.end - from);
        // Beside the ray: to the left above zero.
        let (la, lb) = (to.x * a.y - to.y * a.x, to.x * b.y - to.y * b.x);
        if (la > 0.0) == (lb > 0.0) {
            continue;
        }
        let share = la / (la - lb);
        let ahead = |c: Coord| to.x * c.x + to.y * c.y;
        let distance = ahead(a) + (ahead(b) - ahead(a)) * share;
        if distance >= 0.0 && distance < nearest {
            nearest = distance;
        }
    }
    nearest
}

/// The distance to the nearest edge, of holes too.
fn from_edge(shape: &MultiPolygon, at: Coord) -> f64 {
    sides(shape)
        .map(|side| {
            let (a, d) = (side.start - at, side.delta());
            let long = d.x * d.x + d.y * d.y;
            let share = if long > 0.0 {
                (-(a.x * d.x + a.y * d.y) / long).clamp(0.0, 1.0)
            } else {
                0.0
            };
            (a.x + share * d.x).hypot(a.y + share * d.y)
        })
        .fold(f64::INFINITY, f64::min)
}
