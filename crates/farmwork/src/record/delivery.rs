//! What a person typed of a delivery or a count, made into an entry of the record.

use super::entry::{day, material_key, weight};
use crate::{Result, WorkError};
use farmbook::{Arrival, Book, Id, StockCount, new_mark};
use jiff::civil::Date;
use quantity::Weight;

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
    /// Of a correction, why.
    pub note: String,
    /// The entry whose place it takes: what is typed changes, the rest stays as it was.
    pub corrects: Option<Id>,
    /// In a correction, whether what is empty here is emptied, as on a form that shows everything.
    pub clears: bool,
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
        if let Some(id) = self.corrects {
            return self.correction(book, id, paper, today);
        }
        let material = material_key(&self.material)?;
        let on = if self.day.trim().is_empty() {
            today
        } else {
            day(&self.day)?
        };
        let (weight, packs) = self.weighed()?;
        let from = match (self.from.trim(), self.order) {
            ("", Some(order)) => book.placed_order(order)?.supplier,
            (name, _) => name.to_owned(),
        };
        let mut entry = Arrival::new(on, from, material, weight);
        entry.packs = packs;
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

    /// An entry in another’s place.
    fn correction(&self, book: &Book, id: Id, paper: Option<Id>, today: Date) -> Result<Arrival> {
        let mut entry = book.arrival(id)?;
        entry.corrects = Some(id);
        entry.mark = match self.mark.trim() {
            "" => new_mark(),
            mark => mark.to_owned(),
        };
        entry.note = reason(&self.note)?;
        if !self.material.trim().is_empty() {
            entry.material = material_key(&self.material)?;
        }
        if !self.amount.trim().is_empty() {
            (entry.weight, entry.packs) = self.weighed()?;
        }
        if !self.day.trim().is_empty() {
            entry.day = not_to_come(day(&self.day)?, today)?;
        }
        let said = |text: &str| self.clears || !text.trim().is_empty();
        if self.clears || self.order.is_some() {
            entry.order = self.order;
        }
        if said(&self.from) {
            self.from.trim().clone_into(&mut entry.supplier);
        }
        if said(&self.lot) {
            self.lot.trim().clone_into(&mut entry.lot);
        }
        if said(&self.paid) {
            entry.paid = cents(&self.paid)?;
        }
        entry.paper = paper.or(entry.paper);
        Ok(entry)
    }

    /// What came in and, where it came in packs, how many of which weight.
    fn weighed(&self) -> Result<(Weight, String)> {
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
        let words = if count > 1 {
            format!("{count} × {}", crate::words::weighed(each))
        } else {
            String::new()
        };
        Ok((each.times(count), words))
    }
}

/// Why an entry is corrected or taken back.
///
/// # Errors
/// Nothing is said.
pub(crate) fn reason(text: &str) -> Result<String> {
    match text.trim() {
        "" => Err(said(
            "Say why it is corrected: the reason stays beside both entries.".to_owned(),
        )),
        why => Ok(why.to_owned()),
    }
}

/// A day of something that happened.
///
/// # Errors
/// It is still to come.
pub(crate) fn not_to_come(on: Date, today: Date) -> Result<Date> {
    if on > today {
        return Err(said(format!(
            "{on} is still to come: write down what happened on the day it did."
        )));
    }
    Ok(on)
}

/// A delivery that takes another back.
///
/// # Errors
/// No such delivery, or no reason.
pub fn take_back(book: &Book, id: Id, why: &str) -> Result<Arrival> {
    let mut entry = book.arrival(id)?;
    entry.corrects = Some(id);
    entry.mark = new_mark();
    entry.weight = Weight::ZERO;
    entry.note = reason(why)?;
    Ok(entry)
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
        Weight::ZERO
    } else {
        weight(amount)?
    };
    let mut count = StockCount::new(on, material_key(material)?, there);
    lot.trim().clone_into(&mut count.lot);
    Ok(count)
}

/// A count in another’s place; an empty amount, and a lot or day that is not given, stay as they were.
///
/// # Errors
/// No such count, no reason, or what does not fit, in a sentence.
pub fn correct_count(
    book: &Book,
    id: Id,
    amount: &str,
    (lot, on): (Option<&str>, Option<Date>),
    why: &str,
) -> Result<StockCount> {
    let first = book.count(id)?;
    let mut new = first.clone();
    if let Some(lot) = lot {
        lot.trim().clone_into(&mut new.lot);
    }
    if !amount.trim().is_empty() {
        new.weight = count(&first.material, &first.lot, amount, first.day)?.weight;
    }
    new.day = on.unwrap_or(first.day);
    new.corrects = Some(id);
    new.mark = new_mark();
    new.note = reason(why)?;
    new.takes_back = false;
    Ok(new)
}

/// A count that takes another back: the record goes on as if nobody had weighed.
///
/// # Errors
/// No such count, one that itself only takes another back, or no reason.
pub fn take_back_count(book: &Book, id: Id, why: &str) -> Result<StockCount> {
    let mut back = book.count(id)?;
    if back.takes_back {
        return Err(said(format!(
            "Count {id} only takes another back; undo that on the Changes page, or count anew."
        )));
    }
    back.corrects = Some(id);
    back.mark = new_mark();
    back.note = reason(why)?;
    back.takes_back = true;
    Ok(back)
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
    let what = match entry.corrects {
        Some(n) => format!("Corrected delivery {n} of {}", entry.material),
        None => format!("Wrote down a delivery of {}", entry.material),
    };
    Ok(book.together(&what, |book| {
        let mut entry = entry.clone();
        if let Some((name, bytes)) = &paper {
            entry.paper = Some(book.keep_paper(name, bytes)?);
        }
        book.log_arrival(&entry)
    })?)
}
