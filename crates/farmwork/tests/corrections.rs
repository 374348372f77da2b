//! Deliveries, harvests and counts corrected beside themselves: balance, account and packet follow what
//! stands, and show what does not.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers stand outside the test functions

use farmbook::{Block, BlockKind, Book, Farm, Id, Shape};
use farmwork::record::delivery::{self, Typed};
use farmwork::record::{entry, inspection, stock};
use jiff::civil::{Date, date};
use quantity::{Area, Weight};
use tempfile::TempDir;

const TODAY: Date = date(2027, 8, 1);

fn book() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let mut book = Book::create(
        folder.path().join("farm.book"),
        &Farm::new("Plover Bank", 2027),
    )
    .unwrap();
    let now = TODAY.in_tz("UTC").unwrap();
    book.set_clock(move || now.clone());
    let shape = Shape::Stated {
        area: Area::acres(1.0),
    };
    for name in ["Barn Field", "Creek Field"] {
        book.add_block(&Block::new(name, BlockKind::Field, shape.clone()))
            .unwrap();
    }
    (folder, book)
}

fn came(book: &mut Book) -> Id {
    let typed = Typed {
        material: "feather_meal".into(),
        amount: "12 x 50 lb".into(),
        from: "Hollow Mill".into(),
        lot: "FM 12".into(),
        day: "2027-02-20".into(),
        paid: "510".into(),
        ..Typed::default()
    };
    let paper = Some(("note.pdf".to_owned(), b"Delivery note 17".to_vec()));
    delivery::write(book, &typed, paper, TODAY).unwrap()
}

fn lots(book: &Book) -> Vec<(String, f64)> {
    stock::now(&book.materials().unwrap(), &stock::Moves::of(book).unwrap())
        .into_iter()
        .map(|b| (b.lot, b.end.to_pounds()))
        .collect()
}

/// The rows of a part of the packet, as shown.
fn packet(book: &Book, key: &str, (first, last): (Date, Date)) -> Vec<Vec<String>> {
    let all = inspection::of(book, first, last).unwrap();
    for b in &all.balance {
        assert_eq!(b.begin + b.came + b.counted, b.used + b.end, "{}", b.lot);
    }
    let part = all.parts().into_iter().find(|p| p.key == key).unwrap();
    let rows = part.rows.iter();
    rows.map(|r| r.iter().map(inspection::Cell::shown).collect())
        .collect()
}

const YEAR: (Date, Date) = (date(2027, 1, 1), date(2027, 12, 31));

#[test]
fn a_delivery_is_corrected_beside_itself_and_keeps_its_paper() {
    let (_folder, mut book) = book();
    let first = came(&mut book);
    let said = |typed: &Typed, book: &mut Book| {
        delivery::write(book, typed, None, TODAY).map_err(|e| e.to_string())
    };
    let mut typed = Typed {
        amount: "11 x 50 lb".into(),
        lot: "FM 13".into(),
        corrects: Some(first),
        ..Typed::default()
    };
    let why = said(&typed, &mut book).unwrap_err();
    assert!(why.contains("Say why"), "{why}");
    typed.note = "one bag was torn and went back".into();
    let second = said(&typed, &mut book).unwrap();
    let kept = book.arrival(second).unwrap();
    let was = book.arrival(first).unwrap();
    assert_eq!(kept.weight, Weight::pounds(550.0));
    assert_eq!(
        (kept.lot.as_str(), kept.packs.as_str()),
        ("FM 13", "11 × 50 lb")
    );
    // What was not typed is as it was, the paper too.
    assert_eq!(
        (kept.paper, kept.paid, &kept.supplier, kept.day),
        (was.paper, was.paid, &was.supplier, was.day)
    );
    assert_eq!(lots(&book), [("FM 13".to_owned(), 550.0)]);
    let rows = packet(&book, "came", YEAR);
    assert_eq!(rows.len(), 2, "both are shown");
    let stands: Vec<&str> = rows.iter().map(|r| r.last().unwrap().as_str()).collect();
    assert_eq!(
        stands,
        [
            "corrected by 2 on 2027-08-01: one bag was torn and went back",
            "in place of 1"
        ]
    );
    // Once corrected, the first can only be corrected through the second.
    let again = said(&typed, &mut book).unwrap_err();
    assert!(again.contains("corrected by number 2 already"), "{again}");
    // Undone, the first stands again.
    book.undo_last().unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 600.0)]);
    assert_eq!(packet(&book, "came", YEAR)[0].last().unwrap(), "");
    let all = inspection::of(&book, YEAR.0, YEAR.1).unwrap();
    assert!(all.parts().iter().all(|p| !p.is_struck(0)));
}

#[test]
fn a_form_that_shows_everything_can_empty_a_field() {
    let (_folder, mut book) = book();
    let first = came(&mut book);
    let typed = Typed {
        material: "feather_meal".into(),
        amount: "600 lb".into(),
        day: "2027-02-20".into(),
        corrects: Some(first),
        note: "it came loose".into(),
        clears: true,
        ..Typed::default()
    };
    let id = delivery::write(&mut book, &typed, None, TODAY).unwrap();
    let kept = book.arrival(id).unwrap();
    assert_eq!(
        (
            kept.lot.as_str(),
            kept.supplier.as_str(),
            kept.paid,
            kept.packs.as_str()
        ),
        ("", "", None, "")
    );
    assert!(
        kept.paper.is_some(),
        "a paper is not lost by a form without one"
    );
    let late = Typed {
        day: "2027-08-02".into(),
        corrects: Some(id),
        ..typed
    };
    let why = late.entry(&book, None, TODAY).unwrap_err().to_string();
    assert!(why.contains("still to come"), "{why}");
}

#[test]
fn a_delivery_taken_back_leaves_the_shed() {
    let (_folder, mut book) = book();
    let first = came(&mut book);
    assert!(delivery::take_back(&book, first, " ").is_err());
    let back = delivery::take_back(&book, first, "it was for the neighbour").unwrap();
    book.log_arrival(&back).unwrap();
    assert_eq!(lots(&book), []);
    let rows = packet(&book, "came", YEAR);
    // Neither counts for anything, and both are struck.
    let all = inspection::of(&book, YEAR.0, YEAR.1).unwrap();
    let part = all.parts().into_iter().find(|p| p.key == "came").unwrap();
    assert_eq!(part.struck, [true, true]);
    let stands: Vec<&str> = rows.iter().map(|r| r.last().unwrap().as_str()).collect();
    assert_eq!(
        stands,
        [
            "taken back by 2 on 2027-08-01: it was for the neighbour",
            "takes back 1"
        ]
    );
    // Its paper is not asked for.
    let all = inspection::of(&book, YEAR.0, YEAR.1).unwrap();
    assert_eq!(all.doubts, Vec::<String>::new());
}

#[test]
fn a_harvest_is_corrected_on_the_account_of_its_block() {
    let (_folder, mut book) = book();
    let block = book.blocks().unwrap()[0].id;
    let day = date(2027, 7, 20);
    let each = Some(Weight::pounds(25.0));
    let new =
        |book: &Book, n: f64| entry::harvest(book, "Barn Field", day, n, "box", each).unwrap();
    let mut first = new(&book, 40.0);
    first.crop = "tomato".into();
    first.person = "Ada".into();
    let id = book.log_harvest(&first).unwrap();
    let removed = |book: &Book| {
        let ledger = farmwork::ledger::of_block(book, block).unwrap();
        let of = ledger.seasons.iter().find(|s| s.season == 2027).unwrap();
        of.items[&farmwork::ledger::Item::K2o].removed.unwrap()
    };
    let before = removed(&book);
    let right =
        entry::correct_harvest(&book, id, new(&book, 4.0), "a slip of the pen", TODAY).unwrap();
    assert_eq!(
        (right.crop.as_str(), right.person.as_str()),
        ("tomato", "Ada")
    );
    let second = book.log_harvest(&right).unwrap();
    assert!((removed(&book) - before / 10.0).abs() < 1e-9);
    assert_eq!(book.harvests().unwrap().len(), 1);
    let rows = packet(&book, "harvests", YEAR);
    let shown: Vec<(&str, &str)> = rows
        .iter()
        .map(|r| (r[5].as_str(), r[7].as_str()))
        .collect();
    assert_eq!(
        shown,
        [
            (
                "1,000 lb",
                "corrected by 2 on 2027-08-01: a slip of the pen"
            ),
            ("100 lb", "in place of 1")
        ]
    );
    // Told of days that do not hold the correction, the packet still says that it does not stand.
    let mut later =
        entry::correct_harvest(&book, second, new(&book, 4.0), "another day", TODAY).unwrap();
    later.day = date(2027, 7, 25);
    book.log_harvest(&later).unwrap();
    let rows = packet(&book, "harvests", (day, day));
    assert!(
        rows[1].last().unwrap().starts_with("corrected by 3"),
        "{rows:?}"
    );
    let back = entry::take_back_harvest(&book, 3, "never").unwrap();
    book.log_harvest(&back).unwrap();
    assert_eq!(book.harvests().unwrap().len(), 0);
    book.undo_last().unwrap();
    assert_eq!(book.harvests().unwrap().len(), 1);
}

#[test]
fn a_count_is_corrected_and_the_shed_follows() {
    let (_folder, mut book) = book();
    came(&mut book);
    let count = delivery::count("feather_meal", "FM 12", "118 lb", date(2027, 7, 1)).unwrap();
    let id = book.log_count(&count).unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 118.0)]);
    assert!(delivery::correct_count(&book, id, "181 lb", (None, None), "").is_err());
    let right =
        delivery::correct_count(&book, id, "181 lb", (None, None), "misread the scale").unwrap();
    book.log_count(&right).unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 181.0)]);
    let rows = packet(&book, "counts", YEAR);
    let shown: Vec<(&str, &str)> = rows
        .iter()
        .map(|r| (r[3].as_str(), r[5].as_str()))
        .collect();
    assert_eq!(
        shown,
        [
            ("118 lb", "corrected by 2 on 2027-08-01: misread the scale"),
            ("181 lb", "in place of 1")
        ]
    );
    let changes = book.changes(1).unwrap();
    assert!(
        changes[0].what.contains("Corrected count 1"),
        "{:?}",
        changes[0]
    );
    // So is its lot.
    let other =
        delivery::correct_count(&book, 2, "", (Some("FM 13"), None), "another lot").unwrap();
    assert_eq!(other.weight, Weight::pounds(181.0));
    // Nothing there is a count and not a taking back.
    let none = delivery::correct_count(&book, 2, "0", (None, None), "all gone").unwrap();
    book.log_count(&none).unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 0.0)]);
}

#[test]
fn a_count_taken_back_leaves_the_shed_as_if_nobody_had_weighed() {
    let (_folder, mut book) = book();
    came(&mut book);
    let on = date(2027, 7, 1);
    let count = |lb: &str| delivery::count("feather_meal", "FM 12", lb, on).unwrap();
    let first = book.log_count(&count("118 lb")).unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 118.0)]);
    let why = delivery::take_back_count(&book, first, " ").unwrap_err();
    assert!(why.to_string().contains("Say why"), "{why}");
    let back = delivery::take_back_count(&book, first, "it was the neighbour’s heap").unwrap();
    let second = book.log_count(&back).unwrap();
    // Sent twice it is written once.
    assert_eq!(book.log_count(&back).unwrap(), second);
    assert_eq!(lots(&book), [("FM 12".to_owned(), 600.0)]);
    let rows = packet(&book, "counts", YEAR);
    let stands: Vec<&str> = rows.iter().map(|r| r[5].as_str()).collect();
    assert_eq!(
        stands,
        [
            "taken back by 2 on 2027-08-01: it was the neighbour’s heap",
            "takes back 1"
        ]
    );
    let all = inspection::of(&book, YEAR.0, YEAR.1).unwrap();
    let part = all.parts().into_iter().find(|p| p.key == "counts").unwrap();
    assert_eq!(part.struck, [true, true]);
    let said = &book.changes(1).unwrap()[0].what;
    assert!(said.contains("Took back count 1"), "{said}");
    // Neither of the two can be taken back again.
    for id in [first, second] {
        let again = delivery::take_back_count(&book, id, "once more")
            .map_err(|e| e.to_string())
            .and_then(|back| book.log_count(&back).map_err(|e| e.to_string()));
        assert!(again.is_err(), "{id}: {again:?}");
    }
    // A later count holds all the same; undone twice, and once forward again.
    book.log_count(&count("0")).unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 0.0)]);
    book.undo_last().unwrap();
    book.undo_last().unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 118.0)]);
    book.redo_last().unwrap();
    assert_eq!(lots(&book), [("FM 12".to_owned(), 600.0)]);
}

#[test]
fn a_plan_is_held_against_the_shed_without_what_was_taken_back() {
    let (_folder, mut book) = book();
    let count = delivery::count("feather_meal", "", "118 lb", date(2027, 7, 1)).unwrap();
    let id = book.log_count(&count).unwrap();
    let moves = stock::Moves::of(&book).unwrap();
    assert!(moves.of_material("feather_meal"));
    let back = delivery::take_back_count(&book, id, "another farm’s").unwrap();
    book.log_count(&back).unwrap();
    assert!(!stock::Moves::of(&book).unwrap().of_material("feather_meal"));
    // A count that takes nothing back is none that takes back.
    let mut alone = delivery::count("feather_meal", "", "1 lb", date(2027, 7, 1)).unwrap();
    alone.takes_back = true;
    assert!(book.log_count(&alone).is_err());
}
