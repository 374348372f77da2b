//! What a shortage or an excess looks like, in plain words.

use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Too little or too much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    Low,
    High,
}

/// One sentence with its source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sign {
    /// The element’s key as in reports (`n` among them, which no soil test decides), or `ph`.
    pub analyte: String,
    pub side: Side,
    pub text: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    analyte: String,
    side: Side,
    text: String,
    source: String,
    evidence: String,
}

/// Parses the signs that come with the program.
///
/// # Errors
/// A row that cannot be read, named with its file and line.
pub fn load() -> Result<Vec<Sign>, TableError> {
    let name = "signs/signs.csv";
    table::rows::<Row>(name, include_str!("../../../reference/signs/signs.csv"))?
        .into_iter()
        .enumerate()
        .map(|(i, row)| {
            Ok(Sign {
                analyte: row.analyte,
                side: row.side,
                text: row.text,
                source: table::source(name, i + 2, &row.source, &row.evidence)?,
            })
        })
        .collect()
}

fn all() -> &'static [Sign] {
    static ALL: OnceLock<Vec<Sign>> = OnceLock::new();
    // The tables are fixed when the program is built, and a test loads them.
    ALL.get_or_init(|| load().unwrap_or_default())
}

/// What too little or too much of an element looks like.
pub fn of(analyte: Analyte, side: Side) -> impl Iterator<Item = &'static Sign> {
    of_key(analyte.key(), side)
}

/// The same by key, for nitrogen, which has no analyte of its own.
pub fn of_key(key: &str, side: Side) -> impl Iterator<Item = &'static Sign> {
    all()
        .iter()
        .filter(move |s| s.analyte == key && s.side == side)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_belongs_to_something_a_report_can_hold() {
        let signs = load().unwrap();
        assert!(signs.len() >= 20);
        for sign in &signs {
            assert!(
                sign.analyte == "n" || Analyte::from_key(&sign.analyte).is_some(),
                "{}",
                sign.analyte
            );
            assert!(sign.text.ends_with('.'), "{}", sign.text);
        }
        assert_eq!(of(Analyte::Ca, Side::Low).count(), 2);
        assert!(
            of(Analyte::Fe, Side::Low).any(|s| s.text.contains("not of iron missing")),
            "chlorosis is no shortage to buy"
        );
    }
}
