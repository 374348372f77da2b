//! What lies too near to water gets none: in the plan, on the calendar and on the sheets, and never in
//! silence.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::material;
use agronomy::setback::Class;
use farmbook::{Block, BlockOutline, Book, MapMark, MarkKind, OwnSetback, Shape};
use farmwork::planning::{self, Made};
use farmwork::record::entry::Typed;
use farmwork::setback::{self, Setbacks};
use farmwork::{block_sheet, calendar, demo, job_sheet};
use ground::{Coordinates, GridUnit, Mark, Outline, Part, Spot};
use jiff::civil::{Date, date};
use planner::Nutrient;
use quantity::Length;
use std::sync::LazyLock;
use tempfile::TempDir;

const FEET: Coordinates = Coordinates::Grid(GridUnit::Feet);
const TODAY: Date = date(2027, 3, 1);

/// The invented farm with a plan; made once.
static PLANNED: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    planning::make(&mut book).unwrap();
    folder
});

fn book() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let to = folder.path().join("farm.book");
    std::fs::copy(PLANNED.path().join("farm.book"), &to).unwrap();
    let book = Book::open(&to).unwrap();
    (folder, book)
}

fn made(book: &Book) -> Made {
    planning::latest(book).unwrap().unwrap()
}

/// A field of the plan and a material on it that is kept from water, with its amount and pass.
fn some_job(book: &Book) -> (Block, String, f64, String) {
    let made = made(book);
    for a in &made.plan.amounts {
        let block = book.block(a.block.parse().unwrap()).unwrap();
        let class = Class::of(material::find(&a.material).unwrap());
        let fits = matches!(class, Some(Class::Compost | Class::Fertilizer));
        let once = made
            .plan
            .amounts
            .iter()
            .filter(|o| o.block == a.block && o.material == a.material)
            .count()
            == 1;
        if fits && once && a.lb > 20.0 && !matches!(block.shape, Shape::Beds { .. }) {
            return (block, a.material.clone(), a.lb, a.pass.clone());
        }
    }
    panic!("the plan has no such job");
}

/// Draws the block 400 ft long, with water along its whole west side, so many feet off.
fn beside_water(book: &mut Book, block: &Block, feet: f64) -> f64 {
    let wide = block.shape.spread_area().to_square_feet() / 400.0;
    let outer = vec![
        [feet, 0.0],
        [feet + wide, 0.0],
        [feet + wide, 400.0],
        [feet, 400.0],
    ];
    let outline = Outline {
        coordinates: FEET,
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    };
    book.set_outline(&BlockOutline::new(block.id, outline, "drawn"))
        .unwrap();
    book.set_mark(&MapMark {
        id: 0,
        kind: MarkKind::Water,
        name: "Mill Creek".to_owned(),
        mark: Mark {
            coordinates: FEET,
            spot: Spot::Line(vec![[0.0, -2_000.0], [0.0, 2_000.0]]),
            width: Some(Length::ZERO),
        },
    })
    .unwrap();
    wide
}

fn own(book: &mut Book, class: Class, feet: f64, local: bool) {
    book.set_setback(&OwnSetback {
        kind: MarkKind::Water,
        class,
        distance: Length::feet(feet),
        local,
    })
    .unwrap();
}

fn application(book: &Book, block: &Block, material: &str) -> Option<calendar::Application> {
    calendar::of_plan(book, &made(book), TODAY)
        .unwrap()
        .applications
        .into_iter()
        .find(|a| a.block_id == block.id && a.material_id == material)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * b.abs().max(1.0)
}

#[test]
fn the_strip_gets_none_before_and_after_the_plan_is_made_anew() {
    let (_folder, mut book) = book();
    let (block, material, lb, pass) = some_job(&book);
    let class = Class::of(material::find(&material).unwrap()).unwrap();
    let wide = beside_water(&mut book, &block, 0.0);
    // A fifth of the field: the published distance is set aside as the rule of the place.
    own(&mut book, class, wide / 5.0, true);
    assert!(!made(&book).out_of_date.is_empty());
    // The old plan counted with all of it; what was meant for the strip stays in the shed.
    let job = application(&book, &block, &material).unwrap();
    let strip = job.near.clone().unwrap();
    assert!((strip.share - 0.2).abs() < 1e-6, "{}", strip.share);
    assert!(near(job.lb, lb * 0.8), "{} {lb}", job.lb);
    assert!(strip.says().contains("Mill Creek") && strip.says().contains("gets none"));
    let sheet = job_sheet::of_plan(&book, &made(&book), TODAY, 5.0)
        .unwrap()
        .into_iter()
        .find(|j| j.block_id == block.id && j.material == material)
        .unwrap();
    assert!(near(sheet.lb, lb * 0.8) && sheet.near.is_some());
    let rate = lb / (block.shape.spread_area().to_square_feet() / 1_000.0);
    assert!(near(sheet.lb_per_1000_ft2, rate));
    let printed = block_sheet::of_plan(&book, &made(&book)).unwrap();
    let of_block = printed.iter().find(|s| s.block == block.name).unwrap();
    assert!(
        of_block
            .lines
            .iter()
            .any(|l| near(l.lb, lb * 0.8) && l.how.contains("Mill Creek"))
    );

    // The new plan counts with the ground that gets it, and its sheets take nothing off again.
    let made = planning::make(&mut book).unwrap();
    let asked = made
        .problem
        .blocks
        .iter()
        .find(|b| b.id == block.id.to_string())
        .unwrap();
    assert!((asked.share_of(&material) - 0.8).abs() < 1e-6);
    if let Some(a) = made
        .plan
        .amounts
        .iter()
        .find(|a| a.block == asked.id && a.material == material)
    {
        let job = application(&book, &block, &material).unwrap();
        assert!(near(job.lb, a.lb), "{} {}", job.lb, a.lb);
    }
    // What goes on the rest is never more to an acre than on the whole before: needs are by the acre.
    let n = |made: &Made, acres: f64| -> f64 {
        let b = block.id.to_string();
        let on: Vec<_> = made
            .plan
            .amounts
            .iter()
            .filter(|a| a.block == b && a.material == material)
            .collect();
        on.iter().map(|a| a.lb).sum::<f64>() / acres
    };
    let most = material::find(&material)
        .unwrap()
        .most
        .as_ref()
        .map(|m| m.lb_per_acre);
    if let Some(most) = most {
        assert!(n(&made, asked.acres * 0.8) <= most * (1.0 + 1e-9));
    }
    // Written down as planned, it is taken off by the ground that got it.
    let question = |book: &Book| planning::question(book).unwrap().problem;
    let need = |p: &planner::Problem| {
        let b = p
            .blocks
            .iter()
            .find(|b| b.id == block.id.to_string())
            .unwrap();
        b.needs
            .iter()
            .find(|n| n.nutrient == Nutrient::N)
            .map(|n| n.lb_per_acre)
    };
    let before = need(&question(&book));
    let typed = Typed {
        block: block.name.clone(),
        material: material.clone(),
        amount: "40 lb".to_owned(),
        day: "2027-03-01".to_owned(),
        pass,
        how: "partly".to_owned(),
        person: "Ana".to_owned(),
        ..Typed::default()
    };
    let entry = typed.entry(&book, TODAY).unwrap();
    book.log_spread(&entry).unwrap();
    let after = need(&question(&book));
    if let (Some(before), Some(after)) = (before, after) {
        let here = asked
            .supplies_here
            .iter()
            .find(|h| h.material == material && h.nutrient == Nutrient::N && h.pass == entry.pass);
        if let Some(here) = here {
            let taken = (before - after).min(before);
            let wanted = (40.0 * here.lb_per_lb / asked.acres).min(before);
            assert!((taken - wanted).abs() < 1e-6, "{taken} {wanted}");
        }
    }
}

#[test]
fn a_block_beside_water_gets_none_at_all() {
    let (_folder, mut book) = book();
    let (block, material, ..) = some_job(&book);
    let class = Class::of(material::find(&material).unwrap()).unwrap();
    beside_water(&mut book, &block, 1.0);
    own(&mut book, class, 5_000.0, false);
    let job = application(&book, &block, &material).unwrap();
    assert!(job.lb.abs() < 1e-9 && job.near.unwrap().whole());
    let question = planning::question(&book).unwrap();
    let asked = question
        .problem
        .blocks
        .iter()
        .find(|b| b.id == block.id.to_string())
        .unwrap();
    assert!(asked.refused.contains(&material));
    assert!(
        question
            .left_out
            .iter()
            .any(|l| l.contains("Mill Creek") && l.contains(&block.name))
    );
    let made = planning::make(&mut book).unwrap();
    assert!(
        !made
            .plan
            .amounts
            .iter()
            .any(|a| a.block == asked.id && a.material == material && a.lb > 0.0)
    );
}

#[test]
fn the_larger_distance_holds_unless_the_place_has_its_own_rule() {
    let (_folder, mut book) = book();
    let (block, ..) = some_job(&book);
    beside_water(&mut book, &block, 50.0);
    let feet = |book: &Book| {
        let rules = setback::rules(book).unwrap();
        let rule = rules
            .into_iter()
            .find(|r| r.kind == MarkKind::Water && r.class == Class::Manure);
        rule.unwrap().holds().unwrap().to_feet()
    };
    let strip = |book: &Book| {
        let near = Setbacks::of(book).unwrap().on_class(&block, Class::Manure);
        near.map_or(0.0, |n| n.share)
    };
    assert!(near(feet(&book), 100.0) && strip(&book) > 0.0);
    for (own_feet, local, wanted) in [
        (60.0, false, 100.0),
        (150.0, false, 150.0),
        (60.0, true, 60.0),
        (0.0, true, 0.0),
    ] {
        own(&mut book, Class::Manure, own_feet, local);
        assert!(near(feet(&book), wanted), "{own_feet} {local}");
    }
    assert!(strip(&book) == 0.0);
    book.undo_last().unwrap();
    assert!(near(feet(&book), 60.0) && strip(&book) > 0.0);
    book.clear_setback(MarkKind::Water, Class::Manure).unwrap();
    assert!(near(feet(&book), 100.0));
    // A region with a rule of its own: University of Missouri Extension G9219, Table 1.
    let farm = farmbook::Farm {
        region: "Missouri".to_owned(),
        ..book.farm().unwrap()
    };
    book.set_farm(&farm).unwrap();
    let rules = setback::rules(&book).unwrap();
    let well = rules
        .iter()
        .find(|r| r.kind == MarkKind::Well && r.class == Class::Manure);
    assert!(near(well.unwrap().holds().unwrap().to_feet(), 300.0));
    for wrong in [-1.0, 6_000.0, f64::NAN, f64::INFINITY] {
        let set = OwnSetback {
            kind: MarkKind::Well,
            class: Class::Lime,
            distance: Length::feet(wrong),
            local: false,
        };
        assert!(book.set_setback(&set).is_err(), "{wrong}");
    }
}
