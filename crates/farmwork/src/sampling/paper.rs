//! What stands on labels and on the walks that the crew carries.

use super::form;
use crate::core_walk::{self, Ask, CoreWalk};
use crate::{Result, WorkError};
use agronomy::sampling::TestKind;
use farmbook::{Book, SampleBox};
use ground::{Corner, Place};
use jiff::civil::Date;
use serde::Serialize;

/// The longest address that a label's code still holds well.
const LONGEST_ADDRESS: usize = 120;

/// One box’s label.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoxLabel {
    pub label: String,
    pub farm: String,
    pub blocks: Vec<String>,
    pub depth: String,
    pub tests: Vec<TestKind>,
    /// Where the box’s own page is; none where no address was given.
    pub address: Option<String>,
}

/// Labels of boxes. `address` is what the pages are reached at, such as `http://localhost:8737`; empty for
/// labels without a code.
///
/// # Errors
/// An address that is none; the book’s own.
pub fn labels(book: &Book, boxes: &[SampleBox], address: &str) -> Result<Vec<BoxLabel>> {
    let farm = book.farm()?.name;
    let base = base(address)?;
    Ok(form(book, boxes)?
        .into_iter()
        .map(|l| BoxLabel {
            farm: farm.clone(),
            address: base.as_ref().map(|b| format!("{b}/sampling/box/{}", l.id)),
            label: l.sample,
            blocks: l.blocks,
            depth: l.depth,
            tests: l.tests,
        })
        .collect())
}

fn base(address: &str) -> Result<Option<String>> {
    let text = address.trim().trim_end_matches('/');
    if text.is_empty() {
        return Ok(None);
    }
    let rest = text
        .strip_prefix("http://")
        .or_else(|| text.strip_prefix("https://"));
    let plain = |c: char| c.is_ascii_graphic() && !matches!(c, '"' | '<' | '>' | '\\' | '^' | '`');
    match rest {
        Some(rest)
            if !rest.is_empty() && text.len() <= LONGEST_ADDRESS && text.chars().all(plain) =>
        {
            Ok(Some(text.to_owned()))
        }
        _ => Err(WorkError::Said(format!(
            "“{}” is not an address such as http://localhost:8737 (at most {LONGEST_ADDRESS} letters).",
            text.chars().take(60).collect::<String>()
        ))),
    }
}

/// One block’s walk for one box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WalkSheet {
    pub farm: String,
    pub season: i64,
    pub made_on: Date,
    pub block: String,
    pub label: String,
    /// The other blocks whose soil goes into the same box.
    pub with: Vec<String>,
    pub depth: String,
    pub lead: bool,
    pub nitrate: bool,
    /// The corner the walk begins at, and its length in feet; none without an outline.
    pub from: Option<&'static str>,
    pub feet: Option<f64>,
    pub cores: Vec<WalkCore>,
    pub map: Option<WalkMap>,
}

/// One line to tick.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WalkCore {
    pub number: u32,
    #[serde(skip)]
    pub place: Option<Place>,
    pub taken: bool,
}

/// What the little map shows, metres on a plane, north up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WalkMap {
    /// Rings of the block and of its beds.
    pub block: Vec<Vec<[f64; 2]>>,
    pub beds: Vec<Vec<[f64; 2]>>,
    pub start: [f64; 2],
    pub cores: Vec<[f64; 2]>,
}

/// A sheet for each block of each box, in the order given.
///
/// # Errors
/// The book’s own.
pub fn walks(book: &Book, boxes: &[SampleBox], today: Date) -> Result<Vec<WalkSheet>> {
    let farm = book.farm()?;
    let lines = form(book, boxes)?;
    let mut sheets = Vec::new();
    for (b, line) in boxes.iter().zip(lines) {
        for part in &b.parts {
            let block = book.block(part.block)?;
            let ask = Ask {
                cores: Some(part.cores),
                seed: Some(part.seed),
                ..Ask::default()
            };
            // A block without an outline still has its list.
            let walk = core_walk::of_block(book, part.block, &ask).ok();
            let taken = |n: &u32| part.taken.binary_search(n).is_ok();
            let place = |n: u32| {
                let all = walk.as_ref().map(|w| &w.walk.cores);
                all.and_then(|a| a.iter().find(|c| c.number == n)?.place.clone())
            };
            sheets.push(WalkSheet {
                farm: farm.name.clone(),
                season: farm.season,
                made_on: today,
                label: b.label.clone(),
                with: line
                    .blocks
                    .iter()
                    .filter(|n| **n != block.name)
                    .cloned()
                    .collect(),
                depth: line.depth.replace("0 to ", "").replace(" in", ""),
                lead: line.tests.contains(&TestKind::Lead),
                nitrate: line.tests.contains(&TestKind::Nitrate),
                from: walk.as_ref().map(|_| Corner::Southwest.name()),
                feet: walk.as_ref().map(|w| w.walk.length.to_feet().round()),
                cores: (1..=part.cores)
                    .map(|number| WalkCore {
                        number,
                        place: place(number),
                        taken: taken(&number),
                    })
                    .collect(),
                map: walk.as_ref().map(map),
                block: block.name,
            });
        }
    }
    Ok(sheets)
}

fn map(found: &CoreWalk) -> WalkMap {
    let frame = &found.walk.site.frame;
    let start = frame.to_plane(found.walk.start);
    let rings = |shape: &geo::MultiPolygon| -> Vec<Vec<[f64; 2]>> {
        shape
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
            .map(|r| r.coords().map(|c| [c.x, c.y]).collect())
            .collect()
    };
    WalkMap {
        block: rings(&frame.shape(&found.outline.outline)),
        beds: found.walk.site.beds.as_ref().map_or_else(Vec::new, |l| {
            l.beds.iter().flat_map(|b| rings(&b.shape)).collect()
        }),
        start: [start.x, start.y],
        cores: found
            .walk
            .cores
            .iter()
            .map(|c| [c.plane.x, c.plane.y])
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::base;

    #[test]
    fn an_address_is_one_or_is_refused() {
        assert_eq!(base(" ").unwrap(), None);
        let kept = base("http://localhost:8737/ ").unwrap();
        assert_eq!(kept.as_deref(), Some("http://localhost:8737"));
        for bad in [
            "localhost",
            "ftp://x",
            "http://",
            "http://a b",
            "javascript:1",
        ] {
            assert!(base(bad).is_err(), "{bad}");
        }
        assert!(base(&format!("http://{}", "a".repeat(200))).is_err());
    }
}
