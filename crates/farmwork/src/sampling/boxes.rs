//! Boxes from the plan of the sampling to the lab’s door.

use super::Sampling;
use crate::core_walk::USUAL_CORES;
use crate::{Result, WorkError};
use agronomy::sampling::TestKind;
use farmbook::{Block, Book, BoxPart, BoxState, Id, SampleBox};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// What a box is filled for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// The year’s soil test, with whatever else each block is to be asked for.
    #[default]
    Standard,
    /// Nitrate before sidedressing: another time, another depth, a box of its own.
    Nitrate,
}

/// A step of a box on its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    Fill,
    Send,
    Receive,
}

impl Step {
    pub const ALL: [Self; 3] = [Self::Fill, Self::Send, Self::Receive];

    pub fn key(self) -> &'static str {
        match self {
            Self::Fill => "fill",
            Self::Send => "send",
            Self::Receive => "receive",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.key() == key)
    }

    /// The step that a box in this state takes next, until its results come.
    pub fn next(state: BoxState) -> Option<Self> {
        match state {
            BoxState::ToFill => Some(Self::Fill),
            BoxState::Filled => Some(Self::Send),
            BoxState::Sent => Some(Self::Receive),
            BoxState::Received | BoxState::ResultsIn => None,
        }
    }
}

/// A number that stands on no box yet: two digits of the year, then a count from 01. Digits alone, since a
/// dash or a letter makes a date or a power of ten of it in many a program.
pub fn next_label(taken: &[String], today: Date) -> String {
    let year = format!("{:02}", today.year().rem_euclid(100));
    let last = taken
        .iter()
        .filter_map(|l| l.trim().strip_prefix(&year)?.parse::<u32>().ok())
        .max()
        .unwrap_or(0);
    format!("{year}{:02}", last.saturating_add(1))
}

/// Makes a box for each pick of blocks, all in one change, and gives their numbers.
///
/// # Errors
/// No pick; a pick without blocks or with one that has an open box for the same purpose; the book’s own.
pub fn make(
    book: &mut Book,
    sampling: &Sampling,
    picks: &[Vec<Id>],
    purpose: Purpose,
    today: Date,
) -> Result<Vec<Id>> {
    if picks.is_empty() {
        return Err(WorkError::Said(
            "Choose at least one block to make a box for.".to_owned(),
        ));
    }
    let season = book.farm()?.season;
    let mut labels: Vec<String> = book.boxes()?.into_iter().map(|b| b.label).collect();
    let mut new = Vec::new();
    let mut seen = Vec::new();
    for pick in picks {
        let blocks: Vec<Block> = pick
            .iter()
            .map(|id| Ok(book.block(*id)?))
            .collect::<Result<_>>()?;
        let Some(first) = blocks.first() else {
            return Err(WorkError::Said("A box needs a block.".to_owned()));
        };
        for block in &blocks {
            let open = sampling.block(block.id).map_or(&[][..], |b| &b.open);
            if seen.contains(&block.id) || open.iter().any(|b| purpose_of(b) == purpose) {
                return Err(WorkError::Said(format!(
                    "“{}” has a box already that has no results yet.",
                    block.name
                )));
            }
            seen.push(block.id);
        }
        let label = next_label(&labels, today);
        labels.push(label.clone());
        new.push(SampleBox {
            parts: parts(&blocks, season.unsigned_abs()),
            tests: tests(sampling, pick, purpose)
                .into_iter()
                .map(|t| t.key().to_owned())
                .collect(),
            ..SampleBox::new(first.id, label)
        });
    }
    let what = match new.len() {
        1 => "Made a box to fill".to_owned(),
        n => format!("Made {n} boxes to fill"),
    };
    Ok(book.together(&what, |book| new.iter().map(|b| book.set_box(b)).collect())?)
}

/// What a box was made for.
pub(super) fn purpose_of(b: &SampleBox) -> Purpose {
    let nitrate = TestKind::Nitrate.key();
    if b.tests.iter().any(|t| t == nitrate) {
        Purpose::Nitrate
    } else {
        Purpose::Standard
    }
}

/// The tests of a box: each that any of its blocks is to be asked for.
fn tests(sampling: &Sampling, pick: &[Id], purpose: Purpose) -> Vec<TestKind> {
    if purpose == Purpose::Nitrate {
        return vec![TestKind::Nitrate];
    }
    let mut all: Vec<TestKind> = pick
        .iter()
        .filter_map(|id| sampling.block(*id))
        .flat_map(super::BlockSampling::tests)
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The cores of a box shared out over its blocks by their ground, by largest remainders, at least one each.
fn parts(blocks: &[Block], seed: u64) -> Vec<BoxPart> {
    let of = |b: &Block| b.cores.unwrap_or(USUAL_CORES);
    let all = blocks.iter().map(of).max().unwrap_or(USUAL_CORES);
    let all = all.max(blocks.len() as u32);
    let ground = |b: &Block| b.shape.whole_area().to_square_feet().max(1.0);
    let sum: f64 = blocks.iter().map(ground).sum();
    // One each first, the rest by ground.
    let rest = f64::from(all - blocks.len() as u32);
    let exact: Vec<f64> = blocks.iter().map(|b| rest * ground(b) / sum).collect();
    let mut cores: Vec<u32> = exact.iter().map(|e| 1 + e.floor() as u32).collect();
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    order.sort_by(|a, b| exact[*b].fract().total_cmp(&exact[*a].fract()));
    let given: u32 = cores.iter().sum();
    for at in order.into_iter().take((all - given) as usize) {
        cores[at] += 1;
    }
    blocks
        .iter()
        .zip(cores)
        .map(|(b, cores)| BoxPart {
            block: b.id,
            cores,
            seed,
            taken: Vec::new(),
        })
        .collect()
}

/// Marks a core of a box as taken or not; doing it twice is doing it once.
///
/// # Errors
/// No such box, block in it or core; a box that has been sent.
pub fn mark_core(book: &mut Book, id: Id, block: Id, core: u32, taken: bool) -> Result<SampleBox> {
    let mut b = book.sample_box(id)?;
    if b.state() > BoxState::Filled {
        return Err(WorkError::Said(format!(
            "Box “{}” has been sent; its cores stay as they are.",
            b.label
        )));
    }
    let part = b
        .parts
        .iter_mut()
        .find(|p| p.block == block && (1..=p.cores).contains(&core))
        .ok_or_else(|| WorkError::Said(format!("The box has no core {core} there.")))?;
    match (part.taken.binary_search(&core), taken) {
        (Err(at), true) => part.taken.insert(at, core),
        (Ok(at), false) => {
            part.taken.remove(at);
        }
        _ => return Ok(b),
    }
    book.set_box(&b)?;
    Ok(b)
}

/// Takes a box a step further; a box that is there already stays as it is.
///
/// # Errors
/// No such box; a step that leaves one out; a day before the last step’s.
pub fn step(book: &mut Book, id: Id, step: Step, day: Date) -> Result<SampleBox> {
    let mut b = book.sample_box(id)?;
    let (set, before) = match step {
        Step::Fill => (&mut b.filled_on, true),
        Step::Send => (&mut b.sent_on, b.filled_on.is_some()),
        Step::Receive => (&mut b.received_on, b.sent_on.is_some()),
    };
    if set.is_some() {
        return Ok(b);
    }
    if !before {
        return Err(WorkError::Said(format!(
            "Box “{}” is {}: {}.",
            b.label,
            b.state().name(),
            match step {
                Step::Receive => "say first when it was sent",
                _ => "say first when it was filled",
            }
        )));
    }
    *set = Some(day);
    book.set_box(&b)?;
    Ok(b)
}

/// Takes a box one step back; one that is to be filled or has its results stays.
///
/// # Errors
/// No such box.
pub fn back(book: &mut Book, id: Id) -> Result<SampleBox> {
    let mut b = book.sample_box(id)?;
    match b.state() {
        BoxState::Filled => b.filled_on = None,
        BoxState::Sent => b.sent_on = None,
        BoxState::Received => b.received_on = None,
        BoxState::ToFill | BoxState::ResultsIn => return Ok(b),
    }
    book.set_box(&b)?;
    Ok(b)
}
