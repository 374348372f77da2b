//! The book as one file and back, and two books side by side.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

use farmbook::{Book, Id, Spread};
use farmwork::demo;
use farmwork::take_along::{Scratch, beside, from_zip, open_other, to_zip};
use jiff::civil::date;
use quantity::Weight;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn made(folder: &Path) -> Book {
    demo::create(&folder.join("farm.book"), 2027).unwrap()
}

/// Opens a file as one that came from elsewhere.
fn opened(path: &Path) -> (Scratch, farmwork::Result<Book>) {
    let scratch = Scratch::new().unwrap();
    let own = scratch.path().join("other");
    fs::copy(path, &own).unwrap();
    let book = open_other(&own, &scratch);
    (scratch, book)
}

fn said(path: &Path) -> String {
    match opened(path).1 {
        Ok(_) => "it was opened".to_owned(),
        Err(why) => why.to_string(),
    }
}

#[test]
fn a_zip_gives_the_same_book_and_a_second_zip_the_same_bytes() {
    let dir = TempDir::new().unwrap();
    let book = made(dir.path());
    let (a, b) = (dir.path().join("a.zip"), dir.path().join("b.zip"));
    to_zip(&book, &a).unwrap();
    let (_scratch, back) = opened(&a);
    let back = back.unwrap();
    assert_eq!(beside(&book, &back).unwrap().count, 0);
    assert_eq!(back.journal(100).unwrap(), book.journal(100).unwrap());
    to_zip(&back, &b).unwrap();
    assert!(
        fs::read(&a).unwrap() == fs::read(&b).unwrap(),
        "byte for byte"
    );
    let again = from_zip(&b, &dir.path().join("again.book")).unwrap();
    assert_eq!(beside(&book, &again).unwrap().count, 0);
    // Nothing is written over.
    assert!(from_zip(&b, again.path()).is_err());
    assert!(to_zip(&book, &a).is_err());
    // A book itself can be laid beside as well, once it is closed and whole in one file.
    let path = book.path().to_owned();
    drop(book);
    let (_scratch, copy) = opened(&path);
    let book = Book::open(&path).unwrap();
    let found = beside(&book, &copy.unwrap()).unwrap();
    assert!(found.same_farm && found.count == 0);
}

#[test]
fn differences_are_told_by_block_and_kind() {
    let dir = TempDir::new().unwrap();
    let book = made(dir.path());
    let zip = dir.path().join("a.zip");
    to_zip(&book, &zip).unwrap();
    let (_scratch, other) = opened(&zip);
    let mut other = other.unwrap();
    let block = other.blocks().unwrap().remove(1);
    let mut changed = block.clone();
    changed.note = "stones in the north corner".to_owned();
    other.change_block(&changed).unwrap();
    let lb = Weight::pounds(24.0);
    let entry = Spread::new(2027, date(2027, 4, 2), block.id, "feather_meal", lb);
    other.log_spread(&entry).unwrap();
    let mut farm = other.farm().unwrap();
    farm.region = "Ohio".to_owned();
    other.set_farm(&farm).unwrap();
    let found = beside(&book, &other).unwrap();
    assert_eq!((found.count, found.same_farm), (3, true));
    let names: Vec<Option<&str>> = found.blocks.iter().map(|b| b.block.as_deref()).collect();
    assert_eq!(names, [None, Some(block.name.as_str())], "the farm first");
    let kinds: Vec<(usize, usize, usize)> = found.blocks[1]
        .kinds
        .iter()
        .map(|k| (k.here, k.there, k.differ))
        .collect();
    assert_eq!(kinds, [(0, 0, 1), (0, 1, 0)], "a note and an entry");
    // The other way round the sides change places.
    let back = beside(&other, &book).unwrap();
    assert_eq!(back.blocks[1].kinds[1].here, 1);
    // Two farms that were not begun as one say so.
    let far = TempDir::new().unwrap();
    let strange = Book::create(
        far.path().join("b.book"),
        &farmbook::Farm::new("Heron Side", 2020),
    );
    let found = beside(&book, &strange.unwrap()).unwrap();
    assert!(found.count > 20, "{}", found.count);
    let most = found
        .blocks
        .iter()
        .flat_map(|b| &b.kinds)
        .map(|k| k.shown.len())
        .max();
    assert!(most.unwrap() <= farmwork::take_along::SHOWN);
}

/// A zip with the given files.
fn packed(at: PathBuf, files: &[(&str, &[u8])]) -> PathBuf {
    let mut zip = ZipWriter::new(fs::File::create(&at).unwrap());
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
    at
}

#[test]
fn what_is_no_book_gives_a_sentence() {
    let dir = TempDir::new().unwrap();
    let at = |name: &str| dir.path().join(name);
    fs::write(at("empty"), b"").unwrap();
    fs::write(at("text"), b"block,pH\nBarn,6.1\n").unwrap();
    fs::write(at("pk"), b"PK\x03\x04 and no more").unwrap();
    fs::write(at("head"), b"SQLite format 3\0 and no more of it").unwrap();
    for (name, words) in [
        ("empty", "neither a book nor the zip"),
        ("text", "neither a book nor the zip"),
        ("pk", "zip cannot be read"),
        ("head", "farm book"),
    ] {
        let found = said(&at(name));
        assert!(found.contains(words), "{name}: {found}");
    }
    for (name, inner) in [
        ("../../../escape.csv", "../../../escape.csv"),
        ("photo.jpg", "photo.jpg"),
        ("/etc/passwd", "/etc/passwd"),
    ] {
        let zip = packed(at("odd.zip"), &[("about.json", b"{}"), (name, b"x")]);
        let found = said(&zip);
        assert!(
            found.contains(inner) && found.contains("expected about.json"),
            "{found}"
        );
    }
    let zip = packed(at("bare.zip"), &[("farm/about.json", b"{\"format\":1}")]);
    assert!(said(&zip).contains("about.json"), "{}", said(&zip));
    let zip = packed(at("none.zip"), &[]);
    assert!(said(&zip).contains("about.json"), "{}", said(&zip));
}

#[test]
fn a_zip_that_was_changed_is_told_by_file_and_row() {
    let dir = TempDir::new().unwrap();
    let book = made(dir.path());
    let folder = dir.path().join("out");
    book.to_folder(&folder).unwrap();
    let read = |name: &str| fs::read(folder.join(name)).unwrap();
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for entry in fs::read_dir(&folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name != "kept" {
            files.push((name.clone(), read(&name)));
        }
    }
    for entry in fs::read_dir(folder.join("kept")).unwrap() {
        let name = format!("kept/{}", entry.unwrap().file_name().into_string().unwrap());
        files.push((name.clone(), read(&name)));
    }
    let zip_of = |files: &[(String, Vec<u8>)]| {
        let all: Vec<(&str, &[u8])> = files
            .iter()
            .map(|(n, b)| (n.as_str(), b.as_slice()))
            .collect();
        packed(dir.path().join("changed.zip"), &all)
    };
    assert_eq!(
        said(&zip_of(&files)),
        "it was opened",
        "without a folder around it too"
    );
    let mut kept = files.clone();
    kept.iter_mut()
        .find(|(n, _)| n.starts_with("kept/"))
        .unwrap()
        .1
        .push(0);
    assert!(said(&zip_of(&kept)).contains("not those that its name says"));
    let mut blocks = files.clone();
    let csv = &mut blocks.iter_mut().find(|(n, _)| n == "block.csv").unwrap().1;
    let text = String::from_utf8(csv.clone())
        .unwrap()
        .replacen("\n1,", "\none,", 1);
    *csv = text.into_bytes();
    let found = said(&zip_of(&blocks));
    assert!(
        found.contains("row 2") && found.contains("whole number"),
        "{found}"
    );
}

#[test]
fn a_book_with_something_put_into_it_is_not_opened() {
    let dir = TempDir::new().unwrap();
    let book = made(dir.path());
    let path = book.path().to_owned();
    drop(book);
    assert_eq!(said(&path), "it was opened");
    // A book of another kind of bytes in the middle is a sentence or a book, never more.
    let bytes = fs::read(&path).unwrap();
    let torn = dir.path().join("torn.book");
    for at in [100, 1_000, 4_096, 20_000, bytes.len() / 2] {
        let mut other = bytes.clone();
        for byte in other.iter_mut().skip(at).take(64) {
            *byte = !*byte;
        }
        fs::write(&torn, &other).unwrap();
        let (_scratch, opened) = opened(&torn);
        if let Ok(book) = opened {
            let other: Id = 1;
            let _ = book.block(other);
        }
    }
    // The name of a table stands in the layout as text: another one of the same length is another layout.
    let name = b"CREATE TABLE bucket";
    let mut other = bytes.clone();
    let mut there = 0;
    for at in 0..bytes.len() - name.len() {
        if bytes[at..].starts_with(name) {
            other[at + name.len() - 1] = b'T';
            there += 1;
        }
    }
    assert!(there > 0);
    fs::write(&torn, &other).unwrap();
    assert!(said(&torn).contains("farm book"), "{}", said(&torn));
}
