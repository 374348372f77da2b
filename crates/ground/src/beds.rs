//! Beds drawn on a block's outline.

use crate::earth::area;
use crate::error::GroundError;
use crate::frame::Frame;
use crate::outline::Outline;
use geo::{
    Area as _, BooleanOps, BoundingRect, Coord, MapCoords, MinimumRotatedRect, MultiPolygon, Rect,
};
use quantity::{Area, Length, plain};

/// The most beds that are drawn on one block.
const MOST_BEDS: f64 = 1_000.0;
/// A bed that fits but for less than this fits: a tape is not read closer.
const TAPE: f64 = 0.02;
/// A piece of bed shorter than this is not counted, m.
const SHORTEST: f64 = 1.0;

/// How beds are to lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedPlan {
    pub bed_width: Length,
    pub path_width: Length,
    /// The direction in which beds run, degrees clockwise from north. Where not given, along the
    /// block, or across it where their number fits so.
    pub bearing: Option<f64>,
    /// As many as fit where not given.
    pub beds: Option<u32>,
}

/// The directions of a block: along its beds (or its longer side) and across them.
///
/// `along` points north, or east where beds run nearer to east and west; `across` points from the
/// first bed to the last: to the east, or to the south.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// Degrees clockwise from north of `along`, from −45 to below 135.
    pub bearing: f64,
    along: Coord,
    across: Coord,
}

impl Lie {
    pub fn of(bearing: f64) -> Self {
        let turned = (bearing + 45.0).rem_euclid(180.0) - 45.0;
        let (sin, cos) = turned.to_radians().sin_cos();
        Self {
            bearing: turned,
            along: Coord { x: sin, y: cos },
            across: Coord { x: cos, y: -sin },
        }
    }

    /// Along the longer side of the smallest rectangle around a shape.
    pub fn longways(shape: &MultiPolygon) -> Self {
        let Some(around) = shape.minimum_rotated_rect() else {
            return Self::of(0.0);
        };
        let longest = around
            .exterior()
            .lines()
            .max_by(|a, b| {
                let length = |l: &geo::Line| l.dx().hypot(l.dy());
                length(a).total_cmp(&length(b))
            })
            .map_or(0.0, |l| l.dx().atan2(l.dy()).to_degrees());
        Self::of(longest)
    }

    /// Distance along and across, from the frame's centre, m.
    pub fn turn(&self, at: Coord) -> Coord {
        Coord {
            x: at.x * self.across.x + at.y * self.across.y,
            y: at.x * self.along.x + at.y * self.along.y,
        }
    }

    /// From across and along back to the frame.
    pub fn turn_back(&self, at: Coord) -> Coord {
        Coord {
            x: at.x * self.across.x + at.y * self.along.x,
            y: at.x * self.across.y + at.y * self.along.y,
        }
    }

    /// The names of the ends that `along` points to and comes from.
    pub fn ends(&self) -> (&'static str, &'static str) {
        compass(self.bearing)
    }

    /// The names of the sides that `across` points to and comes from.
    pub fn sides(&self) -> (&'static str, &'static str) {
        compass(self.bearing + 90.0)
    }
}

/// The nearest of eight directions to a bearing in degrees, and its opposite.
pub fn compass(bearing: f64) -> (&'static str, &'static str) {
    const NAMES: [&str; 8] = [
        "north",
        "northeast",
        "east",
        "southeast",
        "south",
        "southwest",
        "west",
        "northwest",
    ];
    let eighth = (bearing.rem_euclid(360.0) / 45.0).round() as usize % 8;
    (NAMES[eighth], NAMES[(eighth + 4) % 8])
}

/// One bed on the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// From 1, at the west or the north side.
    pub number: u32,
    /// In metres on the layout's frame; more than one polygon where the outline cuts the bed.
    pub shape: MultiPolygon,
    /// From its one end to its other.
    pub length: Length,
    /// Of its top.
    pub area: Area,
}

/// Beds on a block.
#[derive(Debug, Clone, PartialEq)]
pub struct BedLayout {
    pub frame: Frame,
    pub lie: Lie,
    /// By number.
    pub beds: Vec<Bed>,
    /// The ground inside the outline.
    pub gross: Area,
    /// The bed tops together.
    pub tops: Area,
    /// What did not fit, as a sentence.
    pub note: Option<String>,
}

/// Draws beds side by side with a path between each two, in the middle of the block, cut at its
/// outline. Bed 1 is at the west side, or at the north side where beds run nearer to east and west.
///
/// # Errors
/// Widths that cannot be, or not one bed fits.
pub fn lay_out(outline: &Outline, plan: &BedPlan) -> Result<BedLayout, GroundError> {
    let frame = Frame::around([outline])
        .ok_or_else(|| GroundError::NoBeds("The outline has no corners.".to_owned()))?;
    let shape = frame.shape(outline);
    let (bed, path) = (plan.bed_width.si(), plan.path_width.si());
    let sound = |v: f64| v.is_finite() && (0.0..=1_000.0).contains(&v);
    if !sound(bed) || !sound(path) || bed < 0.05 || plan.bearing.is_some_and(|b| !b.is_finite()) {
        return Err(GroundError::NoBeds(format!(
            "Beds of {} in with paths of {} in cannot be drawn; a bed is at least 2 in wide.",
            plain(plan.bed_width.to_inches(), 3),
            plain(plan.path_width.to_inches(), 3)
        )));
    }
    let taken = |n: u32| f64::from(n) * bed + f64::from(n.saturating_sub(1)) * path;
    let no_corners = || GroundError::NoBeds("The outline has no corners.".to_owned());
    let turn = |lie: Lie| {
        let turned: MultiPolygon = shape.map_coords(|c| lie.turn(c));
        let bounds = turned.bounding_rect()?;
        Some((lie, turned, bounds))
    };
    // Beds run along the block, unless as many as there are fit its other side better.
    let longways = Lie::longways(&shape);
    let tried = match plan.bearing {
        Some(bearing) => vec![Lie::of(bearing)],
        None => vec![longways, Lie::of(longways.bearing + 90.0)],
    };
    let misfit = |bounds: &Rect| plan.beds.map_or(0.0, |n| (bounds.width() - taken(n)).abs());
    let (lie, turned, bounds) = tried
        .into_iter()
        .filter_map(turn)
        .min_by(|a, b| misfit(&a.2).total_cmp(&misfit(&b.2)))
        .ok_or_else(no_corners)?;
    let width = bounds.width();
    let fit = ((width + path + TAPE) / (bed + path)).floor();
    if fit > MOST_BEDS {
        return Err(GroundError::NoBeds(format!(
            "{} beds would fit, and at most {} are drawn; give wider beds.",
            plain(fit, 4),
            plain(MOST_BEDS, 4)
        )));
    }
    let fit = fit as u32;
    let feet = |m: f64| plain(Length::metres(m).to_feet(), 3);
    if fit == 0 {
        return Err(GroundError::NoBeds(format!(
            "A bed of {} in does not fit: the block is {} ft wide across the beds.",
            plain(plan.bed_width.to_inches(), 3),
            feet(width)
        )));
    }
    let wanted = plan.beds.unwrap_or(fit).max(1);
    let count = wanted.min(fit);
    let mut note = (wanted > fit).then(|| {
        format!(
            "{wanted} beds with their paths take {} ft, and the block is {} ft wide across the beds; {fit} are drawn.",
            feet(taken(wanted)),
            feet(width)
        )
    });
    let first = bounds.min().x + (width - taken(count)) / 2.0;
    let mut beds: Vec<Bed> = Vec::new();
    let mut slivers = 0;
    for n in 0..count {
        let west = first + f64::from(n) * (bed + path);
        let strip = Rect::new(
            Coord {
                x: west,
                y: bounds.min().y - 1.0,
            },
            Coord {
                x: west + bed,
                y: bounds.max().y + 1.0,
            },
        )
        .to_polygon();
        let cut = turned.intersection(&strip);
        let pieces: MultiPolygon = cut
            .into_iter()
            .filter(|p| p.bounding_rect().is_some_and(|r| r.height() >= SHORTEST))
            .collect();
        let Some(reach) = pieces.bounding_rect() else {
            slivers += 1;
            continue;
        };
        beds.push(Bed {
            number: u32::try_from(beds.len())
                .unwrap_or(u32::MAX)
                .saturating_add(1),
            length: Length::metres(reach.height()),
            area: Area::square_metres(pieces.unsigned_area()),
            shape: pieces.map_coords(|c| lie.turn_back(c)),
        });
    }
    if beds.is_empty() {
        return Err(GroundError::NoBeds(
            "No bed of at least 3 ft fits inside the outline.".to_owned(),
        ));
    }
    if slivers > 0 && note.is_none() {
        note = Some(format!(
            "{slivers} at the edge would be shorter than 3 ft and {} left out.",
            if slivers == 1 { "is" } else { "are" }
        ));
    }
    Ok(BedLayout {
        frame,
        lie,
        gross: area(outline),
        tops: beds.iter().map(|b| b.area).sum(),
        beds,
        note,
    })
}
