//! A block’s own answer in its needs: used where its tests are strong, bounded, refusable, and never beyond
//! what the published figures say where there is no history.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{
    Analyte, Bound, Buffer, Extractant, Measured, Recommendable, Recommended, SoilTest,
};
use farmbook::{
    Block, BlockKind, Book, Farm, Harvest, Learnable, NewReport, NewTest, Planting, ReportStatus,
    Shape, Spread,
};
use farmwork::learned::{self, Decision, Standing};
use farmwork::needs::{self, Line};
use farmwork::{block_sheet, planning, supply};
use jiff::civil::{Date, date};
use planner::Nutrient;
use proptest::prelude::*;
use quantity::{Area, Weight};
use tempfile::TempDir;

const TODAY: Date = date(2027, 1, 9);

fn value(analyte: Analyte, value: f64) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: match analyte {
            Analyte::P => Some(Extractant::BrayP1),
            Analyte::K => Some(Extractant::AmmoniumAcetate),
            _ => None,
        },
        buffer: (analyte == Analyte::BufferPh).then_some(Buffer::Sikora),
        printed: value.to_string(),
        printed_unit: "ppm".into(),
    }
}

fn farm() -> (TempDir, Book, i64) {
    let folder = TempDir::new().unwrap();
    let mut at = Farm::new("Test", 2027);
    at.region = "Michigan".into();
    let mut book = Book::create(folder.path().join("farm.book"), &at).unwrap();
    let ground = Shape::Stated {
        area: Area::acres(2.0),
    };
    let id = book
        .add_block(&Block::new("Long Field", BlockKind::Field, ground))
        .unwrap();
    book.set_planting(&Planting::new(id, 2027, "cabbage"))
        .unwrap();
    (folder, book, id)
}

fn tested(book: &mut Book, block: i64, year: i16, found: &[(Analyte, f64)], printed: Option<f64>) {
    let report = NewReport {
        file_name: format!("{year}.csv"),
        bytes: year.to_string().into_bytes(),
        lab: Some("Alder".into()),
        layout: None,
        sampled_on: Some(date(year, 10, 12)),
        status: ReportStatus::Read,
    };
    let mut measured: Vec<Measured> = found.iter().map(|(a, v)| value(*a, *v)).collect();
    measured.push(value(Analyte::BufferPh, 6.5));
    let mut test = NewTest::new(SoilTest {
        sample: "LF".into(),
        depth_in: Some(6.67),
        measured,
        recommended: printed
            .map(|lb| Recommended {
                nutrient: Recommendable::Lime,
                lb_per_acre: lb,
                printed: lb.to_string(),
                printed_unit: "lb/acre".into(),
            })
            .into_iter()
            .collect(),
        ..SoilTest::default()
    });
    test.block = Some(block);
    book.add_report(&report, &[test]).unwrap();
}

fn limed(book: &mut Book, block: i64, day: Date, lb: f64) {
    let lime = Spread::new(
        i64::from(day.year()),
        day,
        block,
        "lime_calcitic",
        Weight::pounds(lb),
    );
    book.log_spread(&lime).unwrap();
}

/// Tests from 2022 on, lime each January between them.
fn with_history(ph: &[f64], lime: f64, printed: Option<f64>) -> (TempDir, Book, i64) {
    let (folder, mut book, id) = farm();
    let first = 2027 - ph.len() as i16;
    for (n, ph) in ph.iter().enumerate() {
        let year = first + n as i16;
        if n > 0 {
            limed(&mut book, id, date(year, 1, 5), lime);
        }
        let newest = year == 2026;
        tested(
            &mut book,
            id,
            year,
            &[(Analyte::Ph, *ph)],
            printed.filter(|_| newest),
        );
    }
    (folder, book, id)
}

fn need(book: &Book, id: i64, nutrient: Nutrient) -> Line {
    needs::one(book, id)
        .unwrap()
        .line(nutrient)
        .unwrap()
        .clone()
}

/// Half an answer, seen over four tests before the newest.
const HALF: [f64; 5] = [5.2, 5.45, 5.75, 5.95, 5.7];

#[test]
fn ground_that_answers_half_gets_more_lime_and_no_more_than_the_bound() {
    let (_folder, book, id) = with_history(&HALF, 6_000.0, None);
    let (_other, alone, one) = with_history(&[5.7], 0.0, None);
    let (taught, published) = (
        need(&book, id, Nutrient::Lime),
        need(&alone, one, Nutrient::Lime),
    );
    // Without a history the need is the published one and nothing is said.
    assert_eq!(published.own, None);
    let own = taught.own.clone().unwrap();
    assert_eq!(own.own.standing, Standing::Used, "{}", own.says);
    assert!((own.published - published.asked.unwrap()).abs() < 1e-9);
    let times = taught.asked.unwrap() / own.published;
    assert!((1.1..=1.5).contains(&times), "{}", own.says);
    assert!(own.low <= own.learned && own.learned <= own.high);
    assert!(own.high <= 1.5 * own.published + 1e-9);
    assert!(own.says.contains("is used"), "{}", own.says);
    assert!(taught.basis.contains("own answer"));
    // Each lime and each pair of tests stands in the working.
    let steps: Vec<&str> = own
        .own
        .taught
        .working
        .iter()
        .flat_map(|f| &f.working)
        .map(|s| s.what.as_str())
        .collect();
    for year in 2023..=2025 {
        assert!(
            steps
                .iter()
                .any(|s| s.starts_with(&format!("{year}-01-05"))),
            "{steps:?}"
        );
    }
    let (low, high) = taught.range.unwrap();
    assert!(low < taught.asked.unwrap() && taught.asked.unwrap() < high);
}

#[test]
fn what_is_refused_gives_exactly_the_published_need_until_it_is_taken_back() {
    let (_folder, mut book, id) = with_history(&HALF, 6_000.0, None);
    let (_other, alone, one) = with_history(&[5.7], 0.0, None);
    let published = need(&alone, one, Nutrient::Lime);
    let used = need(&book, id, Nutrient::Lime);
    learned::decide(&mut book, id, Learnable::Lime, Decision::Refuse, TODAY).unwrap();
    let refused = need(&book, id, Nutrient::Lime);
    assert_eq!(
        (refused.asked, refused.need, refused.range, &refused.basis),
        (
            published.asked,
            published.need,
            published.range,
            &published.basis
        )
    );
    assert_eq!(refused.ceiling, published.ceiling);
    let own = refused.own.unwrap();
    assert!(
        own.says.contains("You refused that on 2027-01-09"),
        "{}",
        own.says
    );
    book.undo_last().unwrap();
    assert_eq!(need(&book, id, Nutrient::Lime).asked, used.asked);
    learned::decide(&mut book, id, Learnable::Lime, Decision::Refuse, TODAY).unwrap();
    learned::decide(&mut book, id, Learnable::Lime, Decision::Forget, TODAY).unwrap();
    assert_eq!(need(&book, id, Nutrient::Lime).asked, used.asked);
}

#[test]
fn the_plan_and_the_block_sheet_go_by_it() {
    let (_folder, mut book, id) = with_history(&HALF, 6_000.0, None);
    supply::tick_usual(&mut book, false).unwrap();
    let made = planning::make(&mut book).unwrap();
    let lime = |made: &planning::Made| {
        made.problem.blocks[0]
            .needs
            .iter()
            .find(|n| n.nutrient == Nutrient::Lime)
            .unwrap()
            .lb_per_acre
    };
    let used = need(&book, id, Nutrient::Lime);
    assert!((lime(&made) - used.need).abs() < 1e-9);
    let sheet = block_sheet::of_plan(&book, &made).unwrap().remove(0);
    assert!(
        sheet
            .notes
            .iter()
            .any(|n| n.contains("by its own tests this block’s soil takes")),
        "{:?}",
        sheet.notes
    );
    // A refusal puts the plan out of date, and the next plan goes by the published figure.
    learned::decide(&mut book, id, Learnable::Lime, Decision::Refuse, TODAY).unwrap();
    let published = need(&book, id, Nutrient::Lime);
    assert!(published.asked < used.asked);
    let now = planning::latest(&book).unwrap().unwrap();
    assert_eq!(now.out_of_date, ["Long Field changed"]);
    let again = planning::make(&mut book).unwrap();
    assert!((lime(&again) - published.need).abs() < 1e-9);
}

#[test]
fn what_the_lab_printed_is_believed_first() {
    let (_folder, mut book, id) = with_history(&HALF, 6_000.0, Some(2_000.0));
    let line = need(&book, id, Nutrient::Lime);
    assert_eq!(line.asked, Some(2_000.0));
    let own = line.own.unwrap();
    assert!(
        !own.used && own.says.contains("believed first"),
        "{}",
        own.says
    );
    learned::decide(&mut book, id, Learnable::Lime, Decision::Take, TODAY).unwrap();
    let line = need(&book, id, Nutrient::Lime);
    assert!(line.asked.unwrap() > 2_000.0 && line.own.unwrap().used);
}

#[test]
fn a_short_history_is_offered_and_a_quiet_one_is_only_shown() {
    // Two tests before the newest: one pair may be one bad sample.
    let (_folder, mut book, id) = with_history(&[5.2, 5.4, 5.7], 6_000.0, None);
    let line = need(&book, id, Nutrient::Lime);
    let own = line.own.unwrap();
    assert!(
        matches!(own.own.standing, Standing::Offered { .. }),
        "{}",
        own.says
    );
    assert_eq!(line.asked, Some(own.published));
    learned::decide(&mut book, id, Learnable::Lime, Decision::Take, TODAY).unwrap();
    assert!(need(&book, id, Nutrient::Lime).asked.unwrap() > own.published);
    // Ground that answers as is published is offered, and not used by itself.
    let (_folder, book, id) = with_history(&[5.2, 5.5, 5.9, 6.2, 5.7], 3_000.0, None);
    let own = need(&book, id, Nutrient::Lime).own.unwrap();
    assert!(
        matches!(own.own.standing, Standing::Offered { .. }),
        "{}",
        own.says
    );
    // Where little was put on, the tests tell little, and nothing can be taken.
    let (_folder, mut book, id) = with_history(&[5.7, 5.7, 5.8, 5.6, 5.7], 60.0, None);
    let line = need(&book, id, Nutrient::Lime);
    let own = line.own.unwrap();
    assert!(
        matches!(own.own.standing, Standing::TooLittle { .. }),
        "{}",
        own.says
    );
    assert_eq!(line.asked, Some(own.published));
    let why = learned::decide(&mut book, id, Learnable::Lime, Decision::Take, TODAY).unwrap_err();
    assert!(why.to_string().contains("cannot be used yet"), "{why}");
    let why = learned::decide(&mut book, id, Learnable::P2o5, Decision::Refuse, TODAY).unwrap_err();
    assert!(why.to_string().contains("taught nothing"), "{why}");
}

#[test]
fn a_test_soon_after_lime_takes_no_part() {
    let (_folder, mut book, id) = with_history(&HALF, 6_000.0, None);
    let counted = |book: &Book| {
        need(book, id, Nutrient::Lime)
            .own
            .unwrap()
            .own
            .taught
            .counted
    };
    assert_eq!(counted(&book), 4);
    // What is learned is worked out again when the log changes.
    limed(&mut book, id, date(2024, 8, 1), 1_000.0);
    assert_eq!(counted(&book), 3);
    book.undo_last().unwrap();
    assert_eq!(counted(&book), 4);
}

/// Phosphate where the rate rests on build-up: bone meal each spring, and a test that rises by half of
/// what it should.
#[test]
fn build_up_goes_by_the_answer_and_what_the_harvest_takes_does_not() {
    let (_folder, mut book, id) = farm();
    let mut okra = Planting::new(id, 2027, "okra");
    okra.yield_lb_per_acre = Some(10_000.0);
    book.set_planting(&okra).unwrap();
    for (year, p) in [
        (2021, 8.0),
        (2022, 9.0),
        (2023, 11.0),
        (2024, 12.0),
        (2025, 14.0),
        (2026, 13.0),
    ] {
        if year > 2021 {
            let meal = Spread::new(
                i64::from(year),
                date(year, 4, 5),
                id,
                "bone_steamed",
                Weight::pounds(700.0),
            );
            book.log_spread(&meal).unwrap();
            let mut picked = Harvest::new(
                i64::from(year),
                date(year, 8, 1),
                id,
                Weight::pounds(2_000.0),
            );
            picked.crop = "okra".into();
            book.log_harvest(&picked).unwrap();
        }
        tested(
            &mut book,
            id,
            year,
            &[(Analyte::Ph, 6.5), (Analyte::P, p), (Analyte::K, 200.0)],
            None,
        );
    }
    let line = need(&book, id, Nutrient::P2o5);
    let own = line.own.clone().unwrap();
    assert_eq!(own.own.standing, Standing::Used, "{}", own.says);
    assert!(own.learned > own.published, "{}", own.says);
    learned::decide(&mut book, id, Learnable::P2o5, Decision::Refuse, TODAY).unwrap();
    let refused = need(&book, id, Nutrient::P2o5);
    let more = line.asked.unwrap() - refused.asked.unwrap();
    assert!((more - (own.learned - own.published)).abs() < 1e-9);
    assert!(
        refused.asked.unwrap() > own.published,
        "the harvest is in it"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the tests before it taught, a newest test that is more acid never asks for less lime, and
    /// the need keeps within its bounds.
    #[test]
    fn more_acid_never_needs_less(
        before in proptest::collection::vec(4.8f64..6.4, 2..6),
        newest in 4.8f64..6.4,
        lower in 0.02f64..0.8,
        lime in 0.0f64..9_000.0,
    ) {
        let asked = |ph: f64| {
            let mut all: Vec<f64> = before.iter().map(|p| (p * 100.0).round() / 100.0).collect();
            all.push(ph);
            let (_folder, book, id) = with_history(&all, lime, None);
            let line = needs::one(&book, id).unwrap().line(Nutrient::Lime).unwrap().clone();
            if let (Some(own), Some(asked)) = (&line.own, line.asked) {
                let times = asked / own.published;
                assert!((0.66..=1.501).contains(&times), "{}", own.says);
            }
            line.asked
        };
        if let (Some(at), Some(below)) = (asked(newest), asked((newest - lower).max(4.5))) {
            prop_assert!(below >= at - 1e-9, "{newest} asks {at}, {lower} lower asks {below}");
        }
    }
}
