//! The vocabulary: what the words in a lab's header usually mean.

use crate::problem::shown;
use agronomy::table::{self, TableError};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// What a word stands for. `words.csv` explains each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Kind {
    Analyte,
    Form,
    Nutrient,
    Lime,
    Pure,
    Recommend,
    Unit,
    Rate,
    Extractant,
    Buffer,
    Group,
    Role,
    Length,
    DensityUnit,
    Ignore,
    Unknown,
    Filler,
    Missing,
    Rating,
    Summary,
}

/// One phrase understood.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Hit {
    pub(crate) kind: Kind,
    pub(crate) key: String,
    pub(crate) sure: bool,
    pub(crate) words: String,
}

/// A text taken apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Scan {
    pub(crate) hits: Vec<Hit>,
    /// Words that are in no table.
    pub(crate) unknown: Vec<String>,
}

impl Scan {
    pub(crate) fn of(&self, kind: Kind) -> impl Iterator<Item = &Hit> {
        self.hits.iter().filter(move |h| h.kind == kind)
    }

    pub(crate) fn has(&self, kind: Kind) -> bool {
        self.of(kind).next().is_some()
    }

    /// Whether there are words that say nothing of their own, and no others.
    pub(crate) fn is_filling(&self) -> bool {
        let filler = |h: &Hit| matches!(h.kind, Kind::Filler | Kind::Ignore);
        !self.hits.is_empty() && self.unknown.is_empty() && self.hits.iter().all(filler)
    }

    /// The different keys of one kind, in order of appearance.
    pub(crate) fn keys(&self, kind: Kind) -> Vec<&str> {
        let mut keys = Vec::new();
        for hit in self.of(kind) {
            if !keys.contains(&hit.key.as_str()) {
                keys.push(hit.key.as_str());
            }
        }
        keys
    }
}

#[derive(Deserialize)]
struct WordRow {
    words: String,
    kind: Kind,
    key: String,
    sure: String,
    source: String,
    evidence: String,
}

#[derive(Default)]
pub(crate) struct Words {
    phrases: BTreeMap<String, Hit>,
    longest: usize,
    missing: BTreeSet<String>,
    /// Of the missing ones: measured, but too little to put a number on.
    below: BTreeSet<String>,
    rating: BTreeSet<String>,
    summary: BTreeSet<String>,
}

/// The compiled-in vocabulary. A test proves that it parses.
pub(crate) static WORDS: LazyLock<Words> = LazyLock::new(|| Words::load().unwrap_or_default());

impl Words {
    pub(crate) fn load() -> Result<Self, TableError> {
        const NAME: &str = "labfiles/words.csv";
        let mut all = Self::default();
        let text = include_str!("../../../reference/labfiles/words.csv");
        for (i, row) in table::rows::<WordRow>(NAME, text)?.into_iter().enumerate() {
            table::source(NAME, i + 2, &row.source, &row.evidence)?;
            let fresh = match row.kind {
                Kind::Missing => {
                    if row.key == "below" {
                        all.below.insert(row.words.clone());
                    }
                    all.missing.insert(row.words.clone())
                }
                Kind::Rating => all.rating.insert(row.words.clone()),
                Kind::Summary => all.summary.insert(row.words.clone()),
                kind => {
                    all.longest = all.longest.max(row.words.split(' ').count());
                    let hit = Hit {
                        kind,
                        key: row.key,
                        sure: row.sure == "yes",
                        words: row.words.clone(),
                    };
                    all.phrases.insert(row.words.clone(), hit).is_none()
                }
            };
            if !fresh {
                return Err(TableError {
                    table: NAME.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” stands twice", row.words),
                });
            }
        }
        Ok(all)
    }

    /// Takes a header or a line apart, longest phrase first; where that leaves words over, in the way
    /// that leaves the fewest: “Mg kg/ha” is magnesium in kg/ha, not mg/kg and a stray “ha”.
    pub(crate) fn scan(&self, text: &str) -> Scan {
        // A method's code is a name, not words: `S` in it is not sulfur.
        let tokens = tokens(&without_codes(text));
        let scan = self.longest_first(&tokens);
        if scan.unknown.is_empty() || scan.hits.is_empty() {
            return scan;
        }
        let other = self.fewest_unknown(&tokens);
        if other.unknown.len() < scan.unknown.len() {
            other
        } else {
            scan
        }
    }

    /// The parting with the fewest unknown words, found from the end.
    fn fewest_unknown(&self, tokens: &[String]) -> Scan {
        // For each place: unknown words from here on, and the length of the phrase here (0: unknown).
        let mut best = vec![(0, 0); tokens.len() + 1];
        for at in (0..tokens.len()).rev() {
            best[at] = (best[at + 1].0 + 1, 0);
            for length in 1..=self.longest.min(tokens.len() - at) {
                let after = best[at + length].0;
                if after <= best[at].0
                    && self
                        .phrases
                        .contains_key(&tokens[at..at + length].join(" "))
                {
                    best[at] = (after, length);
                }
            }
        }
        let mut scan = Scan::default();
        let mut at = 0;
        while at < tokens.len() {
            let length = best[at].1;
            match self.phrases.get(&tokens[at..at + length].join(" ")) {
                Some(hit) if length > 0 => scan.hits.push(hit.clone()),
                _ => scan.unknown.push(shown(&tokens[at])),
            }
            at += length.max(1);
        }
        scan
    }

    fn longest_first(&self, tokens: &[String]) -> Scan {
        let mut scan = Scan::default();
        let mut at = 0;
        'words: while at < tokens.len() {
            for length in (1..=self.longest.min(tokens.len() - at)).rev() {
                let phrase = tokens[at..at + length].join(" ");
                if let Some(hit) = self.phrases.get(&phrase) {
                    scan.hits.push(hit.clone());
                    at += length;
                    continue 'words;
                }
            }
            scan.unknown.push(shown(&tokens[at]));
            at += 1;
        }
        scan
    }

    /// Whether a cell says that there is no value.
    pub(crate) fn is_missing(&self, cell: &str) -> bool {
        let number = cell.starts_with(|c: char| c.is_ascii_digit());
        cell.is_empty()
            || (!number && cell.len() <= 24 && self.missing.contains(&cell.to_lowercase()))
    }

    /// Whether a cell says that there was too little to measure, without saying how little.
    pub(crate) fn is_below(&self, cell: &str) -> bool {
        cell.len() <= 24 && self.below.contains(&cell.trim().to_lowercase())
    }

    /// Whether a word after a number is the lab's rating of it.
    pub(crate) fn is_rating(&self, word: &str) -> bool {
        !word.is_empty() && word.len() <= 16 && self.rating.contains(&word.to_lowercase())
    }

    /// Whether a row's name says that it sums up the rows above.
    pub(crate) fn is_summary(&self, name: &str) -> bool {
        name.len() <= 40 && {
            let name = name.to_lowercase();
            self.summary
                .contains(name.trim_end_matches([':', '.']).trim_end())
        }
    }
}

/// The signs around a method's code in a header.
pub(crate) const CODE: (char, char) = ('‹', '›');

/// The code of a method that a header names between its signs.
pub(crate) fn code(header: &str) -> Option<&str> {
    let (_, rest) = header.split_once(CODE.0)?;
    let (code, _) = rest.split_once(CODE.1)?;
    Some(code.trim()).filter(|c| !c.is_empty())
}

fn without_codes(text: &str) -> Cow<'_, str> {
    match (text.find(CODE.0), text.find(CODE.1)) {
        (Some(from), Some(to)) if from < to => {
            let after = text.get(to + CODE.1.len_utf8()..).unwrap_or_default();
            Cow::Owned(format!("{} {after}", &text[..from]))
        }
        _ => Cow::Borrowed(text),
    }
}

/// Lower-case words; signs part them, `%` is a word, small and raised digits are digits.
pub(crate) fn tokens(text: &str) -> Vec<String> {
    let mut tokens = Vec::new();
    let mut word = String::new();
    let chars: Vec<char> = text.chars().take(400).collect();
    for (i, &c) in chars.iter().enumerate() {
        let digit_at = |at: Option<usize>| {
            at.and_then(|at| chars.get(at))
                .is_some_and(char::is_ascii_digit)
        };
        let c = match c {
            '₀'..='₉' => char::from_u32('0' as u32 + (c as u32 - '₀' as u32)).unwrap_or(c),
            '²' => '2',
            '³' => '3',
            'µ' | 'μ' => 'u',
            // 1,000 is one word.
            ',' if digit_at(i.checked_sub(1)) && digit_at(Some(i + 1)) => continue,
            c => c,
        };
        if c.is_alphanumeric() {
            word.extend(c.to_lowercase());
            continue;
        }
        if !word.is_empty() {
            tokens.push(std::mem::take(&mut word));
        }
        if c == '%' {
            tokens.push("%".to_owned());
        }
    }
    if !word.is_empty() {
        tokens.push(word);
    }
    tokens
}

#[cfg(test)]
mod tests {
    use super::{Kind, WORDS, tokens};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_word_is_lost_and_none_is_unknown_without_need(
            words in proptest::collection::vec(
                "(mg|kg|ha|p|k|mehlich|3|bray|p1|ppm|lb|acre|buffer|ph|1|water|xx|no3|n|per)", 0..12
            ),
        ) {
            let text = words.join(" ");
            let scan = WORDS.scan(&text);
            let hit: usize = scan.hits.iter().map(|h| h.words.split(' ').count()).sum();
            prop_assert_eq!(hit + scan.unknown.len(), words.len());
            let greedy = WORDS.longest_first(&tokens(&text));
            prop_assert!(scan.unknown.len() <= greedy.unknown.len());
        }
    }

    #[test]
    fn magnesium_on_an_area_is_not_a_share() {
        for text in ["Mg, kg/ha", "Mg (kg/ha)", "Mg kg/ha"] {
            let scan = WORDS.scan(text);
            assert_eq!(scan.keys(Kind::Analyte), ["mg"], "{text}");
            assert_eq!(scan.keys(Kind::Unit), ["kg_per_ha"], "{text}");
            assert!(scan.unknown.is_empty(), "{text}");
        }
        let scan = WORDS.scan("Mg, mg/kg");
        assert_eq!(scan.keys(Kind::Unit), ["mg_per_kg"]);
    }

    #[test]
    fn what_is_unknown_either_way_is_parted_longest_first() {
        let scan = WORDS.scan("Mehlich 3 whatnot P");
        assert_eq!(scan.keys(Kind::Extractant), ["mehlich3"]);
        assert_eq!(scan.unknown, ["whatnot"]);
    }
}
