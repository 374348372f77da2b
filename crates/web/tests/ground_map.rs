//! Outlines are looked at, kept and drawn; cores are placed and given as GPX.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::http::StatusCode;
use served::Served;

const OUTLINES: &[u8] = include_bytes!("../../../demo/outlines.geojson");

#[test]
fn a_file_is_looked_at_before_it_is_kept() {
    let served = Served::empty();
    assert!(
        served
            .get("/ground/diagram")
            .text()
            .contains("No block has an outline yet")
    );
    let seen = served.outlines(OUTLINES, &[("do", "look"), ("add", "yes")]);
    assert_eq!(seen.status, StatusCode::OK);
    assert!(seen.text().contains("Nothing is kept yet") && seen.text().contains("a new block"));
    assert!(
        served
            .get("/ground/diagram")
            .text()
            .contains("No block has an outline yet")
    );
    // Without a block of any of the names nothing can be kept, and it is said.
    let refused = served.outlines(OUTLINES, &[("do", "keep")]);
    assert!(refused.text().contains("goes by the name of a block"));
    let kept = served.outlines(OUTLINES, &[("do", "keep"), ("add", "yes")]);
    assert_eq!(kept.status, StatusCode::SEE_OTHER);
    let page = served.get("/ground/diagram").text();
    assert!(page.contains("14 blocks have outlines"));
    // Drawn to scale: a shape for each block, a bar in feet, an arrow to the north.
    assert_eq!(page.matches("\"><path d=\"M").count(), 14);
    assert!(page.contains(" ft</text>") && page.contains(">N</text>"));
}

#[test]
fn an_area_is_taken_over_only_when_asked() {
    let served = Served::demo();
    let page = served.get("/ground/diagram").text();
    assert!(page.contains("1 differs from the area in the book"));
    let at = page.find("Take this area over").unwrap();
    let form = page[..at].rfind("/ground/walk/").unwrap();
    let path = page[form..].split('"').next().unwrap().to_owned();
    assert!(path.ends_with("/area"), "{path}");
    assert_eq!(served.post(&path, &[]).status, StatusCode::SEE_OTHER);
    assert!(
        !served
            .get("/ground/diagram")
            .text()
            .contains("Take this area over")
    );
    served.post("/changes/undo", &[]);
    assert!(
        served
            .get("/ground/diagram")
            .text()
            .contains("Take this area over")
    );
}

#[test]
fn the_page_of_a_walk_and_its_file_tell_the_same_cores() {
    let served = Served::demo();
    let page = served
        .get("/ground/walk/1?cores=18&seed=5&start=northeast&back=yes")
        .text();
    assert!(
        page.contains("from the northeast corner") && page.contains("and back"),
        "{page}"
    );
    let link = "/ground/walk/1/cores.gpx?cores=18&amp;seed=5&amp;start=northeast&amp;back=yes";
    assert!(page.contains(link), "{page}");
    let gpx = served.get(&link.replace("&amp;", "&"));
    assert_eq!(gpx.header("content-type"), "application/gpx+xml");
    assert_eq!(gpx.text().matches("<wpt").count(), 18);
    assert_eq!(page.matches("<circle").count(), 18);
    for part in gpx.text().split("<desc>").skip(1) {
        let told = part.split("</desc>").next().unwrap();
        assert!(page.contains(told), "{told}");
    }
    for query in [
        "cores=0",
        "cores=201",
        "cores=x",
        "margin=NaN",
        "margin=-3",
        "margin=1e9",
        "seed=-1",
    ] {
        let answer = served.get(&format!("/ground/walk/1?{query}"));
        assert_eq!(answer.status, StatusCode::OK, "{query}");
        assert!(answer.text().contains("role=\"alert\""), "{query}");
        assert!(
            served
                .get(&format!("/ground/walk/1/cores.gpx?{query}"))
                .status
                .is_client_error()
        );
    }
    assert_eq!(
        served.post("/ground/walk/1/drop", &[]).status,
        StatusCode::SEE_OTHER
    );
    assert!(
        served
            .get("/ground/walk/1")
            .text()
            .contains("no outline yet")
    );
}
