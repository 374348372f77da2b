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

/// A form with a file that sends none, as a browser does.
fn parcel(served: &Served, path: &str, fields: &[(&str, &str)]) -> Answer {
    let mut body = String::new();
    for (key, value) in fields {
        body.push_str(&format!(
            "--edge-7f\r\nContent-Disposition: form-data; name=\"{key}\"\r\n\r\n{value}\r\n"
        ));
    }
    body.push_str("--edge-7f--\r\n");
    let asked = served::request("POST", path).header(
        axum::http::header::CONTENT_TYPE,
        "multipart/form-data; boundary=edge-7f",
    );
    served.send(asked.body(axum::body::Body::from(body)).unwrap())
}

#[test]
fn deliveries_harvests_and_counts_are_corrected_beside_themselves() {
    let served = Served::demo();
    let came = [
        ("material", "feather_meal"),
        ("amount", "12 x 50 lb"),
        ("lot", "FM 12"),
        ("day", "2026-02-20"),
        ("from", "Hollow Mill"),
        ("paid", "510"),
    ];
    assert_eq!(
        parcel(&served, "/stock", &came).status,
        StatusCode::SEE_OTHER
    );
    let form = served.get("/stock/delivery/1").text();
    for (name, is) in [
        ("amount", "12 x 50 lb"),
        ("lot", "FM 12"),
        ("paid", "510.00"),
    ] {
        assert_eq!(value(&form, name), is);
    }
    let mark = value(&form, "mark");
    let with = |more: &[(&'static str, &'static str)]| {
        let mut all = vec![("mark", mark.as_str())];
        all.extend(
            came.iter()
                .filter(|(k, _)| !more.iter().any(|(m, _)| m == k)),
        );
        all.extend(more);
        parcel(&served, "/stock/delivery/1", &all)
    };
    // Without a reason nothing is written, and what was typed is still there.
    let none = with(&[("lot", "FM 13")]);
    assert!(
        none.text().contains("Say why it is corrected"),
        "{}",
        none.text()
    );
    assert!(none.text().contains("value=\"FM 13\""));
    // Sent twice, it is one correction.
    for _ in 0..2 {
        let kept = with(&[("lot", "FM 13"), ("why", "misread the bag")]);
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    }
    let page = served.get("/stock").text();
    assert!(page.contains("corrected by 2") && page.contains("misread the bag"));
    assert!(page.contains("<del>600 lb</del>") && page.contains("in place of 1"));
    assert_eq!(page.matches("Correct delivery 2").count(), 1);
    assert!(
        !page.contains("Correct delivery 1"),
        "what was corrected is not corrected again"
    );

    let count = [
        ("which", "feather_meal|FM 13"),
        ("there", "118 lb"),
        ("on", "2026-07-01"),
    ];
    assert_eq!(
        served.post("/stock/count", &count).status,
        StatusCode::SEE_OTHER
    );
    assert_eq!(
        value(&served.get("/stock/counted/1").text(), "there"),
        "118 lb"
    );
    let better = [("there", "181 lb"), ("why", "misread the scale")];
    assert_eq!(
        served.post("/stock/counted/1", &better).status,
        StatusCode::SEE_OTHER
    );
    let page = served.get("/stock").text();
    assert!(page.contains("<del>118 lb</del>") && page.contains("misread the scale"));
    // Taken back it wants a reason, and then both figures are struck.
    let back = [("there", "181 lb"), ("back", "yes"), ("why", "")];
    let answer = served.post("/stock/counted/2", &back);
    assert_eq!(answer.status, StatusCode::OK);
    assert!(answer.text().contains("Say why"), "{}", answer.text());
    let back = [
        ("there", "181 lb"),
        ("back", "yes"),
        ("why", "another shed’s"),
    ];
    assert_eq!(
        served.post("/stock/counted/2", &back).status,
        StatusCode::SEE_OTHER
    );
    let page = served.get("/stock").text();
    assert!(
        page.contains("taken back by 3") && page.contains("another shed’s"),
        "{page}"
    );
    assert_eq!(page.matches("<del>181 lb</del>").count(), 2);
    assert!(
        !page.contains("Correct count"),
        "nothing is left to correct"
    );
    assert!(page.contains("takes back 2"));

    let harvest = [
        ("of", "Barn Field"),
        ("on", "2026-07-20"),
        ("count", "40"),
        ("unit", "box"),
        ("each", "25 lb"),
    ];
    assert_eq!(
        served.post("/log/harvest", &harvest).status,
        StatusCode::SEE_OTHER
    );
    let form = served.get("/log/harvest/1").text();
    assert_eq!(
        (value(&form, "count"), value(&form, "each")),
        ("40".to_owned(), "25 lb".to_owned())
    );
    let mut better: Vec<_> = harvest.into_iter().filter(|(k, _)| *k != "count").collect();
    better.extend([("count", "4"), ("why", "a slip of the pen")]);
    assert_eq!(
        served.post("/log/harvest/1", &better).status,
        StatusCode::SEE_OTHER
    );
    let page = served.get("/log").text();
    assert!(page.contains("<del>1,000 lb</del>") && page.contains("a slip of the pen"));
    let back = [("back", "yes"), ("why", "another farm’s")];
    assert_eq!(
        served.post("/log/harvest/2", &back).status,
        StatusCode::SEE_OTHER
    );
    assert!(served.get("/log").text().contains("taken back by 3"));

    // The packet shows what stands and what does not.
    let packet = served.get("/record?from=2026-01-01&to=2026-12-31").text();
    for words in [
        "misread the bag",
        "misread the scale",
        "a slip of the pen",
        "takes back 2",
        "Counted in the shed",
    ] {
        assert!(packet.contains(words), "{words}");
    }
    let undone = served.post("/changes/undo", &[]);
    assert_eq!(undone.status, StatusCode::SEE_OTHER);
    assert!(!served.get("/log").text().contains("taken back by 3"));
    for path in ["/stock/delivery/9", "/stock/counted/9", "/log/harvest/9"] {
        assert_eq!(served.get(path).status, StatusCode::NOT_FOUND, "{path}");
        let sent = parcel(&served, path, &[("why", "x")]);
        assert!(
            sent.is_sound() && !sent.status.is_success() || sent.is_page(),
            "{path}"
        );
    }
}
