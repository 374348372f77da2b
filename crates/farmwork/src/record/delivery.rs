//! What a person typed of a delivery or a count, made into an entry of the record.

use super::entry::{day, material_key, weight};
use crate::{Result, WorkError};
use farmbook::{Arrival, Book, Id, StockCount};
use jiff::civil::Date;

/// A delivery as somebody typed it; what is empty was left open.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Typed {
    /// Made anew where it is empty.
    pub mark: String,
    /// Key or name of the material.
    pub material: String,
    /// With its unit, or so many packs: `12 x 50 lb`.
    pub amount: String,
    /// The supplier’s name; that of the order where it is empty.
    pub from: String,
    pub lot: String,
    pub day: String,
    /// Money paid for it.
    pub paid: String,
    pub order: Option<Id>,
    pub note: String,
}

fn said(text: String) -> WorkError {
    WorkError::Said(text)
}

impl Typed {
    /// The entry, not yet in the book.
    ///
    /// # Errors
    /// What does not fit, in a sentence.
    pub fn entry(&self, book: &Book, paper: Option<Id>, today: Date) -> Result<Arrival> {
        let material = material_key(&self.material)?;
        let on = if self.day.trim().is_empty() {
            today
        } else {
            day(&self.day)?
        };
        let packs = self.amount.trim().replace(['×', 'X'], "x");
        let (count, each) = match packs.split_once('x') {
            None => (1, packs.as_str()),
            Some((count, each)) => {
                let count = count.trim().parse::<u32>().ok().filter(|n| *n > 0);
                (
                    count.ok_or_else(|| {
                        said(format!(
                            "“{}” is not so many packs; write it like 12 x 50 lb.",
                            self.amount.trim()
                        ))
                    })?,
                    each,
                )
            }
        };
        let each = weight(each)?;
        let from = match (self.from.trim(), self.order) {
            ("", Some(order)) => book.placed_order(order)?.supplier,
            (name, _) => name.to_owned(),
        };
        let mut entry = Arrival::new(on, from, material, each.times(count));
        if count > 1 {
            entry.packs = format!("{count} × {}", crate::words::weighed(each));
        }
        if !self.mark.trim().is_empty() {
            self.mark.trim().clone_into(&mut entry.mark);
        }
        self.lot.trim().clone_into(&mut entry.lot);
        self.note.trim().clone_into(&mut entry.note);
        entry.order = self.order;
        entry.paper = paper;
        entry.paid = cents(&self.paid)?;
        Ok(entry)
    }
}

/// Money as cents; none where nothing is typed.
///
/// # Errors
/// What was found and what was expected.
pub fn cents(text: &str) -> Result<Option<i64>> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    text.replace(',', "")
        .parse::<f64>()
        .ok()
        .filter(|v| v.is_finite() && (0.0..=1e7).contains(v))
        .map(|v| Some((v * 100.0).round() as i64))
        .ok_or_else(|| {
            said(format!(
                "“{text}” is not an amount of money such as 128.40."
            ))
        })
}

/// A count of what is in the shed. Nothing at all is written as 0.
///
/// # Errors
/// What does not fit, in a sentence.
pub fn count(material: &str, lot: &str, amount: &str, on: Date) -> Result<StockCount> {
    let nothing = amount.trim().trim_end_matches("lb").trim() == "0";
    let there = if nothing {
        quantity::Weight::ZERO
    } else {
        weight(amount)?
    };
    let mut count = StockCount::new(on, material_key(material)?, there);
    lot.trim().clone_into(&mut count.lot);
    Ok(count)
}

/// Writes a delivery down with its paper (name and bytes), both or neither.
///
/// # Errors
/// What does not fit, in a sentence, or the book’s own.
pub fn write(
    book: &mut Book,
    typed: &Typed,
    paper: Option<(String, Vec<u8>)>,
    today: Date,
) -> Result<Id> {
    // What is typed is looked at before anything is written.
    let entry = typed.entry(book, None, today)?;
    let what = format!("Wrote down a delivery of {}", entry.material);
    Ok(book.together(&what, |book| {
        let mut entry = entry.clone();
        if let Some((name, bytes)) = &paper {
            entry.paper = Some(book.keep_paper(name, bytes)?);
        }
        book.log_arrival(&entry)
    })?)
}
