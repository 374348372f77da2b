//! The farm as a map on paper, at a round scale.

use crate::drawing;
use crate::{Result, WorkError};
use farmbook::Book;
use geo::{InteriorPoint, LineString, Polygon};
use quantity::{Area, Length, round_at_most};
use serde::Serialize;

/// Paper for the map itself, millimetres, across and down: upright, then lying.
const PAPER: [[f64; 2]; 2] = [[178.0, 150.0], [240.0, 118.0]];
/// Round scales, 1 to so many.
const SCALES: [u32; 5] = [100, 200, 250, 500, 750];
/// The longest that a scale bar becomes, millimetres.
const LONGEST_BAR: f64 = 60.0;

/// A block on the paper.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PaperBlock {
    /// As it stands on the map and in the list.
    pub number: usize,
    pub name: String,
    /// ft² as the outline says.
    pub square_feet: f64,
    /// Millimetres to the right of and below the paper's upper left corner.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Where its number stands.
    pub label: [f64; 2],
}

/// Something else on the paper.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PaperMark {
    pub name: String,
    /// `point`, `line` or `area`.
    pub form: String,
    pub at: Vec<[f64; 2]>,
    /// Millimetres across a line.
    pub width: f64,
}

/// The map, ready to be set.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MapSheet {
    pub farm: String,
    pub season: String,
    /// 1 to so many.
    pub scale: u32,
    /// Whether the paper lies on its long side.
    pub lying: bool,
    /// Of the map, millimetres across and down.
    pub size: [f64; 2],
    pub blocks: Vec<PaperBlock>,
    pub marks: Vec<PaperMark>,
    /// A bar in feet and its length on the paper, millimetres.
    pub feet: (f64, f64),
    /// A bar in metres and its length on the paper, millimetres.
    pub metres: (f64, f64),
    /// Whether up is true north rather than the north of a grid of the farm's own.
    pub true_north: bool,
    /// Blocks in other coordinates, which are not on it.
    pub elsewhere: usize,
}

/// The smallest round scale at which metres across and down fit millimetres of paper.
fn scale(ground: [f64; 2], paper: [f64; 2]) -> u32 {
    let needed = (ground[0] * 1_000.0 / paper[0]).max(ground[1] * 1_000.0 / paper[1]);
    let mut by = 1;
    loop {
        for round in SCALES {
            let scale = round * by;
            if f64::from(scale) >= needed || by >= 1_000_000 {
                return scale;
            }
        }
        by *= 10;
    }
}

/// The longest round length whose bar fits, and the bar.
fn bar(unit: Length, scale: u32) -> (f64, f64) {
    let mm = unit.si() * 1_000.0 / f64::from(scale);
    let long = round_at_most(LONGEST_BAR / mm);
    (long, long * mm)
}

/// The map of the farm.
///
/// # Errors
/// No block has an outline.
pub fn of_farm(book: &Book) -> Result<MapSheet> {
    let farm = book.farm()?;
    let sheet = drawing::sheet(book)?;
    let places = || {
        let blocks = sheet.blocks.iter().flat_map(|b| b.parts.iter().flatten());
        blocks.chain(sheet.marks.iter().map(|m| &m.at)).flatten()
    };
    if sheet.blocks.is_empty() {
        return Err(WorkError::Said(
            "No block has an outline yet; draw one or bring one in, and there is a map.".to_owned(),
        ));
    }
    let mut bounds = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    for [x, y] in places() {
        bounds = [
            bounds[0].min(*x),
            bounds[1].min(*y),
            bounds[2].max(*x),
            bounds[3].max(*y),
        ];
    }
    let [w, s, e, n] = bounds;
    let ground = [e - w, n - s];
    let [upright, lying] = PAPER.map(|paper| scale(ground, paper));
    let (scale, lies) = if lying < upright {
        (lying, true)
    } else {
        (upright, false)
    };
    let mm = 1_000.0 / f64::from(scale);
    // Put in the middle from side to side.
    let across = PAPER[usize::from(lies)][0];
    let size = [across, ground[1] * mm];
    let left = (across - ground[0] * mm) / 2.0;
    let on = |[x, y]: [f64; 2]| [left + (x - w) * mm, (n - y) * mm];
    let blocks = sheet
        .blocks
        .iter()
        .zip(1..)
        .map(|(b, number)| {
            let rings: Vec<Vec<[f64; 2]>> = b
                .parts
                .iter()
                .flatten()
                .map(|r| r.iter().map(|c| on(*c)).collect())
                .collect();
            let outer: LineString = rings
                .first()
                .into_iter()
                .flatten()
                .map(|[x, y]| geo::Coord { x: *x, y: *y })
                .collect();
            let label = Polygon::new(outer, Vec::new())
                .interior_point()
                .map_or([0.0, 0.0], |p| [p.x(), p.y()]);
            PaperBlock {
                number,
                name: b.name.clone(),
                square_feet: area(book, b.id).to_square_feet(),
                rings,
                label,
            }
        })
        .collect();
    let marks = sheet
        .marks
        .iter()
        .map(|m| PaperMark {
            name: if m.name.is_empty() {
                m.kind.clone()
            } else {
                m.name.clone()
            },
            form: m.form.clone(),
            at: m.at.iter().map(|c| on(*c)).collect(),
            width: m.width.unwrap_or(0.0) * mm,
        })
        .collect();
    Ok(MapSheet {
        farm: farm.name,
        season: farm.season.to_string(),
        scale,
        lying: lies,
        size,
        blocks,
        marks,
        feet: bar(Length::feet(1.0), scale),
        metres: bar(Length::metres(1.0), scale),
        true_north: matches!(sheet.frame, ground::Frame::Earth { .. }),
        elsewhere: sheet.elsewhere,
    })
}

fn area(book: &Book, id: farmbook::Id) -> Area {
    book.outline(id)
        .ok()
        .flatten()
        .map_or(Area::square_metres(0.0), |o| ground::area(&o.outline))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_round_and_fits() {
        for (metres, wanted) in [
            (10.0, 100),
            (17.8, 100),
            (18.0, 200),
            (44.0, 250),
            (180.0, 2_000),
        ] {
            assert_eq!(scale([metres, 1.0], PAPER[0]), wanted, "{metres}");
        }
        // A bar of 100 ft at 1:1,000 is 30.48 mm long.
        let (feet, mm) = bar(Length::feet(1.0), 1_000);
        assert!((feet - 100.0).abs() < 1e-9 && (mm - 30.48).abs() < 1e-9);
    }
}
