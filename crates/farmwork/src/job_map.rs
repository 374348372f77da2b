//! The small map of a job: its block among the neighbours, so that the crew finds it.
//!
//! What the farm looks like is gathered once; each map is a view of it that holds the block large enough
//! to be seen.

mod label;
mod picture;

pub use picture::MapWords;

use crate::Result;
use crate::drawing::{self, DrawnMark};
use crate::job_sheet::JobSheet;
use crate::setback::{Near, Setbacks};
use crate::words;
use agronomy::material;
use farmbook::{Block, Book, Id};
use geo::{
    BoundingRect, Coord, Intersects, LineString, MapCoords, MultiPolygon, Polygon, Rect, Simplify,
};
use ground::Frame;

/// Picture units across and down; five to a millimetre of a map 60 mm wide.
const WIDE: f64 = 300.0;
const HIGH: f64 = 200.0;
/// Kept free inside of the frame.
const EDGE: f64 = 10.0;
/// The longer and the shorter side that a block has at least: 8 and 3 mm on paper.
const LONG: f64 = 40.0;
const SHORT: f64 = 15.0;
/// The share of the frame that a block takes up at most.
const MOST: f64 = 0.6;
/// A neighbour smaller than this is not seen.
const SEEN: f64 = 3.0;
/// So many neighbours are drawn, the nearest ones.
const MOST_NEIGHBOURS: usize = 80;
/// Bends smaller than this are drawn straight.
const FINEST: f64 = 0.4;
/// What stands as far outside of the blocks is on the map of the whole farm, as a share of its size.
const BESIDE: f64 = 0.15;

/// A block where it lies, in metres.
#[derive(Debug)]
struct Placed {
    block: Block,
    shape: MultiPolygon,
    bounds: Rect,
}

/// What the maps of all jobs share.
#[derive(Debug)]
pub struct FarmMap {
    frame: Frame,
    blocks: Vec<Placed>,
    marks: Vec<DrawnMark>,
    bounds: Rect,
    setbacks: Setbacks,
}

/// A block on the map, in picture units.
#[derive(Debug, Clone, PartialEq)]
struct Shown {
    name: String,
    shape: MultiPolygon,
}

/// The map of one job, in picture units.
#[derive(Debug, Clone, PartialEq)]
pub struct JobMap {
    here: Shown,
    /// What of the block gets none.
    strip: MultiPolygon,
    /// The nearest first.
    neighbours: Vec<Shown>,
    marks: Vec<DrawnMark>,
    /// Picture units to a metre.
    scale: f64,
}

/// From metres to the picture.
struct View {
    scale: f64,
    middle: Coord,
}

impl View {
    fn at(&self, c: Coord) -> Coord {
        Coord {
            x: WIDE / 2.0 + (c.x - self.middle.x) * self.scale,
            y: HIGH / 2.0 - (c.y - self.middle.y) * self.scale,
        }
    }

    fn shape(&self, shape: &MultiPolygon) -> MultiPolygon {
        shape.map_coords(|c| self.at(c)).simplify(FINEST)
    }

    /// The ground within the frame.
    fn ground(&self) -> Rect {
        let (x, y) = (WIDE / 2.0 / self.scale, HIGH / 2.0 / self.scale);
        let Coord { x: cx, y: cy } = self.middle;
        Rect::new(
            Coord {
                x: cx - x,
                y: cy - y,
            },
            Coord {
                x: cx + x,
                y: cy + y,
            },
        )
    }
}

/// The whole farm where its block is large enough on it, else as much around the block as leaves it so.
fn view(farm: Rect, block: Rect) -> View {
    let side = |metres: f64| metres.max(1.0);
    let (wide, high) = (side(block.width()), side(block.height()));
    let whole =
        ((WIDE - 2.0 * EDGE) / side(farm.width())).min((HIGH - 2.0 * EDGE) / side(farm.height()));
    let most = (MOST * WIDE / wide).min(MOST * HIGH / high);
    let least = (LONG / wide.max(high)).max(SHORT / wide.min(high));
    let scale = whole.max(least).min(most);
    // Around the block, but with no more ground outside of the farm than there must be.
    let along = |middle: f64, first: f64, last: f64, frame: f64| {
        let half = (frame / 2.0 - EDGE) / scale;
        if last - first <= 2.0 * half {
            f64::midpoint(first, last)
        } else {
            middle.clamp(first + half, last - half)
        }
    };
    let (low, high) = (farm.min(), farm.max());
    let at = block.center();
    View {
        scale,
        middle: Coord {
            x: along(at.x, low.x, high.x, WIDE),
            y: along(at.y, low.y, high.y, HIGH),
        },
    }
}

fn bounds_of(rects: impl Iterator<Item = Rect>) -> Option<Rect> {
    rects.reduce(|a, b| {
        let (low, high) = (a.min(), a.max());
        let (l, h) = (b.min(), b.max());
        Rect::new(
            Coord {
                x: low.x.min(l.x),
                y: low.y.min(l.y),
            },
            Coord {
                x: high.x.max(h.x),
                y: high.y.max(h.y),
            },
        )
    })
}

/// The farm with what stands just outside of its blocks.
fn with_marks(blocks: Rect, marks: &[DrawnMark]) -> Rect {
    let more = BESIDE * blocks.width().max(blocks.height());
    let near = |c: &Coord| {
        let (low, high) = (blocks.min(), blocks.max());
        (low.x - more..=high.x + more).contains(&c.x)
            && (low.y - more..=high.y + more).contains(&c.y)
    };
    let places = marks.iter().flat_map(|m| &m.at);
    let spots = places
        .map(|[x, y]| Coord { x: *x, y: *y })
        .filter(near)
        .map(|c| Rect::new(c, c));
    bounds_of(std::iter::once(blocks).chain(spots)).unwrap_or(blocks)
}

impl FarmMap {
    /// None where no block has an outline.
    ///
    /// # Errors
    /// The book’s own.
    pub fn of(book: &Book) -> Result<Option<Self>> {
        let sheet = drawing::sheet(book)?;
        let ring = |way: &Vec<[f64; 2]>| way.iter().map(|c| (c[0], c[1])).collect::<LineString>();
        let mut all = book.blocks()?.into_iter();
        // The sheet has the blocks in the order of the book.
        let blocks: Vec<Placed> = sheet
            .blocks
            .iter()
            .filter_map(|drawn| {
                let block = all.find(|b| b.id == drawn.id)?;
                let parts = drawn.parts.iter().filter_map(|part| {
                    let (outer, holes) = part.split_first()?;
                    Some(Polygon::new(ring(outer), holes.iter().map(ring).collect()))
                });
                let shape: MultiPolygon = parts.collect();
                let bounds = shape.bounding_rect()?;
                Some(Placed {
                    block,
                    shape,
                    bounds,
                })
            })
            .collect();
        let Some(bounds) = bounds_of(blocks.iter().map(|b| b.bounds)) else {
            return Ok(None);
        };
        Ok(Some(Self {
            frame: sheet.frame,
            bounds: with_marks(bounds, &sheet.marks),
            blocks,
            marks: sheet.marks,
            setbacks: Setbacks::of(book)?,
        }))
    }

    /// A block on its map; none where it has no outline, or one in other coordinates than the rest.
    pub fn of_block(&self, id: Id) -> Option<JobMap> {
        Some(self.around(self.placed(id)?, None))
    }

    /// The same with the ground that gets none of the job’s material.
    pub fn of_job(&self, job: &JobSheet) -> Option<JobMap> {
        let here = self.placed(job.block_id)?;
        let strip = match &job.near {
            None => None,
            Some(near) => self.strip(here, near, &job.material),
        };
        Some(self.around(here, strip))
    }

    fn placed(&self, id: Id) -> Option<&Placed> {
        self.blocks.iter().find(|b| b.block.id == id)
    }

    /// In metres on the farm’s own plane.
    fn strip(&self, here: &Placed, near: &Near, material: &str) -> Option<MultiPolygon> {
        if near.whole() {
            return Some(here.shape.clone());
        }
        let strip = self
            .setbacks
            .strip(&here.block, material::find(material)?)?;
        Some(
            strip
                .shape
                .map_coords(|c| self.frame.to_plane(strip.frame.from_plane(c))),
        )
    }

    fn around(&self, here: &Placed, strip: Option<MultiPolygon>) -> JobMap {
        let view = view(self.bounds, here.bounds);
        let ground = view.ground();
        let middle = here.bounds.center();
        let away = |b: &Placed| {
            let at = b.bounds.center();
            (at.x - middle.x).hypot(at.y - middle.y)
        };
        let seen = |b: &&Placed| {
            b.block.id != here.block.id
                && b.bounds.width().max(b.bounds.height()) * view.scale >= SEEN
                && b.bounds.intersects(&ground)
        };
        let mut neighbours: Vec<&Placed> = self.blocks.iter().filter(seen).collect();
        neighbours.sort_by(|a, b| away(a).total_cmp(&away(b)));
        neighbours.truncate(MOST_NEIGHBOURS);
        let shown = |b: &Placed| Shown {
            name: b.block.name.clone(),
            shape: view.shape(&b.shape),
        };
        JobMap {
            here: shown(here),
            strip: strip.map_or_else(|| MultiPolygon::new(Vec::new()), |s| view.shape(&s)),
            neighbours: neighbours.into_iter().map(shown).collect(),
            marks: self.marks.iter().filter_map(|m| on(m, &view)).collect(),
            scale: view.scale,
        }
    }
}

/// Something beside the blocks on the picture; none where it does not reach into it.
fn on(mark: &DrawnMark, view: &View) -> Option<DrawnMark> {
    let places: LineString = mark
        .at
        .iter()
        .map(|[x, y]| view.at(Coord { x: *x, y: *y }))
        .collect();
    let frame = Rect::new(Coord { x: 0.0, y: 0.0 }, Coord { x: WIDE, y: HIGH });
    let reaches = match mark.form.as_str() {
        "area" => Polygon::new(places.clone(), Vec::new()).intersects(&frame),
        "line" => places.intersects(&frame),
        _ => places.0.first().is_some_and(|c| frame.intersects(c)),
    };
    reaches.then(|| DrawnMark {
        at: places
            .simplify(FINEST)
            .coords()
            .map(|c| [c.x, c.y])
            .collect(),
        width: mark.width.map(|w| w * view.scale),
        ..mark.clone()
    })
}

impl JobMap {
    /// Whether a part of the block, or all of it, gets none.
    pub fn has_strip(&self) -> bool {
        !self.strip.0.is_empty()
    }

    /// The same in words, for who does not see it.
    pub fn says(&self) -> String {
        let middle = |shape: &MultiPolygon| shape.bounding_rect().map(|r| r.center());
        let Some(here) = middle(&self.here.shape) else {
            return String::new();
        };
        let beside: Vec<String> = self
            .neighbours
            .iter()
            .take(4)
            .filter_map(|n| {
                let at = middle(&n.shape)?;
                let (dx, dy) = (at.x - here.x, here.y - at.y);
                let (way, _) = ground::compass(dx.atan2(dy).to_degrees());
                Some(format!("{} to the {way}", n.name))
            })
            .collect();
        if beside.is_empty() {
            return format!("Map of {}.", self.here.name);
        }
        format!("Map: {} is black; {}.", self.here.name, words::and(&beside))
    }
}

/// Draws the map on each sheet; what the farm looks like is gathered once for all of them.
///
/// # Errors
/// The book’s own.
pub fn put_on(book: &Book, jobs: &mut [JobSheet]) -> Result<()> {
    if let Some(farm) = FarmMap::of(book)? {
        for job in jobs {
            job.map = farm.of_job(job);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x: f64, y: f64, wide: f64, high: f64) -> Rect {
        Rect::new(
            Coord { x, y },
            Coord {
                x: x + wide,
                y: y + high,
            },
        )
    }

    #[test]
    fn a_small_farm_is_shown_whole_and_a_wide_one_around_its_block() {
        // 400 m across: a field of 60 m is 42 units, so all of the farm is shown, in its middle.
        let farm = rect(0.0, 0.0, 400.0, 200.0);
        let whole = view(farm, rect(10.0, 20.0, 60.0, 50.0));
        assert!((whole.scale - 0.7).abs() < 1e-9, "{}", whole.scale);
        assert_eq!(whole.middle, farm.center());
        // 4 km across: the same field would be 4 units.
        let farm = rect(0.0, 0.0, 4_000.0, 2_000.0);
        let near = view(farm, rect(2_000.0, 900.0, 60.0, 50.0));
        assert!((60.0 * near.scale - LONG).abs() < 1e-9);
        assert_eq!(
            near.middle,
            Coord {
                x: 2_030.0,
                y: 925.0
            }
        );
        // In a corner the frame stays on the farm, but for its edge.
        let corner = view(farm, rect(0.0, 0.0, 60.0, 50.0));
        let low = corner.ground().min();
        let edge = EDGE / corner.scale;
        assert!(
            (low.x + edge).abs() < 1e-6 && (low.y + edge).abs() < 1e-6,
            "{low:?}"
        );
    }

    #[test]
    fn a_block_is_neither_lost_nor_larger_than_the_frame() {
        for (wide, high) in [(1.0, 1.0), (900.0, 2.0), (2.0, 900.0), (5_000.0, 3_000.0)] {
            for farm in [1.0, 10.0] {
                let block = rect(0.0, 0.0, wide, high);
                let v = view(rect(0.0, 0.0, wide * farm, high * farm), block);
                let (w, h) = (wide * v.scale, high * v.scale);
                assert!(
                    w <= MOST * WIDE + 1e-6 && h <= MOST * HIGH + 1e-6,
                    "{w} {h}"
                );
                assert!(w.max(h) >= LONG - 1e-6, "{w} {h}");
                for c in [block.min(), block.max()] {
                    let at = v.at(c);
                    assert!((0.0..=WIDE).contains(&at.x) && (0.0..=HIGH).contains(&at.y));
                }
            }
        }
    }
}
