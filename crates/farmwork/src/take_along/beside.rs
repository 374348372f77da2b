//! What is in one of two books and not in the other, and what differs, by block and kind.

use crate::Result;
use farmbook::{Book, Difference, Id};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// Of each block and kind so many differences are kept in full; the rest is counted.
pub const SHOWN: usize = 40;

/// One kind of record of one block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfKind {
    /// What the table holds, in words.
    pub what: String,
    /// Rows that only this book has.
    pub here: usize,
    /// Rows that only the other has.
    pub there: usize,
    /// Values that differ in rows that both have.
    pub differ: usize,
    /// The first of them.
    pub shown: Vec<Difference>,
}

impl OfKind {
    pub fn count(&self) -> usize {
        self.here + self.there + self.differ
    }
}

/// What differs of one block; of the farm where it is of none.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfBlock {
    pub block: Option<String>,
    pub kinds: Vec<OfKind>,
}

/// Two books side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    /// The farms’ names, this and the other.
    pub farms: [String; 2],
    /// Whether both began as one book: only then are rows of one number the same thing.
    pub same_farm: bool,
    pub count: usize,
    /// The farm first, then its blocks by name.
    pub blocks: Vec<OfBlock>,
}

/// Lays another book beside this one. Nothing is written in either.
///
/// # Errors
/// One of them cannot be read.
pub fn beside(book: &Book, other: &Book) -> Result<Beside> {
    let mut names: HashMap<Id, String> = HashMap::new();
    for b in other.all_blocks()?.into_iter().chain(book.all_blocks()?) {
        names.insert(b.id, b.name);
    }
    let mut blocks: BTreeMap<Option<(String, Id)>, BTreeMap<String, OfKind>> = BTreeMap::new();
    let mut count = 0;
    book.each_difference(other, |d| {
        count += 1;
        let block = d
            .block
            .map(|id| (names.get(&id).cloned().unwrap_or_default(), id));
        let kind = blocks
            .entry(block)
            .or_default()
            .entry(d.table.clone())
            .or_insert_with(|| OfKind {
                what: d.what.clone(),
                here: 0,
                there: 0,
                differ: 0,
                shown: Vec::new(),
            });
        match (d.column.is_empty(), &d.here) {
            (true, Some(_)) => kind.here += 1,
            (true, None) => kind.there += 1,
            (false, _) => kind.differ += 1,
        }
        if kind.shown.len() < SHOWN {
            kind.shown.push(d);
        }
    })?;
    let begun = |book: &Book| -> Result<Option<String>> {
        Ok(book.history("farm", 1)?.last().map(|e| e.at.clone()))
    };
    Ok(Beside {
        farms: [book.farm()?.name, other.farm()?.name],
        same_farm: begun(book)? == begun(other)?,
        count,
        blocks: blocks
            .into_iter()
            .map(|(block, kinds)| OfBlock {
                block: block.map(|(name, _)| name),
                kinds: kinds.into_values().collect(),
            })
            .collect(),
    })
}
