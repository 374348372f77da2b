//! What is known from before: the block's earlier tests, the other blocks', earlier reports.

use agronomy::soil::SoilTest;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// What is known from before, as the book holds it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct History {
    /// For each sample of the report, in its order.
    pub samples: Vec<Past>,
    /// The latest test of each block of the farm.
    pub blocks: Vec<BlockTest>,
    /// Earlier reports; not the one that is questioned.
    pub reports: Vec<PastReport>,
}

/// What is known of the block that a sample was matched to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Past {
    pub block: Option<i64>,
    pub name: String,
    /// Earlier tests of the same layer, in any order.
    pub tests: Vec<Dated>,
}

/// A test with its day.
#[derive(Debug, Clone, PartialEq)]
pub struct Dated {
    /// `2025-03-09`; may be unknown
    pub on: Option<String>,
    pub test: SoilTest,
}

/// A block's latest test.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockTest {
    pub block: i64,
    pub name: String,
    pub latest: Dated,
}

/// A report that was read before.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PastReport {
    /// The file's name.
    pub name: String,
    /// `2025-03-09`; may be unknown
    pub on: Option<String>,
    pub lab_numbers: Vec<String>,
    /// [`fingerprint_of_values`] of its samples.
    pub values: Vec<String>,
}

impl Past {
    /// The newest tests first; those without a day last.
    pub(crate) fn newest(&self) -> Vec<&Dated> {
        let mut tests: Vec<&Dated> = self.tests.iter().collect();
        tests.sort_by(|a, b| b.on.cmp(&a.on));
        tests
    }
}

impl Dated {
    /// ` (2025-03-09)`, or nothing.
    pub(crate) fn day(&self) -> String {
        self.on.as_ref().map_or_else(String::new, |on| {
            format!(" ({})", crate::problem::shown(on))
        })
    }
}

/// Stands for what a sample's values say, whatever the file's bytes and the order of its columns:
/// analyte, extractant, buffer and value to four digits. None: too few values to tell samples apart.
pub fn fingerprint_of_values(test: &SoilTest) -> Option<String> {
    let least = super::facts::limit("copy_least");
    if (test.measured.len() as f64) < least {
        return None;
    }
    let mut lines: Vec<String> = test
        .measured
        .iter()
        .map(|m| {
            format!(
                "{} {} {} {:.3e}",
                m.analyte.key(),
                m.extractant.map_or("", |e| e.key()),
                m.buffer.map_or("", |b| b.key()),
                m.value
            )
        })
        .collect();
    lines.sort_unstable();
    let mut hash = Sha256::new();
    hash.update(lines.join("\n"));
    let text = hash
        .finalize()
        .iter()
        .take(8)
        .fold(String::new(), |mut text, byte| {
            // Writing to a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        });
    Some(text)
}
