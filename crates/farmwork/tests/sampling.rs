//! The sampling of a farm: what is due, what may share, boxes from plan to results.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use agronomy::sampling::TestKind;
use farmbook::{BlockKind, Book, BoxState, Farm, GroundNote, SampleBox, Spread};
use farmwork::sampling::{self, Due, Purpose, Step, paper};
use farmwork::{demo, ground_file, lab};
use jiff::civil::{Date, date};
use quantity::Weight;
use tempfile::TempDir;

const GROUND: &[u8] = b"name,kind,length_ft,width_ft,texture,crop,plant_on,harvest_on\n\
East,field,100,50,loam,broccoli,05-01,08-01\n\
West,field,200,50,loam,broccoli,05-01,08-01\n\
House,tunnel,90,30,loam,tomato,,\n\
Berries,perennial,100,10,loam,blueberry,,\n";

fn farm(folder: &TempDir) -> Book {
    let mut book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    ground_file::add(&mut book, "g.csv", GROUND).unwrap();
    book
}

fn id(book: &Book, name: &str) -> i64 {
    book.block_by_name(name).unwrap().unwrap().id
}

fn tested(book: &mut Book, day: Date) {
    let file = b"Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\nEast,6.4,60,140\nWest,6.4,62,150\nHouse,6.5,60,140\nBerries,4.8,60,140\n";
    let known = lab::Answers {
        sampled_on: Some(day),
        ..lab::Answers::default()
    };
    lab::take_in(book, "r.csv", file, &known).unwrap();
}

fn due(book: &Book, name: &str, today: Date) -> Due {
    let plan = sampling::of_farm(book, today).unwrap();
    plan.block(id(book, name)).unwrap().due
}

#[test]
fn blocks_come_due_by_kind_from_the_last_test() {
    let folder = TempDir::new().unwrap();
    let mut book = farm(&folder);
    let fall = |year| date(year, 10, 20);
    assert_eq!(due(&book, "East", fall(2026)), Due::Never);
    tested(&mut book, fall(2026));
    let at = |name: &str, day| due(&book, name, day);
    // A month before the day counts as the same time of year.
    assert_eq!(at("House", date(2027, 9, 1)), Due::NotYet);
    assert_eq!(at("House", date(2027, 10, 1)), Due::Due);
    assert_eq!(at("Berries", fall(2028)), Due::NotYet);
    assert_eq!(at("Berries", fall(2029)), Due::May);
    assert_eq!(at("Berries", fall(2031)), Due::Due);
    // Every year, say some; every two to three, say others.
    assert_eq!(at("West", fall(2027)), Due::May);
    assert_eq!(at("West", fall(2029)), Due::Due);
    // A leap day is followed by the last of February.
    let folder = TempDir::new().unwrap();
    let mut book = farm(&folder);
    tested(&mut book, date(2028, 2, 29));
    let plan = sampling::of_farm(&book, date(2028, 3, 1)).unwrap();
    let house = plan.block(id(&book, "House")).unwrap();
    assert_eq!(house.by, Some(date(2029, 2, 28)));
}

#[test]
fn it_waits_for_the_harvest_and_for_lime() {
    let folder = TempDir::new().unwrap();
    let mut book = farm(&folder);
    let east = id(&book, "East");
    let wait = |book: &Book, today| {
        let plan = sampling::of_farm(book, today).unwrap();
        plan.block(east).unwrap().not_before.clone()
    };
    assert_eq!(wait(&book, date(2026, 11, 1)), None);
    let (day, why) = wait(&book, date(2027, 6, 1)).unwrap();
    assert_eq!(day, date(2027, 8, 1));
    assert!(why.text.contains("After the harvest"), "{}", why.text);
    book.set_ground_note(&GroundNote {
        limed_on: Some(date(2027, 8, 20)),
        ..GroundNote::nothing(east)
    })
    .unwrap();
    // Eight weeks from August 20.
    let (day, why) = wait(&book, date(2027, 9, 1)).unwrap();
    assert_eq!(day, date(2027, 10, 15));
    assert!(why.text.starts_with("Limed on 2027-08-20."), "{}", why.text);
    assert_eq!(wait(&book, date(2027, 10, 15)), None);
    // Lime in the log counts without being said again.
    let (day, weight) = (date(2027, 11, 1), Weight::pounds(500.0));
    let limed = Spread::new(2027, day, east, "lime_calcitic", weight);
    book.log_spread(&limed).unwrap();
    let (day, _) = wait(&book, date(2027, 11, 2)).unwrap();
    assert_eq!(day, date(2027, 12, 27));
}

#[test]
fn a_shared_box_is_filled_sent_and_answers_for_both_blocks() {
    let folder = TempDir::new().unwrap();
    let mut book = farm(&folder);
    let (east, west) = (id(&book, "East"), id(&book, "West"));
    let today = date(2026, 10, 20);
    let plan = sampling::of_farm(&book, today).unwrap();
    assert_eq!(plan.sharing.together.len(), 1);
    assert_eq!(plan.sharing.together[0].blocks, [east, west]);
    assert!(plan.apart(&[east, west]).is_none());
    let told = plan.apart(&[east, id(&book, "House")]).unwrap();
    assert!(told.contains("under cover"), "{told}");
    let made = sampling::make(
        &mut book,
        &plan,
        &[vec![east, west]],
        Purpose::Standard,
        today,
    )
    .unwrap();
    let b = book.sample_box(made[0]).unwrap();
    assert_eq!(b.label, "2601");
    // A third of the ground, a third of what is left of the cores after one each.
    let cores: Vec<u32> = b.parts.iter().map(|p| p.cores).collect();
    assert_eq!(cores, [5, 10]);
    // Neither block gets a second box for the same, but one for nitrate.
    let plan = sampling::of_farm(&book, today).unwrap();
    let again = sampling::make(&mut book, &plan, &[vec![west]], Purpose::Standard, today);
    assert!(
        again
            .unwrap_err()
            .to_string()
            .contains("“West” has a box already")
    );
    let nitrate = sampling::make(&mut book, &plan, &[vec![west]], Purpose::Nitrate, today).unwrap();
    assert_eq!(book.sample_box(nitrate[0]).unwrap().tests, ["nitrate"]);
    book.remove_box(nitrate[0]).unwrap();

    for core in [3, 1, 3] {
        sampling::mark_core(&mut book, b.id, west, core, true).unwrap();
    }
    let now = sampling::mark_core(&mut book, b.id, west, 1, false).unwrap();
    assert_eq!(now.parts[1].taken, [3]);
    assert!(sampling::mark_core(&mut book, b.id, west, 11, true).is_err());
    let early = sampling::step(&mut book, b.id, Step::Send, today).unwrap_err();
    assert!(
        early.to_string().contains("say first when it was filled"),
        "{early}"
    );
    sampling::step(&mut book, b.id, Step::Fill, today).unwrap();
    sampling::step(&mut book, b.id, Step::Fill, date(2026, 10, 22)).unwrap();
    sampling::step(&mut book, b.id, Step::Send, date(2026, 10, 21)).unwrap();
    let sent = sampling::step(&mut book, b.id, Step::Receive, date(2026, 10, 23)).unwrap();
    assert_eq!(
        (sent.state(), sent.filled_on),
        (BoxState::Received, Some(today))
    );
    assert!(sampling::mark_core(&mut book, b.id, west, 4, true).is_err());
    assert_eq!(
        sampling::back(&mut book, b.id).unwrap().state(),
        BoxState::Sent
    );

    let file = b"Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\n2601,6.2,31,140\n";
    let report = lab::take_in(&mut book, "r.csv", file, &lab::Answers::default()).unwrap();
    let blocks = |book: &Book| -> Vec<Option<i64>> {
        book.tests_in(report)
            .unwrap()
            .iter()
            .map(|t| t.block)
            .collect()
    };
    assert_eq!(blocks(&book), [Some(east), Some(west)]);
    assert_eq!(book.sample_box(b.id).unwrap().state(), BoxState::ResultsIn);
    for _ in 0..2 {
        lab::read_again(&mut book, report, &lab::Answers::default()).unwrap();
        assert_eq!(blocks(&book), [Some(east), Some(west)]);
    }
    assert_eq!(due(&book, "West", date(2026, 11, 1)), Due::NotYet);
    book.remove_report(report).unwrap();
    assert_eq!(book.sample_box(b.id).unwrap().state(), BoxState::Sent);
}

#[test]
fn labels_are_digits_that_no_program_takes_for_a_date() {
    let labels: Vec<String> = ["2601", "2699", "Barn", "27x", "26"]
        .map(str::to_owned)
        .to_vec();
    let next = |year| sampling::next_label(&labels, date(year, 1, 1));
    assert_eq!(next(2026), "26100");
    assert_eq!(next(2027), "2701");
    assert_eq!(next(2005), "0501");
}

#[test]
fn what_a_sample_costs_is_known_only_when_each_fee_is() {
    let folder = TempDir::new().unwrap();
    let mut book = farm(&folder);
    book.set_lab_fee("standard", Some(18.0)).unwrap();
    let today = date(2026, 10, 20);
    let of = |book: &Book| {
        let plan = sampling::of_farm(book, today).unwrap();
        let house = plan.block(id(book, "House")).unwrap();
        plan.fee(house.tests())
    };
    assert_eq!(of(&book), (18.0, vec![TestKind::BufferPh, TestKind::Salts]));
    book.set_lab_fee("buffer_ph", Some(0.0)).unwrap();
    book.set_lab_fee("salts", Some(6.5)).unwrap();
    assert_eq!(of(&book), (24.5, vec![]));
}

#[test]
fn every_block_of_the_demo_is_told_why_and_walked() {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("demo.book"), 2027).unwrap();
    let far = date(2040, 10, 20);
    let plan = sampling::of_farm(&book, far).unwrap();
    assert_eq!(plan.blocks.len(), 14);
    let in_groups: usize = plan.sharing.together.iter().map(|t| t.blocks.len()).sum();
    assert_eq!(in_groups + plan.sharing.alone.len(), 14);
    for b in &plan.blocks {
        assert!(!b.why_due.is_empty() && !b.when.is_empty() && !b.depth.is_empty());
        assert_eq!(b.asks[0].0, TestKind::Standard);
        let tunnel = b.block.kind == BlockKind::Tunnel;
        assert_eq!(
            b.asks.iter().any(|(k, _)| *k == TestKind::Salts),
            tunnel,
            "{}",
            b.block.name
        );
    }
    // The same gets the same walk as its own page.
    let picks: Vec<Vec<i64>> = plan.blocks.iter().map(|b| vec![b.block.id]).collect();
    sampling::make(&mut book, &plan, &picks, Purpose::Standard, far).unwrap();
    let boxes: Vec<SampleBox> = book.boxes().unwrap();
    let walks = paper::walks(&book, &boxes, far).unwrap();
    assert_eq!(walks.len(), 14);
    for (w, b) in walks.iter().zip(&boxes) {
        let own =
            farmwork::core_walk::of_block(&book, b.block, &farmwork::core_walk::Ask::default())
                .unwrap();
        let places: Vec<_> = w
            .cores
            .iter()
            .map(|c| c.place.as_ref().unwrap().to_string())
            .collect();
        let there: Vec<_> = own.walk.cores.iter().map(|c| c.told.clone()).collect();
        assert_eq!(places, there, "{}", w.block);
    }
    let labels = paper::labels(&book, &boxes, "http://localhost:8737").unwrap();
    assert!(labels.iter().zip(&boxes).all(|(l, b)| {
        l.address == Some(format!("http://localhost:8737/sampling/box/{}", b.id))
    }));
}
