//! Writing down jobs through the pages: once each, corrected beside, taken back.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::http::StatusCode;
use served::{Answer, Served};

/// The value of a hidden or filled field on a page.
fn value(page: &str, name: &str) -> String {
    let at = page.find(&format!("name=\"{name}\"")).unwrap();
    let rest = &page[at..];
    let from = rest.find("value=\"").unwrap() + 7;
    let end = rest[from..].find('"').unwrap() + from;
    rest[from..end].to_owned()
}

fn send(served: &Served, fields: &[(&str, &str)]) -> Answer {
    let owned: Vec<(String, String)> = fields
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect();
    served.post_owned("/log", &owned)
}

#[test]
fn a_form_sent_twice_is_one_entry_and_a_changed_one_is_refused() {
    let served = Served::planned();
    let mark = value(&served.get("/log/new").text(), "mark");
    let fields = |amount| {
        [
            ("mark", mark.as_str()),
            ("block", "Barn Field"),
            ("material", "feather_meal"),
            ("amount", amount),
            ("day", "2026-11-02"),
        ]
    };
    for _ in 0..3 {
        let answer = send(&served, &fields("24.25 lb"));
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    let page = served.get("/log").text();
    assert_eq!(page.matches("24 lb 4 oz").count(), 1);
    let other = send(&served, &fields("31.25 lb"));
    assert_eq!(other.status, StatusCode::OK);
    assert!(other.text().contains("says something else"));
    assert!(!served.get("/log").text().contains("31 lb 4 oz"));
    // A program that sends what it kept hears the number of the first.
    let short: Vec<_> = fields("24.25 lb")
        .into_iter()
        .chain([("answer", "short")])
        .collect();
    assert_eq!(send(&served, &short).text(), "kept as entry 1");
    let wrong = send(&served, &[("answer", "short"), ("amount", "many")]);
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn a_correction_and_a_taking_back_stand_beside_the_entry() {
    let served = Served::planned();
    let first = [
        ("block", "Barn Field"),
        ("material", "feather_meal"),
        ("amount", "24 lb"),
        ("day", "2026-11-02"),
    ];
    send(&served, &first);
    let form = served.get("/log/new?entry=1").text();
    assert_eq!(value(&form, "amount"), "24 lb");
    let mark = value(&form, "mark");
    let better = [
        ("mark", mark.as_str()),
        ("corrects", "1"),
        ("amount", "22 lb"),
    ];
    assert_eq!(send(&served, &better).status, StatusCode::SEE_OTHER);
    let page = served.get("/log").text();
    assert!(page.contains("corrected by 2") && page.contains("in place of 1"));
    assert!(page.contains("<del>24 lb</del>"));
    send(
        &served,
        &[("corrects", "2"), ("back", "yes"), ("note", "never")],
    );
    assert!(served.get("/log").text().contains("taken back by 3"));
}

#[test]
fn a_job_of_the_plan_comes_with_its_fields_filled_and_leaves_the_list() {
    let served = Served::planned();
    let page = served.get("/log").text();
    let at = page.find("/log/new?job=").unwrap();
    let path: String = page[at..].chars().take_while(|c| *c != '"').collect();
    let form = served.get(&path).text();
    let kept: Vec<(String, String)> = ["mark", "job", "block", "material", "pass", "amount", "day"]
        .iter()
        .map(|name| ((*name).to_owned(), value(&form, name)))
        .chain([("how".to_owned(), "as_planned".to_owned())])
        .collect();
    let answer = served.post_owned("/log", &kept);
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let after = served.get("/log").text();
    assert!(!after.contains(&path), "{path}");
}
