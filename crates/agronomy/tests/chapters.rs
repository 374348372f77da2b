//! The chapters of `docs/science/`, set from their texts in `docs/science/src/` together with the very
//! tables and topics that the program runs on, so that text and code cannot drift apart.
//!
//! In a text, a line `{{topic NAME}}` stands for a sum with its keys and a worked example,
//! `{{table FOLDER/FILE.csv}}` for a reference table, `{{readings}}` for every table of classes, and
//! `{{checks}}` for the published cases by topic. `REWRITE=1 cargo test --release -p agronomy --test
//! chapters` writes the chapters anew.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::topic::{self, Topic};
use agronomy::working::Evidence;
use quantity::plain;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// Tables that no chapter on the science shows: how labs write, judgements of the plan, and the checks.
const ELSEWHERE: [&str; 3] = ["labfiles/", "planning/", "checks/"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// What the texts asked for, so that nothing is left out.
#[derive(Default)]
struct Asked {
    topics: BTreeSet<String>,
    tables: BTreeSet<String>,
    readings: bool,
}

fn chapter(text: &str, asked: &mut Asked) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let marker = line
            .strip_prefix("{{")
            .and_then(|rest| rest.strip_suffix("}}"));
        match marker.map(|m| m.split_once(' ').unwrap_or((m, ""))) {
            None => {
                out.push_str(line);
                out.push('\n');
            }
            Some(("topic", name)) => {
                assert!(asked.topics.insert(name.to_owned()), "{name} stands twice");
                out.push_str(&sum(name));
            }
            Some(("table", path)) => {
                assert!(asked.tables.insert(path.to_owned()), "{path} stands twice");
                out.push_str(&table(path));
            }
            Some(("readings", "")) => {
                asked.readings = true;
                out.push_str(&readings());
            }
            Some(("checks", "")) => out.push_str(&checks()),
            Some(other) => panic!("{other:?} is no marker"),
        }
    }
    out
}

/// A topic with its keys and its example worked out.
fn sum(name: &str) -> String {
    let topic: &Topic = topic::topics()
        .into_iter()
        .find(|t| t.name == name)
        .unwrap_or_else(|| panic!("there is no topic {name}"));
    let mut out = format!("### `{name}`\n\n{}\n\n", topic.about);
    for key in topic.keys {
        let needed = if key.needed { "" } else { " (if any)" };
        let _ = writeln!(out, "- `{}`{needed}: {}", key.name, key.what);
    }
    let pairs = pairs(topic.example);
    let figure = topic::work_out(name, &pairs).unwrap_or_else(|e| panic!("{name}: {e}"));
    let _ = write!(
        out,
        "\n```\n$ spadework figure {name} {}\n{}: {} {}",
        topic.example,
        figure.what,
        plain(figure.value, 4),
        figure.unit
    );
    if let (Some(low), Some(high)) = (figure.low, figure.high) {
        let _ = write!(out, " ({} to {})", plain(low, 4), plain(high, 4));
    }
    out.push_str("\n```\n\n| step | value | from | source |\n|---|---|---|---|\n");
    for step in &figure.working {
        let _ = writeln!(
            out,
            "| {} | {} {} | {} | {} ({}) |",
            cell(&step.what),
            plain(step.value, 4),
            cell(&step.unit),
            cell(&step.formula),
            cell(&step.source.text),
            step.source.evidence.word()
        );
    }
    for caution in &figure.cautions {
        let _ = write!(
            out,
            "\n> {} ({}, {})\n",
            caution.text,
            caution.source.text,
            caution.source.evidence.word()
        );
    }
    out.push('\n');
    out
}

/// `key=value` pairs of an example, with values in quotes kept whole.
fn pairs(example: &str) -> Vec<(String, String)> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in example.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words
        .into_iter()
        .filter(|w| !w.is_empty())
        .map(|w| {
            let (key, value) = w.split_once('=').unwrap();
            (key.to_owned(), value.to_owned())
        })
        .collect()
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

/// A CSV file as a table whose last column points to its sources by number.
fn table(path: &str) -> String {
    let full = root().join("reference").join(path);
    let mut reader = csv::Reader::from_path(&full).unwrap_or_else(|e| panic!("{path}: {e}"));
    let head = reader.headers().unwrap().clone();
    let plainly = |name: &str| !name.ends_with("source") && !name.ends_with("evidence");
    let shown: Vec<usize> = (0..head.len()).filter(|i| plainly(&head[*i])).collect();
    let at = |name: &str| head.iter().position(|h| h == name);
    let mut sources: Vec<String> = Vec::new();
    let mut out = format!("`reference/{path}`\n\n|");
    for i in &shown {
        let _ = write!(out, " {} |", head[*i].replace('_', " "));
    }
    let _ = writeln!(out, " source |\n|{}", "---|".repeat(shown.len() + 1));
    for row in reader.records() {
        let row = row.unwrap();
        out.push('|');
        for i in &shown {
            let _ = write!(out, " {} |", cell(&row[*i]));
        }
        let named = match (at("source"), at("evidence")) {
            (Some(source), Some(evidence)) => format!("{} ({})", &row[source], &row[evidence]),
            (None, Some(evidence)) => row[evidence].to_owned(),
            _ => String::new(),
        };
        let number = sources.iter().position(|s| *s == named).unwrap_or_else(|| {
            sources.push(named);
            sources.len() - 1
        });
        let _ = writeln!(out, " {} |", number + 1);
    }
    out.push('\n');
    for (n, source) in sources.iter().enumerate() {
        let _ = writeln!(out, "{}. {source}", n + 1);
    }
    out.push('\n');
    out
}

fn readings() -> String {
    let mut out = String::new();
    for system in agronomy::reading::systems().all() {
        let _ = write!(
            out,
            "### {}\n\n`{}`, {}; {}.\n\n",
            system.name, system.id, system.region, system.scope
        );
        out.push_str(&table(&format!("readings/{}/bands.csv", system.id)));
    }
    out
}

fn checks() -> String {
    let mut count: BTreeMap<(String, String), usize> = BTreeMap::new();
    for file in fs::read_dir(root().join("reference/checks")).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let head = reader.headers().unwrap().clone();
        let at = |name: &str| head.iter().position(|h| h == name);
        let evidence = at("evidence").unwrap();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        for row in reader.records() {
            let row = row.unwrap();
            let evidence = Evidence::from_word(&row[evidence]).unwrap();
            // A file of one kind of case has no column for it.
            let topic = at("topic").map_or_else(|| name.clone(), |t| row[t].to_owned());
            *count
                .entry((topic, evidence.word().to_owned()))
                .or_default() += 1;
        }
    }
    let mut out = "| topic | evidence | cases |\n|---|---|---|\n".to_owned();
    for ((topic, evidence), n) in &count {
        let _ = writeln!(out, "| {topic} | {evidence} | {n} |");
    }
    let _ = writeln!(out, "\n{} cases in all.\n", count.values().sum::<usize>());
    out
}

fn reference_tables() -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for folder in fs::read_dir(root().join("reference")).unwrap() {
        let folder = folder.unwrap().path();
        if !folder.is_dir() {
            continue;
        }
        for file in fs::read_dir(&folder).unwrap() {
            let file = file.unwrap().path();
            if file.extension().is_some_and(|e| e == "csv") {
                let name = |p: &Path| p.file_name().unwrap().to_str().unwrap().to_owned();
                all.insert(format!("{}/{}", name(&folder), name(&file)));
            }
        }
    }
    all.retain(|path| !ELSEWHERE.iter().any(|e| path.starts_with(e)));
    all
}

#[test]
fn the_chapters_say_what_the_program_does() {
    let science = root().join("docs/science");
    let rewrite = std::env::var_os("REWRITE").is_some();
    let mut asked = Asked::default();
    let mut stale = Vec::new();
    let mut texts: Vec<PathBuf> = fs::read_dir(science.join("src"))
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    texts.sort();
    assert!(!texts.is_empty());
    for text in texts {
        let set = chapter(&fs::read_to_string(&text).unwrap(), &mut asked);
        let to = science.join(text.file_name().unwrap());
        if rewrite {
            fs::write(&to, &set).unwrap();
        } else if fs::read_to_string(&to).unwrap_or_default() != set {
            stale.push(to.file_name().unwrap().to_str().unwrap().to_owned());
        }
    }
    assert!(
        stale.is_empty(),
        "{} no longer say what the program does; REWRITE=1 sets them anew",
        stale.join(", ")
    );
    let topics: BTreeSet<String> = topic::topics().iter().map(|t| t.name.to_owned()).collect();
    assert_eq!(
        asked.topics, topics,
        "every topic has its place in a chapter"
    );
    assert_eq!(
        asked.tables,
        reference_tables(),
        "every table has its place in a chapter"
    );
    assert!(asked.readings, "the classes have their place in a chapter");
}
