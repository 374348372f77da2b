//! Hostile PDFs, each read in a process of its own: a sentence, in time, in little memory, and the
//! asking program lives on. Run by itself, without a harness, because it is also that process.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used, clippy::panic)]

mod writer;

use labfiles::pages::{self, ReadApart};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::{Duration, Instant};
use writer::{file, object, packed, page, stream, text};

const MEMORY_KB: u64 = 300 * 1024;
const TIME: Duration = Duration::from_secs(10);

fn main() {
    if std::env::args().nth(1).as_deref() == Some("read-apart") {
        pages::serve(std::io::stdin().lock(), std::io::stdout().lock()).unwrap();
        if let Some(path) = std::env::args_os().nth(2) {
            let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
            let peak = status.lines().find(|l| l.starts_with("VmHWM"));
            std::fs::write(path, peak.unwrap_or_default()).unwrap();
        }
        return;
    }
    let args = ["read-apart".into(), note().into_os_string()];
    let helper = ReadApart::new(std::env::current_exe().unwrap(), args);
    assert!(helper.install());
    a_sound_file_is_read();
    for (name, bytes, says) in bombs() {
        let began = Instant::now();
        let result = pages::pdf(name, &bytes);
        let took = began.elapsed();
        let peak = peak();
        println!(
            "{name}: {} bytes, {took:.1?}, {} kB: {}",
            bytes.len(),
            peak.map_or_else(
                || "ended before it could say its".to_owned(),
                |p| p.to_string()
            ),
            match &result {
                Ok(p) => format!("{} words", p.words.len()),
                Err(p) => p.to_string(),
            }
        );
        assert!(took < TIME, "{name} took {took:?}");
        assert!(
            peak.is_none_or(|p| p < MEMORY_KB),
            "{name} took {peak:?} kB"
        );
        match (says, result) {
            (None, Ok(_)) => {}
            (Some(part), Err(problem)) => {
                let sentence = problem.to_string();
                assert!(sentence.contains(part), "{name}: {sentence}");
                assert!(sentence.ends_with('.') && sentence.len() < 400);
            }
            (_, other) => panic!("{name}: {other:?}"),
        }
    }
    a_sound_file_is_read();
    println!("all hostile files answered with a sentence");
}

/// Where the process that reads notes the memory it took.
fn note() -> PathBuf {
    std::env::temp_dir().join(format!("labfiles-peak-{}", std::process::id()))
}

fn peak() -> Option<u64> {
    let text = std::fs::read_to_string(note()).ok()?;
    std::fs::remove_file(note()).ok();
    text.split_whitespace().nth(1)?.parse().ok()
}

fn a_sound_file_is_read() {
    let content = text(
        "F",
        10.0,
        &[
            (72.0, 700.0, "Sample: A"),
            (72.0, 680.0, "pH"),
            (200.0, 680.0, "6.2"),
        ],
    );
    let read = pages::pdf("sound.pdf", &page(&content, "")).unwrap();
    let words: Vec<&str> = read.words.iter().map(|w| w.text.as_str()).collect();
    assert_eq!(words, ["Sample:", "A", "pH", "6.2"]);
}
type Bomb = (&'static str, Vec<u8>, Option<&'static str>);

fn bombs() -> Vec<Bomb> {
    vec![
        ("flate bomb", flate_bomb(), Some("unpack to more")),
        ("flate in flate", flate_in_flate(), Some("unpack to more")),
        (
            "packed by two other ways",
            lzw_bomb(),
            Some("more room than any report"),
        ),
        ("page tree that loops", page_loop(), Some("found")),
        ("page tree a thousand deep", deep_tree(), Some("found")),
        ("forms that multiply", laughs(), Some("found")),
        ("a million objects", million(), Some("found")),
        (
            "a million letters",
            letters(),
            Some("more room than any report"),
        ),
        (
            "nested brackets",
            nested(),
            Some("brackets within brackets"),
        ),
        ("page of no size", huge_page(), Some("found")),
        ("huge page", large_page(), None),
        ("truncated", truncated(), Some("found")),
        ("zero bytes", zeros(), Some("found")),
        ("loop of cross-reference tables", xref_loop(), Some("found")),
    ]
}

fn tree(kids: &str) -> Vec<Vec<u8>> {
    vec![
        object("<</Type/Catalog/Pages 2 0 R>>"),
        object(&format!("<</Type/Pages/Kids[{kids}]/Count 1>>")),
    ]
}

fn flate_bomb() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(
        "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R>>",
    ));
    objects.push(stream(
        "/Filter/FlateDecode",
        &packed(&vec![b' '; 400 << 20]),
    ));
    file(&objects)
}

fn flate_in_flate() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(
        "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R>>",
    ));
    let inner = packed(&packed(&vec![b' '; 300 << 20]));
    objects.push(stream("/Filter[/FlateDecode/FlateDecode]", &inner));
    file(&objects)
}

/// Run lengths in hexadecimal in flate: nothing that is weighed beforehand, and 1 GB in the end.
fn lzw_bomb() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(
        "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R>>",
    ));
    let runs: Vec<u8> = std::iter::repeat_n([129, b' '], 8 << 20)
        .flatten()
        .collect();
    objects.push(stream(
        "/Filter[/FlateDecode/RunLengthDecode]",
        &packed(&runs),
    ));
    file(&objects)
}

fn page_loop() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(
        "<</Type/Pages/Parent 2 0 R/Kids[2 0 R 3 0 R]/Count 9>>",
    ));
    file(&objects)
}

fn deep_tree() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    for i in 3..40_000 {
        objects.push(object(&format!(
            "<</Type/Pages/Kids[{} 0 R]/Count 1>>",
            i + 1
        )));
    }
    file(&objects)
}

/// Each form draws the next ten times, thirty deep.
fn laughs() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(
        "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R/Resources<</XObject<</X 5 0 R>>>>>>",
    ));
    objects.push(stream("", b"/X Do"));
    for i in 5..35 {
        let dict = format!(
            "/Type/XObject/Subtype/Form/BBox[0 0 612 792]/Resources<</XObject<</X {} 0 R>>>>",
            i + 1
        );
        objects.push(stream(&dict, "/X Do ".repeat(10).as_bytes()));
    }
    objects.push(stream(
        "/Type/XObject/Subtype/Form/BBox[0 0 612 792]",
        b"0 0 1 1 re f",
    ));
    file(&objects)
}

fn million() -> Vec<u8> {
    let mut objects = tree("");
    objects.extend((0..600_000).map(|_| object("0")));
    let mut bytes = file(&objects);
    assert!(bytes.len() < 40 << 20);
    bytes.truncate(19 << 20);
    bytes
}

fn letters() -> Vec<u8> {
    let mut content = String::from("BT /F 1 Tf 10 10 Td ");
    for _ in 0..10_000 {
        write!(content, "({}) Tj ", "x".repeat(100)).unwrap();
    }
    page(&content, "")
}

fn nested() -> Vec<u8> {
    let mut objects = tree("3 0 R");
    objects.push(object(&"[".repeat(4 << 20)));
    file(&objects)
}

fn huge_page() -> Vec<u8> {
    let content = text(
        "F",
        10.0,
        &[(72.0, 700.0, "Sample: A"), (72.0, 680.0, "pH 6.2")],
    );
    page(
        &content,
        "/MediaBox[0 0 1e30 1e30]/CropBox[-1e9 -1e9 1e9 1e9]",
    )
}

fn large_page() -> Vec<u8> {
    let content = text(
        "F",
        10.0,
        &[(72.0, 700.0, "Sample: A"), (72.0, 680.0, "pH 6.2")],
    );
    String::from_utf8(page(&content, ""))
        .unwrap()
        .replace("0 0 612 792", "0 0 9000000000 9000000000")
        .into_bytes()
}

fn truncated() -> Vec<u8> {
    let content = text(
        "F",
        10.0,
        &[(72.0, 700.0, "Sample: A"), (72.0, 680.0, "pH 6.2")],
    );
    let bytes = page(&content, "");
    bytes[..bytes.len() / 3].to_vec()
}

fn zeros() -> Vec<u8> {
    let mut bytes = b"%PDF-1.4\n".to_vec();
    bytes.resize(10 << 20, 0);
    bytes
}

fn xref_loop() -> Vec<u8> {
    let mut bytes = b"%PDF-1.4\n".to_vec();
    let at = bytes.len();
    bytes.extend_from_slice(
        format!("xref\n0 1\n0000000000 65535 f \ntrailer<</Size 1/Root 1 0 R/Prev {at}>>\nstartxref\n{at}\n%%EOF\n")
            .as_bytes(),
    );
    bytes
}
