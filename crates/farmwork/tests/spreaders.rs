//! Walks of the book, the settings for jobs, and what a season cost.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::spreader::{Found, Way};
use farmbook::{
    Block, BlockKind, Book, Bucket, Farm, OrderedLine, PlacedOrder, Shape, Spread, Supplier,
};
use farmwork::record::costs;
use farmwork::spreaders::{self, Typed};
use jiff::civil::{Date, date};
use proptest::prelude::*;
use quantity::{Area, Weight};
use tempfile::TempDir;

const TODAY: Date = date(2027, 3, 1);

fn book() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("farm.book");
    let book = Book::create(&path, &Farm::new("Pipit Lane", 2027)).unwrap();
    (folder, book)
}

fn typed(setting: &str, used: &str) -> Typed {
    let own = str::to_owned;
    Typed {
        spreader: own("Drop cart"),
        material: own("feather_meal"),
        setting: own(setting),
        width: own("3"),
        length: own("100"),
        used: own(used),
        ..Typed::default()
    }
}

fn keep(book: &mut Book, typed: &Typed) -> i64 {
    book.keep_walk(&typed.walk(TODAY).unwrap()).unwrap()
}

#[test]
fn what_was_typed_comes_back_to_be_corrected() {
    let (_folder, mut book) = book();
    let own = str::to_owned;
    let mut pans = typed("4", "");
    (pans.way, pans.width) = (own("broadcast"), String::new());
    (pans.pans, pans.spacing) = (own("2 4 4.5 4 2"), own("36 in"));
    (pans.before, pans.left) = (own("20 lb"), own("0"));
    let mut throw = typed("5", "12.25 lb");
    (throw.way, throw.overlap, throw.trips) = (own("broadcast"), own("15 %"), own("3"));
    let mut hand = typed("", "");
    (hand.way, hand.spreader) = (own("hand"), String::new());
    (hand.count, hand.of, hand.each) = (own("12"), own("cup"), own("5 oz"));
    for first in [typed("6½", "19 oz"), pans, throw, hand] {
        let id = keep(&mut book, &first);
        let kept = book.walk(id).unwrap();
        let again = Typed::of(&kept).unwrap().walk(TODAY).unwrap();
        assert_eq!(again.id, id);
        assert_eq!(again.spreader, kept.spreader);
        let rate = |w| spreaders::told(w).unwrap().rate.value;
        let (a, b) = (rate(kept), rate(again));
        assert!((a - b).abs() < 1e-5 * a, "{a} {b}");
    }
    let names: Vec<String> = book
        .walks()
        .unwrap()
        .into_iter()
        .map(|w| w.spreader)
        .collect();
    assert!(names.contains(&"by hand".to_owned()), "{names:?}");
}

#[test]
fn a_job_takes_the_walks_of_its_material_alone_and_the_newest_first() {
    let (_folder, mut book) = book();
    keep(&mut book, &typed("4", "0.6"));
    keep(&mut book, &typed("8", "1.8"));
    let mut other = typed("1", "9");
    other.material = "lime_calcitic".to_owned();
    keep(&mut book, &other);
    let all = spreaders::all(&book).unwrap();
    assert_eq!(all.len(), 2);
    // 8 lb in two passes of 4, midway between 2 lb at 4 and 6 lb at 8.
    let set = spreaders::for_job(&all, "feather_meal", 8.0, 2.0, Some(24.0));
    assert_eq!(set.len(), 1);
    assert_eq!((set[0].passes, set[0].way), (2, Way::Drop));
    let Found::Between { mark, lower, upper } = &set[0].found else {
        panic!("{set:?}");
    };
    assert!((mark - 6.0).abs() < 1e-9);
    assert_eq!((lower.as_str(), upper.as_str()), ("4", "8"));
    // 24 lb at 4 lb on 1,000 ft2 and 3 ft wide.
    assert!((set[0].feet_per_bucket.unwrap() - 2_000.0).abs() < 1e-6);
    assert!(
        set[0]
            .says("a bed")
            .contains("setting about 6, in two passes"),
        "{}",
        set[0].says("a bed")
    );
    assert!(spreaders::for_job(&all, "gypsum", 8.0, 2.0, None).is_empty());
    let beyond = spreaders::for_job(&all, "feather_meal", 90.0, 2.0, None);
    assert!(
        beyond[0]
            .says("a bed")
            .contains("Walk a larger setting first"),
        "{}",
        beyond[0].says("a bed")
    );
    let low = spreaders::for_job(&all, "feather_meal", 0.5, 2.0, None);
    assert!(
        low[0]
            .says("a bed")
            .contains("Walk a smaller setting first"),
        "{}",
        low[0].says("a bed")
    );
}

#[test]
fn handfuls_are_counted_for_a_bed() {
    let (_folder, mut book) = book();
    let mut hand = typed("", "");
    hand.way = "hand".to_owned();
    (hand.count, hand.each) = ("10".to_owned(), "4 oz".to_owned());
    keep(&mut book, &hand);
    let all = spreaders::all(&book).unwrap();
    let set = spreaders::for_job(&all, "feather_meal", 22.0, 5.5, Some(24.0));
    assert_eq!(set[0].counted, Some(("handful".to_owned(), 22.0)));
    assert_eq!(set[0].says("a bed"), "Drop cart: about 22 handfuls a bed.");
    // Thrown without counting, the buckets decide.
    let mut thrown = typed("", "2.5 lb");
    thrown.way = "hand".to_owned();
    keep(&mut book, &thrown);
    let all = spreaders::all(&book).unwrap();
    assert!(spreaders::for_job(&all, "feather_meal", 22.0, 5.5, None).is_empty());
}

#[test]
fn a_weighed_bucket_serves_for_one_of_another_size() {
    let (_folder, mut book) = book();
    let bucket = |material: &str, gallons, lb: Option<f64>| Bucket {
        material: material.to_owned(),
        gallons,
        weight: lb.map(Weight::pounds),
        measured_on: None,
    };
    book.set_bucket(&bucket("feather_meal", 5.0, Some(21.0)))
        .unwrap();
    book.set_bucket(&bucket("", 2.0, None)).unwrap();
    let all = spreaders::full_buckets(&book).unwrap();
    assert_eq!(all.len(), 1);
    assert!((all[0].lb.unwrap() - 8.4).abs() < 1e-9);
    book.forget_bucket("feather_meal").unwrap();
    assert!(spreaders::full_buckets(&book).unwrap().is_empty());
    assert!(book.forget_bucket("feather_meal").is_err());
}

#[test]
fn deliveries_count_once_for_an_order_of_which_something_came() {
    let (_folder, mut book) = book();
    let ground = Shape::Stated {
        area: Area::acres(0.5),
    };
    let block = book
        .add_block(&Block::new("North", BlockKind::Field, ground))
        .unwrap();
    book.set_supplier(&Supplier {
        name: "Hollow Mill".to_owned(),
        delivery: 35.0,
        free_from: Some(500.0),
        ..Supplier::default()
    })
    .unwrap();
    let mut place = |cents: i64, came: bool| {
        let mut order = PlacedOrder::new(2027, TODAY, "hollow mill");
        order.lines.push(OrderedLine {
            material: "feather_meal".to_owned(),
            count: 2,
            pack: "50 lb bag".to_owned(),
            weight: Weight::pounds(100.0),
            cents: Some(cents),
        });
        let id = book.place_order(&order).unwrap();
        if came {
            let mut a =
                farmbook::Arrival::new(TODAY, "Hollow Mill", "feather_meal", Weight::pounds(100.0));
            (a.order, a.paid) = (Some(id), Some(cents));
            book.log_arrival(&a).unwrap();
        }
    };
    place(5_000, true);
    place(5_000, false);
    place(90_000, true);
    book.log_spread(&Spread::new(
        2027,
        TODAY,
        block,
        "feather_meal",
        Weight::pounds(40.0),
    ))
    .unwrap();
    let all = costs::of(&book, 2027).unwrap();
    assert_eq!((all.deliveries, all.delivery), (1, 35.0));
    // 950 for 200 lb, of which 40 went on half an acre.
    assert!((all.money - 190.0).abs() < 1e-9, "{}", all.money);
    assert!((all.blocks[0].per_acre.unwrap() - 380.0).abs() < 1e-9);
    let n = &all.materials[0];
    assert!((n.per_lb[0].unwrap() * all.nutrients[0].lb - all.money).abs() < 1e-9);
    let seasons = costs::seasons(&book).unwrap();
    assert_eq!(seasons.len(), 1);
    assert!((seasons[0].money - all.money).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn blocks_crops_and_materials_add_up_to_the_same_money(
        spreads in prop::collection::vec((0usize..3, 0usize..2, 1i64..400_000), 0..12),
    ) {
        let (_folder, mut book) = book();
        let ids: Vec<i64> = ["A", "B", "C"].iter().map(|name| {
            let ground = Shape::Stated { area: Area::acres(0.3) };
            book.add_block(&Block::new(*name, BlockKind::Field, ground)).unwrap()
        }).collect();
        for (i, material) in ["feather_meal", "gypsum"].iter().enumerate() {
            let mut a = farmbook::Arrival::new(TODAY, "Mill", *material, Weight::pounds(100.0));
            a.paid = Some(3_700 + 1_900 * i as i64);
            book.log_arrival(&a).unwrap();
        }
        for (block, material, weight) in &spreads {
            let material = ["feather_meal", "gypsum"][*material];
            let weight = Weight::hundredths_of_an_ounce(*weight);
            book.log_spread(&Spread::new(2027, TODAY, ids[*block], material, weight)).unwrap();
        }
        let mut all = costs::of(&book, 2027).unwrap();
        costs::sort(&mut all, "acre");
        let near = |sum: f64| (sum - all.money).abs() < 1e-6;
        prop_assert!(near(all.blocks.iter().map(|s| s.money).sum()));
        prop_assert!(near(all.crops.iter().map(|s| s.money).sum()));
        prop_assert!(near(all.materials.iter().filter_map(|m| m.money).sum()));
        prop_assert!(all.blocks.windows(2).all(|w| w[0].per_acre >= w[1].per_acre));
    }

    #[test]
    fn the_beds_take_what_the_block_takes(
        lb in 0.5..2_000.0_f64, beds in 1u32..60, length in 20.0..300.0_f64, width in 1.0..6.0_f64, full in 2.0..60.0_f64,
    ) {
        // Set by the rate of the whole block, a walk over every bed lays down the block’s amount.
        let (_folder, mut book) = book();
        let ground = f64::from(beds) * length * width;
        let rate = lb / ground * 1_000.0;
        let mut walk = typed("5", &format!("{} lb", rate / 2.0 * 0.3));
        walk.width = "3 ft".to_owned();
        prop_assume!(rate / 2.0 * 0.3 > 0.01);
        keep(&mut book, &walk);
        let all = spreaders::all(&book).unwrap();
        let set = spreaders::for_job(&all, "feather_meal", rate, lb / f64::from(beds), Some(full));
        let s = &set[0];
        let at = match &s.found {
            Found::At { lays, .. } => *lays,
            other => { prop_assert!(false, "{other:?}"); 0.0 }
        };
        // To the hundredth of an ounce that the walk was weighed to.
        let laid = at * f64::from(s.passes) * ground / 1_000.0;
        prop_assert!((laid / lb - 1.0).abs() < 0.05, "{laid} {lb}");
        let feet = s.feet_per_bucket.unwrap();
        prop_assert!((feet * 3.0 * rate / f64::from(s.passes) / 1_000.0 - full).abs() < 1e-6 * full);
    }
}
