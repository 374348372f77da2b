//! What was worked out of single blocks, kept with the book until something that it rests on changes: after
//! an entry of the log one block of a thousand is worked out anew.

use crate::Result;
use crate::ledger::Taught;
use crate::needs::BlockNeeds;
use farmbook::{Book, Id};
use std::collections::HashMap;
use std::sync::Arc;

/// More changed rows than this are not looked at one by one.
const MOST_CHANGES: u32 = 2_000;

/// What a changed row touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Touches {
    Nothing,
    /// The blocks that the row is of.
    ItsBlocks,
    /// Every block.
    All,
}

/// Something that every block has one of.
pub(crate) trait PerBlock: Clone + Send + 'static {
    /// What a changed row of a table of the book touches.
    fn touched_by(table: &str) -> Touches;

    /// Where it is kept.
    fn of(memo: &mut Memo) -> &mut Known<Self>;
}

/// What is known, as of an entry of the journal.
pub(crate) struct Known<T> {
    entry: Id,
    of: HashMap<Id, T>,
}

impl<T> Default for Known<T> {
    fn default() -> Self {
        Self {
            entry: 0,
            of: HashMap::new(),
        }
    }
}

/// All that is kept with a book.
#[derive(Default)]
pub(crate) struct Memo {
    taught: Known<Vec<Arc<Taught>>>,
    needs: Known<Arc<BlockNeeds>>,
}

impl PerBlock for Vec<Arc<Taught>> {
    fn touched_by(table: &str) -> Touches {
        match table {
            "spread" | "harvest" | "planting" => Touches::ItsBlocks,
            "learned_choice" => Touches::Nothing,
            other if beside(other) => Touches::Nothing,
            // Of the farm, its blocks, tests, tables and materials every block’s tests, doubt or tables
            // may come out otherwise.
            _ => Touches::All,
        }
    }

    fn of(memo: &mut Memo) -> &mut Known<Self> {
        &mut memo.taught
    }
}

impl PerBlock for Arc<BlockNeeds> {
    fn touched_by(table: &str) -> Touches {
        match table {
            // What the grower decided of what was taught counts in needs.
            "learned_choice" => Touches::ItsBlocks,
            other => <Vec<Arc<Taught>>>::touched_by(other),
        }
    }

    fn of(memo: &mut Memo) -> &mut Known<Self> {
        &mut memo.needs
    }
}

/// Whether no reading and no need rests on a table: plans, the shed, the map and the way to the lab.
fn beside(table: &str) -> bool {
    matches!(
        table,
        "season_plan"
            | "plan_lock"
            | "season_wish"
            | "supplier"
            | "paper"
            | "placed_order"
            | "arrival"
            | "stock_count"
            | "bucket"
            | "spreader_walk"
            | "setback"
            | "map_mark"
            | "map_picture"
            | "block_outline"
            | "earlier_outline"
            | "sample_box"
            | "ground_note"
            | "lab_fee"
            | "lab_layout"
    )
}

/// Works with what is kept with a book; nothing that looks there again may be called meanwhile.
fn with<T>(book: &Book, work: impl FnOnce(&mut Memo) -> T) -> T {
    let kept = book.memo().take();
    let mut memo: Box<Memo> = kept.and_then(|m| m.downcast().ok()).unwrap_or_default();
    let done = work(&mut memo);
    book.memo().replace(Some(memo));
    done
}

/// Forgets what rests on rows that changed since it was looked at last.
pub(crate) fn refresh<T: PerBlock>(book: &Book) -> Result<()> {
    let entry = with(book, |memo| T::of(memo).entry);
    // Looked up before the rows: what another program writes meanwhile is looked at again.
    let newest = book.newest_entry()?;
    let touched = book.touched_since(entry, MOST_CHANGES)?;
    with(book, |memo| {
        let known = T::of(memo);
        known.entry = newest;
        let Some(touched) = touched else {
            known.of.clear();
            return;
        };
        for row in touched {
            match T::touched_by(&row.table) {
                Touches::Nothing => {}
                Touches::ItsBlocks => {
                    for block in row.blocks {
                        known.of.remove(&block);
                    }
                }
                Touches::All => known.of.clear(),
            }
        }
    });
    Ok(())
}

/// What is kept of a block; [`refresh`] comes first.
pub(crate) fn find<T: PerBlock>(book: &Book, block: Id) -> Option<T> {
    with(book, |memo| T::of(memo).of.get(&block).cloned())
}

/// Keeps it.
pub(crate) fn put<T: PerBlock>(book: &Book, block: Id, found: T) {
    with(book, |memo| T::of(memo).of.insert(block, found));
}
