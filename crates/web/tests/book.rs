//! Taking the book along through the pages, and laying another beside it.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod served;

use axum::body::Body;
use axum::http::StatusCode;
use served::{Answer, Served, request};

/// Lays a file beside the book.
fn beside(served: &Served, bytes: &[u8]) -> Answer {
    let mut body = b"--X\r\nContent-Disposition: form-data; name=\"other\"; filename=\"o.zip\"\r\n\
        Content-Type: application/octet-stream\r\n\r\n"
        .to_vec();
    body.extend_from_slice(bytes);
    body.extend_from_slice(b"\r\n--X--\r\n");
    let asked = request("POST", "/book/beside")
        .header("content-type", "multipart/form-data; boundary=X")
        .body(Body::from(body));
    served.send(asked.unwrap())
}

#[test]
fn the_zip_of_a_page_lies_beside_its_book_without_a_difference() {
    let served = Served::demo();
    let zip = served.get("/book/farm.zip");
    assert_eq!(zip.status, StatusCode::OK);
    assert!(zip.bytes.starts_with(b"PK"));
    assert!(zip.header("content-disposition").contains("farm.zip"));
    assert_eq!(
        zip.bytes,
        served.get("/book/farm.zip").bytes,
        "the same bytes again"
    );
    let changes = served.get("/changes").text();
    let same = beside(&served, &zip.bytes);
    assert_eq!(same.status, StatusCode::OK);
    assert!(
        same.text().contains("The two books say the same."),
        "{}",
        same.text()
    );
    // A change later, it says which block and what.
    let new = [
        ("name", "New ground"),
        ("kind", "field"),
        ("shape", "rectangle"),
        ("length", "10"),
        ("width", "10"),
        ("depth", "6.667"),
        ("texture", "loam"),
    ];
    assert_eq!(served.post("/ground", &new).status, StatusCode::SEE_OTHER);
    let before = served.get("/changes").text();
    assert_ne!(before, changes);
    let text = beside(&served, &zip.bytes).text();
    assert!(
        text.contains("only in this book") && text.contains("New ground"),
        "{text}"
    );
    // Comparing writes nothing.
    assert_eq!(served.get("/changes").text(), before);
}

#[test]
fn a_hostile_file_gives_a_sentence_and_changes_nothing() {
    let served = Served::demo();
    let before = served.get("/changes").text();
    let zip = served.get("/book/farm.zip").bytes;
    let mut cases: Vec<Vec<u8>> = vec![
        Vec::new(),
        b"PK".to_vec(),
        b"SQLite format 3\0".to_vec(),
        b"<script>alert(1)</script>".to_vec(),
        zip[..zip.len() / 2].to_vec(),
        zip[zip.len() / 2..].to_vec(),
    ];
    for at in (0..zip.len()).step_by(zip.len() / 12) {
        let mut torn = zip.clone();
        torn[at] ^= 0xff;
        cases.push(torn);
    }
    for case in cases {
        let answer = beside(&served, &case);
        assert!(answer.is_sound() && answer.is_page(), "{:?}", answer.status);
    }
    assert_eq!(served.get("/changes").text(), before);
}
