//! What was worked out from a book is worked out again when something in it changed, and only then.

#![allow(clippy::unwrap_used)] // the lint knows tests only by their attribute

mod common;
use common::*;
use farmbook::*;
use std::cell::Cell;

/// The count of blocks, and how often it was counted.
fn blocks(book: &Book, counted: &Cell<u32>) -> usize {
    let work = || -> Result<usize> {
        counted.set(counted.get() + 1);
        Ok(book.blocks()?.len())
    };
    *book.remembered("blocks", work).unwrap()
}

#[test]
fn it_is_worked_out_once_while_nothing_changes() {
    let dir = folder();
    let mut book = book(&dir);
    let counted = Cell::new(0);
    for _ in 0..3 {
        assert_eq!(blocks(&book, &counted), 0);
    }
    assert_eq!(counted.get(), 1);
    book.add_block(&field("North")).unwrap();
    assert_eq!((blocks(&book, &counted), counted.get()), (1, 2));
    // Another program at the same book.
    let mut other = Book::open(book.path()).unwrap();
    other.add_block(&field("South")).unwrap();
    assert_eq!((blocks(&book, &counted), counted.get()), (2, 3));
    book.undo_last().unwrap();
    assert_eq!((blocks(&book, &counted), counted.get()), (1, 4));
    book.redo_last().unwrap();
    assert_eq!((blocks(&book, &counted), counted.get()), (2, 5));
    assert_eq!((blocks(&book, &counted), counted.get()), (2, 5));
}

#[test]
fn a_running_change_sees_itself_and_one_that_failed_leaves_nothing() {
    let dir = folder();
    let mut book = book(&dir);
    let counted = Cell::new(0);
    assert_eq!(blocks(&book, &counted), 0);
    let failed = book.together("Tried", |book| {
        book.add_block(&field("North"))?;
        assert_eq!(blocks(book, &counted), 1);
        book.add_block(&field("North"))
    });
    assert!(failed.is_err());
    assert_eq!(blocks(&book, &counted), 0);
}

#[test]
fn keys_and_kinds_are_kept_apart_and_errors_are_not_kept() {
    let dir = folder();
    let book = book(&dir);
    let one: Result<_> = book.remembered("a", || Ok(1_i64));
    let two: Result<_> = book.remembered("b", || Ok(2_i64));
    assert_eq!((*one.unwrap(), *two.unwrap()), (1, 2));
    let words: Result<_> = book.remembered("a", || Ok("three".to_owned()));
    assert_eq!(*words.unwrap(), "three");
    let failed: Result<std::sync::Arc<i64>> = book.remembered("c", || Err(Error::Busy));
    assert!(failed.is_err());
    let again: Result<_> = book.remembered("c", || Ok(4_i64));
    assert_eq!(*again.unwrap(), 4);
    // Many things push each other out and are worked out again.
    for n in 0..200_i64 {
        let found: Result<_> = book.remembered(&n.to_string(), || Ok(n));
        assert_eq!(*found.unwrap(), n);
    }
}

#[test]
fn of_one_kind_the_newest_two_are_kept() {
    let dir = folder();
    let book = book(&dir);
    let counted = Cell::new(0);
    let ask = |key: &str| -> usize {
        let work = || -> Result<usize> {
            counted.set(counted.get() + 1);
            Ok(key.len())
        };
        *book.remembered(key, work).unwrap()
    };
    for key in ["plan 1", "plan 2", "needs", "plan 1", "plan 2", "needs"] {
        ask(key);
    }
    assert_eq!(counted.get(), 3);
    // A third pushes out the first of its kind and nothing else.
    ask("plan 3");
    for key in ["plan 2", "plan 3", "needs"] {
        ask(key);
    }
    assert_eq!(counted.get(), 4);
    ask("plan 1");
    assert_eq!(counted.get(), 5);
}

#[test]
fn what_was_noted_in_a_change_that_failed_is_forgotten() {
    let dir = folder();
    let mut book = book(&dir);
    book.memo().replace(Some(Box::new(1_i64)));
    book.add_block(&field("North")).unwrap();
    assert!(book.memo().borrow().is_some());
    let failed = book.together("Tried", |book| {
        book.add_block(&field("South"))?;
        book.memo().replace(Some(Box::new(2_i64)));
        book.add_block(&field("North"))
    });
    assert!(failed.is_err() && book.memo().borrow().is_none());
    // A part of a change that failed, in one that stands.
    book.together("Tried", |book| {
        let part = book.together("A part", |book| {
            book.add_block(&field("East"))?;
            book.memo().replace(Some(Box::new(3_i64)));
            book.add_block(&field("North"))
        });
        assert!(part.is_err() && book.memo().borrow().is_none());
        book.add_block(&field("West"))
    })
    .unwrap();
}
