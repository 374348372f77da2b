//! An invented farm to test on.
#![allow(dead_code)] // each test file uses a part of it
#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use agronomy::soil::{Analyte, Bound, Extractant, Measured, SoilTest};
use farmbook::*;
use quantity::{Area, Length};
use std::path::PathBuf;
use tempfile::TempDir;

pub fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// The number of the newest layout: one step a file.
pub fn newest() -> usize {
    let steps = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/migrations"));
    steps.unwrap().count()
}

pub fn pipit() -> Farm {
    Farm {
        name: "Pipit Lane".into(),
        organic: true,
        currency: "USD".into(),
        season: 2026,
        region: "VT".into(),
    }
}

pub fn book(folder: &TempDir) -> Book {
    Book::create(path(folder), &pipit()).unwrap()
}

pub fn path(folder: &TempDir) -> PathBuf {
    folder.path().join("pipit.book")
}

pub fn field(name: &str) -> Block {
    let shape = Shape::Rectangle {
        length: Length::feet(200.0),
        width: Length::feet(50.0),
    };
    Block::new(name, BlockKind::Field, shape)
}

pub fn beds(spread_on_paths: bool) -> Shape {
    Shape::Beds {
        beds: 4,
        bed_length: Length::feet(96.0),
        bed_width: Length::inches(30.0),
        path_width: Length::inches(18.0),
        spread_on_paths,
    }
}

pub fn stated(ft2: f64) -> Shape {
    Shape::Stated {
        area: Area::square_feet(ft2),
    }
}

pub fn soil(sample: &str, ph: f64) -> SoilTest {
    let value = |analyte, value: f64, extractant| Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant,
        buffer: None,
        printed: value.to_string(),
        printed_unit: "ppm".into(),
    };
    SoilTest {
        sample: sample.into(),
        lab_number: Some("A-17".into()),
        depth_in: Some(6.0),
        measured: vec![
            value(Analyte::Ph, ph, None),
            value(Analyte::P, 0.1 + 0.2, Some(Extractant::ModifiedMorgan)),
        ],
        recommended: vec![],
        crop: None,
    }
}

pub fn report(file_name: &str, bytes: &[u8]) -> NewReport {
    NewReport {
        file_name: file_name.into(),
        bytes: bytes.into(),
        lab: Some("Meadow Lab".into()),
        layout: Some(serde_json::json!({"sample": 0, "ph": 1})),
        sampled_on: Some("2025-10-20".parse().unwrap()),
        status: ReportStatus::Read,
    }
}

/// An invented square near 40.47° N, so many degrees to the east; of no use where that is below zero.
pub fn outline(block: Id, east: f64) -> BlockOutline {
    let west = -74.43 + east.max(0.0);
    let wide = if east < 0.0 { 0.0 } else { 0.000_8 };
    BlockOutline {
        block,
        outline: ground::Outline {
            coordinates: ground::Coordinates::Degrees,
            parts: vec![ground::Part {
                outer: vec![
                    [west, 40.47],
                    [west + wide, 40.47],
                    [west + wide, 40.470_7],
                    [west, 40.470_7],
                ],
                holes: vec![],
            }],
        },
        file_name: "farm.geojson".into(),
        bearing: (east > 0.5).then_some(17.5),
        since: None,
        leave_out: Vec::new(),
    }
}

/// Every journaled record as the public functions give it.
pub fn dump(book: &Book) -> String {
    let mut text = format!("{:#?}\n{:#?}\n", book.farm().unwrap(), book.all_blocks());
    for block in book.all_blocks().unwrap() {
        text += &format!("{:?}\n", book.plantings_of(block.id).unwrap());
        text += &format!("{:?}\n", book.tests_of(block.id).unwrap());
    }
    for report in book.reports().unwrap() {
        text += &format!("{report:?} {:?}\n", book.report_bytes(report.id).unwrap());
        text += &format!("{:?}\n", book.tests_in(report.id).unwrap());
        text += &format!("{:?}\n", book.settled(report.id).unwrap());
    }
    text += &format!("{:?}\n{:?}\n", book.layouts(), book.materials());
    text += &format!("{:?}\n", book.own_tables());
    text += &format!("{:?}\n", book.suppliers());
    text += &format!("{:?}\n", book.boxes());
    text += &format!("{:?}\n{:?}\n", book.outlines(), book.marks());
    text += &format!("{:?}\n{:?}\n", book.picture(), book.setbacks());
    text += &format!("{:?}\n{:?}\n", book.learned_choices(), book.composts());
    for place in SoilPlace::ALL {
        text += &format!("{:?}\n", book.soil_temperatures(place));
    }
    for block in book.all_blocks().unwrap() {
        text += &format!("{:?}\n", book.earlier_outlines(block.id).unwrap());
        text += &format!("{:?}\n", book.ancestors(block.id).unwrap());
    }
    text += &format!("{:?}\n{:?}\n", book.papers(), book.placed_orders());
    text += &format!("{:?}\n{:?}\n", book.all_arrivals(), book.all_spreads());
    text += &format!("{:?}\n{:?}\n", book.all_harvests(), book.all_counts());
    text += &format!("{:?}\n{:?}\n", book.walks(), book.buckets());
    for season in 2020..=2030 {
        text += &format!(
            "{:?}{:?}",
            book.plans_before(Id::MAX, season),
            book.locks(season)
        );
        text += &format!("{:?}", book.wish(season));
    }
    text
}

/// The journaled tables, column by column, as SQLite itself reads them.
pub fn rows(path: &std::path::Path) -> Vec<String> {
    let conn = rusqlite::Connection::open(path).unwrap();
    let mut all = Vec::new();
    for table in [
        "farm",
        "block",
        "planting",
        "report",
        "soil_test",
        "lab_layout",
        "material_choice",
        "season_plan",
        "plan_lock",
        "own_table",
        "supplier",
        "season_wish",
        "sample_box",
        "block_outline",
        "ground_note",
        "lab_fee",
        "settled",
        "paper",
        "placed_order",
        "arrival",
        "spread",
        "harvest",
        "stock_count",
        "spreader_walk",
        "bucket",
        "earlier_outline",
        "block_parent",
        "map_mark",
        "map_picture",
        "setback",
        "learned_choice",
        "compost_made",
        "soil_temperature",
    ] {
        let mut statement = conn
            .prepare(&format!("SELECT * FROM {table} ORDER BY id"))
            .unwrap();
        let columns = statement.column_count();
        let mut found = statement.query([]).unwrap();
        while let Some(row) = found.next().unwrap() {
            let cells: Vec<_> = (0..columns)
                .map(|n| format!("{:?}", row.get_ref(n).unwrap()))
                .collect();
            all.push(format!("{table}: {}", cells.join(" | ")));
        }
    }
    all
}
