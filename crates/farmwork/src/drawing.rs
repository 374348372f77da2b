//! What is drawn on the page: the ground in metres on a plane, and back into the book.
//!
//! The page knows a flat sheet alone. The plane is that of [`ground::Frame`], so that what is drawn
//! on a farm with real coordinates lies where it was drawn to within a fraction of a millimetre.

mod keep;

pub use keep::{Cut, Drawn, Join, cut, join, keep};

use crate::Result;
use farmbook::{Book, Id, PicturePlace};
use geo::Coord;
use ground::{Coordinates, Frame, GridUnit, Spot};
use quantity::Length;
use serde::{Deserialize, Serialize};

/// Corners in metres east and north of the middle of the sheet.
type Way = Vec<[f64; 2]>;

/// A block on the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawnBlock {
    /// Zero where it is new.
    #[serde(default)]
    pub id: Id,
    pub name: String,
    /// Pieces of ground, each its outer ring and then its holes.
    pub parts: Vec<Vec<Way>>,
}

/// Something else on the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawnMark {
    /// Zero where it is new.
    #[serde(default)]
    pub id: Id,
    pub kind: String,
    #[serde(default)]
    pub name: String,
    /// `point`, `line` or `area`.
    pub form: String,
    pub at: Way,
    /// Metres across a point or a line; none where nobody said.
    #[serde(default)]
    pub width: Option<f64>,
}

/// The sheet as the page gets it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    pub frame: Frame,
    pub blocks: Vec<DrawnBlock>,
    pub marks: Vec<DrawnMark>,
    /// The picture beneath and where it lies on this sheet.
    pub picture: Option<PicturePlace>,
    /// Blocks without an outline, number and name, that may be drawn.
    pub without: Vec<(Id, String)>,
    /// Blocks in the other kind of coordinates, which are not on this sheet.
    pub elsewhere: usize,
}

/// The kind of coordinates of a farm: that of its outlines, else of what stands beside them, degrees
/// first; a plain grid in metres where nothing lies anywhere yet.
fn coordinates(book: &Book) -> Result<Coordinates> {
    let outlines = book.outlines()?;
    let of_blocks = outlines.iter().map(|o| o.outline.coordinates);
    let mut all: Vec<Coordinates> = of_blocks.collect();
    if all.is_empty() {
        all = book.marks()?.iter().map(|m| m.mark.coordinates).collect();
    }
    let degrees = all.iter().find(|c| **c == Coordinates::Degrees);
    Ok(*degrees
        .or(all.first())
        .unwrap_or(&Coordinates::Grid(GridUnit::Metres)))
}

/// The plane on which the farm is drawn.
///
/// # Errors
/// The book's own.
pub fn frame(book: &Book) -> Result<Frame> {
    let kind = coordinates(book)?;
    let outlines = book.outlines()?;
    let of_kind = outlines.iter().map(|o| &o.outline);
    Ok(match kind {
        // A grid keeps its own beginning, so that what is typed is what is kept.
        Coordinates::Grid(unit) => Frame::Grid {
            centre: [0.0, 0.0],
            metres: unit.metres(),
        },
        Coordinates::Degrees => {
            let marks: Vec<_> = book.marks()?.iter().map(|m| m.mark.as_outline()).collect();
            Frame::around(of_kind.filter(|o| o.coordinates == kind))
                .or_else(|| Frame::around(marks.iter().filter(|o| o.coordinates == kind)))
                .unwrap_or(Frame::Grid {
                    centre: [0.0, 0.0],
                    metres: 1.0,
                })
        }
    })
}

fn onto(frame: &Frame, places: &[[f64; 2]]) -> Way {
    places
        .iter()
        .map(|c| {
            let at = frame.to_plane(*c);
            [at.x, at.y]
        })
        .collect()
}

/// The farm on its sheet.
///
/// # Errors
/// The book's own.
pub fn sheet(book: &Book) -> Result<Sheet> {
    let kind = coordinates(book)?;
    let frame = frame(book)?;
    let all = book.blocks()?;
    let outlines = book.outlines()?;
    let mut blocks = Vec::new();
    let mut without = Vec::new();
    let mut elsewhere = 0;
    for block in &all {
        match outlines.iter().find(|o| o.block == block.id) {
            None => without.push((block.id, block.name.clone())),
            Some(held) if held.outline.coordinates != kind => elsewhere += 1,
            Some(held) => blocks.push(DrawnBlock {
                id: block.id,
                name: block.name.clone(),
                parts: held
                    .outline
                    .parts
                    .iter()
                    .map(|p| {
                        std::iter::once(&p.outer)
                            .chain(&p.holes)
                            .map(|r| onto(&frame, r))
                            .collect()
                    })
                    .collect(),
            }),
        }
    }
    let marks = book
        .marks()?
        .into_iter()
        .filter(|m| m.mark.coordinates == kind)
        .map(|m| DrawnMark {
            id: m.id,
            kind: m.kind.key().to_owned(),
            name: m.name,
            form: match m.mark.spot {
                Spot::Point(_) => "point",
                Spot::Line(_) => "line",
                Spot::Area(_) => "area",
            }
            .to_owned(),
            at: onto(&frame, m.mark.places()),
            width: m.mark.width.map(Length::si),
        })
        .collect();
    let picture = book.picture()?.map(|p| moved(&p.place, &frame));
    Ok(Sheet {
        frame,
        blocks,
        marks,
        picture,
        without,
        elsewhere,
    })
}

/// Where a picture lies on another plane; it stays in its old numbers where the two have nothing in common.
fn moved(place: &PicturePlace, frame: &Frame) -> PicturePlace {
    let earth = |f: &Frame| matches!(f, Frame::Earth { .. });
    if earth(&place.frame) != earth(frame) {
        return *place;
    }
    let [x, y] = place.middle;
    let at = frame.to_plane(place.frame.from_plane(Coord { x, y }));
    PicturePlace {
        frame: *frame,
        middle: [at.x, at.y],
        ..*place
    }
}

/// A rectangle by its middle, its length along a direction and its width across, metres and degrees
/// clockwise from north; corners counter-clockwise.
pub fn rectangle(middle: [f64; 2], length: Length, width: Length, direction: f64) -> Vec<[f64; 2]> {
    let (sin, cos) = direction.to_radians().sin_cos();
    let (along, across) = (length.si() / 2.0, width.si() / 2.0);
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(side, end)| {
            let (x, y) = (side * across, end * along);
            [middle[0] + x * cos + y * sin, middle[1] - x * sin + y * cos]
        })
        .to_vec()
}
