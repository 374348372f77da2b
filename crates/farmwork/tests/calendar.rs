//! The calendar of the invented farm’s plan, on many days of its season.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::compost::{Making, Way};
use agronomy::material::{self, Pass};
use farmbook::{Book, CompostMade, Farm, Planting};
use farmwork::calendar::{self, Application, Calendar, Missing, State, ical};
use farmwork::planning::{self, Made};
use farmwork::{demo, ground_file};
use jiff::civil::{Date, date};
use planner::Amount;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use tempfile::TempDir;

/// The plan of the invented farm, made once.
static PLANNED: LazyLock<(TempDir, planner::Plan, planner::Problem)> = LazyLock::new(|| {
    let folder = TempDir::new().unwrap();
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    let made = planning::make(&mut book).unwrap();
    (folder, made.plan, made.problem)
});

fn book() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let to = folder.path().join("farm.book");
    // The book of the plan, with its log beside it, is copied whole.
    let from = PLANNED.0.path().join("farm.book");
    std::fs::copy(&from, &to).unwrap();
    let book = Book::open(&to).unwrap();
    (folder, book)
}

fn made(book: &Book) -> Made {
    planning::latest(book).unwrap().unwrap()
}

fn on(book: &Book, today: Date) -> Calendar {
    calendar::of_plan(book, &made(book), today).unwrap()
}

fn block(book: &Book, name: &str) -> i64 {
    book.block_by_name(name).unwrap().unwrap().id
}

/// The calendar of one application that the test asks for in place of the plan’s.
fn only(book: &Book, name: &str, material: &str, pass: Pass, today: Date) -> Application {
    let mut made = made(book);
    made.plan.amounts = vec![Amount {
        block: block(book, name).to_string(),
        material: material.to_owned(),
        lb: 100.0,
        pass: pass.key().to_owned(),
    }];
    calendar::of_plan(book, &made, today)
        .unwrap()
        .applications
        .remove(0)
}

fn set(book: &mut Book, name: &str, plant: Option<Date>, harvest: Option<Date>) {
    let id = block(book, name);
    let mut planting = book
        .plantings(2027)
        .unwrap()
        .into_iter()
        .find(|p| p.block == id)
        .unwrap();
    planting.plant_on = plant;
    planting.harvest_on = harvest;
    book.set_planting(&planting).unwrap();
}

fn days_of_the_season() -> impl Iterator<Item = Date> {
    (0..55).map(|n| {
        date(2026, 8, 1)
            .checked_add(jiff::ToSpan::days(n * 9))
            .unwrap()
    })
}

#[test]
fn every_application_of_the_plan_has_its_day_or_says_what_is_missing() {
    let (_folder, book) = book();
    let made = made(&book);
    let all = on(&book, date(2026, 11, 26));
    let planned = made.plan.amounts.iter().filter(|a| a.lb > 0.0).count();
    assert!(planned > 10, "{planned}");
    assert_eq!(all.applications.len(), planned);
    for a in &all.applications {
        assert!(!a.says.is_empty());
        match &a.window {
            None => {
                assert_eq!(a.state, State::Missing);
                assert!(!a.missing.is_empty() && a.on.is_none());
                assert!(a.says.contains(&a.block) && a.says.contains("set the"));
            }
            Some(w) => {
                for b in [
                    Some(&w.earliest),
                    Some(&w.best),
                    Some(&w.latest),
                    w.stop.as_ref(),
                ]
                .into_iter()
                .flatten()
                {
                    assert!(!b.why.is_empty() && !b.source.text.is_empty(), "{a:?}");
                }
                assert!(
                    w.stop.as_ref().is_none_or(|s| w.latest.day <= s.day),
                    "{a:?}"
                );
                if w.earliest.day <= w.latest.day {
                    assert!(
                        w.earliest.day <= w.best.day && w.best.day <= w.latest.day,
                        "{a:?}"
                    );
                }
            }
        }
    }
    // The herb beds are the ones whose days nobody set.
    let without: BTreeSet<&str> = all
        .in_state(State::Missing)
        .map(|a| a.block.as_str())
        .collect();
    assert!(without.iter().all(|b| *b == "Herb Beds"), "{without:?}");
    let mut days: Vec<_> = all.applications.iter().map(Application::listed).collect();
    days.retain(Option::is_some);
    assert!(days.is_sorted(), "{days:?}");
}

#[test]
fn on_every_day_what_is_late_says_so_and_offers_a_way() {
    let (_folder, book) = book();
    let made = made(&book);
    let mut seen = BTreeSet::new();
    for today in days_of_the_season() {
        let all = calendar::of_plan(&book, &made, today).unwrap();
        for a in &all.applications {
            seen.insert(a.state);
            let Some(w) = &a.window else { continue };
            match a.state {
                State::Shut => {
                    assert!(a.on.is_none());
                    let over = w.stop.as_ref().unwrap().day;
                    assert!(over < today || over < w.earliest.day, "{a:?}");
                }
                State::Late => {
                    let day = a.on.unwrap();
                    assert!(day >= today && day >= w.earliest.day);
                    assert!(w.stop.as_ref().is_none_or(|s| day <= s.day), "{a:?}");
                    assert!(a.says.starts_with("Late"), "{}", a.says);
                }
                State::Open => {
                    let day = a.on.unwrap();
                    assert!(day >= today && day <= w.latest.day && today >= w.earliest.day);
                }
                State::NotYet => assert!(a.on.unwrap() >= w.earliest.day),
                State::Missing => panic!("a window and nothing missing"),
                State::Done => panic!("nothing is written down"),
            }
            let late = matches!(a.state, State::Shut | State::Late);
            assert_eq!(late, !a.ways.is_empty(), "{today}: {a:?}");
        }
    }
    // Every one but what is done: nothing is written down.
    assert_eq!(seen.len(), State::ALL.len() - 1, "{seen:?}");
}

// Univ. of New Hampshire Extension: full reaction of ground limestone in 6 to 12 months. US Peace Corps:
// 2 to 6 months ahead of planting.
#[test]
fn limestone_goes_on_six_months_ahead_and_is_late_within_two() {
    let (_folder, mut book) = book();
    set(
        &mut book,
        "Creek Field",
        Some(date(2027, 5, 15)),
        Some(date(2027, 9, 15)),
    );
    let autumn = |today| only(&book, "Creek Field", "lime_calcitic", Pass::Autumn, today);
    let w = autumn(date(2026, 10, 1)).window.unwrap();
    // Six average months before 15 May.
    assert_eq!(w.best.day, date(2026, 11, 13));
    assert!(w.best.why.contains("6 to 12 months"), "{}", w.best.why);
    assert!(w.best.source.text.contains("New Hampshire"));
    assert_eq!(autumn(date(2026, 10, 1)).state, State::Open);
    assert_eq!(autumn(date(2026, 12, 2)).state, State::Late);
    let spring = |today| only(&book, "Creek Field", "lime_calcitic", Pass::Spring, today);
    let w = spring(date(2027, 2, 1)).window.unwrap();
    assert_eq!(w.latest.day, date(2027, 3, 16));
    assert!(w.latest.source.text.contains("Peace Corps"));
    assert_eq!(spring(date(2027, 3, 16)).state, State::Open);
    let late = spring(date(2027, 3, 17));
    assert_eq!(late.state, State::Late);
    // 60 days after that day it would be in time.
    assert!(
        late.ways
            .iter()
            .any(|w| w.contains("planting on 2027-05-16")),
        "{:?}",
        late.ways
    );
    assert_eq!(spring(date(2027, 5, 16)).state, State::Shut);
}

// Ontario Ministry of Agriculture: sulfur 3 to 12 months ahead of planting.
#[test]
fn sulfur_is_late_within_three_months() {
    let (_folder, mut book) = book();
    set(
        &mut book,
        "Road Field",
        Some(date(2027, 7, 1)),
        Some(date(2027, 10, 1)),
    );
    let a = only(
        &book,
        "Road Field",
        "sulfur",
        Pass::Spring,
        date(2027, 3, 1),
    );
    let w = a.window.unwrap();
    assert_eq!(w.latest.day, date(2027, 4, 1));
    assert!(w.latest.source.text.contains("Ontario"), "{:?}", w.latest);
}

// 7 CFR 205.203(c)(1): sweet corn does not touch the soil (90 days), carrots do (120 days).
#[test]
fn raw_manure_ends_with_its_wait_to_the_day() {
    let (_folder, mut book) = book();
    for (name, wait) in [("Barn Field", 90), ("Upper Field West", 120)] {
        set(
            &mut book,
            name,
            Some(date(2027, 5, 10)),
            Some(date(2027, 8, 20)),
        );
        let last = date(2027, 8, 20)
            .checked_sub(jiff::ToSpan::days(i64::from(wait)))
            .unwrap();
        let at = |today| only(&book, name, "manure_dairy", Pass::Spring, today);
        let kept = at(last.min(date(2027, 5, 9)));
        let w = kept.window.as_ref().unwrap();
        let by_rule = w.stop.as_ref().unwrap();
        if last < date(2027, 5, 10) {
            assert_eq!(by_rule.day, last, "{name}");
            assert!(by_rule.source.text.contains("205.203(c)(1)"));
            let shut = at(last.tomorrow().unwrap());
            assert_eq!(shut.state, State::Shut, "{name}");
            // The day after, the harvest would have to wait a day longer.
            let later = shut.ways.iter().any(|w| w.contains("2027-08-21"));
            assert!(later, "{name}: {:?}", shut.ways);
        } else {
            assert_eq!(
                by_rule.day,
                date(2027, 5, 10),
                "{name}: planting comes first"
            );
        }
        assert_ne!(kept.state, State::Shut, "{name}");
    }
    // Without the day of harvest nobody can tell.
    set(&mut book, "Barn Field", Some(date(2027, 5, 10)), None);
    let a = only(
        &book,
        "Barn Field",
        "manure_dairy",
        Pass::Spring,
        date(2027, 4, 1),
    );
    assert_eq!(
        (a.state, a.missing),
        (State::Missing, vec![Missing::HarvestDay])
    );
    set(&mut book, "Barn Field", None, None);
    let a = only(
        &book,
        "Barn Field",
        "manure_dairy",
        Pass::Spring,
        date(2027, 4, 1),
    );
    assert_eq!(a.missing, [Missing::PlantingDay, Missing::HarvestDay]);
    assert!(
        a.says.contains("planting day and the first day of harvest"),
        "{}",
        a.says
    );
}

// 7 CFR 205.203(c)(2): what was not made hot waits as raw manure does. 119 and 120 days for carrots, 89 and
// 90 for sweet corn.
#[test]
fn compost_that_was_not_made_hot_ends_with_the_wait_to_the_day() {
    let (_folder, mut book) = book();
    let kept =
        |book: &Book, name: &str, today| only(book, name, "compost_general", Pass::Spring, today);
    let harvests = [("Barn Field", 90), ("Upper Field West", 120)];
    for (name, _) in harvests {
        set(
            &mut book,
            name,
            Some(date(2027, 6, 20)),
            Some(date(2027, 8, 20)),
        );
        // As the invented farm made it, nothing waits for the harvest.
        let hot = kept(&book, name, date(2027, 4, 1)).window.unwrap();
        assert!(hot.stop.is_none_or(|s| !s.source.text.contains("205.203")));
    }
    book.set_compost(&CompostMade {
        material: "compost_general".to_owned(),
        lot: String::new(),
        made: Making::new(Way::NotHot),
    })
    .unwrap();
    for (name, wait) in harvests {
        let last = date(2027, 8, 20)
            .checked_sub(jiff::ToSpan::days(wait))
            .unwrap();
        let there = kept(&book, name, last);
        let stop = there.window.as_ref().unwrap().stop.clone().unwrap();
        assert_eq!(stop.day, last, "{name}");
        assert!(stop.why.contains("not made hot"), "{}", stop.why);
        assert_ne!(there.state, State::Shut, "{name}");
        let shut = kept(&book, name, last.tomorrow().unwrap());
        assert_eq!(shut.state, State::Shut, "{name}");
        assert!(shut.ways[0].contains("made hot"), "{:?}", shut.ways);
    }
    // Unticked after the plan was made it waits all the same.
    book.clear_material("compost_general").unwrap();
    let day = date(2027, 6, 1);
    assert_eq!(kept(&book, "Upper Field West", day).state, State::Shut);
}

// Univ. of Georgia: beet and carrot are sidedressed 4 to 6 weeks after planting. Clemson: slow meals take 1
// to 4 months until the nitrogen is there.
#[test]
fn nitrogen_goes_by_the_crop_and_the_meal() {
    let (_folder, mut book) = book();
    set(
        &mut book,
        "Upper Field West",
        Some(date(2027, 4, 10)),
        Some(date(2027, 7, 10)),
    );
    let a = only(
        &book,
        "Upper Field West",
        "blood_meal",
        Pass::Sidedress,
        date(2027, 3, 1),
    );
    let w = a.window.unwrap();
    assert_eq!(
        (w.earliest.day, w.latest.day),
        (date(2027, 5, 8), date(2027, 5, 22))
    );
    assert!(w.latest.source.text.contains("UGA"));
    let a = only(
        &book,
        "Upper Field West",
        "feather_meal",
        Pass::Spring,
        date(2027, 1, 1),
    );
    let w = a.window.unwrap();
    assert_eq!(w.latest.day, date(2027, 3, 11));
    assert!(
        w.earliest.day >= date(2026, 12, 11),
        "not more than 120 days ahead"
    );
    // Soluble nitrogen waits for the bed to be made ready.
    let a = only(
        &book,
        "Upper Field West",
        "amm_sulfate",
        Pass::Planting,
        date(2027, 1, 1),
    );
    let w = a.window.unwrap();
    assert_eq!(
        (w.earliest.day, w.stop.unwrap().day),
        (date(2027, 3, 27), date(2027, 4, 10))
    );
}

#[test]
fn the_harvest_of_last_year_opens_the_autumn() {
    let (_folder, mut book) = book();
    set(
        &mut book,
        "Creek Field",
        Some(date(2027, 6, 1)),
        Some(date(2027, 9, 15)),
    );
    let mut before = Planting::new(block(&book, "Creek Field"), 2026, "potato");
    before.harvest_on = Some(date(2026, 10, 25));
    book.set_planting(&before).unwrap();
    let a = only(
        &book,
        "Creek Field",
        "lime_calcitic",
        Pass::Autumn,
        date(2026, 9, 30),
    );
    assert_eq!(a.window.unwrap().earliest.day, date(2026, 10, 25));
    assert_eq!(a.state, State::NotYet);
}

#[test]
fn winter_ground_is_left_alone_and_a_tunnel_is_not() {
    let (_folder, mut book) = book();
    for name in ["Creek Field", "Tunnel 1"] {
        set(
            &mut book,
            name,
            Some(date(2027, 4, 20)),
            Some(date(2027, 7, 1)),
        );
    }
    let earliest = |name: &str| {
        let a = only(
            &book,
            name,
            "compost_general",
            Pass::Spring,
            date(2027, 1, 1),
        );
        (a.window.unwrap().earliest.day, a.conditions)
    };
    let (field, conditions) = earliest("Creek Field");
    assert_eq!(field, date(2027, 3, 1));
    assert!(conditions.iter().any(|c| c.text.contains("frozen")));
    assert!(conditions.iter().any(|c| c.text.contains("open water")));
    let (tunnel, conditions) = earliest("Tunnel 1");
    assert_eq!(tunnel, date(2027, 1, 1));
    assert!(conditions.is_empty());
}

#[test]
fn lime_and_ammonia_on_one_block_are_warned_of() {
    let (_folder, book) = book();
    let mut made = made(&book);
    let id = block(&book, "Creek Field").to_string();
    made.plan.amounts = ["lime_calcitic", "urea", "k_sulfate"]
        .map(|m| Amount {
            block: id.clone(),
            material: m.to_owned(),
            lb: 50.0,
            pass: "spring".to_owned(),
        })
        .to_vec();
    let all = calendar::of_plan(&book, &made, date(2027, 1, 1)).unwrap();
    for a in &all.applications {
        let warned = a.conditions.iter().any(|c| c.text.contains("ammonia"));
        assert_eq!(warned, a.material_id != "k_sulfate", "{}", a.material);
    }
}

#[test]
fn every_material_in_every_pass_has_a_window() {
    let (_folder, book) = book();
    let mut made = made(&book);
    for name in ["Creek Field", "Tunnel 1", "Blueberry Row"] {
        let id = block(&book, name).to_string();
        made.plan.amounts = material::materials()
            .iter()
            .flat_map(|m| Pass::ALL.map(|pass| (m, pass)))
            .map(|(m, pass)| Amount {
                block: id.clone(),
                material: m.id.clone(),
                lb: 1.0,
                pass: pass.key().to_owned(),
            })
            .collect();
        let all = calendar::of_plan(&book, &made, date(2027, 2, 1)).unwrap();
        assert_eq!(all.applications.len(), made.plan.amounts.len());
        for a in &all.applications {
            assert!(
                a.window.is_some(),
                "{name} {} {:?}: {}",
                a.material,
                a.pass,
                a.says
            );
        }
    }
}

#[test]
fn days_in_a_ground_file_fall_in_the_season() {
    let folder = TempDir::new().unwrap();
    let mut book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    let head = "name,length_ft,width_ft,crop,plant_on,harvest_on\n";
    let file = format!(
        "{head}A,10,10,kale,05-01,07-15\nB,10,10,garlic,10-20,07-05\nC,10,10,kale,2027-03-01,2027-06-01\n"
    );
    ground_file::add(&mut book, "ground.csv", file.as_bytes()).unwrap();
    let days: Vec<_> = book
        .plantings(2027)
        .unwrap()
        .iter()
        .map(|p| (p.plant_on.unwrap(), p.harvest_on.unwrap()))
        .collect();
    assert_eq!(
        days,
        [
            (date(2027, 5, 1), date(2027, 7, 15)),
            (date(2026, 10, 20), date(2027, 7, 5)),
            (date(2027, 3, 1), date(2027, 6, 1)),
        ]
    );
    for (row, says) in [
        ("D,10,10,kale,13-01,", "plant_on: found “13-01”"),
        ("D,10,10,kale,02-29,", "plant_on"),
        (
            "D,10,10,kale,2027-06-01,2027-05-01",
            "a day not after harvest_on",
        ),
        ("D,10,10,kale,,soon", "harvest_on: found “soon”"),
    ] {
        let bad = ground_file::add(&mut book, "ground.csv", format!("{head}{row}\n").as_bytes());
        let said = bad.unwrap_err().to_string();
        assert!(said.contains(says) && said.contains("row 2"), "{said}");
    }
}

#[test]
fn the_file_for_phones_keeps_its_marks() {
    let (_folder, mut book) = book();
    let uids = |text: &str| -> Vec<String> {
        text.replace("\r\n ", "")
            .lines()
            .filter_map(|l| l.strip_prefix("UID:").map(str::to_owned))
            .collect()
    };
    let sequence = |text: &str| -> i64 {
        let line = text.lines().find_map(|l| l.strip_prefix("SEQUENCE:"));
        line.unwrap().trim().parse().unwrap()
    };
    let first = ical::file(&on(&book, date(2026, 11, 26)));
    assert!(first.starts_with("BEGIN:VCALENDAR\r\n") && first.ends_with("END:VCALENDAR\r\n"));
    assert!(
        first.split("\r\n").all(|l| !l.contains('\n')),
        "bare line ends"
    );
    let before = uids(&first);
    assert_eq!(before.iter().collect::<BTreeSet<_>>().len(), before.len());
    assert_eq!(
        first,
        ical::file(&on(&book, date(2026, 11, 26))),
        "the same again"
    );
    // A planting that moves: the same marks, a higher number, other days.
    set(
        &mut book,
        "Creek Field",
        Some(date(2027, 6, 8)),
        Some(date(2027, 9, 20)),
    );
    let second = ical::file(&on(&book, date(2026, 11, 26)));
    assert_eq!(uids(&second), before);
    assert!(sequence(&second) > sequence(&first));
    assert_ne!(first, second);
    // A plan without the first material: its days come as cancelled.
    let now = made(&book);
    let gone = now.plan.amounts[0].clone();
    let mut plan = now.plan.clone();
    plan.amounts.retain(|a| *a != gone);
    planning::keep(&mut book, &now.problem, plan).unwrap();
    let third = ical::file(&on(&book, date(2026, 11, 27)));
    assert_eq!(
        uids(&third).iter().collect::<BTreeSet<_>>(),
        before.iter().collect::<BTreeSet<_>>()
    );
    assert!(third.contains("STATUS:CANCELLED") && third.contains("No longer planned"));
}

#[test]
fn names_cannot_write_into_the_file() {
    let (_folder, mut book) = book();
    let mut b = book.block_by_name("Creek Field").unwrap().unwrap();
    b.name = "Cre;ek, \\Field\u{2028}END:VEVENT".to_owned();
    book.change_block(&b).unwrap();
    let text = ical::file(&on(&book, date(2027, 1, 1)));
    let begun = text.matches("\r\nBEGIN:VEVENT\r\n").count();
    assert_eq!(begun, text.matches("\r\nEND:VEVENT\r\n").count());
    assert!(text.replace("\r\n ", "").contains("Cre\\;ek\\, \\\\Field"));
}
