//! What is in a PDF, told by poppler's programs: its words with their places, and its pixels.
#![allow(dead_code)] // each user takes a part
#![allow(clippy::expect_used, clippy::unwrap_used)]

use sheets::Pdf;
use std::process::Command;

pub fn poppler(program: &str, pdf: &Pdf, args: &[&str]) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, &pdf.bytes).unwrap();
    let out = Command::new(program)
        .args(args)
        .arg(&path)
        // Both programs write to where they are read from; only one wants to be told.
        .args((program == "pdftotext").then_some("-"))
        .output()
        .expect("this test needs poppler-utils");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    out.stdout
}

pub fn running(pdf: &Pdf) -> String {
    String::from_utf8(poppler("pdftotext", pdf, &["-enc", "UTF-8"]))
        .unwrap()
        .replace(['\u{200b}', '\u{ad}'], "")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// Every word with its page and box in points.
pub fn words(pdf: &Pdf) -> Vec<(usize, String, [f64; 4])> {
    let mut page = 0;
    let mut all = Vec::new();
    for line in String::from_utf8(poppler("pdftotext", pdf, &["-bbox", "-enc", "UTF-8"]))
        .unwrap()
        .lines()
    {
        let line = line.trim();
        page += usize::from(line.starts_with("<page "));
        let Some(rest) = line.strip_prefix("<word ") else {
            continue;
        };
        let at = |name: &str| -> f64 {
            let from = rest.split_once(&format!("{name}=\"")).unwrap().1;
            from.split_once('"').unwrap().0.parse().unwrap()
        };
        let text = rest.split_once('>').unwrap().1.trim_end_matches("</word>");
        all.push((
            page,
            text.to_owned(),
            [at("xMin"), at("yMin"), at("xMax"), at("yMax")],
        ));
    }
    all
}

/// A page in grey at so many dots to the inch: width, height, a byte a pixel.
pub fn pixels(pdf: &Pdf, page: usize, dots: usize) -> (usize, usize, Vec<u8>) {
    let (n, dots) = (page.to_string(), dots.to_string());
    let pgm = poppler("pdftoppm", pdf, &["-r", &dots, "-gray", "-f", &n, "-l", &n]);
    // A PGM: P5, width, height, 255, then a byte a pixel.
    let mut at = 0;
    let mut head = Vec::new();
    while head.len() < 4 {
        let end = at + pgm[at..].iter().position(u8::is_ascii_whitespace).unwrap();
        head.push(String::from_utf8(pgm[at..end].to_vec()).unwrap());
        at = end + 1;
    }
    let (wide, high): (usize, usize) = (head[1].parse().unwrap(), head[2].parse().unwrap());
    assert_eq!(pgm.len() - at, wide * high);
    (wide, high, pgm[at..].to_vec())
}
