//! Compost that was not made hot counts as raw manure in choices, record and at a glance, by lot where lots
//! differ; 7 CFR 205.203(c)(1) and (c)(2).

#![allow(clippy::unwrap_used)] // helpers stand outside the test functions

use agronomy::compost::{Making, Way};
use agronomy::setback::Class;
use farmbook::{
    Block, BlockKind, Book, CompostMade, Farm, Harvest, Id, MaterialChoice, Shape, Spread,
};
use farmwork::glance::{self, Matter};
use farmwork::record::inspection;
use farmwork::{compost::Composts, demo, supply};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use quantity::{Area, Weight};
use tempfile::TempDir;

fn book(organic: bool) -> (TempDir, Book, Id) {
    let folder = TempDir::new().unwrap();
    let mut farm = Farm::new("Plover Bank", 2027);
    farm.organic = organic;
    let mut book = Book::create(folder.path().join("farm.book"), &farm).unwrap();
    let area = Area::acres(1.0);
    let block = Block::new("Barn Field", BlockKind::Field, Shape::Stated { area });
    let block = book.add_block(&block).unwrap();
    for id in ["compost_dairy", "compost_plant", "vermicompost"] {
        book.set_material(&MaterialChoice::new(id)).unwrap();
    }
    (folder, book, block)
}

fn hot() -> Making {
    Making {
        c_to_n: Some(30.0),
        days_hot: Some(15),
        turned: Some(5),
        paper: "green folder".into(),
        ..Making::new(Way::Windrow)
    }
}

fn say(book: &mut Book, lot: &str, made: Making) {
    book.set_compost(&CompostMade {
        material: "compost_dairy".into(),
        lot: lot.into(),
        made,
    })
    .unwrap();
}

fn chosen(book: &Book, id: &str) -> agronomy::material::Material {
    let all = supply::chosen(book).unwrap();
    all.into_iter()
        .find(|c| c.material.id == id)
        .unwrap()
        .material
}

#[test]
fn where_nothing_is_said_organic_ground_takes_it_for_raw_and_other_ground_is_warned() {
    for organic in [true, false] {
        let (_folder, mut book, _) = book(organic);
        let of = chosen(&book, "compost_dairy");
        assert_eq!(of.raw_manure, organic);
        assert!(
            of.cautions
                .iter()
                .any(|c| c.text.contains("nobody wrote down"))
        );
        assert_eq!(
            Class::of(&of),
            Some(if organic {
                Class::Manure
            } else {
                Class::Compost
            })
        );
        let waits = |book: &Book| {
            let all = glance::of_farm(book, date(2027, 1, 1)).unwrap().attention;
            let found = all.into_iter().find(|a| a.matter == Matter::Compost);
            found.map_or_else(Vec::new, |a| a.what)
        };
        assert_eq!(waits(&book).len(), 1);
        assert_eq!(waits(&book)[0].name, "Compost, dairy manure");

        say(&mut book, "", hot());
        let of = chosen(&book, "compost_dairy");
        assert!(!of.raw_manure && of.raw_because.is_none());
        assert!(!of.cautions.iter().any(|c| c.text.contains("wrote down")));
        assert!(waits(&book).is_empty());

        // What is said to be short of the rule is raw on any ground.
        let short = Making {
            days_hot: Some(14),
            ..hot()
        };
        say(&mut book, "", short);
        let of = chosen(&book, "compost_dairy");
        assert!(of.raw_manure && of.raw_because.unwrap().contains("14 of 15 days"));
        book.undo_last().unwrap();
        assert!(!chosen(&book, "compost_dairy").raw_manure);
        book.clear_compost("compost_dairy", "").unwrap();
        assert_eq!(chosen(&book, "compost_dairy").raw_manure, organic);
        for plain in ["compost_plant", "vermicompost"] {
            assert!(!chosen(&book, plain).raw_manure, "{plain}");
        }
    }
}

/// A doubt of the record about the wait of an entry from a lot, so many days before a harvest.
fn doubt(lot: &str, crop: &str, days: i64, made: Option<Making>) -> Option<String> {
    let (_folder, mut book, block) = book(true);
    say(&mut book, "", hot());
    if let Some(made) = made {
        say(&mut book, "P-7", made);
    }
    let spread = date(2027, 3, 1);
    let mut entry = Spread::new(2027, spread, block, "compost_dairy", Weight::pounds(500.0));
    entry.lot = lot.into();
    entry.person = "Ana".into();
    book.log_spread(&entry).unwrap();
    let picked: Date = spread.checked_add(days.days()).unwrap();
    book.log_harvest(&Harvest {
        crop: crop.into(),
        count: 1.0,
        unit: "lb".into(),
        ..Harvest::new(2027, picked, block, Weight::pounds(10.0))
    })
    .unwrap();
    let all = inspection::of(&book, date(2027, 1, 1), date(2027, 12, 31)).unwrap();
    all.doubts.into_iter().find(|d| d.contains("days later"))
}

#[test]
fn a_lot_that_was_not_hot_keeps_the_wait_to_the_day() {
    let cold = || Some(Making::new(Way::NotHot));
    for (crop, wait) in [("lettuce_head", 120), ("sweet_corn", 90)] {
        let short = doubt("P-7", crop, wait - 1, cold()).unwrap();
        assert!(
            short.contains("compost, dairy manure (not made hot")
                && short.contains(&format!("asks for {wait}"))
                && short.contains("205.203(c)(1)"),
            "{short}"
        );
        assert_eq!(doubt("P-7", crop, wait, cold()), None, "{crop}");
        // Another lot was made hot, as the farm's usual is.
        assert_eq!(doubt("P-8", crop, wait - 1, cold()), None);
        assert_eq!(doubt("P-7", crop, wait - 1, None), None);
    }
    // 90 to 119 days do for corn and not for lettuce.
    for days in [90, 119] {
        assert!(doubt("P-7", "lettuce_head", days, cold()).is_some());
        assert!(doubt("P-7", "sweet_corn", days, cold()).is_none());
    }
}

#[test]
fn the_record_prints_how_each_lot_was_made_and_what_that_makes_it() {
    let (_folder, mut book, block) = book(true);
    say(&mut book, "P-7", hot());
    for lot in ["P-7", "P-8"] {
        let mut entry = Spread::new(
            2027,
            date(2027, 3, 1),
            block,
            "compost_dairy",
            Weight::pounds(500.0),
        );
        entry.lot = lot.into();
        book.log_spread(&entry).unwrap();
    }
    let all = inspection::of(&book, date(2027, 1, 1), date(2027, 12, 31)).unwrap();
    let part = all
        .parts()
        .into_iter()
        .find(|p| p.key == "composts")
        .unwrap();
    let rows: Vec<Vec<String>> = part
        .rows
        .iter()
        .map(|r| r.iter().map(inspection::Cell::shown).collect())
        .collect();
    assert_eq!(rows.len(), 2);
    assert_eq!(
        rows[0][1..8],
        [
            "P-7",
            "in a turned windrow",
            "30",
            "15",
            "5",
            "green folder",
            "compost"
        ]
    );
    assert_eq!(
        (rows[1][1].as_str(), rows[1][7].as_str()),
        ("P-8", "raw manure")
    );
    assert!(rows[1][8].contains("7 CFR 205.203(c)(2)"));
    assert!(
        all.doubts
            .iter()
            .any(|d| d.contains("lot P-8") && d.contains("nobody wrote down"))
    );
    assert!(
        !all.doubts
            .iter()
            .any(|d| d.contains("lot P-7") && d.contains("made"))
    );
    let composts = Composts::of(&book).unwrap();
    assert_eq!(composts.lots("compost_dairy").count(), 1);
}

#[test]
fn the_invented_farm_says_that_its_compost_was_made_hot() {
    let folder = TempDir::new().unwrap();
    let book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    assert!(book.farm().unwrap().organic);
    let of = chosen(&book, "compost_general");
    assert!(!of.raw_manure && of.raw_because.is_none());
}
