//! Blocks that are cut in two or laid together, and what the ground was before.

use crate::{Result, WorkError};
use farmbook::{Block, BlockOutline, Book, Id, Parent, Shape, StoredTest};
use ground::{BedPlan, Outline};
use quantity::Length;

/// A block cut in two along a line, in the numbers of its outline. The first name is for what lies to the
/// left of the line as one walks along it. Both take over soil, beds and the season's planting; the block
/// itself is put away with its reports. One change, one undo.
///
/// # Errors
/// No outline, a line that does not cut, a name that is taken; then nothing is changed.
pub fn split(
    book: &mut Book,
    id: Id,
    line: &[[f64; 2]],
    names: [&str; 2],
    year: i64,
) -> Result<[Id; 2]> {
    let block = book.block(id)?;
    in_use(&block)?;
    let held = outline_of(book, &block)?;
    let (left, right) = ground::split(&held.outline, line)
        .map_err(|e| WorkError::Said(format!("{}: {e}", block.name)))?;
    let what = format!("Split “{}”", block.name);
    Ok(book.together(&what, |book| {
        put_away(book, &block)?;
        let mut made = [0; 2];
        for ((new, outline), name) in made.iter_mut().zip([left, right]).zip(names) {
            *new = child(book, &[&block], &held, outline, name, year)?;
        }
        Ok(made)
    })?)
}

/// As [`split`], along a line at a distance from one of the block's [`ground::edges`]; the first name is for
/// the part at that edge.
///
/// # Errors
/// As [`split`], and no such edge.
pub fn split_from(
    book: &mut Book,
    id: Id,
    (edge, distance): (&str, Length),
    [near, rest]: [&str; 2],
    year: i64,
) -> Result<[Id; 2]> {
    let block = book.block(id)?;
    let held = outline_of(book, &block)?;
    let said = |e: ground::GroundError| WorkError::Said(format!("{}: {e}", block.name));
    let line = ground::line_from(&held.outline, edge, distance).map_err(said)?;
    let edges = ground::edges(&held.outline).map_err(said)?;
    // A line along the far end or the left side has that edge to its left.
    let left = edges[1] == edge.trim() || edges[2] == edge.trim();
    if left {
        return split(book, id, &line, [near, rest], year);
    }
    let [rest, near] = split(book, id, &line, [rest, near], year)?;
    Ok([near, rest])
}

/// Blocks laid together to one of a new name, which takes over soil, beds and the season's planting of the
/// first. The others and the first are put away with their reports. One change, one undo.
///
/// # Errors
/// Fewer than two blocks, one twice, no outline, a name that is taken; then nothing is changed.
pub fn merge(book: &mut Book, ids: &[Id], name: &str, year: i64) -> Result<Id> {
    if ids
        .iter()
        .enumerate()
        .any(|(at, id)| ids[..at].contains(id))
    {
        return Err(WorkError::Said(
            "A block was named twice; name each once.".to_owned(),
        ));
    }
    let mut blocks = Vec::new();
    let mut held = Vec::new();
    for id in ids {
        let block = book.block(*id)?;
        in_use(&block)?;
        held.push(outline_of(book, &block)?);
        blocks.push(block);
    }
    let outlines: Vec<&Outline> = held.iter().map(|h| &h.outline).collect();
    let whole = ground::merge(&outlines).map_err(|e| WorkError::Said(e.to_string()))?;
    let names: Vec<String> = blocks.iter().map(|b| format!("“{}”", b.name)).collect();
    let what = format!("Laid {} together", crate::words::and(&names));
    Ok(book.together(&what, |book| {
        for block in &blocks {
            put_away(book, block)?;
        }
        let parents: Vec<&Block> = blocks.iter().collect();
        child(book, &parents, &held[0], whole, name, year)
    })?)
}

fn in_use(block: &Block) -> Result<()> {
    if block.archived {
        return Err(WorkError::Said(format!(
            "“{}” was put away; only blocks in use are cut or laid together.",
            block.name
        )));
    }
    Ok(())
}

fn outline_of(book: &Book, block: &Block) -> Result<BlockOutline> {
    book.outline(block.id)?.ok_or_else(|| {
        WorkError::Said(format!(
            "“{}” has no outline yet; draw it or bring one in first.",
            block.name
        ))
    })
}

fn put_away(book: &mut Book, block: &Block) -> farmbook::Result<()> {
    book.change_block(&Block {
        archived: true,
        ..block.clone()
    })
}

/// A block of what came of others; the first of them gives soil, beds and planting.
fn child(
    book: &mut Book,
    parents: &[&Block],
    held: &BlockOutline,
    outline: Outline,
    name: &str,
    year: i64,
) -> farmbook::Result<Id> {
    let like = parents[0];
    let new = Block {
        name: name.trim().to_owned(),
        shape: shape(&like.shape, &outline, held.bearing),
        // Boxes that carry another name of the old block could mean either part.
        aliases: Vec::new(),
        ..like.clone()
    };
    let id = book.add_block(&new)?;
    book.set_outline(&BlockOutline {
        block: id,
        outline,
        since: Some(year),
        ..held.clone()
    })?;
    for parent in parents {
        book.set_parent(Parent {
            block: id,
            parent: parent.id,
            year,
        })?;
    }
    let season = book.farm()?.season;
    if let Some(mut planting) = book.planting(like.id, season)? {
        planting.block = id;
        book.set_planting(&planting)?;
    }
    Ok(id)
}

/// As many beds as before fit side by side on the new ground, or its area where they do not.
fn shape(like: &Shape, outline: &Outline, bearing: Option<f64>) -> Shape {
    if let Shape::Beds {
        bed_width,
        path_width,
        spread_on_paths,
        ..
    } = like
        && let Ok(layout) = ground::lay_out(
            outline,
            &BedPlan {
                bed_width: *bed_width,
                path_width: *path_width,
                bearing,
                beds: None,
            },
        )
    {
        let beds = u32::try_from(layout.beds.len()).unwrap_or(u32::MAX);
        return Shape::Beds {
            beds,
            bed_length: Length::metres(layout.tops.si() / (*bed_width * f64::from(beds)).si()),
            bed_width: *bed_width,
            path_width: *path_width,
            spread_on_paths: *spread_on_paths,
        };
    }
    Shape::Stated {
        area: ground::area(outline),
    }
}

/// The ground that a block came from, with the reports of that ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    pub block: Block,
    /// The last year it was a block of its own is the one before this.
    pub until: i64,
    /// Newest soil first.
    pub tests: Vec<StoredTest>,
}

/// What the ground of a block was before it was cut or laid together, nearest first. Its reports speak of
/// other ground than the block's own and are never read as the block's.
///
/// # Errors
/// The book's own.
pub fn before(book: &Book, id: Id) -> Result<Vec<Before>> {
    let mut all = Vec::new();
    for parent in book.ancestors(id)? {
        all.push(Before {
            block: book.block(parent.parent)?,
            until: parent.year,
            tests: book.tests_of(parent.parent)?,
        });
    }
    Ok(all)
}
