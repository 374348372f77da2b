//! A block through the years: runs of one lab and one method, what moved, and the picture of it.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Extractant, Measured, SoilTest};
use farmbook::{
    Block, BlockKind, Book, Farm, Harvest, NewReport, NewTest, Planting, ReportStatus, Shape,
    Spread,
};
use farmwork::history::{self, Kind};
use jiff::civil::date;
use quantity::{Area, Weight};
use tempfile::TempDir;

fn value(analyte: Analyte, value: f64, extractant: Option<Extractant>) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant,
        buffer: None,
        printed: value.to_string(),
        printed_unit: "ppm".into(),
    }
}

struct Made {
    _folder: TempDir,
    book: Book,
    block: i64,
}

fn farm() -> Made {
    let folder = TempDir::new().unwrap();
    let mut book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    let ground = Shape::Stated {
        area: Area::acres(1.0),
    };
    let mut block = Block::new("Long Field", BlockKind::Field, ground);
    block.cores = Some(15);
    let block = book.add_block(&block).unwrap();
    Made {
        _folder: folder,
        book,
        block,
    }
}

fn tested(made: &mut Made, lab: &str, year: i16, measured: Vec<Measured>) {
    let report = NewReport {
        file_name: format!("{lab} {year}.csv"),
        bytes: format!("{lab} {year}").into_bytes(),
        lab: Some(lab.to_owned()),
        layout: None,
        sampled_on: Some(date(year, 10, 12)),
        status: ReportStatus::Read,
    };
    let mut test = NewTest::new(SoilTest {
        sample: "LF".into(),
        measured,
        ..SoilTest::default()
    });
    test.block = Some(made.block);
    made.book.add_report(&report, &[test]).unwrap();
}

#[test]
fn a_steady_rise_stands_out_and_a_wobble_does_not() {
    let mut made = farm();
    for (i, (ph, k)) in [
        (5.4, 110.0),
        (5.6, 104.0),
        (5.9, 115.0),
        (6.1, 108.0),
        (6.4, 111.0),
    ]
    .iter()
    .enumerate()
    {
        tested(
            &mut made,
            "Alder",
            2020 + i as i16,
            vec![
                value(Analyte::Ph, *ph, None),
                value(Analyte::K, *k, Some(Extractant::Mehlich3)),
            ],
        );
    }
    let h = history::of_block(&made.book, made.block).unwrap();
    let of = |a| h.courses.iter().find(|c| c.analyte == a).unwrap();
    let ph = &of(Analyte::Ph).runs[0];
    assert_eq!(ph.points.len(), 5);
    assert!(ph.trend.as_ref().unwrap().larger && ph.trend.as_ref().unwrap().says.contains("rises"));
    assert!((ph.trend.as_ref().unwrap().working.value - 0.25).abs() < 0.01);
    let k = &of(Analyte::K).runs[0];
    assert!(!k.trend.as_ref().unwrap().larger && !k.change.as_ref().unwrap().larger);
    assert!(
        h.opening().contains("pH") && !h.opening().contains("potassium"),
        "{}",
        h.opening()
    );
    // The first course is pH, whatever the report’s order; the bar of a point holds the point.
    assert_eq!(h.courses[0].analyte, Analyte::Ph);
    let (low, high) = ph.points[0].likely.unwrap();
    assert!(low < 5.4 && 5.4 < high);
}

#[test]
fn labs_and_extractants_are_never_joined_and_it_says_why() {
    let mut made = farm();
    let p = |v, e| vec![value(Analyte::P, v, Some(e))];
    tested(&mut made, "Alder", 2021, p(40.0, Extractant::Mehlich3));
    tested(&mut made, "Alder", 2022, p(44.0, Extractant::Mehlich3));
    tested(&mut made, "Alder", 2023, p(16.0, Extractant::Olsen));
    tested(&mut made, "Birch", 2024, p(18.0, Extractant::Olsen));
    let h = history::of_block(&made.book, made.block).unwrap();
    let course = &h.courses[0];
    let runs: Vec<usize> = course.runs.iter().map(|r| r.points.len()).collect();
    assert_eq!(runs, [2, 1, 1]);
    assert_eq!(course.apart.len(), 2);
    assert!(
        course.apart[0].contains("different shares") && course.apart[1].contains("another lab"),
        "{:?}",
        course.apart
    );
    assert!(course.runs[1].change.is_none());
    // One line of the picture for the one run that has two points, and a mark for each.
    let svg = history::chart(course);
    assert_eq!(svg.matches("<polyline").count(), 1);
    assert!(svg.contains("Olsen") && svg.contains("Mehlich-3") && svg.contains("aria-label"));
}

#[test]
fn a_value_below_detection_is_shown_and_not_counted() {
    let mut made = farm();
    for (i, v) in [9.0, 8.0, 5.0].iter().enumerate() {
        let mut m = value(Analyte::P, *v, Some(Extractant::Mehlich3));
        if i == 2 {
            m.bound = Bound::Below;
        }
        tested(&mut made, "Alder", 2021 + i as i16, vec![m]);
    }
    let h = history::of_block(&made.book, made.block).unwrap();
    let run = &h.courses[0].runs[0];
    assert_eq!((run.points.len(), run.points[2].bound), (3, Bound::Below));
    assert!(run.trend.is_none() && run.points[2].likely.is_none());
    assert!(run.change.as_ref().unwrap().says.contains("2021-10-12"));
}

#[test]
fn names_that_look_like_markup_stay_text() {
    let mut made = farm();
    tested(
        &mut made,
        "<b>&\"x",
        2021,
        vec![value(Analyte::Ph, 6.0, None)],
    );
    let svg = history::chart(&history::of_block(&made.book, made.block).unwrap().courses[0]);
    assert!(!svg.contains("<b>") && svg.contains("&lt;b&gt;&amp;&quot;x"));
}

#[test]
fn everything_that_happened_stands_on_one_line_of_time() {
    let mut made = farm();
    tested(
        &mut made,
        "Alder",
        2025,
        vec![value(Analyte::Ph, 6.0, None)],
    );
    let mut kale = Planting::new(made.block, 2026, "kale");
    kale.plant_on = Some(date(2026, 5, 1));
    made.book.set_planting(&kale).unwrap();
    let lime = Spread::new(
        2026,
        date(2026, 4, 2),
        made.block,
        "lime_calcitic",
        Weight::pounds(900.0),
    );
    made.book.log_spread(&lime).unwrap();
    let mut picked = Harvest::new(2026, date(2026, 7, 9), made.block, Weight::pounds(8_000.0));
    picked.crop = "kale".into();
    made.book.log_harvest(&picked).unwrap();
    let h = history::of_block(&made.book, made.block).unwrap();
    let kinds: Vec<Kind> = h.events.iter().map(|e| e.kind).collect();
    assert_eq!(kinds, [Kind::Harvest, Kind::Crop, Kind::Spread, Kind::Test]);
    assert!(h.events[2].what.contains("900 lb"), "{:?}", h.events[2]);
}
