//! The record for an inspector, ready to set.

use crate::block::Foot;
use crate::words::{count, day, text};
use farmwork::record::inspection::{Inspection, Part};
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct RecordView {
    title: String,
    author: String,
    foot: Foot,
    opening: String,
    doubts: Vec<String>,
    parts: Vec<PartView>,
}

#[derive(Serialize)]
struct PartView {
    title: String,
    head: Vec<String>,
    right: Vec<bool>,
    rows: Vec<Vec<String>>,
    /// Whether a row counts for nothing: its figures are struck out.
    struck: Vec<bool>,
}

pub(crate) fn view(all: &Inspection) -> RecordView {
    let days = format!(
        "{} to {}",
        day(&all.first.to_string()),
        day(&all.last.to_string())
    );
    RecordView {
        title: text(&format!("Record of inputs, {}", all.farm.name)),
        author: text(&all.farm.name),
        foot: Foot::new("", &all.farm.name, "", ""),
        opening: format!(
            "{}, {days}: {}, {}, {}.",
            text(&all.farm.name),
            count(all.inputs.len(), "input", "inputs"),
            count(
                all.spreads.len(),
                "entry of spreading",
                "entries of spreading"
            ),
            count(all.arrivals.len(), "delivery", "deliveries"),
        ),
        doubts: all.doubts.iter().map(|d| text(d)).collect(),
        parts: all.parts().iter().map(part).collect(),
    }
}

fn part(part: &Part) -> PartView {
    let right: Vec<bool> = (0..part.head.len())
        .map(|i| part.rows.first().is_some_and(|r| r[i].is_number()))
        .collect();
    PartView {
        title: text(part.title),
        head: part
            .head
            .iter()
            .map(|h| text(h.trim_end_matches(", lb")))
            .collect(),
        struck: (0..part.rows.len()).map(|n| part.is_struck(n)).collect(),
        right,
        rows: part
            .rows
            .iter()
            .map(|row| row.iter().map(|c| broken(&text(&c.shown()))).collect())
            .collect(),
    }
}

/// A mark of 64 letters breaks in four lines.
fn broken(text: &str) -> String {
    if text.len() == 64 && text.is_ascii() {
        [&text[..16], &text[16..32], &text[32..48], &text[48..]].join(" ")
    } else {
        text.to_owned()
    }
}
