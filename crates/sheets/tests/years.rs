//! A block through the years as a reader gets it: what its tests taught stands on the paper as on the page.

#![allow(clippy::unwrap_used)]

mod printed;

use agronomy::soil::{Analyte, Bound, Buffer, Measured, SoilTest};
use farmbook::{
    Block, BlockKind, Book, Farm, Id, Learnable, NewReport, NewTest, Planting, ReportStatus, Shape,
    Spread,
};
use farmwork::learned::{self, Decision};
use farmwork::{history, ledger, words};
use jiff::civil::date;
use printed::{poppler, running};
use quantity::{Area, Weight};
use sheets::Pdf;

/// A field limed each January that answers less than is published, by a test each autumn.
fn book(folder: &tempfile::TempDir, ph: &[f64]) -> (Book, Id) {
    let mut farm = Farm::new("Heron Bend", 2027);
    farm.region = "Michigan".into();
    let mut book = Book::create(folder.path().join("farm.book"), &farm).unwrap();
    let shape = Shape::Stated {
        area: Area::acres(2.0),
    };
    let id = book
        .add_block(&Block::new("Long Field", BlockKind::Field, shape))
        .unwrap();
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    for (year, ph) in (2022..).zip(ph) {
        if year > 2022 {
            let day = date(year, 1, 5);
            let lime = Weight::pounds(6_000.0);
            let on = Spread::new(i64::from(year), day, id, "lime_calcitic", lime);
            book.log_spread(&on).unwrap();
        }
        let value = |analyte, value: f64| Measured {
            analyte,
            value,
            bound: Bound::Exact,
            extractant: None,
            buffer: (analyte == Analyte::BufferPh).then_some(Buffer::Sikora),
            printed: value.to_string(),
            printed_unit: String::new(),
        };
        let mut test = NewTest::new(SoilTest {
            sample: "LF".into(),
            depth_in: Some(6.67),
            measured: vec![value(Analyte::Ph, *ph), value(Analyte::BufferPh, 6.5)],
            ..SoilTest::default()
        });
        test.block = Some(id);
        let report = NewReport {
            file_name: format!("{year}.csv"),
            bytes: year.to_string().into_bytes(),
            lab: Some("Alder".into()),
            layout: None,
            sampled_on: Some(date(year, 10, 12)),
            status: ReportStatus::Read,
        };
        book.add_report(&report, &[test]).unwrap();
    }
    (book, id)
}

fn print(book: &Book, id: Id) -> Pdf {
    let taught = ledger::of_block(book, id).unwrap().taught;
    let of = history::of_block(book, id).unwrap();
    sheets::history("Heron Bend", "2027", &of, &taught).unwrap()
}

/// The lines as they stand beside each other on the paper.
fn lines(pdf: &Pdf) -> Vec<String> {
    let text = poppler("pdftotext", pdf, &["-layout", "-enc", "UTF-8"]);
    String::from_utf8(text)
        .unwrap()
        .lines()
        .map(|l| l.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect()
}

#[test]
fn what_the_soil_taught_stands_on_the_paper() {
    let folder = tempfile::tempdir().unwrap();
    let (mut book, id) = book(&folder, &[5.2, 5.45, 5.75, 5.95, 5.7]);
    let lime = |book: &Book| {
        let all = ledger::of_block(book, id).unwrap().taught;
        all.into_iter()
            .find(|o| o.taught.item == Learnable::Lime)
            .unwrap()
    };
    let own = lime(&book);
    assert_eq!(own.taught.tests.len(), 5);
    let pdf = print(&book, id);
    let text = running(&pdf);
    assert!(text.contains("What the soil taught"), "{text}");
    for said in [
        learned::OPENING,
        &own.taught.says,
        &own.standing.says(),
        "not counted: the newest test sets what is needed now",
    ] {
        assert!(text.contains(said), "“{said}” is not there:\n{text}");
    }
    // Each test in one row: its day, what was expected by both, what was found.
    let lines = lines(&pdf);
    let shown = |v: f64| words::measured(Analyte::Ph, v);
    for b in &own.taught.tests {
        let row = [
            b.on.to_string(),
            shown(b.expected),
            shown(b.learned),
            shown(b.measured),
        ]
        .join(" ");
        assert!(
            lines.iter().any(|l| l.starts_with(&row)),
            "“{row}” is not there: {lines:#?}"
        );
    }
    // What the grower decides of it is on the next print.
    let day = date(2027, 1, 9);
    learned::decide(&mut book, id, Learnable::Lime, Decision::Refuse, day).unwrap();
    let refused = running(&print(&book, id));
    assert_ne!(lime(&book).standing, own.standing);
    assert!(
        refused.contains("You refused it on 2027-01-09: needs go by the published figure."),
        "{refused}"
    );
}

#[test]
fn a_block_with_a_short_history_says_nothing_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let (book, id) = book(&folder, &[5.2]);
    let text = running(&print(&book, id));
    assert!(text.contains("Long Field"));
    assert!(!text.contains("What the soil taught"), "{text}");
}
