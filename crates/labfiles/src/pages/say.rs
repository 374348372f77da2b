//! What a piece of a page's text says: a name of a test, a number, a unit, a label.

use crate::header;
use crate::layout::Meaning;
use crate::number::{self, Cell};
use crate::words::{Kind, Scan, WORDS};

/// The longest text that is looked at as a name, in bytes.
const LONGEST: usize = 100;

/// Whether a text is one number and nothing else, as `6.2`, `<0.1`, `1,240`.
pub(super) fn is_number(text: &str) -> bool {
    if text.len() > 24 || text.starts_with(['-', '−', '=', '@', '+']) {
        return false;
    }
    [false, true].into_iter().any(|comma| {
        matches!(
            number::cell(text, comma),
            Cell::Number { rest, .. } if rest.is_empty()
        )
    })
}

/// Whether a text stands in a cell of results: a number, perhaps with a unit or a rating, or a sign
/// that there is none.
pub(super) fn is_result(text: &str) -> bool {
    if text.is_empty() || text.len() > 40 {
        return false;
    }
    if WORDS.is_missing(text) {
        return true;
    }
    match number::cell(text, false) {
        Cell::Number { rest, .. } => rest.is_empty() || is_unit(rest),
        _ => is_number(text),
    }
}

/// Whether a text is units, or units and a rating, and nothing else.
pub(super) fn is_unit(text: &str) -> bool {
    // The vocabulary passes over `1 1` and `1 5` as ratios of soil to water; 1.5 is a number.
    if text.split_whitespace().next().is_none_or(is_number) {
        return false;
    }
    let scan = WORDS.scan(text);
    scan.unknown.is_empty()
        && (scan.has(Kind::Unit) || scan.has(Kind::Rate))
        && scan
            .hits
            .iter()
            .all(|h| matches!(h.kind, Kind::Unit | Kind::Rate | Kind::Filler | Kind::Pure))
}

/// Whether a text names an extractant or a buffer and nothing else.
pub(super) fn is_method(text: &str) -> bool {
    if text.split_whitespace().next().is_none_or(is_number) {
        return false;
    }
    let scan = WORDS.scan(text);
    scan.unknown.is_empty()
        && (scan.has(Kind::Extractant) || scan.has(Kind::Buffer))
        && scan.hits.iter().all(|h| {
            matches!(
                h.kind,
                Kind::Extractant | Kind::Buffer | Kind::Filler | Kind::Unit
            ) && h.sure
        })
}

/// What a name at the start of a line of results stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Name {
    /// a test or a rate that is kept
    Kept,
    /// something printed with a number that is not kept, such as a ratio
    Passed,
}

/// Whether a text names a test, a recommended rate, or something known that is not kept.
pub(super) fn name(text: &str) -> Option<Name> {
    if text.is_empty() || text.len() > LONGEST || is_number(text) || text.contains(". ") {
        return None;
    }
    let scan = WORDS.scan(text);
    named(&scan)
}

fn named(scan: &Scan) -> Option<Name> {
    let known = scan.hits.len();
    if known == 0 || scan.unknown.len() > 2 || scan.unknown.len() > known {
        return None;
    }
    let of_test = [Kind::Analyte, Kind::Form, Kind::Lime, Kind::Nutrient]
        .iter()
        .any(|k| scan.has(*k));
    if scan.has(Kind::Ignore) || scan.has(Kind::Unknown) {
        let ratio = scan.of(Kind::Ignore).any(|h| h.key != "note");
        return (ratio || scan.has(Kind::Unknown)).then_some(Name::Passed);
    }
    // “Bed B” or “Terrace K” is a place: a symbol beside a strange word or a place's is no test.
    let symbols = scan
        .hits
        .iter()
        .filter(|h| matches!(h.kind, Kind::Analyte | Kind::Form | Kind::Nutrient))
        .all(|h| h.words.len() <= 3);
    let of_place = scan.of(Kind::Role).any(|h| h.key != "date");
    if symbols && !scan.has(Kind::Lime) && (!scan.unknown.is_empty() || of_place) {
        return None;
    }
    let method_of_one = scan.of(Kind::Extractant).any(|h| h.sure) && scan.unknown.is_empty();
    if of_test {
        // “Phosphorus, potassium and calcium by Mehlich 3” is a remark.
        let many = scan.keys(Kind::Analyte).len() > 2;
        return (!many).then_some(Name::Kept);
    }
    let value = matches!(
        header::guess(&words_of(scan)).meaning,
        Meaning::Value { .. }
    );
    (method_of_one && value).then_some(Name::Kept)
}

fn words_of(scan: &Scan) -> String {
    let words: Vec<&str> = scan.hits.iter().map(|h| h.words.as_str()).collect();
    words.join(" ")
}

/// Whether a text is the symbol of a test and nothing else, as a bed may be called too.
pub(super) fn is_symbol(text: &str) -> bool {
    text.chars().count() <= 2 && name(text).is_some()
}

/// What a label such as `Sample:` or `Lab number` announces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Label {
    Sample,
    LabNumber,
    Depth,
    Date,
    Crop,
    Texture,
    Density,
}

impl Label {
    pub(super) fn of(text: &str) -> Option<Self> {
        let text = text.trim().trim_end_matches([':', '#', '.']).trim();
        if text.is_empty() || text.len() > 40 || text.contains(':') {
            return None;
        }
        let scan = WORDS.scan(text);
        let told = [
            Kind::Analyte,
            Kind::Form,
            Kind::Ignore,
            Kind::Lime,
            Kind::Unit,
        ];
        if !scan.unknown.is_empty() || !scan.has(Kind::Role) || told.iter().any(|k| scan.has(*k)) {
            return None;
        }
        match header::guess(text).meaning {
            Meaning::Sample => Some(Self::Sample),
            Meaning::LabNumber => Some(Self::LabNumber),
            Meaning::Depth { .. } => Some(Self::Depth),
            Meaning::Date => Some(Self::Date),
            Meaning::Crop => Some(Self::Crop),
            Meaning::Texture => Some(Self::Texture),
            Meaning::Density => Some(Self::Density),
            _ => None,
        }
    }

    /// Whether a text can be the value of this label.
    pub(super) fn takes(self, value: &str) -> bool {
        let digit = value.contains(|c: char| c.is_ascii_digit());
        match self {
            Self::LabNumber => digit && value.len() <= 40,
            Self::Date | Self::Depth | Self::Density => digit && value.len() <= 40,
            Self::Sample | Self::Crop | Self::Texture => value.len() <= 120,
        }
    }
}

/// How many words a text has.
pub(super) fn words_in(text: &str) -> usize {
    text.split_whitespace().count()
}
