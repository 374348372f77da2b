//! A block’s account: what went on, what came off, where its tests are heading, what they teach.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured, SoilTest};
use agronomy::{harvest, material};
use farmbook::{
    Block, BlockKind, Book, Farm, Harvest, NewReport, NewTest, Planting, ReportStatus, Shape,
    Spread,
};
use farmwork::glance::{self, Matter};
use farmwork::ledger::{self, Item};
use jiff::civil::date;
use quantity::{Area, Weight};
use tempfile::TempDir;

fn value(
    analyte: Analyte,
    value: f64,
    extractant: Option<Extractant>,
    buffer: Option<Buffer>,
) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant,
        buffer,
        printed: value.to_string(),
        printed_unit: "ppm".into(),
    }
}

fn farm() -> (TempDir, Book, i64) {
    let folder = TempDir::new().unwrap();
    let mut at = Farm::new("Test", 2027);
    at.region = "New Jersey".into();
    let mut book = Book::create(folder.path().join("farm.book"), &at).unwrap();
    let ground = Shape::Stated {
        area: Area::acres(2.0),
    };
    let id = book
        .add_block(&Block::new("Long Field", BlockKind::Field, ground))
        .unwrap();
    (folder, book, id)
}

fn tested(book: &mut Book, block: i64, year: i16, ph: f64, p: f64) {
    let report = NewReport {
        file_name: format!("{year}.csv"),
        bytes: year.to_string().into_bytes(),
        lab: Some("Alder".into()),
        layout: None,
        sampled_on: Some(date(year, 10, 12)),
        status: ReportStatus::Read,
    };
    let mut test = NewTest::new(SoilTest {
        sample: "LF".into(),
        depth_in: Some(6.67),
        measured: vec![
            value(Analyte::Ph, ph, None, None),
            value(Analyte::BufferPh, 6.5, None, Some(Buffer::Sikora)),
            value(Analyte::P, p, Some(Extractant::Mehlich3), None),
        ],
        ..SoilTest::default()
    });
    test.block = Some(block);
    book.add_report(&report, &[test]).unwrap();
}

#[test]
fn what_went_on_and_came_off_is_what_the_bags_and_the_harvest_hold() {
    let (_folder, mut book, id) = farm();
    let meal = material::materials()
        .iter()
        .find(|m| material::total(m, "n") > 0.05 && material::total(m, "p2o5") > 0.01)
        .unwrap();
    book.log_spread(&Spread::new(
        2025,
        date(2025, 4, 10),
        id,
        &meal.id,
        Weight::pounds(800.0),
    ))
    .unwrap();
    let mut picked = Harvest::new(2025, date(2025, 8, 1), id, Weight::pounds(40_000.0));
    picked.crop = "cabbage".into();
    book.log_harvest(&picked).unwrap();
    let l = ledger::of_block(&book, id).unwrap();
    assert_eq!(l.seasons.len(), 1);
    let n = l.seasons[0].items[&Item::N];
    // 800 lb on two acres, 40,000 lb off them.
    assert!((n.spread - 400.0 * material::total(meal, "n")).abs() < 1e-9);
    let off = harvest::carried_off("cabbage", "n", Some(20_000.0))
        .unwrap()
        .value;
    assert!((n.removed.unwrap() - off).abs() < 1e-9);
    assert!((n.balance().unwrap() - (n.spread - off)).abs() < 1e-9);
    let ca = l.seasons[0].items[&Item::Ca];
    let off = harvest::carried_off("cabbage", "ca", Some(20_000.0)).unwrap();
    assert_eq!(ca.removed, Some(off.value));
    let s = harvest::carried_off("cabbage", "s", Some(20_000.0)).unwrap();
    assert_eq!(l.seasons[0].items[&Item::S].removed, Some(s.value));
    // No source prints the sulfur of berries: the balance is not known, which is not zero.
    let mut berries = Harvest::new(2026, date(2026, 8, 1), id, Weight::pounds(4_000.0));
    berries.crop = "strawberry".into();
    book.log_harvest(&berries).unwrap();
    let l = ledger::of_block(&book, id).unwrap();
    let newest = &l.seasons[0];
    assert_eq!(
        (newest.season, newest.items[&Item::S].balance()),
        (2026, None)
    );
    assert!(newest.notes.iter().any(|n| n.contains("prints the S")));
}

#[test]
fn what_is_known_of_a_part_is_not_the_whole() {
    let (_folder, mut book, id) = farm();
    for (day, crop) in [(date(2025, 7, 1), "cabbage"), (date(2025, 9, 1), "")] {
        let mut picked = Harvest::new(2025, day, id, Weight::pounds(2_000.0));
        picked.crop = crop.into();
        book.log_harvest(&picked).unwrap();
    }
    let l = ledger::of_block(&book, id).unwrap();
    assert_eq!(l.seasons[0].items[&Item::N].removed, None);
    assert!(l.seasons[0].notes[0].contains("names no crop"));
}

/// Lime goes on as lime and off by the acid of nitrogen, each by itself.
#[test]
fn acid_takes_lime_off_and_is_not_netted_in_silence() {
    let (_folder, mut book, id) = farm();
    for (material, lb) in [("lime_calcitic", 2_000.0), ("urea", 200.0)] {
        let went = Spread::new(2025, date(2025, 4, 1), id, material, Weight::pounds(lb));
        book.log_spread(&went).unwrap();
    }
    let lime = ledger::of_block(&book, id).unwrap().seasons[0].items[&Item::Lime];
    let acid = material::lime_effect(material::find("urea").unwrap(), 100.0)
        .unwrap()
        .unwrap()
        .value;
    assert!(acid < -50.0 && (lime.removed.unwrap() + acid).abs() < 1e-9);
    assert!(lime.spread > 500.0);
    assert_eq!(lime.balance(), Some(lime.spread + acid));
}

#[test]
fn a_harvest_that_nobody_wrote_down_is_reckoned_and_says_so() {
    let (_folder, mut book, id) = farm();
    let mut past = Planting::new(id, 2025, "cabbage");
    past.yield_lb_per_acre = Some(18_000.0);
    book.set_planting(&past).unwrap();
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    let l = ledger::of_block(&book, id).unwrap();
    let of = |season| l.seasons.iter().find(|s| s.season == season).unwrap();
    assert!(of(2025).items[&Item::K2o].removed.unwrap() > 0.0);
    assert!(of(2025).notes[0].contains("No harvest was written down"));
    // The season that is being planned has not been picked yet.
    assert_eq!(of(2027).items[&Item::K2o].removed, None);
}

#[test]
fn a_rich_block_is_told_when_it_comes_back() {
    let (_folder, mut book, id) = farm();
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    tested(&mut book, id, 2026, 6.6, 220.0);
    for season in [2024, 2025, 2026] {
        let mut picked = Harvest::new(
            season,
            date(season as i16, 8, 1),
            id,
            Weight::pounds(60_000.0),
        );
        picked.crop = "cabbage".into();
        book.log_harvest(&picked).unwrap();
    }
    let l = ledger::of_block(&book, id).unwrap();
    let p = l.headings.iter().find(|h| h.analyte == Analyte::P).unwrap();
    assert!(
        p.ppm_a_year.unwrap() < 0.0 && p.says.contains("With none added it is back at"),
        "{}",
        p.says
    );
}

#[test]
fn ground_that_answers_half_is_learned_from_its_own_tests() {
    let (_folder, mut book, id) = farm();
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    tested(&mut book, id, 2022, 5.6, 40.0);
    let l = ledger::of_block(&book, id).unwrap();
    assert!(l.taught.is_empty(), "one test teaches nothing");
    // Lime by the ton, and the pH comes up by little.
    for (year, ph) in [(2023, 5.7), (2024, 5.8), (2025, 5.9)] {
        let lime = Weight::pounds(6_000.0);
        book.log_spread(&Spread::new(
            i64::from(year),
            date(year, 1, 5),
            id,
            "lime_calcitic",
            lime,
        ))
        .unwrap();
        tested(&mut book, id, year, ph, 40.0);
    }
    let l = ledger::of_block(&book, id).unwrap();
    let ph = &l
        .taught
        .iter()
        .find(|t| t.taught.analyte == Analyte::Ph)
        .unwrap()
        .taught;
    let a = ph.answer;
    assert!(
        a.low < a.mean && a.mean < a.high && a.mean < 0.8,
        "{}",
        ph.says
    );
    assert_eq!((ph.tests.len(), ph.counted), (4, 3));
    assert!(ph.tests[3].left_out.is_some() && ph.tests[3].learned < ph.tests[3].expected);
    assert!(ph.tests[3].expected > 6.2 && ph.tests[3].measured == 5.9);
}

#[test]
fn what_needs_attention_comes_most_urgent_first() {
    let (_folder, mut book, id) = farm();
    let of = |book: &Book| glance::of_farm(book, date(2027, 2, 1)).unwrap();
    let matters = |book: &Book| {
        of(book)
            .attention
            .iter()
            .map(|a| a.matter)
            .collect::<Vec<_>>()
    };
    assert_eq!(matters(&book), [Matter::Untested, Matter::NoCrop]);
    assert_eq!(Matter::Untested.says(1), "One block has no soil test yet.");
    assert_eq!(
        Matter::TooLate.says(2),
        "Two jobs can no longer go on as planned."
    );
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    tested(&mut book, id, 2020, 5.4, 300.0);
    assert_eq!(matters(&book), [Matter::Lime, Matter::Old, Matter::KeepOff]);
    tested(&mut book, id, 2026, 6.8, 40.0);
    let now = of(&book);
    assert_eq!(now.attention, []);
    assert_eq!(
        now.next_sampling,
        Some((date(2029, 10, 12), "Long Field".into()))
    );
}
