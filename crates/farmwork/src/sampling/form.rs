//! What to write on the lab’s form, and how the soil is handled.

use super::boxes::{Purpose, purpose_of};
use crate::{Result, words};
use agronomy::crop;
use agronomy::sampling::{self as science, Advice, TestKind};
use farmbook::{Book, SampleBox};
use quantity::plain;
use serde::Serialize;

/// One box’s line on the lab’s form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormLine {
    pub id: farmbook::Id,
    /// The sample’s name: what stands on the box.
    pub sample: String,
    pub blocks: Vec<String>,
    /// What will grow there.
    pub crop: String,
    /// In words.
    pub ground: String,
    pub depth: String,
    pub tests: Vec<TestKind>,
}

/// The lines of boxes on the lab’s form, in the order given.
///
/// # Errors
/// The book’s own.
pub fn form(book: &Book, boxes: &[SampleBox]) -> Result<Vec<FormLine>> {
    let season = book.farm()?.season;
    let plantings = book.plantings(season)?;
    boxes
        .iter()
        .map(|b| {
            let blocks = b
                .blocks()
                .into_iter()
                .map(|id| Ok(book.block(id)?))
                .collect::<Result<Vec<_>>>()?;
            let mut crops: Vec<String> = blocks
                .iter()
                .filter_map(|b| plantings.iter().find(|p| p.block == b.id))
                .map(|p| crop::find(&p.crop).map_or_else(|| p.crop.clone(), |c| c.name.clone()))
                .collect();
            crops.dedup();
            let ground = blocks
                .iter()
                .fold(quantity::Area::ZERO, |sum, b| sum + b.shape.whole_area());
            let depth = match purpose_of(b) {
                Purpose::Nitrate => {
                    let found = science::advice("depth_nitrate")?;
                    format!("0 to {} in", plain(found.high.unwrap_or(12.0), 3))
                }
                Purpose::Standard => {
                    format!(
                        "0 to {} in",
                        plain(blocks.first().map_or(0.0, |b| b.depth_in), 2)
                    )
                }
            };
            Ok(FormLine {
                id: b.id,
                sample: b.label.clone(),
                // Names of crops hold commas themselves.
                crop: crops.join("; "),
                ground: words::area(ground),
                depth,
                tests: b
                    .tests
                    .iter()
                    .filter_map(|t| TestKind::from_key(t))
                    .collect(),
                blocks: blocks.into_iter().map(|b| b.name).collect(),
            })
        })
        .collect()
}

/// How soil is mixed, dried and filled, told once; with what nitrate asks for where a box is for it.
pub fn handling(boxes: &[SampleBox]) -> Vec<&'static Advice> {
    let mut all: Vec<&Advice> = science::advice_of("handle_").collect();
    if boxes.iter().any(|b| purpose_of(b) == Purpose::Nitrate) {
        all.extend(science::advice("nitrate_handle"));
    }
    all
}
