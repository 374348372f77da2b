//! How far blocks are from wells, water and whatever else stands on the map.

use crate::Result;
use farmbook::{Book, Id, MapMark, MarkKind};
use quantity::Length;

/// Something and how far the nearest ground of a block is from it; zero where it reaches into the block.
#[derive(Debug, Clone, PartialEq)]
pub struct Away {
    pub mark: MapMark,
    pub distance: Length,
}

/// Everything of the sorts that are asked for, nearest to the block first. Empty where the block has no
/// outline or nothing of the sort is on the map in the block's kind of coordinates.
///
/// # Errors
/// The book's own.
pub fn of_block(book: &Book, block: Id, kinds: &[MarkKind]) -> Result<Vec<Away>> {
    let Some(held) = book.outline(block)? else {
        return Ok(Vec::new());
    };
    let mut all: Vec<Away> = book
        .marks()?
        .into_iter()
        .filter(|m| kinds.contains(&m.kind))
        .filter_map(|mark| {
            let distance = ground::apart(&held.outline, &mark.mark)?;
            Some(Away { mark, distance })
        })
        .collect();
    all.sort_by(|a, b| a.distance.si().total_cmp(&b.distance.si()));
    Ok(all)
}
