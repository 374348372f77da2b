//! A name taken apart, so that the same name written otherwise is the same.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The longest name that is looked at, in characters.
const LONGEST: usize = 200;

/// Words and numbers, without case, signs, leading zeros, accents, vowel points and marks of direction.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Name {
    pub(crate) parts: Vec<String>,
    /// The same with accents: tells `Peña` from `Pena` where both are blocks.
    pub(crate) marked: Vec<String>,
}

impl Name {
    pub(crate) fn of(text: &str) -> Self {
        let text: String = text.chars().take(LONGEST).collect();
        let plain = text.nfkd().filter(|c| !is_combining_mark(*c));
        Self {
            parts: parts(plain),
            marked: parts(text.nfkc()),
        }
    }

    /// Whether it is a number and nothing else, as labs and hurried growers write: it may stand for
    /// something else next year.
    pub(crate) fn is_number(&self) -> bool {
        !self.parts.is_empty() && self.numbers().len() == self.parts.len()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Whether it is the same name but for how it is written.
    pub(crate) fn is(&self, other: &Self) -> bool {
        !self.is_empty() && self.parts == other.parts
    }

    fn numbers(&self) -> Vec<&str> {
        self.parts
            .iter()
            .filter(|p| p.chars().all(char::is_numeric))
            .map(String::as_str)
            .collect()
    }

    fn joined(&self) -> String {
        self.parts.join(" ")
    }

    /// The name with numbers in words as figures: “tunnel one” is like “Tunnel 1”.
    fn in_figures(&self) -> Self {
        const WORDS: [&str; 12] = [
            "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve",
        ];
        let parts = self.parts.iter().map(|p| {
            WORDS
                .iter()
                .position(|w| w == p)
                .map_or_else(|| p.clone(), |at| (at + 1).to_string())
        });
        Self {
            parts: parts.collect(),
            marked: Vec::new(),
        }
    }

    /// Likeness from 0 to 1; other numbers are another block.
    pub(crate) fn like(&self, other: &Self) -> f64 {
        self.in_figures().like_as_written(&other.in_figures())
    }

    fn like_as_written(&self, other: &Self) -> f64 {
        let likeness = strsim::jaro_winkler(&self.joined(), &other.joined());
        let mut words = (self.parts.clone(), other.parts.clone());
        words.0.sort_unstable();
        words.1.sort_unstable();
        let sorted = strsim::normalized_levenshtein(&words.0.join(" "), &words.1.join(" "));
        let likeness = likeness.max(sorted);
        if self.numbers() == other.numbers() {
            likeness
        } else {
            likeness * 0.6
        }
    }
}

/// Marks that say how a line runs and nothing else.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{61c}' | '\u{feff}' | '\u{ad}')
}

/// Digits of other scripts that soil boxes may carry, as 0 to 9.
fn digit(c: char) -> char {
    let zeros = ['\u{660}', '\u{6f0}', '\u{966}'];
    zeros
        .into_iter()
        .find_map(|zero| {
            let at = (c as u32).checked_sub(zero as u32).filter(|d| *d < 10)?;
            char::from_digit(at, 10)
        })
        .unwrap_or(c)
}

/// Runs of letters and runs of digits.
fn parts(text: impl Iterator<Item = char>) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut was = ' ';
    let seen = text.filter(|c| !is_invisible(*c)).map(digit);
    for c in seen.flat_map(char::to_lowercase) {
        if c.is_alphanumeric() || is_combining_mark(c) {
            let joins = (was.is_alphanumeric() || is_combining_mark(was))
                && c.is_numeric() == was.is_numeric();
            match parts.last_mut() {
                Some(part) if joins => part.push(c),
                _ => parts.push(c.to_string()),
            }
        }
        was = c;
    }
    for part in &mut parts {
        let short = part.trim_start_matches('0');
        if part.chars().all(char::is_numeric) && !short.is_empty() {
            *part = short.to_owned();
        }
    }
    parts
}
