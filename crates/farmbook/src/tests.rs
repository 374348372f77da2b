//! What needs a look inside: a full disk and the steps from older layouts.

use crate::schema::{MIGRATIONS, pragma};
use crate::*;
use quantity::Area;
use std::fs;
use std::path::{Path, PathBuf};

fn pipit(folder: &Path) -> (PathBuf, Book) {
    let path = folder.join("pipit.book");
    let book = Book::create(&path, &Farm::new("Pipit Lane", 2026)).unwrap();
    (path, book)
}

fn block(name: &str) -> Block {
    let area = Area::acres(0.5);
    Block::new(name, BlockKind::Field, Shape::Stated { area })
}

fn report(n: usize) -> NewReport {
    NewReport {
        file_name: format!("{n}.csv"),
        bytes: n.to_string().repeat(9_000).into_bytes(),
        lab: None,
        layout: None,
        sampled_on: None,
        status: ReportStatus::Kept,
    }
}

#[test]
fn a_full_disk_gives_a_sentence_and_half_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (path, mut book) = pipit(folder.path());
    let start = pragma(&book.conn, "page_count").unwrap();
    let mut refusals = 0;
    let mut reports = 0;
    // Each limit stops the change at another page: in the file, the rows, an index, the journal.
    for room in 0..60 {
        let limit = start + room;
        book.conn
            .pragma_update(None, "max_page_count", limit)
            .unwrap();
        let before = (
            book.changes(10_000).unwrap(),
            book.journal(10_000).unwrap(),
            book.all_blocks().unwrap(),
        );
        let done = book.together("A delivery", |book| {
            book.add_block(&block(&format!("B{room}")))?;
            book.add_report(&report(room.unsigned_abs() as usize), &[])
        });
        match done {
            Ok(_) => reports += 1,
            Err(error) => {
                refusals += 1;
                assert!(matches!(error, Error::Full), "{error:?}");
                assert_eq!(
                    error.to_string(),
                    "The disk is full: the change was not saved and the book is as it was before."
                );
                let after = (
                    book.changes(10_000).unwrap(),
                    book.journal(10_000).unwrap(),
                    book.all_blocks().unwrap(),
                );
                assert_eq!(before, after, "room for {room} pages");
            }
        }
        assert!(book.running.is_none() && book.conn.is_autocommit());
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
        assert_eq!(book.reports().unwrap().len(), reports);
    }
    assert!(refusals >= 10 && reports >= 2, "{refusals} and {reports}");
    // Steps back need room too.
    let now = pragma(&book.conn, "page_count").unwrap();
    book.conn
        .pragma_update(None, "max_page_count", now)
        .unwrap();
    let mut stepped = 0;
    let full = loop {
        match book.undo_last() {
            Ok(Some(_)) => stepped += 1,
            Ok(None) => break None,
            Err(error) => break Some(error),
        }
        assert!(stepped < 1_000);
    };
    assert!(full.is_none_or(|e| matches!(e, Error::Full)));
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
    drop(book);
    let mut book = Book::open(&path).unwrap();
    book.add_block(&block("There is room again")).unwrap();
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn work_that_passes_over_a_full_disk_is_not_half_kept() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut book) = pipit(folder.path());
    let tables = "SELECT (SELECT count(*) FROM kept) + (SELECT count(*) FROM block)
        + (SELECT count(*) FROM change) + (SELECT count(*) FROM entry)";
    let count = |book: &Book| -> i64 { book.conn.query_row(tables, [], |row| row.get(0)).unwrap() };
    let before = count(&book);
    // Pages that the steps of the layout left free would be room.
    book.conn.execute_batch("VACUUM").unwrap();
    let pages = pragma(&book.conn, "page_count").unwrap();
    let limit = |book: &Book, n: i64| {
        book.conn.pragma_update(None, "max_page_count", n).unwrap();
    };
    limit(&book, pages + 1);
    for small_part_after in [true, false] {
        let done = book.together("Two parts", |book| {
            book.add_block(&block("First"))?;
            assert!(matches!(book.add_report(&report(1), &[]), Err(Error::Full)));
            if small_part_after {
                limit(book, pages + 1_000);
                let after = book.together("Second", |book| book.keep(b"small"));
                assert!(matches!(after, Err(Error::RolledBack)));
                limit(book, pages + 1);
            }
            Ok(())
        });
        assert!(matches!(done, Err(Error::RolledBack)), "{done:?}");
        assert_eq!(count(&book), before);
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
    }
}

/// The newest layout that this version knows.
const KNOWN: usize = MIGRATIONS.len();

const SECOND: &str = "ALTER TABLE block ADD COLUMN slope REAL;
    UPDATE block SET note = note || ' (moved)';";
const THIRD: &str = "CREATE TABLE visit (id INTEGER PRIMARY KEY, day TEXT NOT NULL) STRICT;";

fn steps(list: &[&'static str]) -> Vec<&'static str> {
    MIGRATIONS.iter().chain(list).copied().collect()
}

/// Made-up later layouts over the newest one.
#[test]
fn an_older_book_is_copied_and_brought_up_from_every_layout() {
    for from in KNOWN..=KNOWN + 2 {
        let folder = tempfile::tempdir().unwrap();
        let (path, mut book) = pipit(folder.path());
        let id = book.add_block(&block("A")).unwrap();
        drop(book);
        let all = steps(&[SECOND, THIRD]);
        drop(Book::open_with(&path, &all[..from]).unwrap());
        let mut book = Book::open_with(&path, &all).unwrap();
        let newest = i64::try_from(KNOWN + 2).unwrap();
        assert_eq!(pragma(&book.conn, "user_version").unwrap(), newest);
        assert_eq!(book.block(id).unwrap().note, " (moved)".trim_end());
        let copy = fs::read_dir(folder.path().join("backups"))
            .unwrap()
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .find(|n| n.contains(&format!("-schema{from}-before-schema{newest}")));
        assert_eq!(copy.is_some(), from < KNOWN + 2, "a copy before the step");
        if let Some(copy) = copy {
            let copy = folder.path().join("backups").join(copy);
            let old = Book::open_with(&copy, &all[..from]).unwrap();
            assert_eq!(pragma(&old.conn, "user_version").unwrap(), from as i64);
            assert_eq!(old.check().unwrap(), Vec::<String>::new());
        }
        // Rows moved by the step are not held against the journal, nor undone into the old form.
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
        assert!(matches!(book.undo_last(), Err(Error::TooOldToUndo(_))));
        book.change_block(&Block {
            note: "new".into(),
            ..book.block(id).unwrap()
        })
        .unwrap();
        book.undo_last().unwrap().unwrap();
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
        drop(book);
        let newer = Book::open(&path).unwrap_err();
        assert!(matches!(
            newer,
            Error::Newer { found, known, .. } if found == newest && known == newest - 2
        ));
    }
}

#[test]
fn a_step_that_fails_leaves_the_older_book() {
    let folder = tempfile::tempdir().unwrap();
    let (path, mut book) = pipit(folder.path());
    book.add_block(&block("A")).unwrap();
    drop(book);
    for broken in [
        "DROP TABLE plan_lock; CREATE TABLE farm (x);",
        "PRAGMA foreign_keys = OFF; INSERT INTO planting
            (block_id, season, crop, credits) VALUES (77, 2026, 'kale', '{}');",
    ] {
        assert!(Book::open_with(&path, &steps(&[broken])).is_err());
        let book = Book::open(&path).unwrap();
        assert_eq!(pragma(&book.conn, "user_version").unwrap(), KNOWN as i64);
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
    }
}

#[test]
fn no_copy_no_step() {
    let folder = tempfile::tempdir().unwrap();
    let (path, book) = pipit(folder.path());
    drop(book);
    fs::write(folder.path().join("backups"), b"a file in the way").unwrap();
    let error = Book::open_with(&path, &steps(&[SECOND])).unwrap_err();
    assert!(matches!(error, Error::Backup { .. }));
    let book = Book::open(&path).unwrap();
    assert_eq!(pragma(&book.conn, "user_version").unwrap(), KNOWN as i64);
}

#[test]
fn this_handle_writes_safely() {
    let folder = tempfile::tempdir().unwrap();
    let (_, book) = pipit(folder.path());
    let full = 2;
    assert_eq!(pragma(&book.conn, "synchronous").unwrap(), full);
    assert_eq!(pragma(&book.conn, "foreign_keys").unwrap(), 1);
    assert_eq!(pragma(&book.conn, "trusted_schema").unwrap(), 0);
    assert_eq!(pragma(&book.conn, "busy_timeout").unwrap(), 5_000);
    let send = |_: &dyn Send| ();
    send(&book);
}
