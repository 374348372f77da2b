//! Pages on which each line is a test: its name, the result, the unit, perhaps the method.

use super::across::across;
use super::items::{Item, Reading, composed, items, texts};
use super::lines::Sheet;
use super::record::{Cell, Record};
use super::say::{self, Label};
use super::told::Heading;
use super::wrap::unwrapped;
use crate::words::tokens;

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

/// A short line that opens a part of the page.
fn is_title(items: &[(f32, Item)]) -> bool {
    matches!(items, [(_, Item::Text(c))] if say::words_in(&c.text) <= 6)
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
