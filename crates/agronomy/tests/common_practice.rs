//! Sums that every grower knows, against the topics that work them out. They carry no source and prove
//! nothing about the science; a miss would be a plain fault all the same.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::topic::work_out;
use serde::Deserialize;

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
fn what_every_grower_knows_comes_out() {
    let text = include_str!("../../../reference/checks/common_practice.csv");
    let mut count = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).deserialize() {
        let case: Case = row.unwrap();
        assert_eq!(case.source, "common practice, no source", "{}", case.id);
        assert_eq!(case.evidence, "common-practice", "{}", case.id);
        let pairs: Vec<_> = case
            .inputs
            .split(';')
            .filter(|p| !p.trim().is_empty())
            .map(|p| {
                let (key, value) = p.split_once('=').unwrap();
                (key.trim().to_owned(), value.trim().to_owned())
            })
            .collect();
        let figure = work_out(&case.topic, &pairs).unwrap_or_else(|e| panic!("{}: {e}", case.id));
        assert_eq!(figure.unit, case.unit, "{}", case.id);
        assert!(
            (figure.value - case.expected).abs() <= case.tolerance,
            "{}: {}",
            case.id,
            figure.value
        );
        count += 1;
    }
    assert!(count >= 3, "{count} cases");
}
