//! Which block a sample came from: sure only where the names agree.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Likeness below which a block is not offered, from 0 (nothing alike) to 1 (the same).
const OFFER: f64 = 0.72;
/// How many other blocks are offered.
const OTHERS: usize = 5;

/// A block of the farm with the names it goes by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlockNames {
    pub id: i64,
    pub name: String,
    pub aliases: Vec<String>,
}

/// What a sample's name is likely to stand for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Match {
    pub sample: String,
    pub best: Option<i64>,
    /// Whether the best may be taken without asking.
    pub sure: bool,
    /// Other blocks, the likeliest first.
    pub others: Vec<i64>,
    /// One sentence for the grower.
    pub why: String,
}

/// A name taken apart: words and numbers, without case, signs and leading zeros.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Name {
    parts: Vec<String>,
}

impl Name {
    fn of(text: &str) -> Self {
        let mut parts: Vec<String> = Vec::new();
        let mut was = ' ';
        for c in text.chars().take(200).flat_map(char::to_lowercase) {
            if c.is_alphanumeric() {
                let joins = was.is_alphanumeric() && c.is_numeric() == was.is_numeric();
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
        Self { parts }
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
        }
    }

    /// Likeness from 0 to 1; other numbers are another block.
    fn like(&self, other: &Self) -> f64 {
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

/// Finds the block of each sample. Sure only where the name or an alias is the same but for case,
/// signs and leading zeros, belongs to one block only, and no other sample has that name.
pub fn match_blocks(samples: &[String], blocks: &[BlockNames]) -> Vec<Match> {
    let names: Vec<(i64, Vec<Name>)> = blocks
        .iter()
        .map(|b| {
            let all = std::iter::once(&b.name).chain(&b.aliases);
            (b.id, all.map(|n| Name::of(n)).collect())
        })
        .collect();
    let title = |id: i64| {
        blocks
            .iter()
            .find(|b| b.id == id)
            .map_or("", |b| b.name.as_str())
    };
    let mut matches: Vec<Match> = samples
        .iter()
        .map(|sample| one(sample, &names, &title))
        .collect();
    let mut claims: BTreeMap<i64, usize> = BTreeMap::new();
    for id in matches.iter().filter(|m| m.sure).filter_map(|m| m.best) {
        *claims.entry(id).or_default() += 1;
    }
    for m in &mut matches {
        if let Some(id) = m.best
            && m.sure
            && claims.get(&id).copied().unwrap_or(0) > 1
        {
            m.sure = false;
            m.why = format!("More than one sample has the name of “{}”.", title(id));
        }
    }
    // A block whose own sample is there is no likely home for another one.
    for m in matches.iter_mut().filter(|m| !m.sure) {
        let free = |id: &i64| !claims.contains_key(id);
        if m.best.is_some_and(|id| !free(&id) && claims[&id] == 1) {
            let taken = m.best;
            m.best = m.others.iter().copied().find(free);
            m.others.retain(|id| Some(*id) != m.best);
            m.others.extend(taken);
            m.why = match m.best {
                Some(id) => format!("The name is like “{}”, but not the same.", title(id)),
                None => "The blocks with a name like this have a sample of their own.".to_owned(),
            };
        }
    }
    matches
}

fn one<'a>(sample: &str, names: &[(i64, Vec<Name>)], title: &impl Fn(i64) -> &'a str) -> Match {
    let name = Name::of(sample);
    let exact: Vec<i64> = names
        .iter()
        .filter(|(_, all)| !name.parts.is_empty() && all.contains(&name))
        .map(|(id, _)| *id)
        .collect();
    let mut ranked: Vec<(f64, i64)> = names
        .iter()
        .map(|(id, all)| {
            let best = all.iter().map(|n| name.like(n)).fold(0.0, f64::max);
            (best, *id)
        })
        .filter(|(likeness, id)| *likeness >= OFFER || exact.contains(id))
        .collect();
    ranked.sort_by(|a, b| {
        (exact.contains(&b.1), b.0)
            .partial_cmp(&(exact.contains(&a.1), a.0))
            .unwrap_or(std::cmp::Ordering::Equal)
            .then(a.1.cmp(&b.1))
    });
    let best = ranked.first().map(|(_, id)| *id);
    let why = match (exact.as_slice(), best) {
        ([id], _) => format!("The name is that of “{}”.", title(*id)),
        ([_, _, ..], _) => "More than one block goes by this name.".to_owned(),
        (_, Some(id)) => format!("The name is like “{}”, but not the same.", title(id)),
        (_, None) => "No block has a name like this.".to_owned(),
    };
    Match {
        sample: sample.to_owned(),
        best,
        sure: exact.len() == 1,
        others: ranked
            .iter()
            .skip(1)
            .take(OTHERS)
            .map(|(_, id)| *id)
            .collect(),
        why,
    }
}
