//! The whole book as a folder and back: nothing is lost, and a second folder is equal byte for byte.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn filled(dir: &tempfile::TempDir) -> Book {
    let mut book = book(dir);
    let north = book
        .add_block(&field("North, “the \"long\" one” by the lane"))
        .unwrap();
    let mut odd = field("=SUM(A1)");
    odd.note = "'tis -5,\r\n\"@\" noon\n".into();
    let odd = book.add_block(&odd).unwrap();
    let mut kale = Planting::new(north, 2026, "kale");
    kale.yield_lb_per_acre = Some(0.1 + 0.2);
    book.set_planting(&kale).unwrap();
    let mut tests = vec![
        NewTest::new(soil("UF-1", 6.1)),
        NewTest::new(soil("-lost", 5.2)),
    ];
    tests[0].block = Some(north);
    book.add_report(&report("a.csv", b"sample,pH\r\nUF-1,6.1\n\0\xff"), &tests)
        .unwrap();
    book.set_planting(&Planting::new(odd, 2026, "kale"))
        .unwrap();
    book.undo_last().unwrap();
    book.set_compost(&CompostMade {
        material: "compost_dairy".into(),
        lot: "P-7".into(),
        made: agronomy::compost::Making {
            c_to_n: Some(0.1 + 0.2),
            days_hot: Some(16),
            ..agronomy::compost::Making::new(agronomy::compost::Way::Windrow)
        },
    })
    .unwrap();
    let gone = book.add_block(&field("Gone")).unwrap();
    book.remove_block(gone).unwrap();
    book
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut out = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            for (inner, bytes) in files(&path) {
                out.insert(format!("{name}/{inner}"), bytes);
            }
        } else {
            out.insert(name, fs::read(&path).unwrap());
        }
    }
    out
}

#[test]
fn a_book_goes_out_and_comes_back_the_same() {
    let dir = folder();
    let book = filled(&dir);
    let (a, b) = (dir.path().join("a"), dir.path().join("b"));
    book.to_folder(&a).unwrap();
    let mut back = Book::from_folder(&a, dir.path().join("back.book")).unwrap();
    assert_eq!(back.check().unwrap(), Vec::<String>::new());
    assert_eq!(back.differences(&book).unwrap(), []);
    assert_eq!(back.composts().unwrap(), book.composts().unwrap());
    assert_eq!(back.composts().unwrap()[0].made.days_hot, Some(16));
    assert_eq!(back.journal(1_000).unwrap(), book.journal(1_000).unwrap());
    let report = book.reports().unwrap().remove(0);
    assert_eq!(
        back.report_bytes(report.id).unwrap(),
        book.report_bytes(report.id).unwrap()
    );
    back.to_folder(&b).unwrap();
    assert_eq!(files(&a), files(&b));
    assert!(files(&a).len() > 15);
    // What was undone can still be undone and done again, and no number is given twice.
    back.undo_last().unwrap();
    let next = back.add_block(&field("Next")).unwrap();
    assert!(book.all_blocks().unwrap().iter().all(|b| b.id != next) && next > 3);
}

#[test]
fn a_folder_is_never_written_over_and_a_book_neither() {
    let dir = folder();
    let book = filled(&dir);
    let a = dir.path().join("a");
    book.to_folder(&a).unwrap();
    let again = book.to_folder(&a).unwrap_err();
    assert!(again.to_string().contains("already"), "{again}");
    let onto = Book::from_folder(&a, path(&dir)).unwrap_err();
    assert!(onto.to_string().contains("already"), "{onto}");
}

#[test]
fn a_folder_that_was_changed_gives_one_sentence_and_no_book() {
    type Change = fn(&Path);
    let changes: [(Change, &str); 7] = [
        (
            |f| fs::remove_file(f.join("about.json")).unwrap(),
            "about.json",
        ),
        (
            |f| fs::remove_file(f.join("block.csv")).unwrap(),
            "block.csv",
        ),
        (
            |f| {
                let text = fs::read_to_string(f.join("planting.csv")).unwrap();
                fs::write(f.join("planting.csv"), text.replace("2026", "soon")).unwrap();
            },
            "row 2, column season: found “soon”, expected a whole number",
        ),
        (
            |f| {
                let text = fs::read_to_string(f.join("soil_test.csv")).unwrap();
                let first = text.lines().next().unwrap();
                fs::write(f.join("soil_test.csv"), format!("{first}\n")).unwrap();
            },
            "found 0 rows",
        ),
        (
            |f| {
                let text = fs::read_to_string(f.join("about.json")).unwrap();
                fs::write(
                    f.join("about.json"),
                    text.replace("\"version\": 1", "\"version\": 9"),
                )
                .unwrap();
            },
            "version 9",
        ),
        (
            |f| {
                for kept in fs::read_dir(f.join("kept")).unwrap() {
                    fs::write(kept.unwrap().path(), b"other").unwrap();
                }
            },
            "not those that its name says",
        ),
        (
            |f| {
                let text = fs::read_to_string(f.join("planting.csv")).unwrap();
                let (head, row) = text.split_once('\n').unwrap();
                let row = row.replacen(",1,", ",99,", 1);
                fs::write(f.join("planting.csv"), format!("{head}\n{row}")).unwrap();
            },
            "point to rows that are not there",
        ),
    ];
    let dir = folder();
    let book = filled(&dir);
    for (i, (change, says)) in changes.iter().enumerate() {
        let to = dir.path().join(format!("out{i}"));
        book.to_folder(&to).unwrap();
        change(&to);
        let new = dir.path().join(format!("new{i}.book"));
        let error = Book::from_folder(&to, &new).unwrap_err().to_string();
        assert!(error.contains(says), "{error}");
        assert!(!new.exists() && !new.with_extension("book.new").exists());
    }
}

#[test]
fn two_books_tell_what_differs() {
    let dir = folder();
    let book = filled(&dir);
    let a = dir.path().join("a");
    book.to_folder(&a).unwrap();
    let mut other = Book::from_folder(&a, dir.path().join("other.book")).unwrap();
    let mut block = other.blocks().unwrap().remove(0);
    block.note = "limed by hand".into();
    other.change_block(&block).unwrap();
    other.add_block(&field("New ground")).unwrap();
    let all = book.differences(&other).unwrap();
    assert_eq!(all.len(), 2, "{all:?}");
    let note = all.iter().find(|d| d.column == "note").unwrap();
    assert_eq!(note.there.as_deref(), Some("limed by hand"));
    let new = all.iter().find(|d| d.column.is_empty()).unwrap();
    assert_eq!(
        (new.here.as_deref(), new.there.as_deref()),
        (None, Some("New ground"))
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_text_and_number_comes_back(note in any::<String>(), lb in 0.0f64..1e6) {
        let dir = folder();
        let mut book = book(&dir);
        let mut block = field("North");
        block.note = note.replace('\0', "");
        let id = book.add_block(&block).unwrap();
        let mut kale = Planting::new(id, 2026, "kale");
        kale.yield_lb_per_acre = Some(lb);
        book.set_planting(&kale).unwrap();
        book.to_folder(dir.path().join("a")).unwrap();
        let back = Book::from_folder(dir.path().join("a"), dir.path().join("b.book")).unwrap();
        prop_assert_eq!(back.differences(&book).unwrap(), vec![]);
        prop_assert_eq!(back.planting(id, 2026).unwrap(), book.planting(id, 2026).unwrap());
        back.to_folder(dir.path().join("c")).unwrap();
        prop_assert_eq!(files(&dir.path().join("a")), files(&dir.path().join("c")));
    }
}
