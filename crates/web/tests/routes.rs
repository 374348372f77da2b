//! Every address answers, unknown ones say so, and the guard stands before all of them.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::body::Body;
use axum::http::{StatusCode, header};
use served::{Served, request};

/// The address of one page for each route that can be read, as the router names it.
const PAGES: [(&str, &str); 86] = [
    ("/", "/"),
    ("/now", "/now?map=p"),
    ("/farm", "/farm"),
    ("/ground", "/ground?by=crop"),
    ("/ground/new", "/ground/new"),
    ("/ground/{id}", "/ground/1"),
    ("/ground/diagram", "/ground/diagram"),
    ("/ground/map.pdf", "/ground/map.pdf"),
    ("/ground/picture", "/ground/picture"),
    ("/ground/outlines.geojson", "/ground/outlines.geojson"),
    ("/ground/setbacks", "/ground/setbacks"),
    ("/ground/warmth", "/ground/warmth?unit=c"),
    ("/ground/draw", "/ground/draw"),
    ("/ground/draw/sheet", "/ground/draw/sheet"),
    ("/ground/parcel/{id}", "/ground/parcel/1"),
    ("/ground/walk/{id}", "/ground/walk/1?cores=20&back=yes"),
    (
        "/ground/walk/{id}/cores.gpx",
        "/ground/walk/1/cores.gpx?seed=3",
    ),
    ("/lab", "/lab"),
    ("/lab/type", "/lab/type"),
    ("/lab/boxes", "/lab/boxes"),
    ("/sampling", "/sampling"),
    ("/sampling/{id}", "/sampling/1?of=ph&margin=0.2"),
    ("/sampling/boxes", "/sampling/boxes"),
    ("/sampling/box/{id}", "/sampling/box/1"),
    (
        "/sampling/labels.pdf",
        "/sampling/labels.pdf?stock=a4-21&from=3",
    ),
    ("/sampling/walks.pdf", "/sampling/walks.pdf?language=es"),
    ("/lab/{id}", "/lab/1"),
    ("/lab/{id}/file", "/lab/1/file"),
    ("/lab/{id}/cut", "/lab/1/cut"),
    ("/lab/{id}/results/{form}", "/lab/1/results/csv"),
    ("/reading", "/reading"),
    ("/reading/{id}", "/reading/1"),
    ("/reading/{id}/compare", "/reading/1/compare"),
    ("/materials", "/materials"),
    ("/materials/{id}", "/materials/sulfur"),
    ("/materials/{id}/made", "/materials/compost_dairy/made"),
    ("/plan", "/plan"),
    ("/wait", "/wait"),
    ("/plan/how", "/plan/how"),
    ("/plan/offers", "/plan/offers"),
    ("/plan/limits", "/plan/limits"),
    ("/plan/left-out", "/plan/left-out"),
    ("/plan/compare", "/plan/compare"),
    ("/plan/years", "/plan/years"),
    ("/plan/{id}", "/plan/1"),
    ("/suppliers", "/suppliers"),
    ("/suppliers/{id}", "/suppliers/1"),
    ("/order", "/order"),
    ("/order.pdf", "/order.pdf"),
    ("/stock", "/stock"),
    ("/stock/paper/{id}", "/stock/paper/1"),
    ("/calendar", "/calendar?by=block"),
    ("/calendar.ics", "/calendar.ics"),
    ("/jobs", "/jobs"),
    ("/jobs/{id}", "/jobs/1"),
    ("/jobs.pdf", "/jobs.pdf?block=1"),
    ("/job-sheets.pdf", "/job-sheets.pdf?language=es&bucket=2"),
    ("/years", "/years"),
    ("/years/{id}", "/years/1"),
    ("/years/{id}/sheet.pdf", "/years/1/sheet.pdf"),
    ("/log", "/log"),
    ("/log/new", "/log/new"),
    ("/record", "/record?from=2026-01-01"),
    ("/record/{name}", "/record/balance.csv"),
    ("/record.pdf", "/record.pdf"),
    ("/spreaders", "/spreaders"),
    ("/spreaders/{id}", "/spreaders/1"),
    ("/costs", "/costs?by=acre"),
    ("/costs/{name}", "/costs/materials.csv"),
    ("/book", "/book"),
    ("/book/farm.zip", "/book/farm.zip"),
    ("/stock/delivery/{id}", "/stock/delivery/1"),
    ("/stock/counted/{id}", "/stock/counted/1"),
    ("/log/harvest/{id}", "/log/harvest/1"),
    ("/adviser", "/adviser"),
    ("/adviser/{id}", "/adviser/1"),
    ("/adviser.pdf", "/adviser.pdf?block=1"),
    ("/nutrient-plan", "/nutrient-plan"),
    ("/nutrient-plan.pdf", "/nutrient-plan.pdf"),
    ("/changes", "/changes"),
    ("/phones", "/phones"),
    ("/phones/certificate", "/phones/certificate"),
    ("/sign-in", "/sign-in?to=/log"),
    ("/worker.js", "/worker.js"),
    ("/static/{name}", "/static/look.css"),
    ("fallback", "/no-such-page"),
];

#[test]
fn every_page_answers_on_the_demo() {
    let served = Served::planned();
    for (route, path) in PAGES {
        let answer = served.get(path);
        let wanted = match route {
            "/" | "/wait" | "/sign-in" => StatusCode::SEE_OTHER,
            "/lab/boxes" => StatusCode::PERMANENT_REDIRECT,
            // The demo’s report is no picture, and it has no boxes.
            "/sampling/box/{id}"
            | "/stock/paper/{id}"
            | "fallback"
            | "/ground/picture"
            | "/phones/certificate"
            | "/lab/{id}/cut"
            | "/spreaders/{id}"
            | "/stock/delivery/{id}"
            | "/stock/counted/{id}"
            | "/log/harvest/{id}"
            | "/suppliers/{id}" => StatusCode::NOT_FOUND,
            _ => StatusCode::OK,
        };
        assert_eq!(answer.status, wanted, "{path}");
        assert!(answer.is_sound(), "{path}");
        if route.ends_with(".pdf") {
            assert!(answer.bytes.starts_with(b"%PDF-"), "{path}");
        }
    }
}

/// A route that is added must be added to the list above, or nothing asks it.
#[test]
fn the_list_holds_every_route_that_can_be_read() {
    let table = include_str!("../src/lib.rs").replace(char::is_whitespace, "");
    let read: Vec<&str> = table
        .split(".route(\"")
        .skip(1)
        .filter_map(|part| {
            let (path, rest) = part.split_once("\",")?;
            rest.starts_with("get(").then_some(path)
        })
        .collect();
    assert!(read.len() > 15, "the table was understood: {read:?}");
    for path in read {
        assert!(PAGES.iter().any(|(route, _)| *route == path), "{path}");
    }
}

#[test]
fn every_page_of_every_block_and_material_answers() {
    let served = Served::planned();
    for id in 1..=14 {
        for place in [
            "ground",
            "ground/walk",
            "sampling",
            "reading",
            "plan",
            "jobs",
            "years",
            "adviser",
        ] {
            let path = format!("/{place}/{id}");
            assert_eq!(served.get(&path).status, StatusCode::OK, "{path}");
        }
    }
    for m in agronomy::material::materials() {
        let path = format!("/materials/{}", m.id);
        assert_eq!(served.get(&path).status, StatusCode::OK, "{path}");
    }
}

#[test]
fn an_empty_book_leads_on() {
    let served = Served::empty();
    for (route, path) in PAGES {
        let answer = served.get(path);
        assert!(answer.is_sound(), "{path}");
        let wanted = match route {
            "/" | "/wait" | "/sign-in" | "/plan/offers" | "/plan/limits" | "/plan/left-out"
            | "/plan/years" | "/order" | "/order.pdf" | "/calendar" | "/calendar.ics" | "/jobs"
            | "/jobs/{id}" | "/jobs.pdf" | "/job-sheets.pdf" => StatusCode::SEE_OTHER,
            "/lab/boxes" => StatusCode::PERMANENT_REDIRECT,
            "fallback"
            | "/sampling/{id}"
            | "/sampling/box/{id}"
            | "/ground/{id}"
            | "/ground/picture"
            | "/ground/parcel/{id}"
            | "/ground/walk/{id}"
            | "/ground/walk/{id}/cores.gpx"
            | "/lab/{id}"
            | "/lab/{id}/file"
            | "/lab/{id}/cut"
            | "/lab/{id}/results/{form}"
            | "/reading/{id}"
            | "/reading/{id}/compare"
            | "/suppliers/{id}"
            | "/stock/paper/{id}"
            | "/phones/certificate"
            | "/spreaders/{id}"
            | "/stock/delivery/{id}"
            | "/stock/counted/{id}"
            | "/log/harvest/{id}"
            | "/years/{id}"
            | "/years/{id}/sheet.pdf"
            | "/adviser/{id}"
            | "/adviser.pdf"
            | "/plan/{id}" => StatusCode::NOT_FOUND,
            // There is no map without an outline, and it is said.
            "/ground/map.pdf" | "/ground/outlines.geojson" => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::OK,
        };
        assert_eq!(answer.status, wanted, "{path}");
    }
}

#[test]
fn what_is_not_there_is_said_on_a_page() {
    let served = Served::planned();
    for id in [
        "0",
        "-1",
        "999",
        "9223372036854775807",
        "-9223372036854775808",
    ] {
        for path in [
            format!("/ground/{id}"),
            format!("/ground/walk/{id}"),
            format!("/lab/{id}"),
            format!("/lab/{id}/file"),
            format!("/reading/{id}"),
            format!("/plan/{id}"),
            format!("/jobs/{id}"),
        ] {
            let answer = served.get(&path);
            assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
            assert!(answer.is_page() && answer.is_sound(), "{path}");
        }
        for path in [
            format!("/ground/{id}"),
            format!("/ground/{id}/remove"),
            format!("/ground/walk/{id}/area"),
            format!("/ground/walk/{id}/drop"),
            format!("/lab/{id}/read"),
            format!("/lab/{id}/match"),
            format!("/lab/{id}/remove"),
            format!("/years/{id}/taught"),
            format!("/plan/{id}"),
        ] {
            // The form of a hold names a material, or it would have nothing to refuse.
            let answer = served.post(&path, &[("name", "x"), ("feather_meal@spring", "5")]);
            assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
            assert!(answer.is_page() && answer.is_sound(), "{path}");
        }
    }
    for path in [
        "/materials/no-such",
        "/materials/%00",
        "/materials/%3Cscript%3E",
    ] {
        assert_eq!(served.get(path).status, StatusCode::NOT_FOUND, "{path}");
        assert_eq!(
            served.post(path, &[]).status,
            StatusCode::NOT_FOUND,
            "{path}"
        );
    }
}

#[test]
fn job_sheets_are_asked_for_by_language_bucket_and_job() {
    let served = Served::planned();
    let page = served.get("/calendar").text();
    let job = page.split("/job-sheets.pdf?job=").nth(1).unwrap();
    let job = job.split('"').next().unwrap();
    for language in ["en", "es"] {
        let answer = served.get(&format!("/job-sheets.pdf?job={job}&language={language}"));
        assert_eq!(answer.status, StatusCode::OK, "{job}");
        assert!(answer.bytes.starts_with(b"%PDF-"));
    }
    for bad in [
        "language=xx",
        "bucket=0",
        "bucket=-1",
        "bucket=NaN",
        "bucket=1e9",
        "bucket=ten",
    ] {
        let answer = served.get(&format!("/job-sheets.pdf?{bad}"));
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
        assert!(answer.is_page() && answer.is_sound(), "{bad}");
    }
    for none in ["job=x", "block=999", "block=%00", "job=%3Cscript%3E"] {
        let answer = served.get(&format!("/job-sheets.pdf?{none}"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{none}");
        assert!(answer.is_page(), "{none}");
    }
}

#[test]
fn an_address_that_is_no_number_is_answered_with_a_page() {
    let served = Served::planned();
    for path in [
        "/ground/abc",
        "/ground/1.5",
        "/reading/99999999999999999999",
        "/plan/%20",
        "/jobs/1%00",
        "/lab/one",
        "/static/%FF",
    ] {
        let answer = served.get(path);
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
        assert!(answer.is_page(), "{path}: {}", answer.text());
    }
}

/// A form that came back with a sentence leaves its address in the browser; asking for that address
/// again must not show an empty page.
#[test]
fn the_address_of_a_form_asked_for_as_a_page_is_not_empty() {
    let served = Served::planned();
    for path in [
        "/ground/1/remove",
        "/lab/1/read",
        "/lab/1/match",
        "/lab/1/remove",
        "/materials/usual",
        "/changes/undo",
    ] {
        let answer = served.get(path);
        let leads_on = answer.status.is_redirection() && !answer.header("location").is_empty();
        assert!(leads_on || answer.is_page(), "{path}: {}", answer.status);
    }
}

#[test]
fn a_form_sent_in_another_way_is_answered_with_a_page() {
    let served = Served::empty();
    for (path, kind) in [
        ("/ground", ""),
        ("/ground", "application/json"),
        ("/farm", "text/plain"),
        ("/lab", "application/x-www-form-urlencoded"),
        ("/lab", "multipart/form-data"),
    ] {
        let mut asked = request("POST", path);
        if !kind.is_empty() {
            asked = asked.header(header::CONTENT_TYPE, kind);
        }
        let answer = served.send(asked.body(Body::from("name=x")).unwrap());
        assert!(
            answer.status.is_client_error(),
            "{path} as “{kind}”: {}",
            answer.status
        );
        assert!(answer.is_page(), "{path} as “{kind}”: {}", answer.text());
    }
}

#[test]
fn only_names_of_this_computer_open_the_book() {
    let served = Served::demo();
    for host in [
        "evil.example",
        "evil.example:8737",
        "localhost.evil.example",
        "127.0.0.1.evil.example:8737",
        "127.0.0.1@evil.example",
        "10.0.0.1:8737",
        "0.0.0.0:8737",
        "[::]:8737",
        "",
        "localhost:80:80",
    ] {
        let asked = axum::http::Request::get("/ground").header(header::HOST, host);
        let answer = served.send(asked.body(Body::empty()).unwrap());
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "“{host}”");
        assert!(!answer.text().contains("Creek Field"));
    }
    let nameless = axum::http::Request::get("/ground");
    assert_eq!(
        served.send(nameless.body(Body::empty()).unwrap()).status,
        StatusCode::FORBIDDEN
    );
    for host in ["localhost", "localhost:1", "127.0.0.1:8737", "[::1]:8737"] {
        let asked = axum::http::Request::get("/ground").header(header::HOST, host);
        let answer = served.send(asked.body(Body::empty()).unwrap());
        assert_eq!(answer.status, StatusCode::OK, "{host}");
    }
}

const BLOCK: [(&str, &str); 5] = [
    ("name", "Planted"),
    ("shape", "rectangle"),
    ("length", "10"),
    ("width", "10"),
    ("depth", "6.667"),
];

fn block() -> Body {
    let fields = BLOCK.map(|(k, v)| (k.to_owned(), v.to_owned()));
    Body::from(served::encoded(&fields))
}

#[test]
fn a_form_from_another_site_changes_nothing() {
    let served = Served::empty();
    let form = "application/x-www-form-urlencoded";
    for (name, value) in [
        ("origin", "http://evil.example"),
        ("origin", "null"),
        ("origin", "https://127.0.0.1:8737"),
        ("origin", "http://127.0.0.1:8738"),
        ("origin", "http://localhost:8737"),
        ("origin", "http://127.0.0.1:8737.evil.example"),
        ("origin", ""),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("sec-fetch-site", "anything"),
    ] {
        for method in ["POST", "PUT", "DELETE"] {
            let asked = request(method, "/ground")
                .header(header::CONTENT_TYPE, form)
                .header(name, value);
            let answer = served.send(asked.body(block()).unwrap());
            assert_eq!(
                answer.status,
                StatusCode::FORBIDDEN,
                "{method} {name}: {value}"
            );
        }
    }
    assert!(!served.get("/ground").text().contains("Planted"));
    for own in [
        Some(("origin", "http://127.0.0.1:8737")),
        Some(("sec-fetch-site", "same-origin")),
        None,
    ] {
        let mut asked = request("POST", "/ground").header(header::CONTENT_TYPE, form);
        if let Some((name, value)) = own {
            asked = asked.header(name, value);
        }
        let answer = served.send(asked.body(block()).unwrap());
        assert_ne!(answer.status, StatusCode::FORBIDDEN, "{own:?}");
    }
    assert!(served.get("/ground").text().contains("Planted"));
}

#[test]
fn bodies_have_a_limit_and_it_is_said() {
    let served = Served::empty();
    let filled = |bytes: usize| {
        let note = "x".repeat(bytes);
        let mut fields = BLOCK.to_vec();
        fields.push(("unknown", &note));
        served.post("/ground", &fields)
    };
    assert_eq!(
        filled(200 * 1024).status,
        StatusCode::SEE_OTHER,
        "a large form is still taken"
    );
    let over = filled(300 * 1024);
    assert_eq!(over.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(over.is_page(), "{}", over.text());

    let file = |bytes: usize| served.load("big.csv", &b"Sample,pH\nA,6\n".repeat(bytes / 14));
    let over = file(21 * 1024 * 1024);
    assert!(over.status.is_client_error());
    assert!(over.text().contains("larger than 20 MB"), "{}", over.text());
    assert!(over.is_page());
    assert!(served.get("/lab").text().contains("Load the file"));
    assert_eq!(
        file(1024 * 1024).status,
        StatusCode::SEE_OTHER,
        "a file above the limit of a form is taken"
    );
}

#[test]
fn every_answer_carries_the_policy() {
    let served = Served::planned();
    for (_, path) in PAGES {
        let answer = served.get(path);
        let policy = answer.header("content-security-policy");
        assert!(policy.starts_with("default-src 'none';"), "{path}");
        for word in ["unsafe", "*", "http", "data:", "blob:"] {
            assert!(!policy.contains(word), "{path}: {policy}");
        }
        assert!(policy.contains("script-src 'self';"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("x-frame-options"), "DENY", "{path}");
    }
}
