//! A guess at how high a block's sheet will be, before it is set.
//!
//! Setting every sheet twice to learn its height would double the time. The guess only decides
//! whether the account moves to a second page; a wrong one costs looks, never words.

use farmwork::block_sheet::{BalanceLine, BlockSheet, SheetLine};

use crate::block::MOST_BED_BOXES;

/// What a page holds, in points, less a little for what the guess misses.
pub(crate) const PAGE: f64 = 685.0;

/// The guessed height of the account alone, in points.
fn account(sheet: &BlockSheet) -> f64 {
    let rows: f64 = sheet.balance.iter().map(balance).sum();
    rows + if sheet.balance.is_empty() { 0.0 } else { 45.0 }
}

/// Whether the sheet runs over its page even without the account.
pub(crate) fn overflows_without_account(sheet: &BlockSheet) -> bool {
    height(sheet) - account(sheet) > PAGE
}

/// The guessed height of the whole sheet with its account, in points.
pub(crate) fn height(sheet: &BlockSheet) -> f64 {
    let head = 20.0 + rows(&sheet.block, 28) * 34.0;
    let says: f64 = sheet
        .lines
        .iter()
        .map(|l| 22.0 * rows(&l.material, 40))
        .sum();
    let jobs: f64 = sheet.lines.iter().map(|l| job(l, sheet.beds)).sum();
    let record = 21.0 * sheet.lines.len() as f64;
    let notes: f64 = sheet.notes.iter().map(|n| 4.0 + 13.0 * rows(n, 90)).sum();
    let cautions: f64 = sheet
        .cautions
        .iter()
        .map(|c| 2.0 + 12.0 * rows(&format!("{} {}", c.text, c.source.text), 118))
        .sum();
    let frames = 12.0
        + if sheet.lines.is_empty() { 0.0 } else { 79.0 }
        + if sheet.notes.is_empty() { 0.0 } else { 30.0 }
        + 44.0;
    head + says + jobs + record + account(sheet) + notes + cautions + frames
}

fn job(line: &SheetLine, beds: u32) -> f64 {
    let name = 15.0 * rows(&line.material, 20) + 11.0 * rows(&line.analysis, 24);
    let way = 12.0 * (rows(&line.when, 30) + rows(&line.how, 30));
    let boxes = match beds {
        0 | 1 => 0.0,
        n if n <= MOST_BED_BOXES => 6.0 + 16.0 * (f64::from(n) / 16.0).ceil(),
        _ => 22.0,
    };
    name.max(way).max(24.0) + 8.0 + boxes
}

fn balance(line: &BalanceLine) -> f64 {
    let parts = line.credits.len().max(line.brought.len()).max(1) as f64;
    let why = line.binding.as_deref().map_or(1.0, |b| rows(b, 27));
    10.0 * parts.max(why).max(rows(&line.nutrient, 18)) + 4.0
}

/// Lines that a text takes at so many letters a line.
fn rows(text: &str, letters: usize) -> f64 {
    text.chars().count().div_ceil(letters).max(1) as f64
}
