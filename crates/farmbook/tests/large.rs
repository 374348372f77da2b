//! A book of 1,000 blocks and 20 years, for what a page reads.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use std::time::{Duration, Instant};

/// The budget of a whole page; the book may take a part of it only.
const PAGE: Duration = Duration::from_millis(50);

/// The fastest of nine runs: what the book needs when other tests do not hold the machine.
fn fastest(mut work: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..9)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[0]
}

#[test]
fn a_page_finds_what_it_needs_in_time() {
    let dir = folder();
    let mut book = book(&dir);
    let begun = Instant::now();
    let ids: Vec<Id> = book
        .together("A large farm", |book| {
            (0..1_000)
                .map(|n| {
                    let mut block = field(&format!("Block {n}"));
                    if n % 10 == 0 {
                        block.aliases = vec![format!("box {n}")];
                    }
                    book.add_block(&block)
                })
                .collect()
        })
        .unwrap();
    for year in 2007..=2026 {
        book.together("A year", |book| {
            let tests: Vec<NewTest> = ids
                .iter()
                .map(|id| NewTest {
                    block: Some(*id),
                    sampled_on: Some(jiff::civil::date(year, 10, 1)),
                    ..NewTest::new(soil(&format!("s{id}"), 6.0))
                })
                .collect();
            for id in &ids {
                book.set_planting(&Planting::new(*id, year.into(), "kale"))?;
            }
            let bytes = year.to_string();
            book.add_report(&report(&format!("{year}.csv"), bytes.as_bytes()), &tests)
        })
        .unwrap();
    }
    let built = begun.elapsed();

    let one = ids[500];
    let latest = book.latest_tests().unwrap();
    assert_eq!(latest.len(), 1_000);
    assert!(
        latest
            .iter()
            .all(|t| t.sampled_on == Some(jiff::civil::date(2026, 10, 1)))
    );
    let season = fastest(|| {
        assert_eq!(book.blocks().unwrap().len(), 1_000);
        assert_eq!(book.plantings(2026).unwrap().len(), 1_000);
        assert_eq!(book.latest_tests().unwrap().len(), 1_000);
        assert!(book.locks(2026).unwrap().is_empty());
    });
    let newest = fastest(|| {
        book.latest_tests().unwrap();
    });
    let blocks = fastest(|| {
        book.blocks().unwrap();
    });
    let block = fastest(|| {
        book.block(one).unwrap();
        assert_eq!(book.tests_of(one).unwrap().len(), 20);
        assert_eq!(book.plantings_of(one).unwrap().len(), 20);
        assert_eq!(book.history("block", one).unwrap().len(), 1);
    });
    let journal = fastest(|| assert_eq!(book.journal(50).unwrap().len(), 50));
    let changes = fastest(|| assert_eq!(book.changes(50).unwrap().len(), 22));
    let change = fastest(|| {
        let mut farm = book.farm().unwrap();
        farm.season += 1;
        book.set_farm(&farm).unwrap();
    });
    eprintln!(
        "written in {built:?}; season {season:?} \
         (blocks {blocks:?}, newest tests {newest:?}), block {block:?}, journal {journal:?}, \
         changes {changes:?}, one change {change:?}"
    );
    for (what, took) in [
        ("season", season),
        ("block", block),
        ("journal", journal),
        ("changes", changes),
    ] {
        assert!(took < PAGE, "{what} took {took:?}");
    }
    let begun = Instant::now();
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
    eprintln!("checked in {:?}", begun.elapsed());
}
