//! The map of the farm as it comes out of the printer: the bar, the side of a block and the scale that is
//! stated say the same.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod printed;

use farmbook::{Block, BlockKind, BlockOutline, Book, Farm, Shape};
use farmwork::map_sheet;
use ground::{Coordinates, GridUnit, Outline, Part};
use printed::{pixels, words};
use quantity::Area;

const DOTS: usize = 600;
const MM: f64 = DOTS as f64 / 25.4;

/// A page in grey.
struct Page {
    wide: usize,
    all: Vec<u8>,
}

impl Page {
    /// The middles of dark strokes that a row crosses between two columns.
    fn strokes(&self, row: usize, from: usize, to: usize) -> Vec<f64> {
        let mut found = Vec::new();
        let mut began = None;
        for x in from..=to.min(self.wide - 1) {
            // Ink and loam are dark; paper, fills and the halves of edges are not.
            let dark = self.all[row * self.wide + x] < 150;
            match (dark, began) {
                (true, None) => began = Some(x),
                (false, Some(start)) => {
                    found.push((start + x - 1) as f64 / 2.0);
                    began = None;
                }
                _ => {}
            }
        }
        found
    }
}

fn map(width_m: f64, height_m: f64) -> sheets::Pdf {
    let folder = tempfile::tempdir().unwrap();
    let mut book =
        Book::create(folder.path().join("a.book"), &Farm::new("Wren Hill", 2027)).unwrap();
    let area = Area::square_metres(width_m * height_m);
    let id = book
        .add_block(&Block::new(
            "North",
            BlockKind::Field,
            Shape::Stated { area },
        ))
        .unwrap();
    let outline = Outline {
        coordinates: Coordinates::Grid(GridUnit::Metres),
        parts: vec![Part {
            outer: vec![
                [0.0, 0.0],
                [width_m, 0.0],
                [width_m, height_m],
                [0.0, height_m],
            ],
            holes: vec![],
        }],
    };
    book.set_outline(&BlockOutline::new(id, outline, "drawn"))
        .unwrap();
    sheets::farm_map(&map_sheet::of_farm(&book).unwrap()).unwrap()
}

#[test]
fn the_bar_the_block_and_the_stated_scale_agree() {
    for (width_m, height_m) in [(100.0, 60.0), (37.0, 21.0), (610.0, 90.0)] {
        let pdf = map(width_m, height_m);
        let (wide, _, all) = pixels(&pdf, 1, DOTS);
        let page = Page { wide, all };
        let dots = |points: f64| points / 72.0 * DOTS as f64;
        let said = words(&pdf);
        // “1 : 1,000” as it is printed.
        let colon = said.iter().position(|(_, w, _)| w == ":").unwrap();
        let scale: f64 = said[colon + 1].1.replace(',', "").parse().unwrap();
        // The bars stand beneath their words: “100 ft” and “40 m”.
        for (unit, metres) in [("ft", 0.3048), ("m", 1.0)] {
            let at = said.iter().position(|(_, w, _)| w == unit).unwrap();
            let long: f64 = said[at - 1].1.replace(',', "").parse().unwrap();
            let [left, _, _, below] = said[at - 1].2;
            let from = dots(left) as usize - 20;
            let most = (65.0 * MM) as usize;
            // Between the words and the bar’s foot there is a row that crosses its two ends alone.
            let ends = (0..(5.0 * MM) as usize)
                .map(|down| page.strokes(dots(below) as usize + down, from, from + most))
                .find(|s| s.len() >= 2 && (s[0] - dots(left)).abs() < 12.0)
                .unwrap_or_else(|| panic!("no bar beneath {long} {unit}"));
            let bar = (ends[1] - ends[0]) / MM;
            let stated = long * metres * 1_000.0 / scale;
            assert!(
                (bar / stated - 1.0).abs() < 0.005,
                "{long} {unit}: {bar} mm, {stated} mm at 1:{scale}"
            );
        }
        // The block’s side across the map, in the row of its number’s foot.
        // The first 1 counts the blocks.
        let number = said.iter().filter(|(_, w, _)| w == "1").nth(1).unwrap();
        let row = dots(number.2[3]) as usize + 30;
        let sides = page.strokes(row, 0, wide - 1);
        let (first, last) = (sides[0], sides[sides.len() - 1]);
        let side = (last - first) / MM;
        let stated = width_m * 1_000.0 / scale;
        assert!(
            (side / stated - 1.0).abs() < 0.005,
            "{side} mm, {stated} mm at 1:{scale}"
        );
    }
}
