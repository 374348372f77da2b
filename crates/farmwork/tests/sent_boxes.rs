//! A report finds the blocks of its samples by the boxes that were sent, and closes them.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{Book, Farm, SampleBox};
use farmwork::{ground_file, lab};
use jiff::civil::date;
use tempfile::TempDir;

const GROUND: &[u8] = b"name,length_ft,width_ft,crop\nEast,100,50,broccoli\nWest,100,50,carrot\n";
const REPORT: &[u8] =
    b"Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\n17,6.2,31,140\n18,6.4,28,120\n";

#[test]
fn boxes_sent_name_the_blocks_and_are_closed() {
    let folder = TempDir::new().unwrap();
    let mut book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    ground_file::add(&mut book, "g.csv", GROUND).unwrap();
    let (east, west) = (
        book.block_by_name("East").unwrap().unwrap().id,
        book.block_by_name("West").unwrap().unwrap().id,
    );
    for (label, block) in [("17", west), ("18", east), ("19", east)] {
        let sent_on = Some(date(2026, 10, 20));
        book.set_box(&SampleBox {
            sent_on,
            ..SampleBox::new(block, label)
        })
        .unwrap();
    }
    // A box at home answers no report.
    book.set_box(&SampleBox::new(east, "20")).unwrap();
    let report = lab::take_in(&mut book, "r.csv", REPORT, &lab::Answers::default()).unwrap();
    let placed: Vec<(String, Option<i64>)> = book
        .tests_in(report)
        .unwrap()
        .into_iter()
        .map(|t| (t.sample, t.block))
        .collect();
    // Bare numbers are sure by nothing else than the boxes.
    assert_eq!(
        placed,
        [("17".into(), Some(west)), ("18".into(), Some(east))]
    );
    let waiting: Vec<String> = book
        .boxes()
        .unwrap()
        .into_iter()
        .filter(SampleBox::awaited)
        .map(|b| b.label)
        .collect();
    assert_eq!(waiting, ["19"]);
    // Read again it finds the same boxes, and none more.
    lab::read_again(&mut book, report, &lab::Answers::default()).unwrap();
    let answered = |book: &Book| {
        let all = book.boxes().unwrap().into_iter();
        all.filter(|b| b.report == Some(report)).count()
    };
    assert_eq!(answered(&book), 2);
    book.remove_report(report).unwrap();
    assert_eq!(answered(&book), 0);
    assert_eq!(
        book.boxes().unwrap().iter().filter(|b| b.awaited()).count(),
        3
    );
}
