//! Walks and buckets through the pages: kept, held against a rate, corrected, refused, and on from there to
//! the pages of jobs.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::http::StatusCode;
use served::Served;

const WALK: [(&str, &str); 8] = [
    ("way", "drop"),
    ("spreader", "Drop cart"),
    ("material", "feather_meal"),
    ("setting", "6"),
    ("day", "2026-10-01"),
    ("width", "3 ft"),
    ("length", "100"),
    ("used", "1.2 lb"),
];

fn with<'a>(changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut all: Vec<_> = WALK
        .iter()
        .filter(|(k, _)| !changed.iter().any(|(c, _)| c == k))
        .copied()
        .collect();
    all.extend_from_slice(changed);
    all
}

#[test]
fn a_walk_is_kept_and_says_at_once_what_it_laid_down() {
    let served = Served::planned();
    let empty = served.get("/spreaders").text();
    assert!(empty.contains("Nothing was walked yet."), "{empty}");
    let kept = served.post("/spreaders", &with(&[("wanted", "8")]));
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    let page = served.get(kept.header("location")).text();
    for wanted in [
        "Drop cart at 6 laid down 4 lb on 1,000 ft² (174 lb an acre, 19.5 g on a m²).",
        "50 % less than the 8 lb wanted",
        "or cross the ground 2 times as it is",
        "3 ft × 100 ft",
        "1.2 / 300 × 1,000",
        "UMass Extension",
    ] {
        assert!(page.contains(wanted), "“{wanted}”: {page}");
    }
    let list = served.get("/spreaders").text();
    assert!(list.contains("Drop cart with feather meal"), "{list}");
    assert!(list.contains("1 walk decides on the settings"), "{list}");
}

#[test]
fn working_it_out_keeps_nothing() {
    let served = Served::demo();
    let tried = served.post("/spreaders", &with(&[("do", "try")]));
    assert_eq!(tried.status, StatusCode::OK);
    assert!(tried.text().contains("laid down 4 lb on 1,000 ft²"));
    assert!(
        served
            .get("/spreaders")
            .text()
            .contains("Nothing was walked yet.")
    );
}

#[test]
fn what_cannot_be_is_refused_in_a_sentence_and_changes_nothing() {
    let served = Served::demo();
    for (field, value) in [
        ("way", "catapult"),
        ("spreader", ""),
        ("material", "no_such"),
        ("day", "2999-01-01"),
        ("day", "tomorrow"),
        ("width", ""),
        ("width", "0"),
        ("width", "NaN"),
        ("width", "1e308 ft"),
        ("width", "3 lb"),
        ("length", "-5"),
        ("length", "inf"),
        ("trips", "0"),
        ("trips", "1.5"),
        ("used", ""),
        ("used", "plenty"),
        ("used", "-1 lb"),
        ("used", "1e400"),
        ("left", "1 lb"),
        ("count", "3"),
        ("wanted", "many"),
    ] {
        let answer = served.post("/spreaders", &with(&[(field, value)]));
        assert_eq!(answer.status, StatusCode::OK, "{field} = {value} was taken");
        assert!(
            answer.text().contains("role=\"alert\""),
            "{field} = {value}"
        );
        assert!(answer.is_sound());
    }
    let pans = [("way", "broadcast"), ("spacing", "1 ft"), ("pans", "")];
    for bad in ["1 2", "4 4 4 4 4", "1 2 x 2 1", "0 0 0 0 0", "-1 4 4 4 -1"] {
        let mut fields = with(&pans);
        fields.retain(|(k, _)| *k != "pans");
        fields.push(("pans", bad));
        let answer = served.post("/spreaders", &fields);
        assert_eq!(answer.status, StatusCode::OK, "{bad} was taken");
        assert!(answer.text().contains("role=\"alert\""), "{bad}");
    }
    for bucket in [
        [("weighed", ""), ("gallons", "0"), ("full", "")],
        [("weighed", ""), ("gallons", "1000"), ("full", "")],
        [("weighed", "feather_meal"), ("gallons", "5"), ("full", "")],
        [("weighed", ""), ("gallons", "5"), ("full", "20 lb")],
        [("weighed", "no_such"), ("gallons", "5"), ("full", "20 lb")],
        [
            ("weighed", "feather_meal"),
            ("gallons", "NaN"),
            ("full", "2"),
        ],
    ] {
        let answer = served.post("/spreaders/bucket", &bucket);
        assert_eq!(answer.status, StatusCode::OK, "{bucket:?} was taken");
        assert!(answer.text().contains("role=\"alert\""), "{bucket:?}");
    }
    let page = served.get("/spreaders").text();
    assert!(page.contains("Nothing was walked yet."), "{page}");
    assert!(page.contains("5 gallons"), "{page}");
}

#[test]
fn three_ways_are_taken() {
    let served = Served::demo();
    let pans = [
        ("way", "broadcast"),
        ("spreader", "Broadcaster"),
        ("pans", "2, 4, 4, 4, 2"),
        ("spacing", "3 ft"),
        ("used", ""),
        ("before", "20 lb"),
        ("left", "8 lb"),
    ];
    let kept = served.post("/spreaders", &with(&pans));
    let page = served.get(kept.header("location")).text();
    // A swath of 12 ft, 12 lb on 1,200 ft2.
    assert!(page.contains("laid down 10 lb on 1,000 ft²"), "{page}");
    let hand = [
        ("way", "hand"),
        ("spreader", ""),
        ("setting", ""),
        ("width", "30 in"),
        ("used", ""),
        ("count", "12"),
        ("of", "handful"),
        ("each", "4 oz"),
    ];
    let kept = served.post("/spreaders", &with(&hand));
    let page = served.get(kept.header("location")).text();
    assert!(
        page.contains("By hand laid down 12 lb on 1,000 ft²"),
        "{page}"
    );
}

#[test]
fn a_walk_is_corrected_in_its_place_forgotten_and_brought_back() {
    let served = Served::demo();
    served.post("/spreaders", &WALK);
    let better = served.post("/spreaders/1", &with(&[("used", "1.5 lb")]));
    assert_eq!(better.status, StatusCode::SEE_OTHER, "{}", better.text());
    let page = served.get("/spreaders/1").text();
    assert!(page.contains("laid down 5 lb on 1,000 ft²"), "{page}");
    assert!(page.contains("value=\"1.5 lb\""), "{page}");
    let gone = served.post("/spreaders/1/forget", &[]);
    assert_eq!(gone.status, StatusCode::SEE_OTHER);
    assert_eq!(served.get("/spreaders/1").status, StatusCode::NOT_FOUND);
    assert_eq!(
        served.post("/spreaders/1", &WALK).status,
        StatusCode::NOT_FOUND
    );
    served.post("/changes/undo", &[]);
    assert!(served.get("/spreaders/1").text().contains("5 lb on 1,000"));
}

#[test]
fn the_setting_stands_on_every_page_of_the_job() {
    let served = Served::planned();
    let list = served.get("/log").text();
    let key = list
        .split("/log/new?job=")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .find(|key| key.contains("feather_meal") && !key.contains("sidedress"))
        .unwrap()
        .to_owned();
    let job = format!("/log/new?job={key}");
    let before = served.get(&job).text();
    assert!(before.contains("walk it first"), "{before}");
    // The link brings the material and the rate along.
    let link = before.split("href=\"/spreaders?").nth(1).unwrap();
    let link = link.split(['"', '#']).next().unwrap().replace("&amp;", "&");
    let form = served.get(&format!("/spreaders?{link}")).text();
    assert!(
        form.contains("<option value=\"feather_meal\" selected>"),
        "{form}"
    );
    assert!(!form.contains("name=\"wanted\" value=\"\""), "{form}");
    assert!(before.contains("One full bucket (5 gallons,"), "{before}");
    // Two settings far apart, so that half of any job lies between.
    served.post(
        "/spreaders",
        &with(&[("setting", "2"), ("used", "0.03 lb")]),
    );
    served.post("/spreaders", &with(&[("setting", "20"), ("used", "60 lb")]));
    let after = served.get(&job).text();
    assert!(!after.contains("walk it first"), "{after}");
    assert!(
        after.contains("Drop cart: setting about") && after.contains("between the 2 and 20"),
        "{after}"
    );
    let all = served.get("/spreaders").text();
    assert!(all.contains("For the jobs of the plan"), "{all}");
    let block = all.split("/jobs/").nth(1).unwrap();
    let block = block.split('"').next().unwrap();
    let sheet = served.get(&format!("/jobs/{block}")).text();
    assert!(sheet.contains("Drop cart: setting about"), "{sheet}");
}

#[test]
fn a_bucket_that_was_weighed_goes_before_the_published_density() {
    let served = Served::planned();
    let page = served.get("/spreaders").text();
    assert!(page.contains("Published: "), "{page}");
    let set = [
        ("weighed", "feather_meal"),
        ("gallons", "5"),
        ("full", "21 lb"),
    ];
    let kept = served.post("/spreaders/bucket", &set);
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    let size = [("weighed", ""), ("gallons", "2.5"), ("full", "")];
    served.post("/spreaders/bucket", &size);
    let page = served.get("/spreaders").text();
    // Half of the bucket that was weighed.
    assert!(page.contains("10.5 lb"), "{page}");
    assert!(page.contains("Your scale: 21 lb in 5 gallons"), "{page}");
    served.post("/spreaders/bucket/forget", &[("of", "feather_meal")]);
    assert!(!served.get("/spreaders").text().contains("Your scale"));
}

#[test]
fn costs_add_up_and_go_out_as_csv() {
    let served = Served::planned();
    let empty = served.get("/costs").text();
    assert!(
        empty.contains("Nothing is written down as spread"),
        "{empty}"
    );
    let answer = served.came(&[
        ("material", "feather_meal"),
        ("amount", "100 lb"),
        ("from", "Hollow Mill"),
        ("paid", "50"),
        ("day", "2026-10-01"),
    ]);
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    for (block, amount) in [("Barn Field", "40 lb"), ("Creek Field", "10 lb")] {
        let answer = served.post(
            "/log",
            &[
                ("block", block),
                ("material", "feather_meal"),
                ("amount", amount),
                ("day", "2026-10-02"),
            ],
        );
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    let page = served.get("/costs?by=name").text();
    assert!(
        page.contains("USD 25.00 for what was spread in 2027."),
        "{page}"
    );
    let at = |name: &str| page.find(name).unwrap();
    assert!(at("Barn Field") < at("Creek Field"));
    let rows = served.get("/costs/blocks.csv").text();
    assert!(
        rows.starts_with("Block,Money,Acres,Money an acre\n"),
        "{rows}"
    );
    assert!(rows.contains("Barn Field,20.00,"), "{rows}");
    assert!(rows.contains("Creek Field,5.00,"), "{rows}");
    let materials = served.get("/costs/materials.csv").text();
    assert!(materials.contains("Feather meal,50,25.00,"), "{materials}");
    assert_eq!(
        served.get("/costs/nothing.csv").status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        served.get("/costs?season=x").status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
}
