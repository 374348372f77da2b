//! The ground of a block that lies too near to something.

use crate::beds::BedLayout;
use crate::frame::Frame;
use crate::mark::Mark;
use crate::outline::{Coordinates, Outline, bounds};
use geo::{Area as _, BooleanOps, Intersects, MultiPolygon};
use quantity::{Area, Length};

/// Less than this on a block is no strip but the end of a number, m²: a tenth of a square foot.
const LEAST: f64 = 0.01;
/// Metres in a degree of latitude at least, anywhere on the ellipsoid.
const DEGREE: f64 = 110_000.0;

/// A strip that is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// The plane that `shape` lies on.
    pub frame: Frame,
    /// Of the block's ground.
    pub shape: MultiPolygon,
    /// Of the ground that is spread on: bed tops where there are beds to spread on, else all of it.
    pub area: Area,
    /// Share of the ground that is spread on, from above 0 to 1.
    pub share: f64,
    /// Numbers of the beds whose tops it touches.
    pub beds: Vec<u32>,
}

/// Whether something might lie within a distance of an outline, told by their bounds alone.
pub fn may_reach(outline: &Outline, mark: &Mark, distance: Length) -> bool {
    if mark.coordinates != outline.coordinates {
        return false;
    }
    let reach = mark.half_width() + distance.si() * 1.01;
    let corners = |places: &[[f64; 2]]| bounds(places.iter().copied());
    let (Some([w, s, e, n]), Some([mw, ms, me, mn])) = (outline.bounds(), corners(mark.places()))
    else {
        return false;
    };
    let [x, y] = match outline.coordinates {
        Coordinates::Grid(unit) => [reach / unit.metres(); 2],
        Coordinates::Degrees => {
            let up = reach / DEGREE;
            let farthest = (s.abs().max(n.abs()) + up).to_radians();
            [up / farthest.cos().max(0.01), up]
        }
    };
    mw - x <= e && me + x >= w && ms - y <= n && mn + y >= s
}

/// The ground of a block that lies within the distance of any of `from`; none where there is none of
/// it. `beds` are those of the block where their tops alone are spread on, `all_beds` those that are
/// named. Things in other coordinates than the block's are not seen.
pub fn keep_away(
    outline: &Outline,
    beds: Option<&BedLayout>,
    all_beds: Option<&BedLayout>,
    from: &[(&Mark, Length)],
) -> Option<Strip> {
    let near: Vec<&(&Mark, Length)> = from
        .iter()
        .filter(|(mark, distance)| may_reach(outline, mark, *distance))
        .collect();
    if near.is_empty() {
        return None;
    }
    let frame = match all_beds {
        Some(layout) => layout.frame,
        None => Frame::around([outline])?,
    };
    let block = frame.shape(outline);
    let shape = near
        .iter()
        .map(|(mark, distance)| block.intersection(&mark.within(&frame, *distance)))
        .reduce(|all, one| all.union(&one))?;
    let (of, left_out) = match beds {
        Some(layout) => layout.beds.iter().fold((0.0, 0.0), |(of, out), bed| {
            (
                of + bed.shape.unsigned_area(),
                out + bed.shape.intersection(&shape).unsigned_area(),
            )
        }),
        None => (block.unsigned_area(), shape.unsigned_area()),
    };
    if left_out < LEAST || of <= 0.0 {
        return None;
    }
    let touched = |layout: &BedLayout| -> Vec<u32> {
        layout
            .beds
            .iter()
            .filter(|b| {
                b.shape.intersects(&shape) && b.shape.intersection(&shape).unsigned_area() >= LEAST
            })
            .map(|b| b.number)
            .collect()
    };
    Some(Strip {
        frame,
        // The sums round to a millionth or so.
        area: Area::square_metres(left_out.min(of)),
        share: (left_out / of).min(1.0),
        beds: all_beds.map(touched).unwrap_or_default(),
        shape,
    })
}
