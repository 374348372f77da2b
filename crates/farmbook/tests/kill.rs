//! A kill at any instant: what was acknowledged is there, and nothing is there by half.
//!
//! The test starts itself as a child that writes changes and prints each one's number after the
//! commit; the parent kills it without warning and looks at the book.

mod common;
use common::*;
use farmbook::*;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::time::Duration;

const CHILD: &str = "FARMBOOK_KILL_TEST_BOOK";
const ROUNDS: u64 = 40;

/// The child's part: a change of 13 rows and a file, over and over, until it is killed.
#[test]
fn child_writes_until_killed() {
    let Some(path) = std::env::var_os(CHILD) else {
        return; // run for its own sake it has nothing to do
    };
    let mut book = Book::open(path).unwrap();
    let mut n = book.reports().unwrap().len();
    let mut out = std::io::stdout();
    loop {
        let name = format!("r{}-{n}", std::process::id());
        let id = book
            .together("One delivery", |book| {
                let block = book.add_block(&field(&name))?;
                let tests: Vec<NewTest> = (0..10)
                    .map(|t| NewTest {
                        block: Some(block),
                        ..NewTest::new(soil(&format!("s{t}"), 6.0))
                    })
                    .collect();
                book.set_planting(&Planting::new(block, 2026, "kale"))?;
                let bytes = name.repeat(2_000);
                book.add_report(&report(&name, bytes.as_bytes()), &tests)
            })
            .unwrap();
        writeln!(out, "ack {id}").unwrap();
        out.flush().unwrap();
        if n.is_multiple_of(3) {
            book.undo_last().unwrap();
            writeln!(out, "undone {id}").unwrap();
            out.flush().unwrap();
        }
        n += 1;
    }
}

#[test]
fn killed_at_any_instant_no_record_is_lost_or_half_there() {
    let dir = folder();
    let path = path(&dir);
    drop(book(&dir));
    let mut known = BTreeSet::new();
    let mut acknowledged = 0;
    for round in 0..ROUNDS {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "child_writes_until_killed", "--nocapture"])
            .env(CHILD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let output = BufReader::new(child.stdout.take().unwrap());
        let reader = std::thread::spawn(move || {
            let lines = output.lines().map_while(std::result::Result::ok);
            lines.collect::<Vec<_>>()
        });
        // Spread over start, recovery of the last kill, and the writes themselves.
        let wait = 5_000 + (round * 7_919) % 90_000 + round * 613;
        std::thread::sleep(Duration::from_micros(wait));
        child.kill().unwrap();
        let status = child.wait().unwrap();
        assert!(!status.success(), "the child ended by itself: {status}");
        let lines = reader.join().unwrap();
        // The last word may concern a change whose undo was done but not yet acknowledged.
        let mut open = None;
        for line in &lines {
            // The test runner may have put its own words before the first.
            if let Some((_, id)) = line.split_once("ack ") {
                let id: i64 = id.parse().unwrap();
                known.insert(id);
                acknowledged += 1;
                open = Some(id);
            } else if let Some((_, id)) = line.split_once("undone ") {
                known.remove(&id.parse().unwrap());
                open = None;
            }
        }
        let book = Book::open(&path).unwrap();
        assert_eq!(book.check().unwrap(), Vec::<String>::new(), "round {round}");
        let there: BTreeSet<i64> = book.reports().unwrap().iter().map(|r| r.id).collect();
        if let Some(id) = open
            && !there.contains(&id)
        {
            let last = &book.changes(1).unwrap()[0];
            assert_eq!(last.kind, ChangeKind::Undo, "report {id} was lost");
            known.remove(&id);
        }
        let lost: Vec<_> = known.difference(&there).collect();
        assert!(lost.is_empty(), "round {round}: lost {lost:?}");
        let more: Vec<_> = there.difference(&known).collect();
        assert!(
            more.len() <= 1,
            "only the change under the knife may be there unannounced: {more:?}"
        );
        for id in &there {
            let tests = book.tests_in(*id).unwrap();
            assert_eq!(tests.len(), 10, "half a report");
            let block = tests[0].block.unwrap();
            assert!(book.planting(block, 2026).unwrap().is_some());
            let name = book.block(block).unwrap().name;
            assert_eq!(
                book.report_bytes(*id).unwrap(),
                name.repeat(2_000).into_bytes()
            );
        }
        assert_eq!(book.blocks().unwrap().len(), there.len());
        known = there;
    }
    assert!(
        acknowledged > ROUNDS,
        "too few changes to prove anything: {acknowledged}"
    );
    eprintln!("{ROUNDS} kills, {acknowledged} acknowledged changes");
}
