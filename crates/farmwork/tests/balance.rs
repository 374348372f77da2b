//! What came in is what was used and what is left, to the hundredth of an ounce.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{
    Arrival, Block, BlockKind, Book, Farm, Id, LotOnHand, MaterialChoice, Shape, Spread,
    StockCount, Used,
};
use farmwork::record::stock::{Moves, balance, now};
use jiff::civil::{Date, date};
use proptest::prelude::*;
use quantity::{Area, Weight};
use std::collections::{BTreeMap, HashSet};

const LOTS: [&str; 3] = ["", "A-1", "A-2"];

fn hundredths(count: i64) -> Weight {
    Weight::hundredths_of_an_ounce(count)
}

fn on(day: u8) -> Date {
    let days = jiff::Span::new().days(i64::from(day));
    date(2026, 1, 1).checked_add(days).unwrap()
}

/// A made-up record of one material: kind, day, lot, hundredths of an ounce.
fn record(moves: &[(u8, u8, usize, i64)]) -> Moves {
    let mut record = Moves::default();
    for (id, (kind, day, lot, weight)) in (1i64..).zip(moves) {
        let (lot, weight) = (LOTS[*lot].to_owned(), hundredths(*weight));
        match kind {
            0 => record.arrivals.push(Arrival {
                id,
                lot,
                ..Arrival::new(on(*day), "Hollow Mill", "feather_meal", weight)
            }),
            1 => record.used.push(Used {
                material: "feather_meal".to_owned(),
                lot,
                day: on(*day),
                weight,
            }),
            _ => record.counts.push(StockCount {
                id,
                lot,
                ..StockCount::new(on(*day), "feather_meal", weight)
            }),
        }
    }
    record
}

proptest! {
    #[test]
    fn purchase_is_use_and_stock(
        moves in prop::collection::vec((0u8..3, 0u8..60, 0usize..3, 1i64..2_000_000), 0..40),
        begin in 0i64..1_000_000,
        (first, last) in (0u8..60, 0u8..60),
    ) {
        let (first, last) = (first.min(last), first.max(last));
        let mut choice = MaterialChoice::new("feather_meal");
        choice.stock_lb = hundredths(begin).to_pounds();
        choice.lots = vec![LotOnHand { lot: "A-1".into(), lb: 33.3 }];
        let record = record(&moves);
        let all = balance(std::slice::from_ref(&choice), &record, on(first), on(last));
        for b in &all {
            prop_assert_eq!(b.begin + b.came + b.counted, b.used + b.end, "lot {}", &b.lot);
        }
        // Nothing of the record is left away or taken twice.
        let within = |d: Date| on(first) <= d && d <= on(last);
        let came: i64 = moves.iter().filter(|m| m.0 == 0 && within(on(m.1))).map(|m| m.3).sum();
        let used: i64 = moves.iter().filter(|m| m.0 == 1 && within(on(m.1))).map(|m| m.3).sum();
        prop_assert_eq!(all.iter().map(|b| b.came).sum::<Weight>(), hundredths(came));
        prop_assert_eq!(all.iter().map(|b| b.used).sum::<Weight>(), hundredths(used));
        // A stretch ends as the next begins.
        let next = balance(&[choice], &record, on(last).tomorrow().unwrap(), on(90));
        for (b, n) in all.iter().zip(&next) {
            prop_assert_eq!(b.end, n.begin);
        }
    }
}

#[test]
fn a_count_says_what_does_not_add_up() {
    let record = record(&[(0, 1, 1, 80_000), (1, 5, 1, 30_000), (2, 9, 1, 49_600)]);
    let all = now(&[], &record);
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].counted, hundredths(-400), "4 oz are missing");
    assert_eq!(all[0].end, Weight::pounds(31.0));
    assert_eq!(all[0].short_from, None);
}

#[test]
fn more_used_than_came_in_is_told() {
    let record = record(&[(0, 1, 1, 1_600), (1, 5, 1, 2_400)]);
    let lot = &now(&[], &record)[0];
    assert_eq!(lot.end, Weight::pounds(-0.5));
    assert_eq!(lot.short_from, Some(on(5)));
}

/// A book with two blocks and entries as they come: season, day, lot, hundredths of an ounce, and which
/// earlier one is corrected (of no weight: taken back).
fn book_of(entries: &[(u8, u8, usize, i64, Option<usize>)]) -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Book::create(folder.path().join("a.book"), &Farm::new("Test", 2027)).unwrap();
    let shape = Shape::Stated {
        area: Area::acres(1.0),
    };
    let blocks: Vec<Id> = ["A", "B"]
        .map(|name| {
            book.add_block(&Block::new(name, BlockKind::Field, shape.clone()))
                .unwrap()
        })
        .into();
    book.together("Filled", |book| {
        let mut free: Vec<Id> = Vec::new();
        for (n, (season, day, lot, weight, corrects)) in entries.iter().enumerate() {
            let material = ["feather_meal", "lime_calcitic"][n % 2];
            let mut entry = Spread::new(
                2025 + i64::from(*season),
                on(*day),
                blocks[n % 2],
                material,
                hundredths(*weight),
            );
            entry.lot = LOTS[*lot].to_owned();
            match corrects.filter(|_| !free.is_empty()) {
                Some(which) => entry.corrects = Some(free.remove(which % free.len())),
                None => entry.weight = hundredths((*weight).max(1)),
            }
            free.push(book.log_spread(&entry)?);
        }
        Ok(())
    })
    .unwrap();
    (folder, book)
}

/// What stands where some entries were never written, by reading everything.
fn slow(book: &Book, without: &HashSet<Id>) -> Vec<Spread> {
    let mut all = book.all_spreads().unwrap();
    all.retain(|s| !without.contains(&s.id));
    let gone: HashSet<Id> = all.iter().filter_map(|s| s.corrects).collect();
    all.retain(|s| !gone.contains(&s.id) && !s.takes_back());
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn what_is_read_by_season_day_and_lot_is_what_reading_everything_gives(
        entries in prop::collection::vec(
            (0u8..3, 0u8..40, 0usize..3, 0i64..90_000, prop::option::of(0usize..9)), 0..40),
        without in prop::collection::hash_set(1i64..40, 0..12),
        (first, last) in (0u8..40, 0u8..40),
    ) {
        let (_folder, book) = book_of(&entries);
        let (first, last) = (on(first.min(last)), on(first.max(last)));
        for without in [HashSet::new(), without] {
            let all = slow(&book, &without);
            let gone: Vec<Id> = without.iter().copied().collect();
            let mut sums: BTreeMap<(String, String, Date), Weight> = BTreeMap::new();
            for s in &all {
                let sum = sums.entry((s.material.clone(), s.lot.clone(), s.day)).or_default();
                *sum = *sum + s.weight;
            }
            let used: BTreeMap<_, _> = book.used(&gone).unwrap().into_iter()
                .map(|u| ((u.material, u.lot, u.day), u.weight)).collect();
            prop_assert_eq!(used, sums);
            let mut seasons = Vec::new();
            for season in book.spread_seasons().unwrap() {
                let of: Vec<Spread> = all.iter().filter(|s| s.season == season).cloned().collect();
                prop_assert_eq!(&book.spreads_in(season, &gone).unwrap(), &of);
                seasons.extend(of);
            }
            prop_assert_eq!(seasons.len(), all.len());
        }
        let all = book.all_spreads().unwrap();
        let standing = slow(&book, &HashSet::new());
        prop_assert_eq!(&standing, &book.spreads().unwrap());
        let mut by_season = Vec::new();
        for season in book.spread_seasons().unwrap() {
            by_season.extend(book.all_spreads_in(season).unwrap());
        }
        by_season.sort_by_key(|s| (s.day, s.id));
        prop_assert_eq!(&by_season, &all);
        let within: Vec<Spread> = all.iter().filter(|s| (first..=last).contains(&s.day)).cloned().collect();
        prop_assert_eq!(book.all_spreads_between(first, last).unwrap(), within);
        let corrected: HashSet<Id> = all.iter().filter_map(|s| s.corrects).collect();
        let by: HashSet<Id> = book.spread_corrections().unwrap().into_keys().collect();
        prop_assert_eq!(by, corrected);
        let newest = book.newest_spread().unwrap();
        prop_assert_eq!(newest.as_ref(), all.last());
        let mut last_on: BTreeMap<(Id, String), Date> = BTreeMap::new();
        for s in &standing {
            last_on.insert((s.block, s.material.clone()), s.day);
        }
        let found: BTreeMap<_, _> = book.last_spreads().unwrap().into_iter()
            .map(|(block, material, day)| ((block, material), day)).collect();
        prop_assert_eq!(found, last_on);
    }
}
