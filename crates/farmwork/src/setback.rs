//! How far what is spread is kept from wells, water and whatever else stands on the map, and which ground
//! gets none for it.

use crate::{Result, outlines, words};
use agronomy::material::Material;
use agronomy::setback::{self, Class, Published};
use farmbook::{Block, BlockOutline, Book, Id, MapMark, MarkKind, OwnSetback, Shape};
use quantity::{Area, Length, plain};
use serde::Serialize;
use std::collections::HashMap;

/// With less than this share of a block left, none goes on it: nobody spreads a last corner by the pound.
const LEAST_LEFT: f64 = 0.05;

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
    let marks = book.marks()?;
    let held = book.outline(block)?;
    Ok(held.map_or_else(Vec::new, |held| away(&held, &marks, kinds)))
}

/// The same where outline and map are at hand.
pub(crate) fn away(held: &BlockOutline, marks: &[MapMark], kinds: &[MarkKind]) -> Vec<Away> {
    let mut all: Vec<Away> = marks
        .iter()
        .filter(|m| kinds.contains(&m.kind))
        .filter_map(|mark| {
            let distance = ground::apart(&held.outline, &mark.mark)?;
            let mark = mark.clone();
            Some(Away { mark, distance })
        })
        .collect();
    all.sort_by(|a, b| a.distance.si().total_cmp(&b.distance.si()));
    all
}

/// How far one class of materials is kept from one kind of thing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rule {
    pub kind: MarkKind,
    pub class: Class,
    /// That of the farm's region, else the usual one; none where none was read.
    pub published: Option<&'static Published>,
    /// The grower's own.
    pub own: Option<OwnSetback>,
}

impl Rule {
    /// The distance that is kept: the larger one, or the grower's where the rule of the place says so.
    pub fn holds(&self) -> Option<Length> {
        let published = self.published.map(|p| p.distance);
        match (&self.own, published) {
            (Some(own), Some(published)) if !own.local => Some(own.distance.max(published)),
            (Some(own), _) => Some(own.distance),
            (None, published) => published,
        }
    }

    /// Why it is that distance, in a few words.
    pub fn why(&self) -> String {
        match (&self.own, self.published) {
            (Some(own), _) if own.local => "the rule of the place, as you wrote it down".to_owned(),
            (Some(own), Some(p)) if own.distance < p.distance => format!(
                "{}; yours of {} ft is less and does not stand above it",
                p.source.text,
                plain(own.distance.to_feet(), 4)
            ),
            (Some(_), _) => "your own".to_owned(),
            (None, Some(p)) => p.source.text.clone(),
            (None, None) => "none was read; ask your state and your certifier".to_owned(),
        }
    }
}

/// A rule for every kind and class, whether or not a distance is known for it.
///
/// # Errors
/// The book's own.
pub fn rules(book: &Book) -> Result<Vec<Rule>> {
    let region = book.farm()?.region;
    let own = book.setbacks()?;
    let mut all = Vec::new();
    for kind in MarkKind::ALL {
        for class in Class::ALL {
            all.push(Rule {
                kind,
                class,
                published: setback::held(kind.key(), class, &region),
                own: own
                    .iter()
                    .find(|o| o.kind == kind && o.class == class)
                    .cloned(),
            });
        }
    }
    Ok(all)
}

/// Something that is kept away from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kept {
    pub kind: MarkKind,
    /// May be empty.
    pub name: String,
    pub feet: f64,
}

/// The ground of a block that gets none of a material.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Near {
    /// What it lies too near to.
    pub from: Vec<Kept>,
    /// Its share of the ground that is spread on, above 0 to 1; 1 where hardly any would be left.
    pub share: f64,
    /// Acres that get none.
    pub acres: f64,
    /// Numbers of the beds that it touches; none where the block has none that are drawn.
    pub beds: Vec<u32>,
}

impl Near {
    /// The share of the block that the material goes on.
    pub fn kept(&self) -> f64 {
        1.0 - self.share
    }

    /// Whether none goes on the block at all.
    pub fn whole(&self) -> bool {
        self.share >= 1.0
    }

    /// The beds as they are read off: `1–2, 5`.
    pub fn beds_named(&self) -> String {
        let mut runs: Vec<(u32, u32)> = Vec::new();
        for bed in &self.beds {
            match runs.last_mut() {
                Some((_, last)) if *last + 1 == *bed => *last = *bed,
                _ => runs.push((*bed, *bed)),
            }
        }
        let named = |(first, last): &(u32, u32)| match last - first {
            0 => first.to_string(),
            1 => format!("{first}, {last}"),
            _ => format!("{first}–{last}"),
        };
        runs.iter().map(named).collect::<Vec<_>>().join(", ")
    }

    /// What is kept away from, each with its distance: `100 ft from Mill Creek`.
    fn distances(&self) -> String {
        let each: Vec<String> = self
            .from
            .iter()
            .map(|k| {
                let name = if k.name.is_empty() {
                    format!("the {}", k.kind.name())
                } else {
                    k.name.clone()
                };
                format!("{} ft from {name}", plain(k.feet, 4))
            })
            .collect();
        words::and(&each)
    }

    /// In a sentence; the amount that stands beside it is for the rest.
    pub fn says(&self) -> String {
        let from = self.distances();
        if self.whole() {
            return format!("Keep {from}: the whole block lies too near and gets none.");
        }
        let strip = match self.beds.len() {
            0 => "the strip along it".to_owned(),
            1 => format!("the strip on bed {}", self.beds_named()),
            _ => format!("the strip on beds {}", self.beds_named()),
        };
        let area = match self.square_feet() {
            Some(ft2) => format!("{} ft²", plain(ft2, 2)),
            None => format!("{} acre", plain(self.acres, 2)),
        };
        format!("Keep {from}: {strip} ({area}) gets none; the amount is for the rest.")
    }

    /// Its size in ft² where acres would be too small a number to read.
    pub fn square_feet(&self) -> Option<f64> {
        const LEAST_ACRES: f64 = 0.01;
        (self.acres < LEAST_ACRES).then(|| Area::acres(self.acres).to_square_feet())
    }
}

/// What of a planned amount goes on the ground that gets it. `share_then` is the share of the block that
/// the plan counted with: one that was made before something stood on the map counted with more, and what
/// was meant for that stays in the shed.
pub(crate) fn for_the_rest(lb: f64, share_then: f64, near: Option<&Near>) -> f64 {
    let now = near.map_or(1.0, Near::kept);
    lb * (now / share_then).min(1.0)
}

/// What has to be kept away from, for all blocks of a book.
#[derive(Debug, Clone)]
pub struct Setbacks {
    rules: Vec<Rule>,
    marks: Vec<MapMark>,
    outlines: HashMap<Id, BlockOutline>,
}

impl Setbacks {
    /// # Errors
    /// The book's own.
    pub fn of(book: &Book) -> Result<Self> {
        let marks = book.marks()?;
        let outlines = if marks.is_empty() {
            HashMap::new()
        } else {
            book.outlines()?.into_iter().map(|o| (o.block, o)).collect()
        };
        Ok(Self {
            rules: rules(book)?,
            marks,
            outlines,
        })
    }

    /// The ground of a block that gets none of a material; none where all of it may.
    pub fn on(&self, block: &Block, of: &Material) -> Option<Near> {
        self.on_class(block, Class::of(of)?)
    }

    /// The same for a class of materials.
    pub fn on_class(&self, block: &Block, class: Class) -> Option<Near> {
        let (from, strip) = self.left_out(block, class)?;
        let share = if strip.share > 1.0 - LEAST_LEFT {
            1.0
        } else {
            strip.share
        };
        Some(Near {
            from: from
                .iter()
                .map(|(m, distance)| Kept {
                    kind: m.kind,
                    name: m.name.clone(),
                    feet: distance.to_feet(),
                })
                .collect(),
            share,
            acres: block.shape.spread_area().to_acres() * share,
            beds: strip.beds,
        })
    }

    /// Where that ground lies; none where all of the block may get some.
    pub(crate) fn strip(&self, block: &Block, of: &Material) -> Option<ground::Strip> {
        Some(self.left_out(block, Class::of(of)?)?.1)
    }

    /// What is too near to a block for a class of materials, each with its distance, and the ground that
    /// is left out for it.
    fn left_out(
        &self,
        block: &Block,
        class: Class,
    ) -> Option<(Vec<(&MapMark, Length)>, ground::Strip)> {
        let held = self.outlines.get(&block.id)?;
        let from: Vec<(&MapMark, Length)> = self
            .rules
            .iter()
            .filter(|r| r.class == class)
            .filter_map(|r| Some((r.kind, r.holds()?)))
            .flat_map(|(kind, distance)| {
                let of_kind = self.marks.iter().filter(move |m| m.kind == kind);
                of_kind.map(move |m| (m, distance))
            })
            .filter(|(m, distance)| ground::may_reach(&held.outline, &m.mark, *distance))
            .collect();
        if from.is_empty() {
            return None;
        }
        let layout = outlines::bed_plan(block, held.bearing)
            .and_then(|plan| ground::lay_out(&held.outline, &plan).ok());
        let tops_alone = matches!(
            block.shape,
            Shape::Beds {
                spread_on_paths: false,
                ..
            }
        );
        let marks: Vec<_> = from.iter().map(|(m, d)| (&m.mark, *d)).collect();
        let strip = ground::keep_away(
            &held.outline,
            layout.as_ref().filter(|_| tops_alone),
            layout.as_ref(),
            &marks,
        )?;
        let too_near = |(m, distance): &(&MapMark, Length)| {
            ground::apart(&held.outline, &m.mark).is_some_and(|away| away < *distance)
        };
        Some((from.into_iter().filter(too_near).collect(), strip))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beds_are_named_in_runs() {
        let near = |beds: &[u32]| Near {
            from: vec![Kept {
                kind: MarkKind::Water,
                name: String::new(),
                feet: 100.0,
            }],
            share: 0.25,
            acres: 0.08,
            beds: beds.to_vec(),
        };
        assert_eq!(near(&[1, 2, 3, 5, 7, 8]).beds_named(), "1–3, 5, 7, 8");
        assert_eq!(
            near(&[1, 2]).says(),
            "Keep 100 ft from the stream or pond: the strip on beds 1, 2 (0.08 acre) gets none; the amount is for the rest."
        );
        let small = Near {
            acres: 2.0 / 43_560.0,
            ..near(&[1])
        };
        assert!(
            small
                .says()
                .contains("the strip on bed 1 (2 ft²) gets none")
        );
    }
}
