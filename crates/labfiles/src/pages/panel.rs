//! Pages on which each line is a test: its name, the result, the unit, perhaps the method.

use super::lines::{self, Chunk, Line, Piece, Sheet, around};
use super::record::{Cell, Record};
use super::say::{self, Label, Name};
use super::told::Heading;
use crate::header;
use crate::number;
use crate::words::{WORDS, tokens};

/// What a line holds, with where it begins.
#[derive(Debug, Clone, PartialEq)]
enum Item {
    Pair(Label, String, Cell),
    Reading(Reading),
    /// a line of something that is known and not kept
    Passed,
    Text(Chunk),
}

/// One result.
#[derive(Debug, Clone, PartialEq)]
struct Reading {
    name: String,
    numbers: Vec<(f32, Cell)>,
    unit: String,
    method: String,
}

/// What a page's lines say, sample by sample.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// With values; or with labels alone, where they belong to the whole page.
    pub(super) records: Vec<Record>,
    /// What else stands on the page.
    pub(super) texts: Vec<Cell>,
}

/// Reads the lines of a page that no wide table took. `groups` numbers the panels.
pub(super) fn find(sheet: &Sheet, taken: &[usize], groups: &mut usize) -> Found {
    let (sheet, taken) = &unwrapped(sheet, taken);
    let mut found = Found::default();
    let mut blocks = Blocks::new(sheet.page, groups);
    let mut at = 0;
    while at < sheet.lines.len() {
        if taken.contains(&at) {
            at += 1;
            continue;
        }
        if let Some((records, to)) = across(sheet, at, blocks.groups) {
            found.records.extend(records);
            at = to;
            continue;
        }
        let items = items(&sheet.lines[at]);
        if !items
            .iter()
            .any(|(_, i)| matches!(i, Item::Reading(_) | Item::Passed))
        {
            found.texts.extend(texts(&items));
        }
        blocks.line(items, sheet.letter);
        at += 1;
    }
    found.records.extend(blocks.done());
    found
}

/// How close a line must stand to the row whose cells it carries on: letters, and share of the
/// usual distance of rows.
const CARRY_ON: f32 = 1.95;
const OF_PITCH: f32 = 0.9;

/// The page with cells of several lines brought into one: a line without numbers that stands closer
/// to a row than rows do to each other is part of it.
fn unwrapped(sheet: &Sheet, taken: &[usize]) -> (Sheet, Vec<usize>) {
    let lines = &sheet.lines;
    let is_row: Vec<bool> = lines
        .iter()
        .enumerate()
        .map(|(i, line)| !taken.contains(&i) && line.chunks.iter().skip(1).any(holds_result))
        .collect();
    let rows: Vec<usize> = (0..lines.len()).filter(|i| is_row[*i]).collect();
    let pitch = lines::median(
        rows.windows(2)
            .map(|w| lines[w[1]].y - lines[w[0]].y)
            .filter(|gap| *gap < sheet.letter * 6.0),
    );
    let most = (sheet.letter * CARRY_ON).min(pitch * OF_PITCH);
    // The row that each line goes to.
    let home: Vec<usize> = (0..lines.len())
        .map(|i| {
            let label = lines[i].chunks.iter().any(|c| c.text.contains(':'));
            if is_row[i] || taken.contains(&i) || label {
                return i;
            }
            let far = |r: &usize| (lines[*r].y - lines[i].y).abs();
            rows.iter()
                .copied()
                .filter(|r| far(r) <= most && r.abs_diff(i) <= 2)
                .min_by(|a, b| far(a).total_cmp(&far(b)))
                .unwrap_or(i)
        })
        .collect();
    let mut out = Sheet {
        lines: Vec::new(),
        ..*sheet
    };
    let mut out_taken = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        if home[i] != i {
            continue;
        }
        let mut stack: Vec<&Line> = (0..lines.len())
            .skip(i.saturating_sub(3))
            .take(7)
            .filter(|n| home[*n] == i)
            .map(|n| &lines[n])
            .collect();
        stack.sort_by(|a, b| a.y.total_cmp(&b.y));
        if taken.contains(&i) {
            out_taken.push(out.lines.len());
        }
        out.lines.push(if stack.len() == 1 {
            line.clone()
        } else {
            Line {
                y: line.y,
                chunks: stacked(&stack),
            }
        });
    }
    (out, out_taken)
}

/// Whether a chunk begins with a result.
fn holds_result(chunk: &Chunk) -> bool {
    say::is_result(&chunk.text)
        || chunk
            .pieces
            .first()
            .is_some_and(|p| say::is_number(&p.text))
        || split_at_number(&chunk.pieces).is_some()
}

/// The chunks of lines that are one row, those over each other joined.
fn stacked(lines: &[&Line]) -> Vec<Chunk> {
    let mut columns: Vec<Vec<Piece>> = Vec::new();
    let span = |pieces: &[Piece]| {
        pieces
            .iter()
            .fold((f32::MAX, f32::MIN), |(a, b), p| (a.min(p.x0), b.max(p.x1)))
    };
    for chunk in lines.iter().flat_map(|l| &l.chunks) {
        let over = columns.iter_mut().find(|pieces| {
            let (x0, x1) = span(pieces);
            x0 < chunk.x1 && chunk.x0 < x1
        });
        match over {
            Some(pieces) => pieces.extend(chunk.pieces.iter().cloned()),
            None => columns.push(chunk.pieces.clone()),
        }
    }
    columns.sort_by(|a, b| span(a).0.total_cmp(&span(b).0));
    columns.iter().filter_map(|p| Chunk::of(p)).collect()
}

/// The samples of a page as they open.
struct Blocks<'a> {
    page: usize,
    groups: &'a mut usize,
    /// Where each open block begins on the line, and what it has.
    open: Vec<(f32, Record)>,
    done: Vec<Record>,
    /// What the last lines without results said, with where they begin.
    headings: Vec<(f32, Heading)>,
    /// Where the column of results stands, if a line over it says so.
    results: Vec<(f32, f32)>,
}

impl<'a> Blocks<'a> {
    fn new(page: usize, groups: &'a mut usize) -> Self {
        let first = Record {
            page,
            group: *groups,
            ..Record::default()
        };
        Self {
            page,
            groups,
            open: vec![(f32::MIN, first)],
            done: Vec::new(),
            headings: Vec::new(),
            results: Vec::new(),
        }
    }

    fn fresh(&mut self) -> Record {
        *self.groups += 1;
        Record {
            page: self.page,
            group: *self.groups,
            ..Record::default()
        }
    }

    fn close(&mut self) {
        self.done.extend(self.open.drain(..).map(|(_, r)| r));
        self.headings.clear();
        self.results.clear();
    }

    fn line(&mut self, items: Vec<(f32, Item)>, letter: f32) {
        let names = |i: &Item| matches!(i, Item::Pair(Label::Sample | Label::LabNumber, _, _));
        let samples: Vec<f32> = items
            .iter()
            .filter(|(_, i)| matches!(i, Item::Pair(Label::Sample, _, _)))
            .map(|(x, _)| *x)
            .collect();
        // A second name or number of the same kind opens the next sample.
        let again = items.iter().any(|(x, i)| match i {
            Item::Pair(label, _, cell) if names(i) => self
                .block(*x)
                .is_some_and(|b| b.label(*label).is_some_and(|c| c.text != cell.text)),
            _ => false,
        });
        if again || (samples.len() > 1 && self.open.len() != samples.len()) {
            let page = self.open.first().map(|(_, r)| r.clone());
            self.close();
            let fields: Vec<f32> = if samples.len() > 1 {
                samples.iter().map(|x| x - letter).collect()
            } else {
                vec![f32::MIN]
            };
            for (i, x) in fields.into_iter().enumerate() {
                let record = self.fresh();
                self.open.push((if i == 0 { f32::MIN } else { x }, record));
            }
            // What stood over the first sample alone belongs to the page.
            if let Some(page) =
                page.filter(|p| p.values.is_empty() && p.label(Label::Sample).is_none())
            {
                for (_, record) in &mut self.open {
                    for (label, header, cell) in &page.labels {
                        record.add_label(*label, header, cell.clone());
                    }
                }
                self.done.retain(|r| *r != page);
            }
        }
        let told: Vec<(f32, Option<Heading>)> = items
            .iter()
            .filter_map(|(x, item)| match item {
                Item::Text(chunk) => Some((*x, Heading::of(&chunk.text))),
                _ => None,
            })
            .collect();
        let plain = items.iter().all(|(_, i)| matches!(i, Item::Text(_)));
        if plain {
            if told.iter().any(|(_, h)| h.is_some()) || is_title(&items) {
                self.headings = told
                    .into_iter()
                    .map(|(x, h)| (x, h.unwrap_or_default()))
                    .collect();
            }
            let columns = result_columns(&items);
            if !columns.is_empty() {
                self.results = columns;
            }
        }
        for (x, item) in items {
            match item {
                Item::Pair(label, header, cell) => {
                    if let Some(block) = self.block_mut(x) {
                        block.add_label(label, &header, cell);
                    }
                }
                Item::Reading(reading) => self.reading(x, reading, letter),
                Item::Passed | Item::Text(_) => {}
            }
        }
    }

    fn block(&self, x: f32) -> Option<&Record> {
        self.open
            .iter()
            .rev()
            .find(|(from, _)| *from <= x)
            .map(|(_, r)| r)
    }

    fn block_mut(&mut self, x: f32) -> Option<&mut Record> {
        self.open
            .iter_mut()
            .rev()
            .find(|(from, _)| *from <= x)
            .map(|(_, r)| r)
    }

    fn reading(&mut self, x: f32, reading: Reading, letter: f32) {
        let heading = self
            .headings
            .iter()
            .rev()
            .find(|(from, _)| *from <= x + letter * 3.0)
            .map(|(_, h)| h.clone())
            .unwrap_or_default();
        let in_column = |at: f32| {
            self.results
                .iter()
                .any(|(a, b)| at >= a - letter && at <= b + letter)
        };
        let told: Vec<&(f32, Cell)> = reading
            .numbers
            .iter()
            .filter(|(at, _)| in_column(*at))
            .collect();
        let (cell, unclear) = match (reading.numbers.as_slice(), told.as_slice()) {
            ([(_, one)], _) => (one.clone(), false),
            (_, [(_, one)]) => (one.clone(), false),
            ([(_, first), ..], _) => (first.clone(), true),
            _ => return,
        };
        let mut name = composed(&reading, &heading);
        if unclear {
            name.push_str(" first of several numbers");
        }
        let alone = self.open.len() == 1;
        let Some(block) = self.block_mut(x) else {
            return;
        };
        let key = super::record::header_key(&name);
        let there = block
            .values
            .iter()
            .find(|(h, _)| super::record::header_key(h) == key)
            .map(|(_, c)| c.text.clone());
        match there {
            None => block.values.push((name, cell)),
            Some(text) if text == cell.text => {}
            Some(_) if block.labels.is_empty() && alone => {
                // The tests begin again without a name: the next sample.
                let mut next = self.fresh();
                next.values.push((name, cell));
                let page = self.page;
                self.done.extend(self.open.drain(..).map(|(_, r)| r));
                next.page = page;
                self.open.push((f32::MIN, next));
            }
            Some(_) => block.values.push((format!("{name} again"), cell)),
        }
    }

    fn done(mut self) -> Vec<Record> {
        self.close();
        self.done
            .into_iter()
            .filter(|r| !r.values.is_empty() || !r.labels.is_empty())
            .collect()
    }
}

/// What stands in a line beside labels; a word with a colon is one with what follows it.
fn texts(items: &[(f32, Item)]) -> Vec<Cell> {
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

/// A short line that opens a part of the page.
fn is_title(items: &[(f32, Item)]) -> bool {
    matches!(items, [(_, Item::Text(c))] if say::words_in(&c.text) <= 6)
}

/// Name, method and unit as one header.
fn composed(reading: &Reading, heading: &Heading) -> String {
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

/// Where a line over the results says that they stand.
fn result_columns(items: &[(f32, Item)]) -> Vec<(f32, f32)> {
    let says = |text: &str| {
        tokens(text).iter().any(|t| {
            matches!(
                t.as_str(),
                "result" | "results" | "value" | "found" | "level" | "measured" | "amount"
            )
        })
    };
    items
        .iter()
        .filter_map(|(_, item)| match item {
            Item::Text(c) if items.len() > 1 && say::words_in(&c.text) <= 3 && says(&c.text) => {
                Some((c.x0, c.x1))
            }
            _ => None,
        })
        .collect()
}

/// Takes a line apart.
fn items(line: &Line) -> Vec<(f32, Item)> {
    let chunks: Vec<Chunk> = line.chunks.iter().flat_map(|c| at_labels(c)).collect();
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
fn at_labels(chunk: &Chunk) -> Vec<Chunk> {
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

fn text_of(pieces: &[Piece]) -> String {
    let texts: Vec<&str> = pieces.iter().map(|p| p.text.as_str()).collect();
    texts.join(" ")
}

/// A label and its value, and how many chunks they take.
fn pair(chunks: &[Chunk], at: usize) -> Option<(Item, usize)> {
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

fn value_after(chunks: &[Chunk], at: usize, label: Label, header: &str) -> Option<(Item, usize)> {
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
fn split_at_number(pieces: &[Piece]) -> Option<usize> {
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
fn reading(chunks: &[Chunk], at: usize) -> Option<(Item, usize)> {
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
fn begins(chunks: &[Chunk], at: usize) -> bool {
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
fn take(reading: &mut Reading, chunk: &Chunk) {
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

fn cell(pieces: &[Piece]) -> Cell {
    Cell {
        text: text_of(pieces),
        origin: pieces.iter().map(|p| p.origin).reduce(around),
    }
}

/// Samples side by side: a line `Sample | North | South`, then a line a test. Where it ends comes
/// second.
fn across(sheet: &Sheet, at: usize, groups: &mut usize) -> Option<(Vec<Record>, usize)> {
    let (first, rest) = sheet.lines[at].chunks.split_first()?;
    // `Unit` and `Method` stand in that line too.
    let names: Vec<&Chunk> = rest
        .iter()
        .filter(|c| !WORDS.scan(&c.text).is_filling())
        .collect();
    let names_samples = Label::of(&first.text) == Some(Label::Sample)
        && names.len() >= 2
        && names.iter().all(|c| {
            Label::of(&c.text).is_none() && say::name(&c.text).is_none() && !c.text.ends_with(':')
        });
    if !names_samples {
        return None;
    }
    *groups += 1;
    let mut records: Vec<Record> = names
        .iter()
        .map(|chunk| Record {
            page: sheet.page,
            group: *groups,
            labels: vec![(Label::Sample, first.text.clone(), cell(&chunk.pieces))],
            values: Vec::new(),
        })
        .collect();
    let half = names
        .windows(2)
        .map(|w| (w[1].center() - w[0].center()) / 2.0)
        .fold(f32::MAX, f32::min);
    let mut to = at + 1;
    let mut misses = 0;
    for (i, line) in sheet.lines.iter().enumerate().skip(at + 1) {
        let Some((head, rest)) = line.chunks.split_first() else {
            break;
        };
        let label = Label::of(&head.text);
        let name = say::name(&head.text);
        if label == Some(Label::Sample) || (label.is_none() && name.is_none()) {
            misses += 1;
            if label.is_some() || misses > 2 {
                break;
            }
            continue;
        }
        let mut reading = Reading {
            name: head.text.clone(),
            numbers: Vec::new(),
            unit: String::new(),
            method: String::new(),
        };
        let mut cells: Vec<(usize, Cell)> = Vec::new();
        for chunk in rest {
            let near = names
                .iter()
                .enumerate()
                .min_by(|a, b| {
                    let far = |c: &&Chunk| (c.center() - chunk.center()).abs();
                    far(a.1).total_cmp(&far(b.1))
                })
                .filter(|(_, c)| (c.center() - chunk.center()).abs() <= half);
            let result = say::is_result(&chunk.text) || label.is_some();
            match near {
                Some((n, _)) if result => cells.push((n, cell(&chunk.pieces))),
                _ => take(&mut reading, chunk),
            }
        }
        if cells.len() < 2 {
            misses += 1;
            if misses > 2 {
                break;
            }
            continue;
        }
        misses = 0;
        to = i + 1;
        if name == Some(Name::Passed) {
            continue;
        }
        let header = composed(&reading, &Heading::default());
        for (n, cell) in cells {
            match label {
                Some(label) => records[n].add_label(label, &head.text, cell),
                None => records[n].values.push((header.clone(), cell)),
            }
        }
    }
    let tests = records.iter().map(|r| r.values.len()).max().unwrap_or(0);
    (tests >= 2).then_some((records, to))
}
