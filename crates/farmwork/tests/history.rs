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
    // Published estimates stand beside the values they are made from, and nowhere else: from Mehlich-3 to
    // Olsen there is an equation, and from Olsen back there is none.
    let about: Vec<String> = course
        .runs
        .iter()
        .flat_map(|r| &r.points)
        .map(history::Point::about)
        .collect();
    assert_eq!(
        about,
        [
            "about 16 by Olsen (bicarbonate)",
            "about 18 by Olsen (bicarbonate)",
            "",
            ""
        ]
    );
    assert_eq!(course.estimated.len(), 1);
    assert!(course.estimated[0].contains("no plan uses it"));
    // One line of the picture for the one run that has two points, and a mark for each.
    let svg = history::chart(course, h.years().unwrap());
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
    let h = history::of_block(&made.book, made.block).unwrap();
    let svg = history::chart(&h.courses[0], h.years().unwrap());
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
    assert_eq!(kinds, [Kind::Harvest, Kind::Crop, Kind::Lime, Kind::Test]);
    assert!(h.events[2].what.contains("900 lb"), "{:?}", h.events[2]);
}

/// The numbers of an attribute in the order in which they stand.
fn numbers(svg: &str, before: &str) -> Vec<f64> {
    svg.split(before)
        .skip(1)
        .filter_map(|rest| rest.split(['"', ' ']).next()?.parse().ok())
        .collect()
}

#[test]
fn what_happened_is_drawn_on_the_years_of_the_charts() {
    let mut made = farm();
    for year in [2019, 2025] {
        let ph = vec![value(Analyte::Ph, 6.0, None)];
        tested(&mut made, "Alder", year, ph);
    }
    let mut kale = Planting::new(made.block, 2026, "kale");
    kale.plant_on = Some(date(2026, 5, 1));
    kale.harvest_on = Some(date(2026, 8, 1));
    made.book.set_planting(&kale).unwrap();
    for (material, day) in [
        ("lime_calcitic", date(2020, 4, 2)),
        ("feather_meal", date(2021, 4, 2)),
    ] {
        let lb = Weight::pounds(90.0);
        let entry = Spread::new(day.year().into(), day, made.block, material, lb);
        made.book.log_spread(&entry).unwrap();
    }
    let h = history::of_block(&made.book, made.block).unwrap();
    let years = h.years().unwrap();
    assert_eq!((years.first, years.last), (2019, 2026));
    let (strip, chart) = (history::strip(&h), history::chart(&h.courses[0], years));
    // Each kind in its lane, with a mark of its own shape; a planned harvest day is the end of the bar.
    for lane in ["Crop", "Lime", "Spread", "Test"] {
        assert!(strip.contains(&format!(">{lane}</text>")), "{lane}");
    }
    assert!(!strip.contains(">Harvest</text>"));
    assert_eq!(strip.matches("<title>").count(), 5);
    // A test stands at the same place in both pictures.
    let mut dots = numbers(&strip, "<circle cx=\"");
    dots.sort_by(f64::total_cmp);
    assert_eq!(dots, numbers(&chart, "<circle cx=\"")[..2]);
    // As do the names of the years.
    let names = |svg: &str| -> Vec<String> {
        let year = |t: &&str| t.len() == 4 && t.parse::<u16>().is_ok();
        let texts = svg.split("</text>").filter_map(|t| t.rsplit('>').next());
        texts.filter(year).map(str::to_owned).collect()
    };
    assert_eq!(names(&strip), names(&chart));
    // A year is as wide as another, so three months of kale are a quarter of one.
    let year = (dots[1] - dots[0]) / 6.0;
    let wide: Vec<f64> = numbers(&strip, "width=\"")
        .into_iter()
        .filter(|w| *w > 8.5 && *w < 400.0)
        .collect();
    assert!(
        (wide[0] / year - 92.0 / 365.0).abs() < 0.01,
        "{wide:?} {year}"
    );
}

#[test]
fn one_value_without_doubt_is_not_drawn_finer_than_it_means() {
    let mut made = farm();
    let zinc = vec![value(Analyte::Zn, 2.0, Some(Extractant::Mehlich3))];
    tested(&mut made, "Alder", 2025, zinc);
    let h = history::of_block(&made.book, made.block).unwrap();
    let course = &h.courses[0];
    assert!(course.runs[0].points[0].likely.is_none());
    let svg = history::chart(course, h.years().unwrap());
    let scale: Vec<f64> = svg
        .split("</text>")
        .filter_map(|t| t.rsplit('>').next()?.parse().ok())
        .filter(|v| *v < 1_000.0)
        .collect();
    let (low, high) = (scale[0], scale[scale.len() - 1]);
    assert!(low <= 1.0 && high >= 3.0 && scale.len() <= 7, "{scale:?}");
}
