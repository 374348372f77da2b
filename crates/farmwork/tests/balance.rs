//! What came in is what was used and what is left, to the hundredth of an ounce.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{Arrival, LotOnHand, MaterialChoice, Spread, StockCount};
use farmwork::record::Record;
use farmwork::record::stock::{balance, now};
use jiff::civil::{Date, date};
use proptest::prelude::*;
use quantity::Weight;

const LOTS: [&str; 3] = ["", "A-1", "A-2"];

fn hundredths(count: i64) -> Weight {
    Weight::hundredths_of_an_ounce(count)
}

fn on(day: u8) -> Date {
    let days = jiff::Span::new().days(i64::from(day));
    date(2026, 1, 1).checked_add(days).unwrap()
}

/// A made-up record of one material: kind, day, lot, hundredths of an ounce.
fn record(moves: &[(u8, u8, usize, i64)]) -> Record {
    let mut record = Record::default();
    for (id, (kind, day, lot, weight)) in (1i64..).zip(moves) {
        let (lot, weight) = (LOTS[*lot].to_owned(), hundredths(*weight));
        match kind {
            0 => record.arrivals.push(Arrival {
                id,
                lot,
                ..Arrival::new(on(*day), "Hollow Mill", "feather_meal", weight)
            }),
            1 => record.spreads.push(Spread {
                id,
                lot,
                ..Spread::new(2026, on(*day), 1, "feather_meal", weight)
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
