//! Foreign, newer, missing and read-only files; copies; two windows on one book.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use rusqlite::Connection;
use std::fs;

fn refused(path: &std::path::Path) -> String {
    let text = Book::open(path).unwrap_err().to_string();
    assert!(
        text.ends_with('.') && text.contains("book") || text.contains("version"),
        "{text}"
    );
    text
}

#[test]
fn what_is_not_a_book_is_left_as_it_is() {
    let dir = folder();
    let at = |name: &str| dir.path().join(name);
    fs::write(at("empty"), b"").unwrap();
    fs::write(at("text"), b"sample,pH\nA,6.1\n").unwrap();
    fs::write(at("short"), b"SQLite format 3\0").unwrap();
    let mut torn = b"SQLite format 3\0".to_vec();
    torn.extend([0xAB; 5_000]);
    fs::write(at("torn"), &torn).unwrap();
    let other = Connection::open(at("other")).unwrap();
    other.execute_batch("CREATE TABLE t (x)").unwrap();
    drop(other);
    for name in ["empty", "text", "short", "torn", "other"] {
        let before = fs::read(at(name)).unwrap();
        let text = refused(&at(name));
        assert!(text.contains("is not a farm book"), "{name}: {text}");
        assert_eq!(fs::read(at(name)).unwrap(), before, "{name}");
    }
    assert!(refused(dir.path()).contains("is not a farm book"));
    assert!(refused(&at("none")).contains("There is no book"));
    assert!(!at("none").exists());
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 5, "no litter");
}

#[test]
fn a_newer_book_is_refused() {
    let dir = folder();
    drop(book(&dir));
    let conn = Connection::open(path(&dir)).unwrap();
    conn.pragma_update(None, "user_version", 99).unwrap();
    drop(conn);
    let before = fs::read(path(&dir)).unwrap();
    let text = refused(&path(&dir));
    assert!(
        text.contains("newer version") && text.contains("99"),
        "{text}"
    );
    assert_eq!(fs::read(path(&dir)).unwrap(), before);
}

#[test]
fn a_book_is_not_written_over() {
    let dir = folder();
    drop(book(&dir));
    assert!(matches!(
        Book::create(path(&dir), &pipit()),
        Err(Error::Exists(_))
    ));
    assert_eq!(Book::open(path(&dir)).unwrap().farm().unwrap(), pipit());
}

#[test]
fn a_read_only_file_gives_a_sentence() {
    let dir = folder();
    drop(book(&dir));
    let mut rights = fs::metadata(path(&dir)).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(path(&dir), rights).unwrap();
    let text = refused(&path(&dir));
    assert!(text.contains("can be read but not written"), "{text}");
}

#[test]
fn no_folder_no_book() {
    let dir = folder();
    let error = Book::create(dir.path().join("no/such/pipit.book"), &pipit()).unwrap_err();
    assert!(
        error.to_string().contains("no file can be written"),
        "{error}"
    );
}

#[test]
fn a_half_made_book_does_not_stand_in_the_way() {
    let dir = folder();
    fs::write(dir.path().join("pipit.book.new"), b"torn off").unwrap();
    assert_eq!(book(&dir).farm().unwrap(), pipit());
}

#[test]
fn the_settings_that_keep_records_safe_are_on() {
    let dir = folder();
    let book = book(&dir);
    let conn = Connection::open(path(&dir)).unwrap();
    let text = |name: &str| -> String {
        conn.query_row(&format!("PRAGMA {name}"), [], |row| {
            Ok(format!("{:?}", row.get_ref(0)?))
        })
        .unwrap()
    };
    assert!(text("journal_mode").contains("Text([119, 97, 108])"), "wal");
    assert_eq!(text("application_id"), format!("Integer({})", 0x5350_4457));
    assert_eq!(text("user_version"), format!("Integer({})", newest()));
    drop(book);
}

#[test]
fn a_copy_is_made_at_the_first_change_of_a_day() {
    let dir = folder();
    let mut book = book(&dir);
    let copies = || -> Vec<String> {
        let Ok(files) = fs::read_dir(dir.path().join("backups")) else {
            return vec![];
        };
        let mut names: Vec<_> = files
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    assert!(copies().is_empty(), "reading makes no copy");
    let on = |day: i8| move || jiff::civil::date(2026, 3, day).in_tz("UTC").unwrap();
    book.set_clock(on(1));
    book.add_block(&field("A")).unwrap();
    book.add_block(&field("B")).unwrap();
    assert_eq!(
        copies(),
        [format!("pipit-2026-03-01-schema{}.book", newest())]
    );
    book.set_clock(on(2));
    book.add_block(&field("C")).unwrap();
    assert_eq!(
        copies(),
        [
            format!("pipit-2026-03-01-schema{}.book", newest()),
            format!("pipit-2026-03-02-schema{}.book", newest())
        ]
    );
    // The copy is a whole book as it was before that day's first change.
    let copy = Book::open(dir.path().join("backups").join(&copies()[1])).unwrap();
    assert_eq!(copy.blocks().unwrap().len(), 2);
    assert_eq!(copy.check().unwrap(), Vec::<String>::new());
}

#[test]
fn old_copies_are_thinned_and_foreign_files_left() {
    let dir = folder();
    let mut book = book(&dir);
    let backups = dir.path().join("backups");
    fs::create_dir(&backups).unwrap();
    for foreign in [
        "pipit-2020-01-02-schema1-before-schema5.book",
        "pipit-2020-01-03-schema1.book.txt",
        "pipit-notes.book",
        "other-2020-01-04-schema1.book",
    ] {
        fs::write(backups.join(foreign), b"x").unwrap();
    }
    let first = jiff::civil::date(2026, 1, 1);
    for n in 0..70i64 {
        let day = first.checked_add(jiff::Span::new().days(n)).unwrap();
        book.set_clock(move || day.in_tz("UTC").unwrap());
        book.add_block(&field(&format!("B{n}"))).unwrap();
    }
    let names: Vec<_> = fs::read_dir(&backups)
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .collect();
    // 70 days: the newest 30, the first of January and the first of February; and 4 foreign ones.
    assert_eq!(names.len(), 30 + 2 + 4, "{names:?}");
    for kept in ["2026-01-01", "2026-02-01", "2026-03-11"] {
        assert!(names.iter().any(|n| n.contains(kept)), "{kept}");
    }
}

#[test]
fn a_copy_that_cannot_be_made_is_reported_and_stops_nothing() {
    let dir = folder();
    let mut book = book(&dir);
    fs::write(dir.path().join("backups"), b"a file in the way").unwrap();
    book.add_block(&field("A")).unwrap();
    assert!(book.backup_trouble().unwrap().contains("backup"));
    assert_eq!(book.check().unwrap().len(), 1);
    fs::remove_file(dir.path().join("backups")).unwrap();
    book.add_block(&field("B")).unwrap();
    assert_eq!(book.backup_trouble(), None);
}

#[test]
fn a_book_can_be_carried_away_as_one_file() {
    let dir = folder();
    let mut book = book(&dir);
    book.add_block(&field("A")).unwrap();
    let stick = folder();
    let copy = stick.path().join("copy.book");
    book.save_copy(&copy).unwrap();
    assert_eq!(fs::read_dir(stick.path()).unwrap().count(), 1);
    assert_eq!(dump(&Book::open(&copy).unwrap()), dump(&book));
    assert!(matches!(book.save_copy(&copy), Err(Error::Exists(_))));
}

#[test]
fn two_windows_on_one_book() {
    let dir = folder();
    let mut one = book(&dir);
    let mut two = Book::open(path(&dir)).unwrap();
    one.as_person("Ada");
    two.as_person("Ben");
    let a = one.add_block(&field("A")).unwrap();
    assert_eq!(two.block(a).unwrap().name, "A");
    assert!(matches!(
        two.add_block(&field("a")),
        Err(Error::NameTaken(_))
    ));
    let threads: Vec<_> = [one, two]
        .into_iter()
        .enumerate()
        .map(|(who, mut book)| {
            std::thread::spawn(move || {
                for n in 0..50 {
                    book.add_block(&field(&format!("{who}-{n}"))).unwrap();
                }
                book
            })
        })
        .collect();
    let mut books: Vec<Book> = threads.into_iter().map(|t| t.join().unwrap()).collect();
    for book in &books {
        assert_eq!(book.blocks().unwrap().len(), 101);
        assert_eq!(book.check().unwrap(), Vec::<String>::new());
    }
    // A step back takes the last change of the book, whoever made it.
    let last = books[1].changes(1).unwrap().remove(0);
    assert_eq!(books[0].undo_last().unwrap().unwrap(), last.what);
    assert_eq!(books[1].blocks().unwrap().len(), 100);
}

#[test]
fn what_was_changed_behind_the_journal_is_found() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    book.add_report(&report("x.csv", b"abc"), &[NewTest::new(soil("A", 6.0))])
        .unwrap();
    let conn = Connection::open(path(&dir)).unwrap();
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    let finds = |sql: &str, words: &str| {
        conn.execute_batch("SAVEPOINT s").unwrap();
        conn.execute_batch(sql).unwrap();
        conn.execute_batch("RELEASE s").unwrap();
        let found = book.check().unwrap().join(" ");
        assert!(found.contains(words), "{sql}: {found:?}");
    };
    finds("UPDATE kept SET bytes = x'00'", "not as it was stored");
    finds(
        "UPDATE block SET note = 'x'",
        "block 1 is not as the journal left it",
    );
    finds("DELETE FROM soil_test", "soil_test 1 is missing");
    finds(
        "UPDATE report SET sha256 = 'no'",
        "points to a record that is not there",
    );
    finds(
        "INSERT INTO plan_lock (season, block_id, material, lb) VALUES (2026, 1, 'm', 1)",
        "plan_lock 1 is not in the journal",
    );
    finds(
        "UPDATE entry SET before = '{}' WHERE tbl = 'block'",
        "has a gap",
    );
    finds(
        "INSERT INTO change (at, who, what, kind, state, layout) VALUES ('', '', '', 'do', 'live', 1)",
        "has no rows",
    );
    assert_eq!(a, 1);
    // A step back over such a row is refused, not guessed.
    drop(conn);
    let dir = folder();
    let mut other = common::book(&dir);
    other.add_block(&field("A")).unwrap();
    let conn = Connection::open(path(&dir)).unwrap();
    conn.execute_batch("UPDATE block SET note = 'x'").unwrap();
    assert!(matches!(other.undo_last(), Err(Error::Damaged(_))));
    assert_eq!(other.blocks().unwrap().len(), 1);
}

#[test]
fn a_record_that_cannot_be_read_is_a_sentence() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    book.set_planting(&Planting::new(a, 2026, "kale")).unwrap();
    let conn = Connection::open(path(&dir)).unwrap();
    for (column, bad, words) in [
        ("shape", "{", "shape cannot be read"),
        ("kind", "castle", "“castle” is not known"),
        ("aliases", "7", "aliases cannot be read"),
    ] {
        let text: String = conn
            .query_row(&format!("SELECT {column} FROM block"), [], |row| row.get(0))
            .unwrap();
        let set = format!("UPDATE block SET {column} = ?1");
        conn.execute(&set, [bad]).unwrap();
        let error = book.block(a).unwrap_err();
        assert!(matches!(error, Error::Damaged(_)), "{column}: {error}");
        assert!(error.to_string().contains(words), "{error}");
        conn.execute(&set, [text]).unwrap();
    }
    conn.execute_batch("UPDATE planting SET plant_on = 'May'")
        .unwrap();
    let error = book.planting(a, 2026).unwrap_err();
    assert!(error.to_string().contains("“May” is not a date"), "{error}");
    conn.execute_batch("UPDATE entry SET tbl = 'sqlite_master'")
        .unwrap();
    assert!(matches!(book.undo_last(), Err(Error::Damaged(_))));
    assert!(matches!(book.check(), Err(Error::Damaged(_))));
}
