//! The small map of a job marks the right block among its neighbours, with water, wells and the strip that
//! gets none.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::setback::Class;
use farmbook::{
    Block, BlockKind, BlockOutline, Book, Farm, Id, MapMark, MarkKind, OwnSetback, Shape,
};
use farmwork::job_map::{self, FarmMap, JobMap, MapWords};
use farmwork::{demo, job_sheet, planning};
use ground::{Coordinates, GridUnit, Mark, Outline, Part, Spot};
use jiff::civil::{Date, date};
use quantity::{Area, Length};
use tempfile::TempDir;

const FEET: Coordinates = Coordinates::Grid(GridUnit::Feet);
const TODAY: Date = date(2027, 3, 1);

fn book(folder: &TempDir) -> Book {
    Book::create(
        folder.path().join("farm.book"),
        &Farm::new("Wren Hill", 2027),
    )
    .unwrap()
}

/// A block without an outline.
fn block(book: &mut Book, name: &str) -> Id {
    let shape = Shape::Stated {
        area: Area::acres(1.0),
    };
    book.add_block(&Block::new(name, BlockKind::Field, shape))
        .unwrap()
}

/// A rectangle by its southwest corner and sides, feet.
fn drawn(book: &mut Book, name: &str, [x, y, wide, high]: [f64; 4]) -> Id {
    let id = block(book, name);
    let outer = vec![[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]];
    let outline = Outline {
        coordinates: FEET,
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    };
    book.set_outline(&BlockOutline::new(id, outline, "drawn"))
        .unwrap();
    id
}

fn svg(map: &JobMap) -> String {
    map.svg(&MapWords {
        mark: &|kind| format!("a {}", kind.key()),
        feet: &|n| format!("{n} ft"),
        said: "a map",
    })
}

/// West, north, east and south end of each path of a class.
fn paths(svg: &str, class: &str) -> Vec<[f64; 4]> {
    svg.split(&format!("<path class=\"{class}\" d=\""))
        .skip(1)
        .map(|rest| ends(rest.split('"').next().unwrap()))
        .collect()
}

fn ends(d: &str) -> [f64; 4] {
    let mut ends = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    for corner in d.split(['M', 'L', 'Z']).filter(|c| !c.is_empty()) {
        let (x, y) = corner.split_once(' ').unwrap();
        let (x, y): (f64, f64) = (x.parse().unwrap(), y.parse().unwrap());
        ends = [
            ends[0].min(x),
            ends[1].min(y),
            ends[2].max(x),
            ends[3].max(y),
        ];
    }
    ends
}

/// Those of the light blocks.
fn neighbours(svg: &str) -> Vec<[f64; 4]> {
    let from = svg.find("<g fill=").unwrap();
    let group = &svg[from..from + svg[from..].find("</g>").unwrap()];
    group
        .split("<path d=\"")
        .skip(1)
        .map(|rest| ends(rest.split('"').next().unwrap()))
        .collect()
}

/// What stands on the map, the name on a plate first.
fn said(svg: &str) -> (String, Vec<String>) {
    let texts = |start: &str| -> Vec<String> {
        svg.split(start)
            .skip(1)
            .map(|rest| {
                let rest = rest.split_once('>').unwrap().1;
                rest.split('<').next().unwrap().to_owned()
            })
            .collect()
    };
    let plate = texts("<text class=\"v\" x").remove(0);
    (plate, texts("<text class=\"halo\""))
}

#[test]
fn the_right_block_is_black_and_its_neighbours_stand_where_they_lie() {
    let folder = TempDir::new().unwrap();
    let mut book = book(&folder);
    assert!(FarmMap::of(&book).unwrap().is_none());
    let west = drawn(&mut book, "West", [0.0, 0.0, 200.0, 300.0]);
    let middle = drawn(&mut book, "Middle", [220.0, 0.0, 200.0, 300.0]);
    let east = drawn(&mut book, "East", [450.0, 0.0, 200.0, 300.0]);
    let bare = block(&mut book, "Nowhere yet");
    let farm = FarmMap::of(&book).unwrap().unwrap();
    assert!(
        farm.of_block(bare).is_none(),
        "a block without an outline has no map"
    );
    for (id, name, west_of, east_of) in [
        (west, "West", 0, 2),
        (middle, "Middle", 1, 1),
        (east, "East", 2, 0),
    ] {
        let map = farm.of_block(id).unwrap();
        let svg = svg(&map);
        let here = paths(&svg, "here");
        assert_eq!(here.len(), 1, "{svg}");
        let light = neighbours(&svg);
        assert_eq!(light.len(), 2);
        assert_eq!(
            light.iter().filter(|l| l[2] < here[0][0]).count(),
            west_of,
            "{name}"
        );
        assert_eq!(
            light.iter().filter(|l| l[0] > here[0][2]).count(),
            east_of,
            "{name}"
        );
        let (plate, others) = said(&svg);
        assert_eq!(plate, name);
        assert_eq!(others.len(), 2, "{others:?}");
        // As wide to its height as on the ground.
        let [w, n, e, s] = here[0];
        assert!(((e - w) / (s - n) - 2.0 / 3.0).abs() < 0.01, "{here:?}");
    }
    let told = farm.of_block(middle).unwrap().says();
    assert_eq!(
        told,
        "Map: Middle is black; West to the west and East to the east."
    );
}

#[test]
fn on_a_wide_farm_the_map_stays_near_the_block_and_holds_it_large_enough() {
    let folder = TempDir::new().unwrap();
    let mut book = book(&folder);
    // A row of a hundred fields, 2 miles long.
    let ids: Vec<Id> = (0..100)
        .map(|n| {
            let x = f64::from(n) * 106.0;
            drawn(&mut book, &format!("F{n}"), [x, 0.0, 100.0, 150.0])
        })
        .collect();
    let farm = FarmMap::of(&book).unwrap().unwrap();
    for id in [ids[0], ids[50], ids[99]] {
        let svg = svg(&farm.of_block(id).unwrap());
        let [w, n, e, s] = paths(&svg, "here")[0];
        // Five units are a millimetre.
        assert!((e - w).max(s - n) / 5.0 >= 8.0 - 0.1, "{w} {n} {e} {s}");
        assert!(w >= 0.0 && n >= 0.0 && e <= 300.0 && s <= 200.0);
        let light = neighbours(&svg);
        assert!((3..30).contains(&light.len()), "{}", light.len());
        assert!(svg.len() < 6_000, "{}", svg.len());
    }
}

#[test]
fn water_and_wells_are_marked_and_named() {
    let folder = TempDir::new().unwrap();
    let mut book = book(&folder);
    let id = drawn(&mut book, "Low \"Field\" <1>", [0.0, 0.0, 300.0, 300.0]);
    for (kind, name, spot) in [
        (
            MarkKind::Water,
            "Mill Creek",
            Spot::Line(vec![[-40.0, -2_000.0], [-40.0, 2_000.0]]),
        ),
        (MarkKind::Well, "", Spot::Point([330.0, 150.0])),
        (MarkKind::Well, "Far well", Spot::Point([3_300.0, 150.0])),
    ] {
        book.set_mark(&MapMark {
            id: 0,
            kind,
            name: name.to_owned(),
            mark: Mark {
                coordinates: FEET,
                spot,
                width: None,
            },
        })
        .unwrap();
    }
    let farm = FarmMap::of(&book).unwrap().unwrap();
    let svg = svg(&farm.of_block(id).unwrap());
    assert_eq!(svg.matches("class=\"water\"").count(), 1, "{svg}");
    assert_eq!(
        svg.matches("class=\"well\"").count(),
        1,
        "the far one is off the map"
    );
    let (plate, others) = said(&svg);
    assert_eq!(plate, "Low &quot;Field&quot; &lt;1&gt;");
    assert!(others.contains(&"Mill Creek".to_owned()), "{others:?}");
    assert!(others.contains(&"a well".to_owned()), "{others:?}");
    let [water, here] = [paths(&svg, "water")[0], paths(&svg, "here")[0]];
    assert!(water[2] < here[0], "the creek is west of the field");
}

#[test]
fn the_strip_that_gets_none_lies_where_the_water_is() {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    planning::make(&mut book).unwrap();
    let made = planning::latest(&book).unwrap().unwrap();
    let all = |book: &Book| {
        let mut jobs = job_sheet::of_plan(book, &made, TODAY, 5.0).unwrap();
        job_map::put_on(book, &mut jobs).unwrap();
        jobs
    };
    let before = all(&book);
    assert!(before.len() > 10);
    for job in &before {
        let map = job.map.as_ref().unwrap();
        assert!(!map.has_strip());
        assert_eq!(said(&svg(map)).0, job.block);
    }
    // A stream along the west of a field.
    let outlines = book.outlines().unwrap();
    let job = before
        .iter()
        .find(|j| j.beds.is_none() && j.material != "straw_mulch")
        .unwrap();
    let held = outlines.iter().find(|o| o.block == job.block_id).unwrap();
    let [west, south, _, north] = held.outline.bounds().unwrap();
    book.set_mark(&MapMark {
        id: 0,
        kind: MarkKind::Water,
        name: "Mill Creek".to_owned(),
        mark: Mark {
            coordinates: held.outline.coordinates,
            spot: Spot::Line(vec![[west, south - 0.01], [west, north + 0.01]]),
            width: Some(Length::ZERO),
        },
    })
    .unwrap();
    for class in Class::ALL {
        book.set_setback(&OwnSetback {
            kind: MarkKind::Water,
            class,
            distance: Length::feet(20.0),
            local: true,
        })
        .unwrap();
    }
    let after = all(&book);
    let job = after.iter().find(|j| j.key == job.key).unwrap();
    let near = job.near.as_ref().unwrap();
    assert!(!near.whole(), "{near:?}");
    let map = job.map.as_ref().unwrap();
    assert!(map.has_strip());
    let svg = svg(map);
    let (here, strip) = (paths(&svg, "here")[0], paths(&svg, "strip")[0]);
    assert!(
        (strip[0] - here[0]).abs() < 1.0,
        "from its west edge on: {strip:?} {here:?}"
    );
    assert!(
        strip[2] < here[2] - 1.0,
        "and not to the east: {strip:?} {here:?}"
    );
    assert!(strip[1] >= here[1] - 0.5 && strip[3] <= here[3] + 0.5);
}
