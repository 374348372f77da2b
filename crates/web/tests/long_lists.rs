//! Lists too long for one page: over all their leaves every row stands once, and words find it.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::http::StatusCode;
use farmbook::{Block, BlockKind, Book, Farm, Harvest, Id, Planting, Shape, Spread};
use jiff::civil::date;
use quantity::{Area, Weight};
use served::Served;
use std::collections::BTreeSet;

const BLOCKS: i64 = 230;

/// A farm of 230 blocks and three seasons; every block is spread on and picked in each, and every
/// tenth entry is corrected.
fn large() -> Served {
    Served::of(|path| {
        let mut book = Book::create(path, &Farm::new("Lapwing End", 2027)).unwrap();
        book.together("Filled", |book| {
            let shape = Shape::Stated {
                area: Area::acres(0.5),
            };
            let ids: Vec<Id> = (1..=BLOCKS)
                .map(|n| {
                    let name = format!("Piece {n:03}");
                    book.add_block(&Block::new(name, BlockKind::Field, shape.clone()))
                })
                .collect::<farmbook::Result<_>>()?;
            for season in 2024..=2026_i16 {
                for (n, id) in (0_i64..).zip(&ids) {
                    book.set_planting(&Planting::new(*id, season.into(), "kale"))?;
                    let day = date(season, 4, 1 + (n % 28) as i8);
                    let lb = Weight::pounds(100.0 + n as f64);
                    let entry = Spread::new(season.into(), day, *id, "lime_calcitic", lb);
                    let first = book.log_spread(&entry)?;
                    if n % 10 == 0 {
                        let mut better = entry;
                        better.mark = farmbook::new_mark();
                        better.weight = Weight::pounds(90.0);
                        better.corrects = Some(first);
                        book.log_spread(&better)?;
                    }
                    let day = date(season, 8, 1 + (n % 28) as i8);
                    book.log_harvest(&Harvest::new(season.into(), day, *id, lb))?;
                }
            }
            Ok(())
        })
        .unwrap();
        book
    })
}

/// Every leaf of a list, turned by its own links.
fn leaves(served: &Served, first: &str, name: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut next = Some(first.to_owned());
    while let Some(path) = next {
        let answer = served.get(&path);
        assert_eq!(answer.status, StatusCode::OK, "{path}");
        let page = answer.text();
        // The link on of this list: the one whose address turns it.
        next = page
            .split("rel=\"next\" href=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .find(|href| href.contains(&format!("leaf{name}=")))
            .map(|href| href.split('#').next().unwrap_or(href).replace("&amp;", "&"));
        out.push(page);
        assert!(out.len() < 50, "the leaves of {first} have no end");
    }
    out
}

/// What stands between two marks, wherever it does.
fn between<'a>(page: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    page.split(from)
        .skip(1)
        .filter_map(|rest| rest.split(to).next())
        .collect()
}

#[test]
fn every_block_stands_on_one_leaf_of_each_list() {
    let served = large();
    for (path, place) in [
        ("/ground", "ground"),
        ("/ground?by=crop", "ground"),
        ("/years", "years"),
        ("/sampling", "sampling"),
    ] {
        let pages = leaves(&served, path, "");
        assert_eq!(pages.len(), 3, "{path}");
        let mut seen = Vec::new();
        for page in &pages {
            let link = format!("<a href=\"/{place}/");
            let ids = between(page, &link, "\"");
            // A row may lead to its block twice.
            let here: BTreeSet<i64> = ids.iter().filter_map(|id| id.parse().ok()).collect();
            seen.extend(here);
        }
        seen.sort_unstable();
        assert_eq!(seen, (1..=BLOCKS).collect::<Vec<_>>(), "{path}");
    }
}

#[test]
fn every_field_of_the_draft_stands_on_one_leaf_and_its_head_is_of_the_whole_farm() {
    let served = large();
    let pages = leaves(&served, "/nutrient-plan", "");
    assert_eq!(pages.len(), 6);
    let mut seen = Vec::new();
    for page in &pages {
        assert!(page.len() < 300 * 1024, "{} bytes", page.len());
        assert!(page.contains("230 fields with 115 acres"));
        assert!(page.contains("the PDF holds all of them"));
        assert!(page.contains("The book holds 690 entries of spreading, 690 harvests"));
        let fields = between(page, "<td class=\"l\"><a href=\"/adviser/", "\"");
        let fields: Vec<i64> = fields.iter().map(|id| id.parse().unwrap()).collect();
        // Under every heading stand the same.
        assert_eq!(
            page.matches("aria-label=\"Budget of ").count(),
            fields.len()
        );
        assert_eq!(
            page.matches(", soil test phosphorus: ").count(),
            fields.len()
        );
        seen.extend(fields);
    }
    assert_eq!(seen, (1..=BLOCKS).collect::<Vec<_>>());
    let found = served.get("/nutrient-plan?find=piece+117").text();
    assert!(found.contains("Budget of Piece 117") && !found.contains("Budget of Piece 118"));
    assert!(found.contains("230 fields with 115 acres"));
    // What is kept of it follows the book.
    let lb = [
        ("of", "Piece 007"),
        ("on", "2026-08-30"),
        ("count", "40"),
        ("unit", "lb"),
    ];
    assert_eq!(
        served.post("/log/harvest", &lb).status,
        StatusCode::SEE_OTHER
    );
    let page = served.get("/nutrient-plan").text();
    assert!(page.contains("The book holds 690 entries of spreading, 691 harvests"));
}

#[test]
fn every_entry_stands_on_one_leaf_of_its_season() {
    let served = large();
    let mut seen: Vec<i64> = Vec::new();
    for season in 2024..=2026 {
        let pages = leaves(&served, &format!("/log?season={season}"), "");
        let mut days = BTreeSet::new();
        for page in &pages {
            let entries = page.split("<h2>Harvests</h2>").next().unwrap();
            let ids = between(entries, "<td class=\"l\">No. ", "<");
            seen.extend(ids.iter().map(|id| id.parse::<i64>().unwrap()));
            days.extend(
                between(page, "<tr><td class=\"l\">20", "-")
                    .into_iter()
                    .map(str::to_owned),
            );
        }
        let year = (season - 2000).to_string();
        assert_eq!(days, BTreeSet::from([year]), "entries of {season} alone");
    }
    seen.sort_unstable();
    // 230 entries and 23 corrections in each season.
    assert_eq!(seen, (1..=3 * 253).collect::<Vec<_>>());
    // Without a season in the address the newest that has entries is shown, and the others are a link away.
    let page = served.get("/log").text();
    assert!(page.contains("Written down for 2026"));
    assert!(page.contains("href=\"/log?season=2024\""));
    assert!(page.contains("The last entry is of 2026-04-28."));
    // A correction on another leaf is told all the same.
    let found = served.get("/log?season=2025&find=piece+001").text();
    assert!(found.contains("corrected by"), "{found}");
}

#[test]
fn every_harvest_stands_on_one_leaf_of_its_season() {
    let served = large();
    let pages = leaves(&served, "/log?season=2025&leaf=2", "-harvests");
    // The first link on turns the harvests of the same season.
    assert!(pages[1].contains("Written down for 2025"));
    let mut seen = 0;
    for page in &pages {
        let part = page.split("<h2>Harvests</h2>").nth(1).unwrap();
        seen += part.matches("<tr><td class=\"l\">2025-08-").count();
    }
    assert_eq!(seen, BLOCKS as usize);
}

#[test]
fn the_record_for_an_inspector_shows_every_row_and_every_doubt() {
    let served = large();
    let path = "/record?from=2024-01-01&to=2026-12-31";
    let mut spread = 0;
    for page in leaves(&served, path, "-spread") {
        let part = page
            .split("<h2>What went on, by field and date</h2>")
            .nth(1)
            .unwrap();
        let part = part.split("<h2>").next().unwrap();
        spread += part.matches("<tr>").count() - 1;
    }
    assert_eq!(spread, 3 * 253);
    let mut doubts = BTreeSet::new();
    for page in leaves(&served, path, "-doubts") {
        for said in between(&page, "<li>Entry ", ":") {
            doubts.insert(said.to_owned());
        }
    }
    // Nobody is named in any entry that stands.
    assert_eq!(doubts.len(), 3 * 230);
}

#[test]
fn words_find_a_block_and_what_is_in_no_list_says_so() {
    let served = large();
    let page = served.get("/ground?find=piece+117").text();
    assert!(page.contains(">Piece 117<") && !page.contains(">Piece 118<"));
    let page = served.get("/reading?find=%3Cscript%3E").text();
    assert!(!page.contains("<script>"));
    let page = served.get("/years?find=nowhere").text();
    assert!(page.contains("Nothing among 230 blocks has “nowhere” in it."));
    // No page of a farm this size is too large for a phone.
    for path in ["/ground", "/years", "/sampling", "/log", path_of_record()] {
        let size = served.get(path).text().len();
        assert!(size < 300 * 1024, "{path}: {size} bytes");
    }
}

fn path_of_record() -> &'static str {
    "/record?from=2024-01-01&to=2026-12-31"
}
