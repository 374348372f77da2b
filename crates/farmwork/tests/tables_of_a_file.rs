//! A file that holds several tables is read by the one the grower chooses, and stays so.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{Book, Farm};
use farmwork::{WorkError, ground_file, lab};
use rust_xlsxwriter::Workbook;
use tempfile::TempDir;

const GROUND: &[u8] = b"name,length_ft,width_ft,crop\nEast,100,50,broccoli\nWest,100,50,carrot\n";

fn sheet(workbook: &mut Workbook, name: &str, rows: &[&[&str]]) {
    let sheet = workbook.add_worksheet();
    sheet.set_name(name).unwrap();
    for (r, row) in (0..).zip(rows) {
        for (c, cell) in (0..).zip(*row) {
            match cell.parse::<f64>() {
                Ok(number) => sheet.write_number(r, c, number).unwrap(),
                Err(_) => sheet.write_string(r, c, *cell).unwrap(),
            };
        }
    }
}

/// Two sheets of samples whose headers differ, so that they are not one table.
fn workbook() -> Vec<u8> {
    let mut workbook = Workbook::new();
    let autumn = "P ppm (Mehlich-3)";
    sheet(
        &mut workbook,
        "Autumn",
        &[
            &[
                "Sample",
                "pH",
                autumn,
                "K ppm (Mehlich-3)",
                "Mg ppm (Mehlich-3)",
            ],
            &["East", "6.2", "31", "140", "120"],
            &["West", "6.4", "28", "120", "130"],
        ],
    );
    sheet(
        &mut workbook,
        "Spring",
        &[
            &["Sample", "pH", autumn],
            &["East", "6.7", "44"],
            &["West", "6.8", "39"],
        ],
    );
    workbook.save_to_buffer().unwrap()
}

fn book(folder: &TempDir) -> Book {
    let mut book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    ground_file::add(&mut book, "g.csv", GROUND).unwrap();
    book
}

fn ph(book: &Book, report: i64) -> Vec<f64> {
    let taken = lab::taken(book, report).unwrap();
    taken
        .tests
        .iter()
        .filter_map(|t| t.test.value(agronomy::soil::Analyte::Ph))
        .collect()
}

#[test]
fn the_chosen_table_is_read_and_read_again() {
    let folder = TempDir::new().unwrap();
    let mut book = book(&folder);
    let bytes = workbook();
    let id = lab::take_in(&mut book, "r.xlsx", &bytes, &lab::Answers::default()).unwrap();
    assert_eq!(ph(&book, id), [6.2, 6.4]);
    assert_eq!(lab::taken(&book, id).unwrap().tables, 2);
    let second = lab::Answers {
        table: Some(1),
        ..lab::Answers::default()
    };
    lab::read_again(&mut book, id, &second).unwrap();
    assert_eq!(ph(&book, id), [6.7, 6.8]);
    // What was chosen is kept with the report.
    lab::read_again(&mut book, id, &lab::Answers::default()).unwrap();
    assert_eq!(ph(&book, id), [6.7, 6.8]);
    let opened = lab::open(&book, id).unwrap();
    assert_eq!(opened.at, 1);
    let told: Vec<String> = opened.tables.iter().map(ToString::to_string).collect();
    assert!(told[1].starts_with("sheet Spring: Sample, pH"), "{told:?}");
}

#[test]
fn a_table_that_is_not_there_is_a_sentence_and_changes_nothing() {
    let folder = TempDir::new().unwrap();
    let mut book = book(&folder);
    let bytes = workbook();
    let id = lab::take_in(&mut book, "r.xlsx", &bytes, &lab::Answers::default()).unwrap();
    let ninth = lab::Answers {
        table: Some(8),
        ..lab::Answers::default()
    };
    let said = lab::read_again(&mut book, id, &ninth).unwrap_err();
    assert!(matches!(said, WorkError::Said(_)), "{said:?}");
    assert_eq!(
        said.to_string(),
        "The file holds 2 tables; there is no table 9."
    );
    assert_eq!(ph(&book, id), [6.2, 6.4]);
}
