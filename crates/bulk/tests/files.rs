//! Files: bad rows, refusals, runs that are stopped or killed.

#![allow(clippy::unwrap_used, clippy::panic)]

use bulk::{BulkError, Options, Summary, bad_path, run};
use std::fmt::Write as _;
use std::fs;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const NAMES: &str = "sample,ph,buffer,buffer_ph,extractant,p_ppm,k_ppm,crop,table\n";
const GOOD: &str = "North 1,5.8,sikora,6.4,mehlich3,20,60,broccoli,M3_NJ\n";

struct Place {
    folder: TempDir,
}

impl Place {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn with(text: impl AsRef<[u8]>) -> Self {
        let place = Self::new();
        fs::write(place.path("in.csv"), text).unwrap();
        place
    }

    fn run(&self, options: &Options) -> Result<Summary, BulkError> {
        run(&self.path("in.csv"), &self.path("out.csv"), options, |_| {
            ControlFlow::Continue(())
        })
    }

    fn out(&self) -> String {
        fs::read_to_string(self.path("out.csv")).unwrap()
    }

    /// The names of the files there.
    fn files(&self) -> Vec<String> {
        let mut all: Vec<String> = fs::read_dir(self.folder.path())
            .unwrap()
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .collect();
        all.sort();
        all
    }

    fn refused(&self, options: &Options) -> String {
        let why = self.run(options).unwrap_err().to_string();
        assert_eq!(self.files(), ["in.csv"], "{why}");
        assert!(why.ends_with('.'), "{why}");
        why
    }
}

fn many(rows: usize) -> String {
    let mut text = NAMES.to_owned();
    for i in 0..rows {
        writeln!(
            text,
            "Block {i},5.{},sikora,6.{},mehlich3,{}.5,{},broccoli,M3_NJ",
            i % 10,
            i % 7,
            i % 130,
            i % 300
        )
        .unwrap();
    }
    text
}

fn options() -> Options {
    Options::default()
}

#[test]
fn a_row_is_read_with_its_table() {
    let place = Place::with(format!("{NAMES}{GOOD}"));
    let summary = place.run(&options()).unwrap();
    assert_eq!((summary.rows, summary.bad_rows), (1, 0));
    // Rutgers classes, the Mid-Atlantic guide’s rates and the Oregon table, as the figure command has them.
    let out = place.out();
    let row = out.lines().nth(1).unwrap();
    assert!(
        row.starts_with("North 1,below,low,low,medium,medium,")
            && row.ends_with(",sikora,200,MIDATL_M3,100,MIDATL_M3,,"),
        "{row}"
    );
    assert_eq!(place.files(), ["in.csv", "out.csv"]);
}

#[test]
fn bad_rows_go_aside_with_their_reason() {
    let bad = [
        (
            "North 2,5.8,sikora,6.4,mehlich3,twenty,60,broccoli,M3_NJ",
            "p_ppm",
            "twenty",
        ),
        (
            "North 3,58,sikora,6.4,mehlich3,20,60,broccoli,M3_NJ",
            "ph",
            "58",
        ),
        (
            "North 4,5.8,sikora,6.4,mehlich3,20,-3,broccoli,M3_NJ",
            "k_ppm",
            "-3",
        ),
        (
            "North 5,5.8,puffer,6.4,mehlich3,20,60,broccoli,M3_NJ",
            "buffer",
            "puffer",
        ),
        (
            "North 6,5.8,sikora,6.4,mehlich3,20,60,plutonium,M3_NJ",
            "crop",
            "plutonium",
        ),
        (
            "North 7,5.8,sikora,6.4,mehlich3,20,60,broccoli,M3_XX",
            "table",
            "M3_XX",
        ),
        ("North 8,5.8,sikora,6.4,mehlich3,20,60,broccoli", "", "8"),
        (
            "\"North 9, upper\",5.8,sikora,6.4,mehlich3,20,60,broccoli,M3_NJ,more",
            "",
            "10",
        ),
        (
            "North 10,5.8,sikora,6.4,\"mehl\"\"ich\",20,60,broccoli,M3_NJ",
            "extractant",
            "mehl\"ich",
        ),
        (
            "North 11,5.8,sikora,\"6,4\",mehlich3,20,60,broccoli,M3_NJ",
            "buffer_ph",
            "6,4",
        ),
    ];
    let mut text =
        format!("{NAMES}{GOOD}\r\n\"two\nlines\",5.8,sikora,6.4,mehlich3,20,60,broccoli,M3_NJ\n");
    for (row, _, _) in bad {
        text.push_str(row);
        text.push('\n');
        text.push_str(GOOD);
    }
    for (threads, piece) in [(1, 4_000), (1, 100), (3, 100)] {
        let place = Place::with(&text);
        let options = Options {
            threads: NonZeroUsize::new(threads),
            piece: NonZeroUsize::new(piece),
            ..Options::default()
        };
        let summary = place.run(&options).unwrap();
        assert_eq!(
            (summary.good_rows, summary.bad_rows),
            (12, bad.len() as u64)
        );
        assert_eq!(summary.bad_file, Some(place.path("out.bad.csv")));
        assert_eq!(place.out().matches("North 1,").count(), 11);
        let mut reader = csv::Reader::from_path(place.path("out.bad.csv")).unwrap();
        assert_eq!(
            reader.headers().unwrap().iter().collect::<Vec<_>>(),
            [
                "row",
                "column",
                "found",
                "expected",
                "why",
                "row_as_it_came"
            ]
        );
        let records: Vec<_> = reader.records().map(Result::unwrap).collect();
        assert_eq!(records.len(), bad.len());
        for (i, (record, (row, column, found))) in records.iter().zip(bad).enumerate() {
            // Header, good row, blank row, row of two lines, then every second one.
            assert_eq!(record[0].parse::<usize>().unwrap(), 5 + 2 * i);
            assert_eq!((&record[1], &record[2], &record[5]), (column, found, row));
            assert!(!record[3].is_empty(), "{record:?}");
            assert!(
                record[4].ends_with('.') && record[4].contains(found),
                "{record:?}"
            );
        }
        // The next run without bad rows takes the file away.
        fs::write(place.path("in.csv"), format!("{NAMES}{GOOD}")).unwrap();
        assert_eq!(place.run(&Options::default()).unwrap().bad_file, None);
        assert_eq!(place.files(), ["in.csv", "out.csv"]);
    }
}

#[test]
fn options_stand_for_what_the_file_does_not_say() {
    let place = Place::with(
        "Sample, PH ,buffer_ph,p_ppm,k_ppm,crop,colour\nA,5.8,6.4,20,60,,red\nB,5.8,6.4,20,60,Tomato,red\n",
    );
    let given = Options {
        table: Some("m3_nj".to_owned()),
        crop: Some("broccoli".to_owned()),
        extractant: Some("Mehlich-3".to_owned()),
        buffer: Some("sikora".to_owned()),
        target_ph: Some(6.4),
        ..Options::default()
    };
    let summary = place.run(&given).unwrap();
    assert_eq!(summary.not_used, ["colour"]);
    let in_file = Place::with(
        "sample,ph,buffer,buffer_ph,extractant,p_ppm,k_ppm,crop,table,target_ph\n\
         A,5.8,sikora,6.4,mehlich3,20,60,broccoli,M3_NJ,6.4\n\
         B,5.8,sikora,6.4,mehlich3,20,60,tomato,M3_NJ,6.4\n",
    );
    in_file.run(&options()).unwrap();
    assert_eq!(place.out(), in_file.out());
    assert!(place.out().contains("A,below,low,"), "{}", place.out());
}

#[test]
fn a_limit_of_the_lab_is_read_at_the_limit_and_said() {
    let row = |p: &str| format!("N,5.8,sikora,6.4,mehlich3,{p},60,broccoli,M3_NJ\n");
    let place = Place::with(format!("{NAMES}{}{}{}", row("<1"), row("1"), row("> 400")));
    assert_eq!(place.run(&options()).unwrap().bad_rows, 0);
    let out = place.out();
    let lines: Vec<&str> = out.lines().collect();
    let note = "The lab printed Phosphorus as below 1 ppm and it is read at that limit.";
    assert_eq!(lines[1], format!("{}{note}", lines[2]));
    assert!(
        lines[3].contains(",very_high,")
            && lines[3].ends_with("above 400 ppm and it is read at that limit.")
    );
}

#[test]
fn headers_that_do_not_serve_get_one_sentence() {
    for (text, word) in [
        ("", "empty"),
        ("ph,p_ppm\n5,6\n", "sample"),
        ("sample,colour\nA,red\n", "neither ph nor p_ppm"),
        ("sample,ph,PH\nA,5,6\n", "two columns are named ph"),
        ("sample;ph;p_ppm\nA;5;6\n", "commas"),
        ("sample\tph\nA\t5\n", "commas"),
        ("sample,p_ppm,extractant\nA,5,olsen\n", "table"),
        ("sample,p_ppm,table\nA,5,M3_NJ\n", "extractant"),
        (
            "sample,p_ppm,p_extractant,k_ppm,table\nA,5,olsen,7,M3_NJ\n",
            "k_ppm",
        ),
    ] {
        let why = Place::with(text).refused(&options());
        assert!(why.contains(word), "{text:?}: {why}");
    }
    let wide = Place::with(b"\xff\xfes\0a\0".as_slice()).refused(&options());
    assert!(wide.contains("UTF-16"), "{wide}");
    for (given, word) in [
        (
            Options {
                crop: Some("plutonium".into()),
                ..options()
            },
            "plutonium",
        ),
        (
            Options {
                buffer: Some("M3".into()),
                ..options()
            },
            "buffer",
        ),
        (
            Options {
                target_ph: Some(65.0),
                ..options()
            },
            "65",
        ),
        (
            Options {
                lime_depth_in: Some(0.0),
                ..options()
            },
            "depth",
        ),
    ] {
        let why = Place::with(format!("{NAMES}{GOOD}")).refused(&given);
        assert!(why.contains(word), "{why}");
    }
}

#[test]
fn a_byte_order_mark_a_missing_line_end_and_old_line_ends_do_no_harm() {
    let plain = Place::with(format!("{NAMES}{GOOD}"));
    plain.run(&options()).unwrap();
    for text in [
        format!("\u{feff}{NAMES}{GOOD}"),
        format!("{NAMES}{}", GOOD.trim_end()),
        format!("{NAMES}{GOOD}").replace('\n', "\r\n"),
        format!("{NAMES}{GOOD}").replace('\n', "\r"),
    ] {
        let place = Place::with(&text);
        place.run(&options()).unwrap();
        assert_eq!(place.out(), plain.out(), "{text:?}");
    }
}

#[test]
fn the_input_is_never_written_over() {
    let text = format!("{NAMES}{GOOD}");
    let place = Place::with(&text);
    let input = place.path("in.csv");
    let mut others = vec![input.clone(), place.folder.path().join(".").join("in.csv")];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&input, place.path("link.csv")).unwrap();
        fs::hard_link(&input, place.path("same.csv")).unwrap();
        others.extend([place.path("link.csv"), place.path("same.csv")]);
    }
    for output in others {
        let why = run(&input, &output, &options(), |_| ControlFlow::Continue(())).unwrap_err();
        assert!(matches!(why, BulkError::OverInput(_)), "{why}");
    }
    // Nor by the file of bad rows.
    fs::rename(&input, place.path("x.bad.csv")).unwrap();
    let why = run(
        &place.path("x.bad.csv"),
        &place.path("x.csv"),
        &options(),
        |_| ControlFlow::Continue(()),
    );
    assert!(matches!(why, Err(BulkError::OverInput(_))));
    assert_eq!(fs::read_to_string(place.path("x.bad.csv")).unwrap(), text);
}

#[test]
fn what_cannot_be_read_or_written_is_named() {
    let place = Place::with(format!("{NAMES}{GOOD}"));
    let go = |input: &Path, output: &Path| {
        run(input, output, &options(), |_| ControlFlow::Continue(()))
            .unwrap_err()
            .to_string()
    };
    let (input, folder) = (place.path("in.csv"), place.folder.path().to_owned());
    let missing = go(&place.path("gone.csv"), &place.path("out.csv"));
    assert!(
        missing.contains("gone.csv") && missing.contains("cannot be read"),
        "{missing}"
    );
    assert!(go(&folder, &place.path("out.csv")).contains("is a folder"));
    assert!(go(&input, &place.path("no/out.csv")).contains("cannot be written"));
    fs::create_dir(place.path("sub")).unwrap();
    assert!(go(&input, &place.path("sub")).contains("not a file"));
    assert_eq!(place.files(), ["in.csv", "sub"]);
}

#[test]
fn the_bad_file_has_the_name_of_the_output() {
    assert_eq!(
        bad_path(Path::new("a/results.csv")),
        Path::new("a/results.bad.csv")
    );
    assert_eq!(
        bad_path(Path::new("results.2026.CSV")),
        Path::new("results.2026.bad.csv")
    );
    assert_eq!(bad_path(Path::new("results")), Path::new("results.bad.csv"));
}

#[test]
fn threads_and_pieces_change_nothing_and_progress_reaches_the_end() {
    let text = many(5_000);
    let mut outs = Vec::new();
    for (threads, piece) in [(1, 1 << 20), (1, 777), (2, 777), (4, 5_000)] {
        let place = Place::with(&text);
        let options = Options {
            threads: NonZeroUsize::new(threads),
            piece: NonZeroUsize::new(piece),
            ..Options::default()
        };
        let mut heard = Vec::new();
        run(
            &place.path("in.csv"),
            &place.path("out.csv"),
            &options,
            |p| {
                heard.push(p);
                ControlFlow::Continue(())
            },
        )
        .unwrap();
        assert!(heard.is_sorted_by_key(|p| (p.rows, p.bytes)));
        let last = heard.last().unwrap();
        assert_eq!(
            (last.rows, last.bytes, last.share()),
            (5_000, text.len() as u64, Some(1.0))
        );
        outs.push(place.out());
    }
    assert_eq!(outs[0].lines().count(), 5_001);
    assert!(outs.iter().all(|o| *o == outs[0]));
}

#[test]
fn a_run_that_is_stopped_leaves_nothing_new() {
    for threads in [1, 3] {
        let place = Place::with(many(5_000));
        fs::write(place.path("out.csv"), "the old one").unwrap();
        let options = Options {
            threads: NonZeroUsize::new(threads),
            piece: NonZeroUsize::new(2_000),
            ..Options::default()
        };
        let stopped = run(
            &place.path("in.csv"),
            &place.path("out.csv"),
            &options,
            |p| {
                if p.rows > 1_000 {
                    ControlFlow::Break(())
                } else {
                    ControlFlow::Continue(())
                }
            },
        );
        assert!(matches!(stopped, Err(BulkError::Stopped)));
        assert_eq!(place.files(), ["in.csv", "out.csv"]);
        assert_eq!(place.out(), "the old one");
    }
}

#[test]
fn a_row_without_end_stops_the_run_and_is_placed() {
    for threads in [1, 2] {
        let mut text = many(50);
        text.push_str("\"never closed,");
        text.push_str(&"x".repeat(13 << 20));
        let place = Place::with(text);
        let why = place.refused(&Options {
            threads: NonZeroUsize::new(threads),
            piece: NonZeroUsize::new(1_000),
            ..Options::default()
        });
        assert!(
            why.contains("after row 51") && why.contains("quote mark"),
            "{why}"
        );
    }
}

const CHILD_FOLDER: &str = "BULK_TEST_FOLDER";

/// Run by the tests below in a process of its own.
#[test]
#[ignore = "run by the tests that need another process"]
fn child() {
    let folder = PathBuf::from(std::env::var_os(CHILD_FOLDER).unwrap());
    let hang = folder.join("hang").exists();
    let options = Options {
        threads: NonZeroUsize::new(2),
        ..Options::default()
    };
    run(
        &folder.join("in.csv"),
        &folder.join("out.csv"),
        &options,
        |p| {
            if hang && p.rows > 10_000 {
                fs::write(folder.join("half"), "").unwrap();
                std::thread::sleep(Duration::from_secs(60));
            }
            ControlFlow::Continue(())
        },
    )
    .unwrap();
    #[cfg(target_os = "linux")]
    {
        let status = fs::read_to_string("/proc/self/status").unwrap();
        let peak = status.lines().find(|l| l.starts_with("VmHWM:")).unwrap();
        fs::write(folder.join("peak"), peak).unwrap();
    }
}

fn in_child(place: &Place) -> std::process::Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "child", "--ignored"])
        .env(CHILD_FOLDER, place.folder.path())
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

/// Kills a run half way through.
fn killed(place: &Place) {
    fs::write(place.path("hang"), "").unwrap();
    let mut child = in_child(place);
    let begun = Instant::now();
    while !place.path("half").exists() {
        assert!(
            begun.elapsed() < Duration::from_secs(30),
            "the child never began"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    // While it runs no other may write there.
    let second = place.run(&options()).unwrap_err();
    assert!(matches!(second, BulkError::Busy(_)), "{second}");
    child.kill().unwrap();
    assert!(!child.wait().unwrap().success());
}

#[test]
fn a_run_that_is_killed_leaves_no_half_file() {
    let place = Place::with(many(40_000));
    killed(&place);
    assert!(!place.path("out.csv").exists());
    assert!(
        fs::metadata(place.path("out.csv.part")).unwrap().len() > 0,
        "nothing was under way"
    );
    // The next run takes the place of what was left.
    assert_eq!(place.run(&options()).unwrap().rows, 40_000);
    assert_eq!(place.out().lines().count(), 40_001);
    assert_eq!(place.files(), ["half", "hang", "in.csv", "out.csv"]);
}

#[test]
fn a_run_that_is_killed_leaves_the_old_file_whole() {
    let place = Place::with(many(40_000));
    fs::write(place.path("out.csv"), "the old one").unwrap();
    killed(&place);
    assert_eq!(place.out(), "the old one");
}

#[cfg(target_os = "linux")]
#[test]
fn memory_does_not_grow_with_the_file() {
    let peak = |rows: usize| {
        let place = Place::with(many(rows));
        assert!(in_child(&place).wait().unwrap().success());
        let text = fs::read_to_string(place.path("peak")).unwrap();
        text.split_whitespace()
            .nth(1)
            .unwrap()
            .parse::<i64>()
            .unwrap()
    };
    let (small, large) = (peak(60_000), peak(900_000));
    assert!(large - small < 4_096, "{small} kB and {large} kB");
}
