//! What is kept while the book stays as it is, is what a book that was opened anew gives: after every kind
//! of change that needs, plan and calendar rest on.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use agronomy::soil::{Analyte, Bound, Measured, SoilTest};
use farmbook::{
    Arrival, Block, BlockKind, Book, Harvest, MaterialChoice, NewReport, NewTest, Planting,
    ReportStatus, Shape, Spread,
};
use farmwork::needs::BlockNeeds;
use farmwork::{at_hand, block_sheet, demo, planning, years};
use jiff::civil::{Date, date};
use quantity::{Area, Weight};
use serde_json::Value;
use tempfile::TempDir;

const TODAY: Date = date(2026, 11, 25);

/// All that is kept, as a book gives it.
fn seen(book: &Book) -> Value {
    let made = at_hand::plan(book).unwrap();
    let of_plan = made.as_ref().map(|made| {
        let sheets = block_sheet::bare(book, made).unwrap();
        let calendar = at_hand::calendar(book, made, TODAY).unwrap();
        let ahead = years::look_ahead(book, made).unwrap();
        serde_json::json!([&**made, sheets, &*calendar, ahead])
    });
    let choices = format!("{:?}", at_hand::choices(book).unwrap());
    let needs = at_hand::needs(book).unwrap();
    let needs: Vec<&BlockNeeds> = needs.iter().map(|n| &**n).collect();
    serde_json::json!([needs, choices, of_plan])
}

fn anew(book: &Book) -> Value {
    seen(&Book::open(book.path()).unwrap())
}

fn lime_test(block: i64, ph: f64) -> NewTest {
    let value = |analyte, value: f64| Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: None,
        buffer: None,
        printed: value.to_string(),
        printed_unit: String::new(),
    };
    let mut test = NewTest::new(SoilTest {
        sample: format!("at {ph}"),
        measured: vec![value(Analyte::Ph, ph)],
        ..SoilTest::default()
    });
    test.block = Some(block);
    test
}

type Change = (&'static str, Box<dyn Fn(&mut Book)>);

fn changes(block: i64, other: i64) -> Vec<Change> {
    let change = |name, what: fn(&mut Book, i64, i64)| -> Change {
        (name, Box::new(move |book| what(book, block, other)))
    };
    vec![
        change("a harvest", |book, block, _| {
            let picked = Harvest::new(2026, date(2026, 8, 1), block, Weight::pounds(40.0));
            book.log_harvest(&picked).unwrap();
        }),
        change("spreading", |book, block, _| {
            let lb = Weight::pounds(15.0);
            let went = Spread::new(2027, date(2026, 11, 20), block, "feather_meal", lb);
            book.log_spread(&went).unwrap();
        }),
        change("a crop", |book, block, _| {
            let mut next = Planting::new(block, 2027, "carrot");
            next.yield_lb_per_acre = Some(30_000.0);
            book.set_planting(&next).unwrap();
        }),
        change("days", |book, _, other| {
            let mut next = book.planting(other, 2027).unwrap().unwrap();
            next.plant_on = Some(date(2027, 5, 2));
            next.harvest_on = Some(date(2027, 9, 2));
            book.set_planting(&next).unwrap();
        }),
        change("a block", |book, block, _| {
            let mut b = book.block(block).unwrap();
            b.name = "Renamed Piece".to_owned();
            b.cores = Some(7);
            b.free_lime = Some(true);
            book.change_block(&b).unwrap();
        }),
        change("a new block", |book, _, _| {
            let area = Area::acres(0.25);
            let shape = Shape::Stated { area };
            let id = book
                .add_block(&Block::new("New Piece", BlockKind::Field, shape))
                .unwrap();
            book.set_planting(&Planting::new(id, 2027, "kale")).unwrap();
        }),
        change("a report", |book, block, other| {
            let report = NewReport {
                file_name: "late.csv".to_owned(),
                bytes: b"late".to_vec(),
                lab: Some("Alder Flat".to_owned()),
                layout: None,
                sampled_on: Some(date(2026, 11, 1)),
                status: ReportStatus::Read,
            };
            // Two boxes of one block tell the scatter of the whole farm.
            let tests = [
                lime_test(block, 5.1),
                lime_test(other, 6.9),
                lime_test(other, 6.1),
            ];
            book.add_report(&report, &tests).unwrap();
        }),
        change("a test that moves", |book, block, other| {
            let test = book.latest_test(block).unwrap().unwrap();
            book.assign_test(test.id, Some(other)).unwrap();
        }),
        change("a delivery", |book, _, _| {
            let lb = Weight::pounds(500.0);
            let came = Arrival::new(date(2026, 11, 3), "Hollow Mill", "k_sulfate", lb);
            book.log_arrival(&came).unwrap();
        }),
        change("a material", |book, _, _| {
            let mut choice = MaterialChoice::new("bone_steamed");
            choice.use_it = false;
            book.set_material(&choice).unwrap();
        }),
        change("the region", |book, _, _| {
            let mut farm = book.farm().unwrap();
            farm.region = "Michigan".to_owned();
            book.set_farm(&farm).unwrap();
        }),
        change("a plan", |book, _, _| {
            planning::make(book).unwrap();
        }),
        change("the season", |book, _, _| {
            let mut farm = book.farm().unwrap();
            farm.season = 2028;
            book.set_farm(&farm).unwrap();
        }),
    ]
}

#[test]
fn a_change_is_seen_in_all_that_is_kept() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("farm.book");
    let mut book = demo::create(&path, 2027).unwrap();
    planning::make(&mut book).unwrap();
    let blocks = book.blocks().unwrap();
    let changes = changes(blocks[0].id, blocks[1].id);
    let mut before = seen(&book);
    assert_eq!(before, anew(&book));
    for (name, change) in &changes {
        change(&mut book);
        let now = seen(&book);
        assert!(now == anew(&book), "{name} is not seen as it is");
        // A harvest of a crop year that is over moves no need of this farm.
        assert!(
            now != before || *name == "a harvest",
            "{name} changed nothing"
        );
        before = now;
    }
    // Back, one step after the other.
    for (name, _) in changes.iter().rev() {
        book.undo_last().unwrap();
        assert!(
            seen(&book) == anew(&book),
            "{name}, undone, is not seen as it is"
        );
    }
    // By another program at the same book.
    let mut other = Book::open(&path).unwrap();
    for (name, change) in &changes {
        change(&mut other);
        assert!(seen(&book) == anew(&book), "{name} by another is not seen");
    }
}

#[test]
fn what_was_worked_out_in_a_change_that_failed_is_not_kept() {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    let blocks = book.blocks().unwrap();
    let before = seen(&book);
    let failed = book.together("Tried", |book| {
        let next = Planting::new(blocks[0].id, 2027, "sweet_corn");
        book.set_planting(&next)?;
        assert!(seen(book) != before);
        Err::<(), _>(farmbook::Error::Busy)
    });
    assert!(failed.is_err());
    assert!(seen(&book) == before);
    // The next change takes the numbers of the one that failed.
    let picked = Harvest::new(2026, date(2026, 8, 1), blocks[1].id, Weight::pounds(40.0));
    book.log_harvest(&picked).unwrap();
    assert!(seen(&book) == anew(&book));
}
