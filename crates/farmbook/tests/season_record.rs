//! The record of a season: entries with marks, corrections beside what they correct, papers, orders.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use jiff::civil::date;
use quantity::Weight;

fn with_a_block() -> (tempfile::TempDir, Book, Id) {
    let dir = folder();
    let mut book = book(&dir);
    let block = book.add_block(&field("North")).unwrap();
    (dir, book, block)
}

fn lime(block: Id) -> Spread {
    let mut entry = Spread::new(
        2026,
        date(2026, 3, 30),
        block,
        "lime_calcitic",
        Weight::pounds(150.25),
    );
    entry.lot = "L-7".into();
    entry.person = "Ada".into();
    entry.weather = "dry, no wind".into();
    entry
}

#[test]
fn an_entry_sent_twice_is_one_entry() {
    let (_dir, mut book, block) = with_a_block();
    let entry = lime(block);
    let id = book.log_spread(&entry).unwrap();
    let changes = book.changes(100).unwrap().len();
    assert_eq!(book.log_spread(&entry).unwrap(), id);
    // A mark is the same mark in capitals.
    let shouted = Spread {
        mark: entry.mark.to_uppercase(),
        ..entry.clone()
    };
    assert_eq!(book.log_spread(&shouted).unwrap(), id);
    assert_eq!(book.changes(100).unwrap().len(), changes);
    assert_eq!(book.spreads().unwrap().len(), 1);
    let other = Spread {
        weight: Weight::pounds(1.0),
        ..entry
    };
    let said = book.log_spread(&other).unwrap_err().to_string();
    assert!(said.contains("says something else"), "{said}");
    assert_eq!(book.spreads().unwrap()[0].weight, Weight::pounds(150.25));
    let unmarked = Spread {
        mark: "17".into(),
        ..lime(block)
    };
    assert!(book.log_spread(&unmarked).is_err());
}

#[test]
fn a_correction_stands_beside_what_it_corrects() {
    let (_dir, mut book, block) = with_a_block();
    let first = book.log_spread(&lime(block)).unwrap();
    let better = Spread {
        weight: Weight::pounds(120.0),
        corrects: Some(first),
        ..lime(block)
    };
    let second = book.log_spread(&better).unwrap();
    assert_eq!(book.all_spreads().unwrap().len(), 2);
    let standing = book.spreads().unwrap();
    assert_eq!((standing.len(), standing[0].id), (1, second));
    assert_eq!(book.spread(first).unwrap().weight, Weight::pounds(150.25));
    // Two corrections of one entry would leave two in its place.
    let again = Spread {
        mark: new_mark(),
        ..better.clone()
    };
    let said = book.log_spread(&again).unwrap_err().to_string();
    assert!(said.contains("corrected by number 2"), "{said}");
    let back = Spread {
        mark: new_mark(),
        weight: Weight::ZERO,
        corrects: Some(second),
        ..better
    };
    book.log_spread(&back).unwrap();
    assert!(book.spreads().unwrap().is_empty());
    assert_eq!(book.all_spreads().unwrap().len(), 3);
    let nothing = Spread {
        weight: Weight::ZERO,
        ..lime(block)
    };
    assert!(book.log_spread(&nothing).is_err(), "nothing was spread");
    book.undo_last().unwrap();
    assert_eq!(book.spreads().unwrap().len(), 1);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn deliveries_orders_papers_counts_and_harvests_are_kept_and_undone() {
    let (_dir, mut book, block) = with_a_block();
    let before = dump(&book);
    let day = date(2026, 2, 20);
    let paper = book.keep_paper("note.pdf", b"twelve bags").unwrap();
    assert_eq!(book.keep_paper("again.pdf", b"twelve bags").unwrap(), paper);
    assert_eq!(book.paper_bytes(paper).unwrap(), b"twelve bags");
    let mut order = PlacedOrder::new(2026, day, "Hollow Mill");
    order.lines.push(OrderedLine {
        material: "feather_meal".into(),
        count: 14,
        pack: "50 lb bag".into(),
        weight: Weight::pounds(700.0),
        cents: Some(59_500),
    });
    let order_id = book.place_order(&order).unwrap();
    assert_eq!(book.place_order(&order).unwrap(), order_id);
    let mut came = Arrival::new(day, "Hollow Mill", "feather_meal", Weight::pounds(600.0));
    (came.order, came.paper) = (Some(order_id), Some(paper));
    (came.lot, came.paid) = ("FM 12/25".into(), Some(51_000));
    let id = book.log_arrival(&came).unwrap();
    assert_eq!(book.log_arrival(&came).unwrap(), id);
    assert_eq!(book.arrivals().unwrap().len(), 1);
    book.close_order(order_id, Some(day)).unwrap();
    let count = StockCount::new(day, "feather_meal", Weight::pounds(598.5));
    assert_eq!(
        book.log_count(&count).unwrap(),
        book.log_count(&count).unwrap()
    );
    let crop = Harvest::new(2026, date(2026, 7, 1), block, Weight::pounds(312.0));
    assert_eq!(
        book.log_harvest(&crop).unwrap(),
        book.log_harvest(&crop).unwrap()
    );
    book.set_bucket(&Bucket {
        material: String::new(),
        gallons: 5.0,
        weight: None,
        measured_on: None,
    })
    .unwrap();
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
    while book
        .can_undo()
        .unwrap()
        .is_some_and(|w| !w.starts_with("Added"))
    {
        book.undo_last().unwrap();
    }
    assert_eq!(dump(&book), before);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_block_with_a_record_is_kept_when_it_is_taken_out() {
    let (_dir, mut book, block) = with_a_block();
    book.log_spread(&lime(block)).unwrap();
    assert_eq!(book.remove_block(block).unwrap(), Removal::Archived);
    assert_eq!(book.spreads().unwrap().len(), 1);
}

#[test]
fn what_stands_of_a_block_and_of_a_season_is_what_stands_of_all() {
    let (_dir, mut book, block) = with_a_block();
    let other = book.add_block(&field("South")).unwrap();
    let first = book.log_spread(&lime(block)).unwrap();
    book.log_spread(&lime(other)).unwrap();
    let mut better = lime(block);
    better.weight = Weight::pounds(90.0);
    better.corrects = Some(first);
    book.log_spread(&better).unwrap();
    let mut last_year = lime(block);
    last_year.season = 2025;
    let gone = book.log_spread(&last_year).unwrap();
    let mut back = lime(block);
    (back.season, back.weight, back.corrects) = (2025, Weight::ZERO, Some(gone));
    book.log_spread(&back).unwrap();
    let of = |id| {
        book.spreads()
            .unwrap()
            .into_iter()
            .filter(|s| s.block == id)
            .collect::<Vec<_>>()
    };
    assert_eq!(book.spreads_of(block).unwrap(), of(block));
    assert_eq!(book.spreads_of(block).unwrap().len(), 1);
    assert_eq!(book.spreads_of(other).unwrap(), of(other));
    let sums = book.spread_sums(2026).unwrap();
    assert_eq!(sums, [("lime_calcitic".to_owned(), Weight::pounds(240.25))]);
    assert_eq!(
        book.spread_sums(2025)
            .unwrap()
            .iter()
            .map(|(_, w)| *w)
            .sum::<Weight>(),
        Weight::ZERO
    );

    let picked = Harvest::new(2026, date(2026, 8, 1), block, Weight::pounds(50.0));
    let id = book.log_harvest(&picked).unwrap();
    let mut right = Harvest::new(2026, date(2026, 8, 1), block, Weight::pounds(55.0));
    right.corrects = Some(id);
    book.log_harvest(&right).unwrap();
    assert_eq!(book.harvests_of(block).unwrap(), book.harvests().unwrap());
    assert_eq!(book.harvests_of(other).unwrap(), []);
}

#[test]
fn a_walk_is_corrected_in_its_place_forgotten_and_undone() {
    let (_dir, mut book, _) = with_a_block();
    let before = dump(&book);
    let mut walk = farmbook::SpreaderWalk {
        id: 0,
        spreader: "Drop cart".into(),
        material: "feather_meal".into(),
        setting: "6".into(),
        day: date(2026, 3, 1),
        walk: serde_json::json!({ "way": "drop" }),
        note: String::new(),
    };
    let id = book.keep_walk(&walk).unwrap();
    walk.id = id;
    walk.setting = "7".into();
    assert_eq!(book.keep_walk(&walk).unwrap(), id);
    assert_eq!(book.walks().unwrap(), [walk.clone()]);
    book.forget_walk(id).unwrap();
    assert!(book.walks().unwrap().is_empty());
    assert!(book.forget_walk(id).is_err() && book.keep_walk(&walk).is_err());
    book.undo_last().unwrap();
    assert_eq!(book.walk(id).unwrap(), walk);
    book.undo_last().unwrap();
    assert_eq!(book.walk(id).unwrap().setting, "6");
    book.undo_last().unwrap();
    assert_eq!(dump(&book), before);
}
