//! Which blocks may share a box.

use super::{BlockSampling, Due};
use crate::Result;
use crate::readings::BlockReading;
use agronomy::sampling::{self as science, Ground, LastTest, Reason};
use farmbook::{BlockKind, Id};
use serde::Serialize;

/// More blocks than this share no box: a sample that stands for so many tells of none.
const MOST: usize = 6;

/// What may be put together, and what may not.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Sharing {
    pub together: Vec<Together>,
    /// The blocks that stand alone.
    pub alone: Vec<Alone>,
}

/// Blocks that may share one box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Together {
    pub blocks: Vec<Id>,
    pub why: Reason,
}

/// A block that may share with none, and what keeps it from the one most like it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alone {
    pub block: Id,
    /// None where it is the only one to be sampled.
    pub nearest: Option<Id>,
    pub why: Vec<Reason>,
}

struct Candidate<'a> {
    id: Id,
    ground: Ground<'a>,
    days: (Option<String>, Option<String>),
}

/// Groups of the blocks that are to be sampled and have no box yet: each in the first group whose every
/// member it may share with.
pub(super) fn of(blocks: &[BlockSampling], readings: &[BlockReading]) -> Result<Sharing> {
    let mut all: Vec<Candidate> = blocks
        .iter()
        .zip(readings)
        .filter(|(b, _)| b.due != Due::NotYet && b.open.is_empty())
        .map(|(b, r)| candidate(b, r))
        .collect();
    // The ground borrows the days as text, so they are put in after the candidates have their places.
    let days: Vec<_> = all.iter().map(|c| c.days.clone()).collect();
    for (c, (limed, manured)) in all.iter_mut().zip(&days) {
        c.ground.limed = limed.as_deref();
        c.ground.manured = manured.as_deref();
    }
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut nearest: Vec<Option<(usize, Vec<Reason>)>> = vec![None; all.len()];
    for at in 0..all.len() {
        let mut joined = false;
        for group in &mut groups {
            let why = against(&all, group, at)?;
            if why.is_empty() && group.len() < MOST {
                group.push(at);
                joined = true;
                break;
            }
            let other = group[0];
            for (me, them) in [(at, other), (other, at)] {
                if nearest[me]
                    .as_ref()
                    .is_none_or(|(_, w)| why.len() < w.len())
                {
                    nearest[me] = Some((them, why.clone()));
                }
            }
        }
        if !joined {
            groups.push(vec![at]);
        }
    }
    let mut sharing = Sharing::default();
    for group in groups {
        if let [at] = group[..] {
            let (other, mut why) = nearest[at].take().unzip();
            if let Some(other) = other {
                // Told from this block's side; where ground alone is too much, nothing else is told.
                let told = science::apart(&all[at].ground, &all[other].ground)?;
                why = if told.is_empty() { why } else { Some(told) };
            }
            sharing.alone.push(Alone {
                block: all[at].id,
                nearest: other.map(|o| all[o].id),
                why: why.unwrap_or_default(),
            });
        } else {
            sharing.together.push(Together {
                blocks: group.iter().map(|at| all[*at].id).collect(),
                why: super::reason("share")?,
            });
        }
    }
    Ok(sharing)
}

/// What keeps a block out of a group: the reasons against the first member that it may not be with.
fn against(all: &[Candidate], group: &[usize], at: usize) -> Result<Vec<Reason>> {
    for other in group {
        let why = science::apart(&all[at].ground, &all[*other].ground)?;
        if !why.is_empty() {
            return Ok(why);
        }
    }
    let together = group
        .iter()
        .chain([&at])
        .fold(quantity::Area::ZERO, |sum, i| sum + all[*i].ground.area);
    Ok(science::too_large(together)?.into_iter().collect())
}

fn candidate<'a>(b: &'a BlockSampling, r: &'a BlockReading) -> Candidate<'a> {
    Candidate {
        id: b.block.id,
        ground: Ground {
            tunnel: b.block.kind == BlockKind::Tunnel,
            perennial: b.block.kind == BlockKind::Perennial,
            texture: b.block.texture,
            soil: &b.note.soil,
            depth_in: b.block.depth_in,
            free_lime: b.block.free_lime,
            limed: None,
            manured: None,
            area: b.block.shape.whole_area(),
            last: r.test.as_ref().map(|t| LastTest {
                test: &t.test,
                cores: b.cores * r.boxes.max(1),
            }),
        },
        days: (
            b.note.limed_on.map(|d| d.to_string()),
            b.note.manured_on.map(|d| d.to_string()),
        ),
    }
}
