//! What is doubtful between the samples of one report.

use super::suggestion::{Change, Suggestion};
use super::{Doubt, DoubtKind, Subject, facts};
use agronomy::soil::Analyte;
use std::collections::HashMap;

/// A name in one layer: two layers of one block share a name rightly.
type Layer = (String, u64, Option<u64>);

pub(crate) fn question(samples: &[Subject<'_>], copies: &[usize]) -> Vec<Doubt> {
    let least = facts::limit("copy_least");
    let mut all = Vec::new();
    let mut values: HashMap<Vec<(Analyte, u64)>, &Subject<'_>> = HashMap::new();
    let mut names: HashMap<Layer, &Subject<'_>> = HashMap::new();
    for (subject, copy) in samples.iter().zip(copies) {
        let test = subject.test;
        let mut push = |mut doubt: Doubt| {
            doubt.row = subject.row;
            doubt.copy = *copy;
            let leave = Suggestion::new("Leave this sample out.", Change::LeaveOutSample);
            all.push(doubt.suggest([leave]));
        };
        let key: Vec<_> = test
            .measured
            .iter()
            .map(|m| (m.analyte, m.value.to_bits()))
            .collect();
        if key.len() as f64 >= least {
            if let Some(first) = values.get(&key) {
                let sentence = format!(
                    "All its values are those of “{}”{}; one may be a copy.",
                    first.test.sample,
                    row(first, " in row "),
                );
                push(Doubt::of(&test.sample, None, sentence).kind(DoubtKind::Copy));
            } else {
                values.insert(key, subject);
            }
        }
        let depth = test.depth_in.map(f64::to_bits);
        let layer: Layer = (test.sample.to_lowercase(), subject.top_in.to_bits(), depth);
        if let Some(first) = names.get(&layer) {
            let sentence = match first.row {
                Some(_) => format!("The same name stands{}.", row(first, " in row ")),
                None => "Another sample has the same name.".to_owned(),
            };
            push(Doubt::of(&test.sample, None, sentence).kind(DoubtKind::SameName));
        } else {
            names.insert(layer, subject);
        }
    }
    all
}

fn row(subject: &Subject<'_>, before: &str) -> String {
    subject
        .row
        .map_or_else(String::new, |row| format!("{before}{row}"))
}
