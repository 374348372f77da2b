//! Samples side by side, each test a line.

use super::items::{Reading, cell, composed, take};
use super::lines::{Chunk, Sheet};
use super::record::{Cell, Record};
use super::say::{self, Label, Name};
use super::told::Heading;
use crate::words::WORDS;

/// Samples side by side: a line `Sample | North | South`, then a line a test. Where it ends comes
/// second.
pub(super) fn across(sheet: &Sheet, at: usize, groups: &mut usize) -> Option<(Vec<Record>, usize)> {
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
