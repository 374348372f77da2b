//! What one line of a page holds: labels with their values, tests with their results, other text.

use super::lines::{Chunk, Line, Piece, around};
use super::record::Cell;
use super::say::{self, Label, Name};
use super::told::Heading;
use crate::header;
use crate::number;
use crate::words::{WORDS, tokens};

/// What a line holds, with where it begins.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    Pair(Label, String, Cell),
    Reading(Reading),
    /// a line of something that is known and not kept
    Passed,
    Text(Chunk),
}

/// One result.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reading {
    pub(super) name: String,
    pub(super) numbers: Vec<(f32, Cell)>,
    pub(super) unit: String,
    pub(super) method: String,
}

/// Takes a line apart.
pub(super) fn items(line: &Line) -> Vec<(f32, Item)> {
    let chunks: Vec<Chunk> = line.chunks.iter().flat_map(at_labels).collect();
    let mut out = Vec::new();
    let mut i = 0;
    while i < chunks.len() {
        let chunk = &chunks[i];
        if let Some((item, used)) = pair(&chunks, i) {
            out.push((chunk.x0, item));
            i += used;
        } else if let Some((item, used)) = reading(&chunks, i) {
            out.push((chunk.x0, item));
            i += used;
        } else {
            out.push((chunk.x0, Item::Text(chunk.clone())));
            i += 1;
        }
    }
    out
}

/// Parts `Sample: North 1 Lab number: 4401` before each label that ends with a colon.
pub(super) fn at_labels(chunk: &Chunk) -> Vec<Chunk> {
    let pieces = &chunk.pieces;
    let mut starts = vec![0];
    for (end, piece) in pieces.iter().enumerate() {
        if !piece.text.ends_with(':') {
            continue;
        }
        let from = starts.last().copied().unwrap_or(0);
        let start = (from..=end).find(|s| Label::of(&text_of(&pieces[*s..=end])).is_some());
        if let Some(start) = start.filter(|s| *s > from) {
            starts.push(start);
        }
    }
    starts.push(pieces.len());
    starts
        .windows(2)
        .filter_map(|w| Chunk::of(&pieces[w[0]..w[1]]))
        .collect()
}

pub(super) fn text_of(pieces: &[Piece]) -> String {
    let texts: Vec<&str> = pieces.iter().map(|p| p.text.as_str()).collect();
    texts.join(" ")
}

/// A label and its value, and how many chunks they take.
pub(super) fn pair(chunks: &[Chunk], at: usize) -> Option<(Item, usize)> {
    let chunk = &chunks[at];
    if let Some(colon) = chunk.text.find(':') {
        let (before, after) = chunk.text.split_at(colon);
        let label = Label::of(before)?;
        let value = after.trim_start_matches(':').trim();
        if !value.is_empty() {
            let words = say::words_in(value);
            let from = chunk.pieces.len().saturating_sub(words);
            let origin = Chunk::of(chunk.pieces.get(from..)?)?.origin;
            let cell = Cell {
                text: value.to_owned(),
                origin: Some(origin),
            };
            return label
                .takes(value)
                .then(|| (Item::Pair(label, before.trim().to_owned(), cell), 1));
        }
        return value_after(chunks, at, label, before.trim());
    }
    let label = Label::of(&chunk.text)?;
    value_after(chunks, at, label, chunk.text.trim())
}

pub(super) fn value_after(
    chunks: &[Chunk],
    at: usize,
    label: Label,
    header: &str,
) -> Option<(Item, usize)> {
    let value = chunks.get(at + 1)?;
    let fits = label.takes(&value.text)
        && Label::of(&value.text).is_none()
        && !value.text.ends_with(':')
        && (say::name(&value.text).is_none() || chunks[at].text.ends_with(':'));
    fits.then(|| {
        let cell = Cell {
            text: value.text.clone(),
            origin: Some(value.origin),
        };
        (Item::Pair(label, header.to_owned(), cell), 2)
    })
}

/// A name of a test with its number in one chunk: where the number is.
pub(super) fn split_at_number(pieces: &[Piece]) -> Option<usize> {
    (1..pieces.len()).rev().find(|i| {
        let number = pieces[*i].text.trim_end_matches([',', ';']);
        let before = text_of(&pieces[..*i]);
        say::is_number(number)
            && say::name(&before).is_some()
            && WORDS
                .scan(&before)
                .unknown
                .iter()
                .all(|w| w.parse::<f64>().is_err())
    })
}

/// A test with its result, and how many chunks they take.
pub(super) fn reading(chunks: &[Chunk], at: usize) -> Option<(Item, usize)> {
    let first = &chunks[at];
    let mut reading = Reading {
        name: String::new(),
        numbers: Vec::new(),
        unit: String::new(),
        method: String::new(),
    };
    let kept;
    if let Some(i) = split_at_number(&first.pieces) {
        reading.name = text_of(&first.pieces[..i]);
        kept = say::name(&reading.name)?;
        take(&mut reading, &Chunk::of(&first.pieces[i..])?);
    } else {
        kept = say::name(&first.text).filter(|_| !WORDS.is_rating(&first.text))?;
        reading.name.clone_from(&first.text);
    }
    let mut used = 1;
    while let Some(chunk) = chunks.get(at + used) {
        if begins(chunks, at + used) {
            break;
        }
        take(&mut reading, chunk);
        used += 1;
    }
    if reading.numbers.is_empty() {
        return None;
    }
    let item = match kept {
        Name::Kept => Item::Reading(reading),
        Name::Passed => Item::Passed,
    };
    Some((item, used))
}

/// Whether another test or label begins at a chunk.
pub(super) fn begins(chunks: &[Chunk], at: usize) -> bool {
    let chunk = &chunks[at];
    if WORDS.is_rating(&chunk.text) || say::is_unit(&chunk.text) {
        return false;
    }
    if split_at_number(&chunk.pieces).is_some() || pair(chunks, at).is_some() {
        return true;
    }
    if say::name(&chunk.text).is_none() || say::is_method(&chunk.text) {
        return false;
    }
    // The number follows, or its unit and then the number.
    let next = |n: usize| chunks.get(at + n).map_or("", |c| c.text.as_str());
    say::is_result(next(1)) || (say::is_unit(next(1)) && say::is_result(next(2)))
}

/// Adds what a chunk after the name says.
pub(super) fn take(reading: &mut Reading, chunk: &Chunk) {
    if say::is_number(&chunk.text) {
        reading.numbers.push((chunk.center(), cell(&chunk.pieces)));
        return;
    }
    if WORDS.is_missing(&chunk.text) && reading.numbers.is_empty() {
        reading.numbers.push((chunk.center(), cell(&chunk.pieces)));
        return;
    }
    if say::is_unit(&chunk.text) {
        if reading.unit.is_empty() {
            reading.unit.clone_from(&chunk.text);
        }
        return;
    }
    if say::is_method(&chunk.text) {
        if reading.method.is_empty() {
            reading.method.clone_from(&chunk.text);
        }
        return;
    }
    // `41 ppm`, `50 lb per 1,000 sq ft`, `41 ppm Optimum`, `< 0.1 ppm`
    let pieces = &chunk.pieces;
    let lead = usize::from(matches!(
        chunk.text.chars().next(),
        Some('<' | '>' | '≤' | '≥')
    ));
    for n in (1..=(lead + 1).min(pieces.len())).rev() {
        let number = text_of(&pieces[..n]);
        if !say::is_number(number.trim_end_matches([',', ';'])) {
            continue;
        }
        let rest = &pieces[n..];
        let unit = (1..=rest.len())
            .rev()
            .map(|m| text_of(&rest[..m]))
            .find(|u| say::is_unit(u));
        let range = rest
            .first()
            .is_some_and(|p| p.text.starts_with(['-', '–', '−', '/']) || p.text == "to");
        if range {
            return;
        }
        let mut taken = cell(&pieces[..n]);
        taken.text = taken.text.trim_end_matches([',', ';']).to_owned();
        reading.numbers.push((chunk.center(), taken));
        if reading.unit.is_empty() {
            reading.unit = unit.unwrap_or_default();
        }
        return;
    }
    if let number::Cell::Number { rest, .. } = number::cell(&chunk.text, false)
        && !rest.is_empty()
        && pieces.len() == 1
        && (say::is_unit(rest) || WORDS.is_rating(rest))
    {
        // `41ppm`
        let mut taken = cell(pieces);
        let end = taken.text.len() - rest.len();
        if reading.unit.is_empty() && say::is_unit(rest) {
            rest.clone_into(&mut reading.unit);
        }
        taken.text.truncate(end);
        reading.numbers.push((chunk.center(), taken));
    }
}

pub(super) fn cell(pieces: &[Piece]) -> Cell {
    Cell {
        text: text_of(pieces),
        origin: pieces.iter().map(|p| p.origin).reduce(around),
    }
}

/// Name, method and unit as one header.
pub(super) fn composed(reading: &Reading, heading: &Heading) -> String {
    let mut name = reading
        .name
        .trim()
        .trim_end_matches([':', '=', ','])
        .trim()
        .to_owned();
    let lower = tokens(heading.before).join(" ");
    if !heading.before.is_empty() && !tokens(&name).join(" ").contains(&lower) {
        name = format!("{} {name}", heading.before);
    }
    let scan = WORDS.scan(&name);
    let method = if reading.method.is_empty() {
        &heading.method
    } else {
        &reading.method
    };
    let has_method = header::extractant(&scan).is_some() || header::buffer(&scan).is_some();
    if !method.is_empty() && !has_method && heading.before.is_empty() {
        let of_extract = header::extractant(&WORDS.scan(method)).is_none()
            || matches!(header::guess(&name).meaning, crate::layout::Meaning::Value { analyte, .. } if analyte.needs_extractant());
        if of_extract || !reading.method.is_empty() {
            name = format!("{name} ({method})");
        }
    }
    let has_unit = header::unit(&scan).is_some() || header::rate_unit(&scan).is_some();
    if !has_unit {
        if !reading.unit.is_empty() {
            name = format!("{name} {}", reading.unit);
        } else if !heading.unit.is_empty() {
            let with = format!("{name} {}", heading.unit);
            // A heading's unit where it can be this test's: pH stands under “ppm” too.
            if header::guess(&with).sure || heading.before == "Recommended" {
                name = with;
            }
        }
    }
    name
}

/// What stands in a line beside labels; a word with a colon is one with what follows it.
pub(super) fn texts(items: &[(f32, Item)]) -> Vec<Cell> {
    let mut out: Vec<Cell> = Vec::new();
    for (_, item) in items {
        let Item::Text(chunk) = item else { continue };
        match out.last_mut() {
            Some(last) if last.text.ends_with(':') => {
                last.text = format!("{} {}", last.text, chunk.text);
                last.origin = last.origin.map(|o| around(o, chunk.origin));
            }
            _ => out.push(cell(&chunk.pieces)),
        }
    }
    out
}
