//! The adviser's page and the draft of a nutrient plan: what they say adds up with the plan and the record,
//! and nothing is made up where nothing is known.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers stand outside the test functions

use farmbook::{Book, Done, Farm, MarkKind, Spread};
use farmwork::adviser::{self, AdviserSheet};
use farmwork::nutrient_plan::{self, NutrientPlan};
use farmwork::planning::{self, Made};
use farmwork::{demo, needs};
use jiff::civil::{Date, date};
use planner::Nutrient;
use quantity::Weight;
use std::sync::LazyLock;
use tempfile::TempDir;

const TODAY: Date = date(2026, 11, 25);

/// The invented farm with its plan, made once.
static PLANNED: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    let early = date(2026, 11, 20).in_tz("UTC").unwrap();
    book.set_clock(move || early.clone());
    planning::make(&mut book).unwrap();
    folder
});

fn book() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let to = folder.path().join("farm.book");
    std::fs::copy(PLANNED.path().join("farm.book"), &to).unwrap();
    let mut book = Book::open(&to).unwrap();
    let later = date(2026, 11, 25).in_tz("UTC").unwrap();
    book.set_clock(move || later.clone());
    (folder, book)
}

fn made(book: &Book) -> Made {
    planning::latest(book).unwrap().unwrap()
}

fn line<'a>(sheet: &'a AdviserSheet, name: &str) -> &'a adviser::AccountLine {
    sheet
        .account
        .iter()
        .find(|a| a.nutrient.contains(name))
        .unwrap()
}

#[test]
fn every_block_has_its_page_with_all_parts() {
    let (_folder, book) = book();
    let all = adviser::of_farm(&book, TODAY).unwrap();
    assert_eq!(all.len(), book.blocks().unwrap().len());
    for s in &all {
        assert!(!s.tests.columns.is_empty(), "{}", s.block);
        assert!(s.tests.columns.iter().all(|c| !c.lab.is_empty()));
        for row in &s.tests.rows {
            assert_eq!(row.values.len(), s.tests.columns.len(), "{}", row.name);
        }
        let known: Vec<_> = s.needs.iter().filter(|n| n.asked.is_some()).collect();
        assert!(!known.is_empty(), "{}", s.block);
        for n in known {
            assert!(!n.basis.is_empty(), "{}: {}", s.block, n.nutrient);
            assert!(
                n.need == 0.0 || !n.sources.is_empty(),
                "{}: {}",
                s.block,
                n.nutrient
            );
        }
        assert!(!s.working.is_empty() && !s.lime.is_empty(), "{}", s.block);
    }
    // A class comes with its chance.
    let rows = all.iter().flat_map(|s| &s.tests.rows);
    let classed: Vec<_> = rows.filter(|r| r.name == "Phosphorus").collect();
    assert!(!classed.is_empty());
    assert!(
        classed
            .iter()
            .all(|r| r.chance.ends_with('%') && r.method == "Mehlich-3"),
        "{classed:?}"
    );
}

#[test]
fn the_account_is_that_of_the_plan_and_moves_with_the_record() {
    let (_folder, mut book) = book();
    let plan = made(&book);
    let before = adviser::of_farm(&book, TODAY).unwrap();
    for s in &before {
        let id = s.block_id.to_string();
        let of = needs::one(&book, s.block_id).unwrap();
        for (nutrient, name) in [
            (Nutrient::N, "(N)"),
            (Nutrient::P2o5, "P2O5"),
            (Nutrient::K2o, "K2O"),
        ] {
            let a = line(s, name);
            let balance = plan
                .plan
                .balances
                .iter()
                .find(|b| b.block == id && b.nutrient == nutrient);
            let supplied = balance.map_or(0.0, |b| b.supplied_lb) / s.acres;
            assert!(
                (a.planned - supplied).abs() < 0.01,
                "{} {name}: {} is planned, {supplied} by the plan",
                s.block,
                a.planned
            );
            assert_eq!(a.spread, 0.0);
            assert!((a.left - (a.spread + a.planned - a.need)).abs() < 1e-9);
            assert_eq!(a.need, of.line(nutrient).map_or(0.0, |l| l.need));
            let by: f64 = a.planned_by.iter().map(|(_, lb)| lb).sum();
            assert!((by - a.planned).abs() < 1e-9);
        }
    }
    // What goes on moves from what is planned to what went on, and the sum stays.
    let job = plan
        .plan
        .amounts
        .iter()
        .filter(|a| a.material == "feather_meal")
        .max_by(|a, b| a.lb.total_cmp(&b.lb))
        .unwrap();
    let mut entry = Spread::new(
        2027,
        date(2026, 11, 24),
        job.block.parse().unwrap(),
        &job.material,
        Weight::pounds(job.lb),
    );
    entry.pass.clone_from(&job.pass);
    entry.how = Done::AsPlanned;
    book.log_spread(&entry).unwrap();
    let id = entry.block;
    let was = before.iter().find(|s| s.block_id == id).unwrap();
    let now = adviser::of_block(&book, id, TODAY).unwrap();
    let (a, b) = (line(was, "(N)"), line(&now, "(N)"));
    assert!(b.spread > 0.0 && b.planned < a.planned);
    assert!(
        (a.planned - (b.spread + b.planned)).abs() < 0.05,
        "{a:?} {b:?}"
    );
    assert_eq!(now.spread.len(), 1);
    assert!(
        now.plan.iter().any(|l| l.done.contains("done")),
        "{:?}",
        now.plan
    );
}

fn draft(book: &Book) -> NutrientPlan {
    nutrient_plan::of_farm(book, TODAY).unwrap()
}

#[test]
fn the_budget_counts_every_source_once() {
    let (_folder, book) = book();
    let plan = draft(&book);
    assert_eq!(plan.fields.len(), 14);
    let mut credited = 0;
    for f in &plan.fields {
        let b = &f.budget;
        for at in 0..3 {
            let all = b.credits.iter().chain(&b.spread).chain(&b.planned);
            let sum: f64 = all.map(|s| s.lb[at]).sum();
            assert!((sum - b.total.given[at]).abs() < 1e-9, "{}", f.sheet.block);
        }
        // A material that brings all three stands on one line.
        let mut names: Vec<&str> = b.planned.iter().map(|s| s.name.as_str()).collect();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count);
        credited += b.credits.len();
        // What the harvest carries off is that of the crop's table.
        let n = needs::one(&book, f.sheet.block_id).unwrap();
        let yields = n.reading.planting.as_ref().unwrap().yield_lb_per_acre;
        let printed = n.reading.crop.as_ref().unwrap().carried_off(yields);
        assert_eq!(b.removed.as_ref().map(|r| r.0), printed.map(|r| r.0));
    }
    assert!(credited > 3, "credits are sources too: {credited}");
}

#[test]
fn fields_asked_for_by_themselves_are_those_of_the_whole_draft() {
    let (_folder, mut book) = book();
    // Something went on, was corrected, was taken back and was picked.
    let blocks = book.blocks().unwrap();
    for (n, b) in blocks.iter().enumerate().take(3) {
        let (day, lb) = (date(2026, 11, 10 + n as i8), Weight::pounds(20.0));
        let went = Spread::new(2027, day, b.id, "feather_meal", lb);
        let first = book.log_spread(&went).unwrap();
        let mut better = Spread::new(2027, date(2026, 11, 2), b.id, "feather_meal", lb);
        better.weight = Weight::pounds([12.0, 0.0, 30.0][n]);
        better.corrects = Some(first);
        book.log_spread(&better).unwrap();
        let picked = farmbook::Harvest::new(2026, date(2026, 8, 4), b.id, lb);
        book.log_harvest(&picked).unwrap();
    }
    let whole = draft(&book);
    let ids: Vec<i64> = blocks.iter().rev().map(|b| b.id).collect();
    let mut fields = Vec::new();
    for some in ids.chunks(4) {
        fields.extend(nutrient_plan::fields(&book, some, TODAY).unwrap());
    }
    fields.reverse();
    let json = |f: &[nutrient_plan::Field]| serde_json::to_value(f).unwrap();
    assert!(json(&fields) == json(&whole.fields));
    // The front is that of all of them.
    let front = &whole.front;
    assert_eq!(front.count, fields.len());
    let acres: f64 = fields.iter().map(|f| f.sheet.acres).sum();
    assert!((front.acres - acres).abs() < 1e-9);
    assert_eq!(front.plan_of, fields[0].sheet.plan_of);
    assert_eq!(front.mapped, whole.map.is_some());
    let mut said: Vec<&str> = Vec::new();
    for c in fields.iter().flat_map(|f| &f.sheet.cautions) {
        if !said.contains(&c.text.as_str()) {
            said.push(&c.text);
        }
    }
    let cautions: Vec<&str> = front.cautions.iter().map(|c| c.text.as_str()).collect();
    assert!(said.len() > 3, "{said:?}");
    assert_eq!(cautions, said);
    let (spreads, harvests) = (book.spreads().unwrap(), book.harvests().unwrap());
    assert_eq!(
        (front.records.spreads, front.records.harvests),
        (spreads.len(), harvests.len())
    );
    let days = spreads.iter().map(|s| s.day);
    let days = days.chain(harvests.iter().map(|h| h.day));
    let arrivals = book.arrivals().unwrap();
    let days = days.chain(arrivals.iter().map(|a| a.day));
    assert_eq!(front.records.first, days.min());
}

#[test]
fn nothing_is_made_up_on_an_empty_farm() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("farm.book");
    let mut book = Book::create(&path, &Farm::new("Plover Bank", 2027)).unwrap();
    let plan = draft(&book);
    assert_eq!((plan.fields.len(), plan.front.acres), (0, 0.0));
    assert!(plan.map.is_none() && plan.front.plan_of.is_empty());
    assert_eq!(plan.front.records.first, None);
    assert_eq!(plan.front.sections.len(), 11);
    // A block of which only the ground is known.
    let shape = farmbook::Shape::Stated {
        area: quantity::Area::acres(0.5),
    };
    let id = book
        .add_block(&farmbook::Block::new(
            "Heron Field",
            farmbook::BlockKind::Field,
            shape,
        ))
        .unwrap();
    let s = adviser::of_block(&book, id, TODAY).unwrap();
    assert!(s.tests.columns.is_empty() && s.plan.is_empty() && s.crop.is_none());
    assert_eq!(s.yield_goal, "none set");
    assert!(s.doubts.iter().any(|d| d.contains("No soil test")));
    assert!(s.doubts.iter().any(|d| d.contains("no plan")));
    let plan = draft(&book);
    let f = &plan.fields[0];
    assert_eq!(f.phosphorus, "not tested");
    assert_eq!(f.test_age, None);
    assert!(f.near.is_empty() && !f.outlined && f.rotation.is_empty());
    assert_eq!(f.budget.total.asked, [None; 3]);
    assert_eq!(f.budget.total.given, [0.0; 3]);
    assert!(f.budget.removed.is_none());
}

#[test]
fn wells_and_water_stand_with_their_distance() {
    let (_folder, book) = book();
    let plan = draft(&book);
    let marks = book.marks().unwrap();
    let water = marks
        .iter()
        .filter(|m| matches!(m.kind, MarkKind::Well | MarkKind::Water))
        .count();
    for f in &plan.fields {
        let far = farmwork::setback::of_block(
            &book,
            f.sheet.block_id,
            &[MarkKind::Well, MarkKind::Water],
        )
        .unwrap();
        assert_eq!(f.near.len(), far.len());
        assert!(f.near.len() <= water);
        for (near, away) in f.near.iter().zip(&far) {
            assert_eq!(near.feet, away.distance.to_feet());
        }
    }
}
