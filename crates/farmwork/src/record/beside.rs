//! How an entry of the record stands beside the others of its kind: nothing is overwritten, a correction
//! takes another's place and both stay.

use crate::order::day;
use farmbook::{Arrival, Correction, Harvest, Id, Spread, StockCount};
use serde::Serialize;
use std::collections::HashMap;

/// An entry that can be corrected beside itself.
pub trait Entry {
    fn id(&self) -> Id;
    fn corrects(&self) -> Option<Id>;
    /// Whether it only takes another entry back.
    fn takes_back(&self) -> bool;
    /// Why it was written, in words; may be empty.
    fn note(&self) -> &str;
    /// When it was written down, RFC 3339.
    fn at(&self) -> &str;

    /// Itself as what took another's place.
    fn as_correction(&self) -> Correction {
        Correction {
            by: self.id(),
            takes_back: self.takes_back(),
            at: self.at().to_owned(),
            note: self.note().to_owned(),
        }
    }
}

macro_rules! entry {
    ($of:ty, $takes_back:expr) => {
        impl Entry for $of {
            fn id(&self) -> Id {
                self.id
            }

            fn corrects(&self) -> Option<Id> {
                self.corrects
            }

            fn takes_back(&self) -> bool {
                $takes_back(self)
            }

            fn note(&self) -> &str {
                &self.note
            }

            fn at(&self) -> &str {
                &self.at
            }
        }
    };
}

entry!(Spread, |e: &Spread| e.takes_back());
entry!(Arrival, |e: &Arrival| e.weight.is_zero());
entry!(Harvest, |e: &Harvest| e.weight.is_zero());
// A count of nothing is a count: nothing was there.
entry!(StockCount, |e: &StockCount| e.takes_back);

/// The entry that took another's place; none where it stands.
pub fn successor<'a, E: Entry>(all: &'a [E], e: &E) -> Option<&'a E> {
    all.iter().find(|o| o.corrects() == Some(e.id()))
}

/// How one entry stands.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Beside {
    /// As [`stands`] says it.
    pub words: String,
    /// Whether another took its place, or it only takes another back: it counts for nothing.
    pub struck: bool,
}

/// What took the place of each entry that another corrects.
fn corrections<E: Entry>(all: &[E]) -> HashMap<Id, Correction> {
    let corrects = all
        .iter()
        .filter_map(|e| Some((e.corrects()?, e.as_correction())));
    corrects.collect()
}

/// How an entry stands, by what took the place of others.
pub(crate) fn stand<E: Entry>(corrections: &HashMap<Id, Correction>, e: &E) -> Beside {
    let by = corrections.get(&e.id());
    Beside {
        words: in_words(by, e),
        struck: by.is_some() || e.takes_back(),
    }
}

/// How each of the entries stands, in their order.
pub fn all_stand<E: Entry>(all: &[E]) -> Vec<Beside> {
    let by = corrections(all);
    all.iter().map(|e| stand(&by, e)).collect()
}

/// How an entry stands, with the day and the reason where another took its place; empty for one that
/// stands by itself.
pub fn stands<E: Entry>(all: &[E], e: &E) -> String {
    in_words(successor(all, e).map(Entry::as_correction).as_ref(), e)
}

fn in_words<E: Entry>(by: Option<&Correction>, e: &E) -> String {
    match (by, e.corrects()) {
        (Some(by), _) => {
            let how = if by.takes_back {
                "taken back"
            } else {
                "corrected"
            };
            let why = match by.note.trim() {
                "" => String::new(),
                why => format!(": {why}"),
            };
            format!("{how} by {} on {}{why}", by.by, day(&by.at))
        }
        (None, Some(first)) if e.takes_back() => format!("takes back {first}"),
        (None, Some(first)) => format!("in place of {first}"),
        (None, None) => String::new(),
    }
}

/// How an entry of spreading stands beside the plan and the others; `corrections` are those of the book.
pub fn how(corrections: &HashMap<Id, Correction>, s: &Spread) -> String {
    let beside = stand(corrections, s);
    if beside.struck {
        beside.words
    } else if beside.words.is_empty() {
        s.how.name().to_owned()
    } else {
        format!("{}, {}", s.how.name(), beside.words)
    }
}
