//! Books of every released layout, kept as they were written, open in this version.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use serde_json::json;

const BOOKS: &[&str] = &[
    include_str!("fixtures/layout1.sql"),
    include_str!("fixtures/layout2.sql"),
    include_str!("fixtures/layout3.sql"),
    include_str!("fixtures/layout4.sql"),
    include_str!("fixtures/layout5.sql"),
];

fn written(sql: &str, folder: &tempfile::TempDir) -> Book {
    let conn = rusqlite::Connection::open(path(folder)).unwrap();
    conn.execute_batch(sql).unwrap();
    drop(conn);
    Book::open(path(folder)).unwrap()
}

#[test]
fn every_record_of_an_older_book_is_read() {
    for sql in BOOKS {
        let dir = folder();
        let book = written(sql, &dir);
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
        assert_eq!(book.farm().unwrap(), pipit());
        let names: Vec<_> = book.blocks().unwrap().into_iter().map(|b| b.name).collect();
        assert_eq!(names, ["Tunnel", "Upper Field"]);
        let upper = book.block_by_name("uf-1").unwrap().unwrap();
        assert_eq!(upper.texture, Some(agronomy::texture::Texture::SandyLoam));
        assert_eq!((upper.free_lime, upper.depth_in), (Some(false), 20.0 / 3.0));
        let tunnel = book.block_by_name("tunnel").unwrap().unwrap();
        assert_eq!(tunnel.shape, beds(true));
        let kale = book.planting(upper.id, 2026).unwrap().unwrap();
        assert_eq!(kale.yield_lb_per_acre, Some(9_000.5));
        assert_eq!(kale.plant_on, Some(jiff::civil::date(2026, 5, 1)));
        assert_eq!(kale.credits.nitrate, Some(18.25));
        let report = book.reports().unwrap().remove(0);
        assert_eq!(
            book.report_bytes(report.id).unwrap(),
            b"sample,pH\nUF-1,6.1\nlost,5.2\n"
        );
        assert_eq!(book.tests_in(report.id).unwrap().len(), 2);
        assert_eq!(
            book.latest_test(upper.id).unwrap().unwrap().test,
            soil("UF-1", 6.1)
        );
        assert_eq!(
            book.layout("f1").unwrap().unwrap().layout,
            json!({"sample": 0, "ph": 1})
        );
        let meal = book.material("feather-meal").unwrap().unwrap();
        assert_eq!(meal.packs[0].price, Some(42.5));
        assert_eq!(meal.refused_on, [tunnel.id]);
        let problem = book.latest_plan(2026).unwrap().unwrap().problem;
        let problem: serde_json::Value = serde_json::from_str(&problem).unwrap();
        assert_eq!(problem, json!({"x": 0.1}));
        assert_eq!(book.locks(2026).unwrap()[0].lb, 120.0);
    }
}

#[test]
fn a_table_of_ones_own_in_an_older_book_is_read() {
    let dir = folder();
    let book = written(BOOKS[1], &dir);
    let tables = book.own_tables().unwrap();
    assert_eq!(tables.len(), 1);
    assert_eq!(
        (tables[0].name.as_str(), tables[0].kind.as_str()),
        ("HOME_P", "readings")
    );
    assert!(tables[0].files["bands.csv"].starts_with("nutrient,extractant"));
}

#[test]
fn suppliers_and_boxes_of_an_older_book_are_read() {
    let dir = folder();
    let mut book = written(BOOKS[3], &dir);
    assert_eq!(book.suppliers().unwrap()[0].name, "Hollow Mill");
    let labels: Vec<_> = book.boxes().unwrap().into_iter().map(|b| b.label).collect();
    assert_eq!(labels, ["18", "17"]);
    // What a later layout adds is there to be used.
    let upper = book.block_by_name("upper field").unwrap().unwrap().id;
    book.set_outline(&outline(upper, 0.0)).unwrap();
    assert_eq!(book.outlines().unwrap(), [outline(upper, 0.0)]);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn an_older_book_with_outlines_takes_the_record_of_a_season() {
    let dir = folder();
    let mut book = written(BOOKS[4], &dir);
    assert_eq!(book.outlines().unwrap()[0].file_name, "o.geojson");
    let upper = book.block_by_name("upper field").unwrap().unwrap().id;
    let day = jiff::civil::date(2026, 4, 1);
    let weight = quantity::Weight::pounds(12.5);
    let entry = Spread::new(2026, day, upper, "feather_meal", weight);
    let id = book.log_spread(&entry).unwrap();
    assert_eq!(book.spread(id).unwrap().weight, weight);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

/// The steps of a layout that books already have are never edited: a new book's tables are the
/// older book's tables.
#[test]
fn a_new_book_has_the_tables_of_an_older_one_brought_up() {
    let tables = |folder: &tempfile::TempDir| -> Vec<String> {
        let conn = rusqlite::Connection::open(path(folder)).unwrap();
        let mut statement = conn
            .prepare("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name")
            .unwrap();
        let all = statement.query_map([], |row| row.get(0)).unwrap();
        all.map(|sql: rusqlite::Result<String>| sql.unwrap())
            .collect()
    };
    let new = folder();
    drop(book(&new));
    for sql in BOOKS {
        let old = folder();
        drop(written(sql, &old));
        assert_eq!(tables(&old), tables(&new));
    }
}

#[test]
fn work_goes_on_in_an_older_book() {
    for sql in BOOKS {
        let dir = folder();
        let mut book = written(sql, &dir);
        let before = dump(&book);
        let new = book.add_block(&field("New")).unwrap();
        assert_eq!(new, 4, "3 was undone and is not used again");
        book.undo_last().unwrap().unwrap();
        assert_eq!(dump(&book), before);
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
    }
}
