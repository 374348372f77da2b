//! A report that was loaded before with other bytes: as CSV then, as a page now, or sent again.

use super::history::{History, PastReport, fingerprint_of_values};
use super::suggestion::titled;
use super::{Doubt, DoubtKind, Subject, facts};
use std::collections::HashSet;

pub(crate) fn question(samples: &[Subject<'_>], history: &History) -> Vec<Doubt> {
    if history.reports.is_empty() {
        return Vec::new();
    }
    let values: HashSet<String> = samples
        .iter()
        .filter_map(|s| fingerprint_of_values(s.test))
        .collect();
    let numbers: HashSet<String> = samples
        .iter()
        .filter_map(|s| s.test.lab_number.as_deref())
        .map(plain_number)
        .filter(|n| !n.is_empty())
        .collect();
    let mut all: Vec<Doubt> = history
        .reports
        .iter()
        .filter_map(|report| one(report, &values, &numbers))
        .collect();
    // The likeliest first, and one is enough to ask about.
    all.truncate(3);
    all
}

/// Without case, spaces and signs.
fn plain_number(text: &str) -> String {
    let signs = text.chars().filter(|c| c.is_alphanumeric());
    signs.flat_map(char::to_lowercase).collect()
}

fn one(report: &PastReport, values: &HashSet<String>, numbers: &HashSet<String>) -> Option<Doubt> {
    let same_values = share(values, report.values.iter().cloned());
    let same_numbers = share(numbers, report.lab_numbers.iter().map(|n| plain_number(n)));
    let least = facts::limit("loaded_share");
    let long = numbers
        .iter()
        .any(|n| n.chars().count() as f64 >= facts::limit("lab_number_long"));
    let day = report.on.as_ref().map_or_else(String::new, |on| {
        format!(" ({})", crate::problem::shown(on))
    });
    let name = titled(&report.name);
    let sentence = if same_values >= least {
        format!(
            "The values of this report are those of {name}{day}: it may have been loaded before as another file."
        )
    } else if same_numbers >= least && long {
        format!(
            "The lab numbers of this report are those of {name}{day}, with other values: it may be a corrected report, or the same one read otherwise."
        )
    } else {
        return None;
    };
    let mut doubt = Doubt::of_file(None, sentence).kind(DoubtKind::LoadedTwice);
    doubt.value = Some(same_values.max(same_numbers) * 100.0);
    "% of the samples".clone_into(&mut doubt.unit);
    Some(doubt)
}

/// The share of ours that stand among theirs.
fn share(ours: &HashSet<String>, theirs: impl Iterator<Item = String>) -> f64 {
    if ours.is_empty() {
        return 0.0;
    }
    let theirs: HashSet<String> = theirs.collect();
    ours.intersection(&theirs).count() as f64 / ours.len() as f64
}
