//! Published worked examples of amounts, nitrogen and conversions against the topics that the
//! command line works out.
//!
//! The cases are in the files of `reference/checks/` named below, each with its source; only what was
//! read in the source, or in another party’s copy of it (marked `secondary`), may stand there.

use agronomy::topic::work_out;
use agronomy::working::Evidence;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

macro_rules! files {
    ($($name:literal),+ $(,)?) => {
        [$(($name, include_str!(concat!("../../../reference/checks/", $name, ".csv")))),+]
    };
}

/// One file for each part of the work.
const FILES: [(&str, &str); 6] = files![
    "nutrients",
    "acidity",
    "nitrogen",
    "feeding",
    "doubt",
    "spreader"
];

#[derive(Deserialize)]
struct Case {
    id: String,
    topic: String,
    inputs: String,
    expected: f64,
    tolerance: f64,
    unit: String,
    source: String,
    evidence: String,
}

#[test]
fn published_examples_come_out() {
    let mut cases: Vec<Case> = Vec::new();
    for (name, text) in FILES {
        for row in csv::Reader::from_reader(text.as_bytes()).deserialize() {
            cases.push(row.unwrap_or_else(|e| panic!("{name}: {e}")));
        }
    }
    assert!(cases.len() >= 35, "{} cases", cases.len());
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    let mut count: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for case in &cases {
        assert!(seen.insert(&case.id), "{} stands twice", case.id);
        assert!(!case.source.is_empty(), "{} has no source", case.id);
        let evidence = Evidence::from_word(&case.evidence).unwrap();
        assert!(
            matches!(evidence, Evidence::Seen | Evidence::Secondary),
            "{}: {} is no oracle",
            case.id,
            case.evidence
        );
        *count.entry((&case.topic, &case.evidence)).or_default() += 1;
        let pairs: Vec<_> = case
            .inputs
            .split(';')
            .map(|p| {
                let (key, value) = p.split_once('=').unwrap();
                (key.trim().to_owned(), value.trim().to_owned())
            })
            .collect();
        match work_out(&case.topic, &pairs) {
            Ok(figure) if figure.unit != case.unit => {
                wrong.push(format!(
                    "{}: unit {}, not {}",
                    case.id, figure.unit, case.unit
                ));
            }
            Ok(figure) if (figure.value - case.expected).abs() > case.tolerance + 1e-9 => {
                wrong.push(format!(
                    "{}: {} where {} prints {} ± {}",
                    case.id, figure.value, case.source, case.expected, case.tolerance
                ));
            }
            Ok(_) => {}
            Err(e) => wrong.push(format!("{}: {e}", case.id)),
        }
    }
    for ((topic, evidence), n) in count {
        println!("{n:4}  {topic} ({evidence})");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
