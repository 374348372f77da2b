//! What was drawn, from the page into the book.

use super::{DrawnBlock, DrawnMark, Way};
use crate::{Result, WorkError};
use farmbook::{Block, BlockKind, BlockOutline, Book, Id, MapMark, MarkKind, PicturePlace, Shape};
use geo::Coord;
use ground::{Coordinates, Feature, Frame, GridUnit, Mark, Outline, Part, Spot, Weight};
use quantity::Length;
use serde::Deserialize;

/// More than this at once is no drawing.
const MOST: usize = 2_000;
/// Further than this from the middle of the farm nothing is drawn, metres.
const FARTHEST: f64 = 100_000.0;

/// What was drawn: what is new or changed, and what is gone.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drawn {
    pub frame: Frame,
    #[serde(default)]
    pub blocks: Vec<DrawnBlock>,
    #[serde(default)]
    pub marks: Vec<DrawnMark>,
    /// Numbers of blocks that were deleted.
    #[serde(default)]
    pub gone: Vec<Id>,
    #[serde(default)]
    pub gone_marks: Vec<Id>,
    /// Where the picture beneath lies now, where it was moved.
    #[serde(default)]
    pub picture: Option<PicturePlace>,
    /// The year from which changed outlines hold; none where a slip is mended.
    #[serde(default)]
    pub since: Option<i64>,
}

fn kind_of(frame: &Frame) -> Option<Coordinates> {
    match frame {
        Frame::Earth { centre: [lon, lat] } => {
            (lon.abs() <= 180.0 && lat.abs() <= 90.0).then_some(Coordinates::Degrees)
        }
        Frame::Grid { centre, metres } => {
            let units = [GridUnit::Metres, GridUnit::Feet, GridUnit::SurveyFeet];
            let unit = units
                .into_iter()
                .find(|u| (u.metres() - metres).abs() < 1e-12);
            centre
                .iter()
                .all(|v| v.abs() <= 1e8)
                .then_some(unit.map(Coordinates::Grid))
                .flatten()
        }
    }
}

fn from(frame: &Frame, who: &str, way: &Way) -> Result<Way> {
    way.iter()
        .map(|[x, y]| {
            if x.abs() <= FARTHEST && y.abs() <= FARTHEST {
                Ok(frame.from_plane(Coord { x: *x, y: *y }))
            } else {
                Err(WorkError::Said(format!(
                    "{who} has a corner more than 60 miles from the farm; draw it again."
                )))
            }
        })
        .collect()
}

/// Keeps what was drawn as one change, and gives the numbers of the blocks in the order they came.
///
/// A new block takes its area from what was drawn; the area of one that is in the book stays until it is
/// taken over.
///
/// # Errors
/// Whatever does not fit, a sentence; then nothing is kept.
pub fn keep(book: &mut Book, drawn: &Drawn) -> Result<Vec<Id>> {
    let Some(kind) = kind_of(&drawn.frame) else {
        return Err(WorkError::Said(
            "The drawing does not say where it lies; open its page again.".to_owned(),
        ));
    };
    let has = book.outlines()?;
    if kind != Coordinates::Degrees
        && has
            .iter()
            .any(|o| o.outline.coordinates == Coordinates::Degrees)
    {
        return Err(WorkError::Said(
            "The farm has real coordinates and the drawing is on a plain grid; open its page again."
                .to_owned(),
        ));
    }
    let count = drawn.blocks.len() + drawn.marks.len() + drawn.gone.len() + drawn.gone_marks.len();
    if count > MOST {
        return Err(WorkError::Said(format!(
            "Found {count} things drawn at once, and at most 2,000 are kept at once."
        )));
    }
    let mut outlines = Vec::new();
    for block in &drawn.blocks {
        outlines.push(outline(&drawn.frame, kind, block)?);
    }
    sound(&drawn.blocks, &outlines)?;
    let mut marks = Vec::new();
    for mark in &drawn.marks {
        marks.push(map_mark(&drawn.frame, kind, mark)?);
    }
    Ok(book.together("Drew on the map", |book| {
        for id in &drawn.gone {
            book.remove_block(*id)?;
        }
        for id in &drawn.gone_marks {
            book.remove_mark(*id)?;
        }
        let mut ids = Vec::new();
        for (block, outline) in drawn.blocks.iter().zip(outlines) {
            ids.push(keep_block(book, block, outline, drawn.since)?);
        }
        for mark in &marks {
            book.set_mark(mark)?;
        }
        if let Some(place) = &drawn.picture {
            book.place_picture(&PicturePlace {
                frame: drawn.frame,
                ..*place
            })?;
        }
        Ok(ids)
    })?)
}

/// A line that was drawn across a block of the book, and what the parts are called: the one to the left of
/// the line first.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    pub frame: Frame,
    pub block: Id,
    /// Metres on the sheet.
    pub line: Way,
    pub names: [String; 2],
    pub year: i64,
}

/// Splits a block along a drawn line.
///
/// # Errors
/// As [`crate::parcels::split`]; then nothing is changed.
pub fn cut(book: &mut Book, cut: &Cut) -> Result<[Id; 2]> {
    let block = book.block(cut.block)?;
    let held = book.outline(cut.block)?.map(|o| o.outline.coordinates);
    if held.is_some() && held != kind_of(&cut.frame) {
        return Err(WorkError::Said(format!(
            "“{}” lies in other coordinates than the line; open the page again.",
            block.name
        )));
    }
    let line = from(&cut.frame, "The line", &cut.line)?;
    let [left, right] = &cut.names;
    crate::parcels::split(book, cut.block, &line, [left, right], cut.year)
}

/// Blocks of the book that become one.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Join {
    pub blocks: Vec<Id>,
    pub name: String,
    pub year: i64,
}

/// Lays blocks together.
///
/// # Errors
/// As [`crate::parcels::merge`]; then nothing is changed.
pub fn join(book: &mut Book, join: &Join) -> Result<Id> {
    crate::parcels::merge(book, &join.blocks, &join.name, join.year)
}

/// The first thing that makes a drawn outline useless, with its way out.
fn sound(blocks: &[DrawnBlock], outlines: &[Outline]) -> Result<()> {
    let features: Vec<Feature> = blocks
        .iter()
        .zip(outlines)
        .map(|(block, outline)| Feature {
            name: block.name.trim().to_owned(),
            outline: outline.clone(),
            notes: Vec::new(),
            walked: false,
        })
        .collect();
    match ground::doubts(&features, &[])
        .into_iter()
        .find(|d| d.weight == Weight::Stops)
    {
        Some(doubt) => Err(WorkError::Said(format!(
            "{} {}",
            doubt.sentence, doubt.way_out
        ))),
        None => Ok(()),
    }
}

fn keep_block(
    book: &mut Book,
    drawn: &DrawnBlock,
    outline: Outline,
    since: Option<i64>,
) -> farmbook::Result<Id> {
    const FILE: &str = "drawn on the map";
    if drawn.id == 0 {
        let ground = Shape::Stated {
            area: ground::area(&outline),
        };
        let id = book.add_block(&Block::new(drawn.name.clone(), BlockKind::Field, ground))?;
        book.set_outline(&BlockOutline {
            since,
            ..BlockOutline::new(id, outline, FILE)
        })?;
        return Ok(id);
    }
    let held = book.block(drawn.id)?;
    if held.name != drawn.name.trim() {
        book.change_block(&Block {
            name: drawn.name.clone(),
            ..held
        })?;
    }
    let set = match book.outline(drawn.id)? {
        Some(old) => BlockOutline {
            outline,
            since: since.or(old.since),
            file_name: FILE.to_owned(),
            ..old
        },
        None => BlockOutline {
            since,
            ..BlockOutline::new(drawn.id, outline, FILE)
        },
    };
    book.set_outline(&set)?;
    Ok(drawn.id)
}

fn outline(frame: &Frame, kind: Coordinates, block: &DrawnBlock) -> Result<Outline> {
    let who = format!("“{}”", block.name.trim());
    let corners: usize = block.parts.iter().flatten().map(Vec::len).sum();
    if corners > 10_000 {
        return Err(WorkError::Said(format!(
            "{who} has {corners} corners, and at most 10,000 are kept."
        )));
    }
    let mut parts = Vec::new();
    for rings in &block.parts {
        let mut rings = rings.iter().map(|r| from(frame, &who, r));
        let Some(outer) = rings.next() else {
            return Err(WorkError::Said(format!(
                "{who} has a piece without corners."
            )));
        };
        parts.push(Part {
            outer: outer?,
            holes: rings.collect::<Result<_>>()?,
        });
    }
    Ok(Outline {
        coordinates: kind,
        parts,
    })
}

fn map_mark(frame: &Frame, kind: Coordinates, drawn: &DrawnMark) -> Result<MapMark> {
    let sort = MarkKind::from_key(&drawn.kind).ok_or_else(|| {
        WorkError::Said(format!(
            "Found “{}” on the map; expected one of {}.",
            drawn.kind,
            MarkKind::ALL.map(MarkKind::key).join(", ")
        ))
    })?;
    let places = from(frame, &format!("“{}”", drawn.name.trim()), &drawn.at)?;
    let spot = match (drawn.form.as_str(), places.as_slice()) {
        ("point", [at, ..]) => Spot::Point(*at),
        ("line", [_, ..]) => Spot::Line(places),
        ("area", [_, ..]) => Spot::Area(places),
        _ => {
            return Err(WorkError::Said(format!(
                "Found something drawn as “{}”; expected a point, a line or an area with its places.",
                drawn.form
            )));
        }
    };
    Ok(MapMark {
        id: drawn.id,
        kind: sort,
        name: drawn.name.trim().to_owned(),
        mark: Mark {
            coordinates: kind,
            spot,
            width: drawn.width.map(Length::metres),
        },
    })
}
