//! The farm’s own soil temperatures: as they are typed, and what they do to the days of a plan.

#![allow(clippy::unwrap_used)] // helpers stand outside the test functions

use agronomy::material::Pass;
use farmbook::{Book, SoilPlace, SoilTime};
use farmwork::calendar::{self, Application, State};
use farmwork::demo;
use farmwork::planning::{self, Made};
use farmwork::soil_temperature::{Degrees, How, SoilTemperatures, SoilYear, listed, shown, typed};
use jiff::civil::{Date, date};
use planner::Amount;
use std::collections::BTreeMap;
use tempfile::TempDir;

const TODAY: Date = date(2027, 3, 20);

fn read(text: &str) -> Result<BTreeMap<SoilTime, f64>, String> {
    typed(text, Degrees::Fahrenheit, TODAY)
}

#[test]
fn lists_are_read_in_either_unit_and_come_back_as_they_were() {
    let all = read("2027-03-15 50\nweek 20\t59 °F\n\nw21, 15C\n22; -1.5 °C\r\n").unwrap();
    let at = |t: SoilTime| all[&t];
    assert!((at(SoilTime::Day(date(2027, 3, 15))) - 10.0).abs() < 1e-9);
    assert!((at(SoilTime::Week(20)) - 15.0).abs() < 1e-9);
    assert!((at(SoilTime::Week(21)) - 15.0).abs() < 1e-9);
    assert!((at(SoilTime::Week(22)) + 1.5).abs() < 1e-9);
    for degrees in [Degrees::Fahrenheit, Degrees::Celsius] {
        let again = typed(&listed(&all, degrees), degrees, TODAY).unwrap();
        assert_eq!(again.len(), 4);
        for (time, celsius) in &all {
            assert!((again[time] - celsius).abs() < 1e-4, "{time:?}");
        }
    }
    assert_eq!(shown(10.0), "50 °F (10 °C)");
    assert!(read("").unwrap().is_empty());
}

#[test]
fn what_does_not_fit_is_told_with_its_line() {
    for (text, named) in [
        ("2027-03-15 50\nMarch 50", "Line 2"),
        ("week 0 50", "week"),
        ("53 50", "week of the year"),
        ("2027-03-15", "temperature"),
        ("2027-03-15 warm", "warm"),
        ("2027-03-15 400", "400"),
        ("2027-03-15 NaN", "NaN"),
        ("2027-04-01 50", "still to come"),
        ("12 50\n12 51", "Line 2: 12 stands twice"),
        ("2027-02-30 50", "2027-02-30"),
        ("12 °", "temperature"),
    ] {
        let why = read(text).unwrap_err();
        assert!(why.contains(named), "{text}: {why}");
    }
}

#[test]
fn what_was_measured_stands_before_what_was_given() {
    let year =
        SoilYear::new(&read("week 11 40\n2027-03-15 44\n2027-03-16 46\n2026-03-24 41").unwrap());
    // 12 to 18 March are week 11 of 2027; of 2028 too, a leap day on, from the 11th.
    let known = year.at(date(2027, 3, 12)).unwrap();
    assert!((known.celsius - 45.0_f64.mul_add(1.0, -32.0) / 1.8).abs() < 1e-9);
    assert_eq!(known.how, How::Measured);
    assert_eq!(year.at(date(2028, 3, 15)).unwrap().how, How::Given);
    assert_eq!(year.at(date(2027, 3, 24)).unwrap().how, How::OtherYears);
    assert!(year.at(date(2027, 7, 1)).is_none());
}

fn planned() -> (TempDir, Book, Made) {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    let made = planning::make(&mut book).unwrap();
    (folder, book, made)
}

fn only(
    book: &Book,
    made: &Made,
    (block, material, pass): (&str, &str, Pass),
    today: Date,
) -> Application {
    let mut made = made.clone();
    made.plan.amounts = vec![Amount {
        block: book.block_by_name(block).unwrap().unwrap().id.to_string(),
        material: material.to_owned(),
        lb: 100.0,
        pass: pass.key().to_owned(),
    }];
    calendar::of_plan(book, &made, today)
        .unwrap()
        .applications
        .remove(0)
}

#[test]
fn days_of_a_plan_move_only_where_the_soil_is_known() {
    let (_folder, mut book, made) = planned();
    let today = date(2027, 3, 2);
    let days = |book: &Book| calendar::of_plan(book, &made, today).unwrap().applications;
    let before = days(&book);
    // Warm ground moves nothing, nor does what is known of tunnels move open ground.
    let warm = read("week 9 60").unwrap();
    book.set_soil_temperatures(SoilPlace::Open, &warm).unwrap();
    assert_eq!(days(&book), before);
    let lime = ("Barn Field", "lime_calcitic", Pass::Spring);
    let plain = only(&book, &made, lime, today);
    let frozen = typed("week 9 -1\nweek 10 0.5", Degrees::Celsius, TODAY).unwrap();
    book.set_soil_temperatures(SoilPlace::Cover, &frozen)
        .unwrap();
    assert_eq!(only(&book, &made, lime, today), plain);

    assert_eq!(plain.state, State::Open);
    // Frozen for longer than lime can wait, it goes on late and says why.
    let longer = typed("week 9 -1\nweek 10 0", Degrees::Celsius, TODAY).unwrap();
    book.set_soil_temperatures(SoilPlace::Open, &longer)
        .unwrap();
    let held = only(&book, &made, lime, today);
    assert_eq!(
        (held.state, held.on),
        (State::Late, Some(date(2027, 3, 12)))
    );
    assert!(held.says.contains("frozen"), "{}", held.says);

    book.set_soil_temperatures(SoilPlace::Open, &frozen)
        .unwrap();
    let held = only(&book, &made, lime, today);
    assert_eq!(held.state, State::NotYet);
    // Week 9 ends on 4 March.
    assert!(held.on.unwrap() >= date(2027, 3, 5));
    assert!(
        held.says.contains("frozen") && held.says.contains("2027-03-05"),
        "{}",
        held.says
    );
    let w = held.window.unwrap();
    assert!(
        w.notes.iter().any(|n| n.text.contains("30.2 °F (−1 °C)")),
        "{:?}",
        w.notes
    );
    // In a tunnel it holds by what is known of tunnels.
    let tunnel = ("Tunnel 1", "lime_calcitic", Pass::Spring);
    assert!(
        !only(&book, &made, tunnel, today)
            .window
            .unwrap()
            .closed
            .is_empty()
    );

    book.undo_last().unwrap();
    assert_eq!(only(&book, &made, lime, today).state, State::Late);
    book.set_soil_temperatures(SoilPlace::Open, &BTreeMap::new())
        .unwrap();
    book.set_soil_temperatures(SoilPlace::Cover, &BTreeMap::new())
        .unwrap();
    assert_eq!(days(&book), before);
}

#[test]
fn frozen_through_it_is_late_or_shut_and_offers_a_way() {
    let (_folder, mut book, made) = planned();
    let lime = ("Barn Field", "lime_calcitic", Pass::Spring);
    let all: BTreeMap<SoilTime, f64> = (1..=52).map(|w| (SoilTime::Week(w), -2.0)).collect();
    book.set_soil_temperatures(SoilPlace::Open, &all).unwrap();
    let a = only(&book, &made, lime, date(2027, 3, 2));
    assert_eq!(a.state, State::Shut);
    assert!(a.on.is_none() && !a.ways.is_empty());
    assert!(a.says.contains("frozen"), "{}", a.says);
}

#[test]
fn cold_weeks_put_sulfur_and_slow_meals_further_ahead() {
    let (_folder, mut book, made) = planned();
    let today = date(2027, 1, 10);
    for (job, days) in [
        (("Blueberry Row", "sulfur", Pass::Spring), None),
        (("Barn Field", "feather_meal", Pass::Spring), Some(30)),
    ] {
        let plain = only(&book, &made, job, today);
        // April is cold by the farm's own thermometer.
        let april = typed(
            "week 14 8\nweek 15 9.9\nweek 16 10",
            Degrees::Celsius,
            TODAY,
        )
        .unwrap();
        book.set_soil_temperatures(SoilPlace::Open, &april).unwrap();
        let cold = only(&book, &made, job, today);
        book.undo_last().unwrap();
        let (Some(plain), Some(cold)) = (plain.window, cold.window) else {
            assert!(days.is_none(), "{job:?}");
            continue;
        };
        if days.is_some() {
            let fourteen = plain
                .latest
                .day
                .checked_sub(jiff::ToSpan::days(14))
                .unwrap();
            assert_eq!(cold.latest.day, fourteen, "{}", cold.latest.why);
            assert!(
                cold.latest.why.contains("2 weeks did not"),
                "{}",
                cold.latest.why
            );
        } else {
            assert!(cold.latest.day <= plain.latest.day);
        }
    }
}

#[test]
fn weeks_of_nitrogen_go_by_the_farm_s_own_where_it_has_them() {
    let (_folder, mut book, made) = planned();
    let n = farmwork::needs::all(&book)
        .unwrap()
        .into_iter()
        .find(|n| n.reading.block.name == "Barn Field")
        .unwrap();
    let choices = farmwork::supply::chosen(&book).unwrap();
    let weeks = |book: &Book| {
        let soil = SoilTemperatures::of(book).unwrap();
        let soil = soil.on(n.reading.block.kind);
        farmwork::nitrogen_weeks::of_block(&n, &made, &choices, soil).unwrap()
    };
    let invented = weeks(&book);
    assert!(invented.sources.iter().any(|s| s.text.contains("invented")));
    let all: BTreeMap<SoilTime, f64> = (1..=52).map(|w| (SoilTime::Week(w), 21.0)).collect();
    book.set_soil_temperatures(SoilPlace::Open, &all).unwrap();
    let own = weeks(&book);
    assert!(own.weeks.iter().all(|w| (w.soil_c - 21.0).abs() < 1e-9));
    assert!(
        own.sources
            .iter()
            .any(|s| s.text == "your own soil temperatures")
    );
    assert!(!own.sources.iter().any(|s| s.text.contains("invented")));
    let some = BTreeMap::from([(SoilTime::Week(20), 21.0)]);
    book.set_soil_temperatures(SoilPlace::Open, &some).unwrap();
    let mixed = weeks(&book);
    assert!(
        mixed.sources.iter().any(|s| s.text.contains("for 1 of")),
        "{:?}",
        mixed.sources
    );
}
