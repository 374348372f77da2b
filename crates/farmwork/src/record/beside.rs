//! How an entry of the record stands beside the others of its kind: nothing is overwritten, a correction
//! takes another's place and both stay.

use crate::order::day;
use farmbook::{Arrival, Harvest, Id, Spread, StockCount};
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
entry!(StockCount, |_: &StockCount| false);

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

/// How each of the entries stands, in their order.
pub fn all_stand<E: Entry>(all: &[E]) -> Vec<Beside> {
    let by: HashMap<Id, &E> = all
        .iter()
        .filter_map(|e| Some((e.corrects()?, e)))
        .collect();
    all.iter()
        .map(|e| {
            let successor = by.get(&e.id()).copied();
            Beside {
                words: in_words(successor, e),
                struck: successor.is_some() || e.takes_back(),
            }
        })
        .collect()
}

/// How an entry stands, with the day and the reason where another took its place; empty for one that
/// stands by itself.
pub fn stands<E: Entry>(all: &[E], e: &E) -> String {
    in_words(successor(all, e), e)
}

fn in_words<E: Entry>(successor: Option<&E>, e: &E) -> String {
    match (successor, e.corrects()) {
        (Some(by), _) => {
            let how = if by.takes_back() {
                "taken back"
            } else {
                "corrected"
            };
            let why = match by.note().trim() {
                "" => String::new(),
                why => format!(": {why}"),
            };
            format!("{how} by {} on {}{why}", by.id(), day(by.at()))
        }
        (None, Some(first)) if e.takes_back() => format!("takes back {first}"),
        (None, Some(first)) => format!("in place of {first}"),
        (None, None) => String::new(),
    }
}

/// How an entry of spreading stands beside the plan and the others.
pub fn how(all: &[Spread], s: &Spread) -> String {
    let beside = stands(all, s);
    if successor(all, s).is_some() || s.takes_back() {
        beside
    } else if beside.is_empty() {
        s.how.name().to_owned()
    } else {
        format!("{}, {beside}", s.how.name())
    }
}
