//! The smallest writer of PDFs: objects numbered from 1, the first the catalogue.

// Each test takes what it needs.
#![allow(dead_code, clippy::unwrap_used)]

use std::io::Write;

/// A file of objects; its table of places is right.
pub fn file(objects: &[Vec<u8>]) -> Vec<u8> {
    let mut out = b"%PDF-1.5\n".to_vec();
    let mut places = Vec::new();
    for (i, object) in objects.iter().enumerate() {
        places.push(out.len());
        writeln!(out, "{} 0 obj", i + 1).unwrap();
        out.extend_from_slice(object);
        out.extend_from_slice(b"\nendobj\n");
    }
    let at = out.len();
    write!(out, "xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1).unwrap();
    for place in places {
        writeln!(out, "{place:010} 00000 n ").unwrap();
    }
    let size = objects.len() + 1;
    write!(
        out,
        "trailer<</Size {size}/Root 1 0 R>>\nstartxref\n{at}\n%%EOF\n"
    )
    .unwrap();
    out
}

pub fn object(text: &str) -> Vec<u8> {
    text.as_bytes().to_vec()
}

pub fn stream(dict: &str, data: &[u8]) -> Vec<u8> {
    let mut out = format!("<<{dict}/Length {}>>stream\n", data.len()).into_bytes();
    out.extend_from_slice(data);
    out.extend_from_slice(b"\nendstream");
    out
}

pub fn packed(data: &[u8]) -> Vec<u8> {
    let level = flate2::Compression::best();
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), level);
    encoder.write_all(data).unwrap();
    encoder.finish().unwrap()
}

/// A letter page with a content stream and the standard fonts /F (sans) and /C (fixed width).
pub fn page(content: &str, extra: &str) -> Vec<u8> {
    pages(&[content], extra)
}

pub fn pages(contents: &[&str], extra: &str) -> Vec<u8> {
    let font = |name: &str| {
        format!("<</Type/Font/Subtype/Type1/BaseFont/{name}/Encoding/WinAnsiEncoding>>")
    };
    let kids: String = (0..contents.len())
        .map(|i| format!("{} 0 R ", 5 + 2 * i))
        .collect();
    let mut objects = vec![
        object("<</Type/Catalog/Pages 2 0 R>>"),
        object(&format!(
            "<</Type/Pages/Kids[{kids}]/Count {}>>",
            contents.len()
        )),
        object(&font("Helvetica")),
        object(&font("Courier")),
    ];
    for (i, content) in contents.iter().enumerate() {
        objects.push(object(&format!(
            "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Resources<</Font<</F 3 0 R/C 4 0 R>>>>\
             /Contents {} 0 R{extra}>>",
            6 + 2 * i
        )));
        objects.push(stream("", content.as_bytes()));
    }
    file(&objects)
}

/// Text at places from the bottom left: x, y, text.
pub fn text(font: &str, size: f64, words: &[(f64, f64, &str)]) -> String {
    words
        .iter()
        .map(|(x, y, text)| {
            let text = text.replace('(', "\\(").replace(')', "\\)");
            format!("BT /{font} {size} Tf {x} {y} Td ({text}) Tj ET\n")
        })
        .collect()
}
