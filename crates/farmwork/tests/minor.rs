//! Needs beyond pH, nitrogen, phosphate and potash: the lab's printed rate, else a printed rate for ground
//! that reads low; boron is held down, and metals in compost count for nothing.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{Book, Farm};
use farmwork::needs::{self, BlockNeeds};
use farmwork::{ground_file, lab};
use planner::Nutrient;
use tempfile::TempDir;

const GROUND: &[u8] = b"name,length_ft,width_ft,crop\nEast,200,100,cabbage\n";

fn needs_of(region: &str, report: &str) -> BlockNeeds {
    let folder = TempDir::new().unwrap();
    let mut farm = Farm::new("Test", 2027);
    farm.region = region.to_owned();
    let mut book = Book::create(folder.path().join("farm.book"), &farm).unwrap();
    ground_file::add(&mut book, "g.csv", GROUND).unwrap();
    lab::take_in(
        &mut book,
        "r.csv",
        report.as_bytes(),
        &lab::Answers::default(),
    )
    .unwrap();
    needs::all(&book).unwrap().remove(0)
}

#[test]
fn the_labs_printed_rates_are_believed_first() {
    let needs = needs_of(
        "New Jersey",
        "Sample,Crop,pH,P ppm (Mehlich-3),K ppm (Mehlich-3),Mg lb/acre recommended,B lb/acre recommended\nEast,cabbage,6.5,80,150,40,1\n",
    );
    let mg = needs.line(Nutrient::Mg).unwrap();
    assert_eq!((mg.asked, mg.need), (Some(40.0), 40.0));
    let boron = needs.line(Nutrient::B).unwrap();
    assert_eq!(boron.need, 1.0);
    let (most, why) = boron.ceiling.clone().unwrap();
    assert!(
        (1.0..=2.0).contains(&most) && why.contains("boron"),
        "{why}"
    );
    assert!(!boron.cautions().is_empty());
    // Nothing is asked of what the lab did not print and the test does not show short.
    assert!(needs.line(Nutrient::Zn).is_none());
}

#[test]
fn without_a_printed_rate_or_a_low_test_nothing_is_asked() {
    let needs = needs_of(
        "New Jersey",
        "Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\nEast,6.5,80,150\n",
    );
    for nutrient in [Nutrient::Ca, Nutrient::Mg, Nutrient::S, Nutrient::B] {
        assert!(needs.line(nutrient).is_none(), "{nutrient:?}");
    }
}

#[test]
fn ground_that_reads_low_gets_the_low_end_of_a_printed_rate_or_a_sentence() {
    let needs = needs_of(
        "South Carolina",
        "Sample,pH,B ppm (Mehlich-1),Zn ppm (DTPA),Fe ppm (DTPA)\nEast,6.5,0.02,0.1,0.5\n",
    );
    let boron = needs.line(Nutrient::B).unwrap();
    // Midwest Vegetable Production Guide 2022, p. 17: cabbage, 1 to 2 lb B per acre.
    assert_eq!((boron.need, boron.range), (1.0, Some((1.0, 2.0))));
    // University of California Family Farm Series, Table 10: 10 to 20 lb Zn per acre, broadcast.
    let zinc = needs.line(Nutrient::Zn).unwrap();
    assert_eq!((zinc.need, zinc.range), (10.0, Some((10.0, 20.0))));
    let iron = needs.line(Nutrient::Fe).unwrap();
    assert_eq!((iron.asked, iron.need), (None, 0.0));
    assert!(iron.basis.contains("no source held here"), "{}", iron.basis);
}
