//! Outlines from a file into the book, areas from them when asked, and cores on them.

#![allow(clippy::unwrap_used)]

use farmbook::{Block, BlockKind, Book, Farm, Shape};
use farmwork::outlines::{self, Ask, Fate};
use farmwork::{core_walk, demo};
use ground::{Kind, Weight};
use quantity::Length;

fn farm() -> (tempfile::TempDir, Book) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("farm.book");
    (
        dir,
        Book::create(path, &Farm::new("Plover Bank", 2027)).unwrap(),
    )
}

fn field(name: &str) -> Block {
    let shape = Shape::Rectangle {
        length: Length::feet(255.0),
        width: Length::feet(222.0),
    };
    Block::new(name, BlockKind::Field, shape)
}

/// A square of 0.0008 by 0.0007 degrees, so many degrees to the east of 73.6° W.
fn square(name: &str, east: f64, swapped: bool) -> String {
    let (w, s) = (-73.6 + east, 39.9);
    let corners = [
        (w, s),
        (w + 0.0008, s),
        (w + 0.0008, s + 0.0007),
        (w, s + 0.0007),
        (w, s),
    ];
    let list: Vec<String> = corners
        .iter()
        .map(|(x, y)| {
            if swapped {
                format!("[{y},{x}]")
            } else {
                format!("[{x},{y}]")
            }
        })
        .collect();
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{\"name\":\"{name}\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}}}",
        list.join(",")
    )
}

fn file(features: &[String]) -> Vec<u8> {
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{}]}}",
        features.join(",")
    )
    .into_bytes()
}

#[test]
fn nothing_is_written_before_it_is_kept_and_all_is_one_change() {
    let (_dir, mut book) = farm();
    let a = book.add_block(&field("Low")).unwrap();
    book.add_block(&field("High")).unwrap();
    let bytes = file(&[square("low", 0.0, false), square("Barn", 0.002, false)]);
    let changes = book.changes(100).unwrap().len();
    let ask = Ask::default();
    let seen = outlines::propose(&book, "farm.geojson", &bytes, &ask).unwrap();
    assert_eq!(book.changes(100).unwrap().len(), changes);
    assert!(matches!(&seen.lines[0].fate, Fate::Block { block, replaces: false } if block.id == a));
    assert_eq!(seen.lines[1].fate, Fate::NoBlock);
    assert_eq!(seen.stops(), Vec::<String>::new());
    assert_eq!(outlines::keep(&mut book, &seen).unwrap(), 1);
    assert_eq!(book.changes(100).unwrap().len(), changes + 1);
    // The block's own size stays until the grower asks.
    assert_eq!(book.block(a).unwrap().shape, field("x").shape);
    let said = outlines::take_area(&mut book, a).unwrap();
    let area = book.block(a).unwrap().shape.spread_area();
    let outline = book.outline(a).unwrap().unwrap().outline;
    assert!((area.si() - ground::area(&outline).si()).abs() < 1e-9);
    assert!(said.starts_with("“Low” is now"), "{said}");
    book.undo_last().unwrap();
    book.undo_last().unwrap();
    assert_eq!(book.outline(a).unwrap(), None);
    assert!(
        outlines::take_area(&mut book, a)
            .unwrap_err()
            .to_string()
            .contains("no outline")
    );
}

#[test]
fn new_blocks_matches_and_skips_are_as_asked() {
    let (_dir, mut book) = farm();
    book.add_block(&field("Low")).unwrap();
    let bytes = file(&[
        square("L1", 0.0, false),
        square("Barn", 0.002, false),
        square("Road", 0.004, false),
    ]);
    let ask = Ask {
        matches: vec![("1".into(), "low".into())],
        skip: vec!["road".into()],
        add: true,
        ..Ask::default()
    };
    let seen = outlines::propose(&book, "farm.geojson", &bytes, &ask).unwrap();
    assert_eq!(outlines::keep(&mut book, &seen).unwrap(), 2);
    let names: Vec<String> = book.blocks().unwrap().into_iter().map(|b| b.name).collect();
    assert_eq!(names, ["Barn", "Low"]);
    for (key, wanted) in [("nine", "no outline “nine”"), ("9", "no outline “9”")] {
        let ask = Ask {
            skip: vec![key.into()],
            ..Ask::default()
        };
        let why = outlines::propose(&book, "f", &bytes, &ask)
            .unwrap_err()
            .to_string();
        assert!(why.contains(wanted), "{why}");
    }
    let ask = Ask {
        matches: vec![("L1".into(), "Nowhere".into())],
        ..Ask::default()
    };
    let why = outlines::propose(&book, "f", &bytes, &ask)
        .unwrap_err()
        .to_string();
    assert!(why.contains("no block “Nowhere”"), "{why}");
    let both = Ask {
        matches: vec![("1".into(), "Low".into()), ("3".into(), "Low".into())],
        ..Ask::default()
    };
    let seen = outlines::propose(&book, "f", &bytes, &both).unwrap();
    assert!(
        seen.stops()[0].contains("are both for “Low”"),
        "{:?}",
        seen.stops()
    );
    assert!(outlines::keep(&mut book, &seen).is_err());
}

#[test]
fn what_lies_wrong_stops_all_until_it_is_settled() {
    let (_dir, mut book) = farm();
    for name in ["A", "B", "C"] {
        book.add_block(&field(name)).unwrap();
    }
    let bytes = file(&[
        square("A", 0.0, true),
        square("B", 0.002, false),
        square("C", 40.0, false),
    ]);
    let propose =
        |book: &Book, ask: &Ask| outlines::propose(book, "f.geojson", &bytes, ask).unwrap();
    let seen = propose(&book, &Ask::default());
    let kinds: Vec<(Kind, Weight)> = seen
        .lines
        .iter()
        .flat_map(|l| &l.doubts)
        .map(|d| (d.kind, d.weight))
        .collect();
    assert_eq!(kinds[0], (Kind::Swapped, Weight::Stops));
    assert!(outlines::keep(&mut book, &seen).is_err());
    assert!(book.outlines().unwrap().is_empty());
    let swap = Ask {
        swap: true,
        ..Ask::default()
    };
    let seen = propose(&book, &swap);
    assert!(seen.lines[0].doubts.is_empty() && !seen.lines[2].doubts.is_empty());
    assert!(seen.lines[0].feature.notes[0].contains("exchanged"));
    assert!(
        seen.lines[1].feature.notes.is_empty(),
        "what lies right stays"
    );
    let seen = propose(
        &book,
        &Ask {
            far: true,
            ..swap.clone()
        },
    );
    assert_eq!(outlines::keep(&mut book, &seen).unwrap(), 3);
    let at = |book: &Book, name: &str| {
        let id = book.block_by_name(name).unwrap().unwrap().id;
        book.outline(id).unwrap().unwrap().outline.bounds().unwrap()
    };
    assert!((at(&book, "A")[0] + 73.6).abs() < 1e-9);
}

#[test]
fn the_invented_farm_lies_as_its_ground_says() {
    let dir = tempfile::tempdir().unwrap();
    let book = demo::create(&dir.path().join("demo.book"), 2027).unwrap();
    let all = outlines::all(&book).unwrap();
    assert_eq!(all.len(), book.blocks().unwrap().len());
    for g in &all {
        // The creek's side is no straight line, and a wet spot is left out there.
        if g.block.name == "Creek Field" {
            assert!(!g.agrees());
            continue;
        }
        let (book, outline) = (g.block.shape.spread_area(), g.spread());
        assert!(g.agrees(), "{}: {book:?} {outline:?}", g.block.name);
        assert!(
            (book.si() / outline.si() - 1.0).abs() < 2e-3,
            "{}: {book:?} {outline:?}",
            g.block.name
        );
        if let Shape::Beds {
            beds, bed_length, ..
        } = g.block.shape
        {
            let layout = g.beds.as_ref().unwrap();
            assert_eq!(
                (layout.beds.len(), &g.note),
                (beds as usize, &None),
                "{}",
                g.block.name
            );
            assert!((layout.beds[0].length.to_feet() - bed_length.to_feet()).abs() < 0.1);
        }
    }
    let outlines_held: Vec<ground::Outline> =
        all.iter().map(|g| g.outline.outline.clone()).collect();
    assert_eq!(ground::overlaps(&outlines_held), []);
}

#[test]
fn every_block_of_the_invented_farm_can_be_walked() {
    let dir = tempfile::tempdir().unwrap();
    let mut book = demo::create(&dir.path().join("demo.book"), 2027).unwrap();
    for block in book.blocks().unwrap() {
        let walk = core_walk::of_block(&book, block.id, &core_walk::Ask::default()).unwrap();
        assert_eq!(walk.walk.cores.len(), block.cores.unwrap() as usize);
        assert_eq!(walk.plan.seed, 2027);
        let bedded = matches!(block.shape, Shape::Beds { .. });
        for core in &walk.walk.cores {
            assert_eq!(core.told.starts_with("bed "), bedded, "{}", core.told);
        }
        assert!(walk.gpx().unwrap().contains("<wpt"));
        let csv = walk.csv();
        assert_eq!(csv.lines().count(), walk.walk.cores.len() + 1);
        assert!(csv.starts_with("core,where,latitude,longitude"));
        // Another season, other places; the same season, the same.
        let again = core_walk::of_block(&book, block.id, &core_walk::Ask::default()).unwrap();
        assert_eq!(again, walk);
        let ask = core_walk::Ask {
            seed: Some(2028),
            ..core_walk::Ask::default()
        };
        assert_ne!(
            core_walk::of_block(&book, block.id, &ask)
                .unwrap()
                .walk
                .cores,
            walk.walk.cores
        );
    }
    let bare = book.add_block(&field("Bare")).unwrap();
    let why = core_walk::of_block(&book, bare, &core_walk::Ask::default()).unwrap_err();
    assert!(why.to_string().contains("no outline yet"), "{why}");
    // A grid in feet gives places but no GPX.
    let square = br#"{"type":"Polygon","coordinates":[[[0,0],[222,0],[222,255],[0,255]]]}"#;
    let ask = Ask {
        grid: Some(ground::GridUnit::Feet),
        matches: vec![("1".into(), "Bare".into())],
        ..Ask::default()
    };
    let seen = outlines::propose(&book, "bare.json", square, &ask).unwrap();
    outlines::keep(&mut book, &seen).unwrap();
    let walk = core_walk::of_block(&book, bare, &core_walk::Ask::default()).unwrap();
    assert!(walk.gpx().unwrap_err().to_string().contains("plain grid"));
    assert!(walk.csv().starts_with("core,where,north,east"));
}

#[test]
fn beds_take_their_number_and_length_from_the_outline() {
    let (_dir, mut book) = farm();
    let shape = Shape::Beds {
        beds: 40,
        bed_length: Length::feet(10.0),
        bed_width: Length::inches(30.0),
        path_width: Length::inches(18.0),
        spread_on_paths: false,
    };
    let id = book
        .add_block(&Block::new("Low", BlockKind::Field, shape))
        .unwrap();
    let bytes = br#"{"type":"Polygon","coordinates":[[[0,0],[46.5,0],[46.5,150],[0,150]]]}"#;
    let ask = Ask {
        grid: Some(ground::GridUnit::Feet),
        matches: vec![("1".into(), "Low".into())],
        ..Ask::default()
    };
    let seen = outlines::propose(&book, "low.json", bytes, &ask).unwrap();
    outlines::keep(&mut book, &seen).unwrap();
    let g = outlines::of_block(&book, id).unwrap().unwrap();
    // 40 beds fit better across the long side, 37 of them, than 12 across the short one.
    assert_eq!(g.beds.as_ref().unwrap().beds.len(), 37);
    assert!(
        g.note
            .as_ref()
            .unwrap()
            .starts_with("40 beds with their paths take")
    );
    outlines::take_area(&mut book, id).unwrap();
    let Shape::Beds {
        beds, bed_length, ..
    } = book.block(id).unwrap().shape
    else {
        unreachable!("still beds")
    };
    assert_eq!(beds, 37);
    assert!((bed_length.to_feet() - 46.5).abs() < 1e-3);
}
