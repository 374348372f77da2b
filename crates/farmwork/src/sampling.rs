//! The sampling of a season: which blocks are due, when, how deep, what to ask the lab for, what it costs,
//! and which blocks may share a box. Each with its reason.

mod boxes;
mod form;
pub mod paper;
mod sharing;

pub use boxes::{Purpose, Step, back, make, mark_core, next_label, step};
pub use form::{FormLine, form, handling};
pub use sharing::{Alone, Sharing, Together};

use crate::Result;
use crate::core_walk::USUAL_CORES;
use crate::error::WorkError;
use crate::readings::{self, BlockReading};
use agronomy::crop::Crop;
use agronomy::material::{self, Kind};
use agronomy::reading::Level;
use agronomy::sampling::{self as science, Again, Asking, Reason, Situation, TestKind};
use agronomy::soil::Analyte;
use agronomy::working::{Evidence, Source};
use farmbook::{Block, BlockKind, Book, BoxState, GroundNote, Id, Planting, SampleBox};
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::HashMap;

/// How far from the day a year ago still counts as the same time of year; a judgement.
const SAME_SEASON_DAYS: i32 = 30;

/// Whether a block is to be sampled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Due {
    Never,
    /// The latest day of the published advice is past.
    Due,
    /// Between the earliest and the latest.
    May,
    NotYet,
}

impl Due {
    pub fn name(self) -> &'static str {
        match self {
            Self::Never => "never tested",
            Self::Due => "due",
            Self::May => "may be done",
            Self::NotYet => "not yet",
        }
    }
}

/// One block’s part of the sampling.
#[derive(Debug, Clone, Serialize)]
pub struct BlockSampling {
    pub block: Block,
    pub crop: Option<&'static Crop>,
    pub note: GroundNote,
    /// When its newest test was taken, or came in where the day is not known.
    pub last: Option<Date>,
    pub due: Due,
    /// From when it is worth it, and by when it is to be done.
    pub after: Option<Date>,
    pub by: Option<Date>,
    pub why_due: Vec<Reason>,
    /// A day before which it is better not sampled, with the reason.
    pub not_before: Option<(Date, Reason)>,
    pub when: Vec<Reason>,
    /// Inches.
    pub depth_in: f64,
    pub depth: Vec<Reason>,
    pub asks: Vec<(TestKind, Reason)>,
    pub cores: u32,
    /// Boxes of the block that have no results yet.
    pub open: Vec<SampleBox>,
}

impl BlockSampling {
    /// The tests of the sample that is taken now.
    pub fn tests(&self) -> impl Iterator<Item = TestKind> {
        self.asks
            .iter()
            .map(|(k, _)| *k)
            .filter(|k| !k.own_sample())
    }

    /// Whether it is to be sampled and has no box yet.
    pub fn wanted(&self) -> bool {
        matches!(self.due, Due::Never | Due::Due) && self.open.is_empty()
    }
}

/// The sampling of the whole farm.
#[derive(Debug, Clone, Serialize)]
pub struct Sampling {
    pub blocks: Vec<BlockSampling>,
    pub sharing: Sharing,
    /// What the lab asks for each test, where the grower typed it.
    pub fees: HashMap<TestKind, f64>,
}

impl Sampling {
    pub fn block(&self, id: Id) -> Option<&BlockSampling> {
        self.blocks.iter().find(|b| b.block.id == id)
    }

    /// Why blocks may not share a box; none where they may.
    pub fn apart(&self, pick: &[Id]) -> Option<String> {
        let fits = |t: &Together| pick.iter().all(|id| t.blocks.contains(id));
        if pick.len() < 2 || self.sharing.together.iter().any(fits) {
            return None;
        }
        // A box that is there already is another matter, which making one tells.
        let all: Vec<&BlockSampling> = pick.iter().filter_map(|id| self.block(*id)).collect();
        if all.iter().any(|b| !b.open.is_empty()) {
            return None;
        }
        if let Some(b) = all.iter().find(|b| b.due == Due::NotYet) {
            return Some(format!(
                "“{}” is not due yet, and only blocks that are share a box.",
                b.block.name
            ));
        }
        let told = self.sharing.alone.iter().find(|a| pick.contains(&a.block));
        let why = told.map_or(&[][..], |a| &a.why);
        Some(
            why.iter()
                .map(|r| r.text.as_str())
                .collect::<Vec<_>>()
                .join(" "),
        )
    }

    /// What a sample for these tests costs, and the tests whose fee nobody typed.
    pub fn fee(&self, tests: impl IntoIterator<Item = TestKind>) -> (f64, Vec<TestKind>) {
        let (mut sum, mut unknown) = (0.0, Vec::new());
        for test in tests {
            match self.fees.get(&test) {
                Some(fee) => sum += fee,
                None => unknown.push(test),
            }
        }
        (sum, unknown)
    }
}

/// What is to be sampled as of a day.
///
/// # Errors
/// The book’s own.
pub fn of_farm(book: &Book, today: Date) -> Result<Sampling> {
    let readings = readings::all(book)?;
    let mut notes: HashMap<Id, GroundNote> = book
        .ground_notes()?
        .into_iter()
        .map(|n| (n.block, n))
        .collect();
    log_into(&mut notes, book.last_spreads()?);
    let boxes: Vec<SampleBox> = book
        .boxes()?
        .into_iter()
        .filter(|b| b.state() != BoxState::ResultsIn)
        .collect();
    let came_in = came_in(book)?;
    let farm = book.farm()?;
    let mut standing = book.plantings(i64::from(today.year()))?;
    if farm.season != i64::from(today.year()) {
        standing.extend(book.plantings(farm.season)?);
    }
    let blocks = readings
        .iter()
        .map(|r| {
            let id = r.block.id;
            let note = notes.get(&id);
            let mine: Vec<&SampleBox> = boxes.iter().filter(|b| b.blocks().contains(&id)).collect();
            let plantings: Vec<&Planting> = standing.iter().filter(|p| p.block == id).collect();
            let note = note.cloned().unwrap_or_else(|| GroundNote::nothing(id));
            one(r, note, (&mine, &plantings), &came_in, today)
        })
        .collect::<Result<Vec<_>>>()?;
    let sharing = sharing::of(&blocks, &readings)?;
    let fees = book
        .lab_fees()?
        .into_iter()
        .filter_map(|f| Some((TestKind::from_key(&f.test)?, f.fee)))
        .collect();
    Ok(Sampling {
        blocks,
        sharing,
        fees,
    })
}

/// The last lime and the last manure or compost by the log, where later than what the grower said.
fn log_into(notes: &mut HashMap<Id, GroundNote>, log: Vec<(Id, String, Date)>) {
    for (block, material, last) in log {
        let Some(kind) = material::find(&material).map(|m| m.kind) else {
            continue;
        };
        let note = notes
            .entry(block)
            .or_insert_with(|| GroundNote::nothing(block));
        let day = match kind {
            Kind::Lime => &mut note.limed_on,
            Kind::Manure | Kind::Compost => &mut note.manured_on,
            _ => continue,
        };
        *day = (*day).max(Some(last));
    }
}

/// The days on which reports came in.
fn came_in(book: &Book) -> Result<HashMap<Id, Date>> {
    Ok(book
        .reports()?
        .into_iter()
        .filter_map(|r| Some((r.id, r.received_at.get(..10)?.parse().ok()?)))
        .collect())
}

fn one(
    reading: &BlockReading,
    note: GroundNote,
    (open, plantings): (&[&SampleBox], &[&Planting]),
    came_in: &HashMap<Id, Date>,
    today: Date,
) -> Result<BlockSampling> {
    let block = &reading.block;
    let last = reading
        .test
        .as_ref()
        .and_then(|t| t.sampled_on.or_else(|| came_in.get(&t.report).copied()));
    let correcting = reading.test.is_some() && off_the_mark(reading);
    let again = science::again(situation(block.kind), correcting)?;
    let (due, after, by) = due(last, &again, today);
    let mut why_due = again.reasons;
    if last.is_none() {
        why_due.insert(0, reason("again_first")?);
    }
    let crop = reading.crop;
    let tunnel = block.kind == BlockKind::Tunnel;
    let ph = reading
        .test
        .as_ref()
        .and_then(|t| t.test.value(Analyte::Ph));
    let asks = science::ask(&Asking {
        tunnel,
        old_ground: note.old_ground,
        last_ph: ph,
        crop,
        target_ph: reading.planting.as_ref().and_then(|p| p.target_ph),
        free_lime: block.free_lime == Some(true),
    })?;
    Ok(BlockSampling {
        last,
        due,
        after,
        by,
        why_due,
        not_before: not_before(&note, plantings, today)?,
        when: when(block.kind, last.is_some())?,
        depth_in: block.depth_in,
        depth: depth(block)?,
        asks,
        cores: block.cores.unwrap_or(USUAL_CORES),
        open: open.iter().map(|b| (*b).clone()).collect(),
        note,
        crop,
        block: block.clone(),
    })
}

fn situation(kind: BlockKind) -> Situation {
    match kind {
        BlockKind::Tunnel => Situation::Tunnel,
        BlockKind::Perennial => Situation::Perennial,
        BlockKind::Field | BlockKind::RaisedBed => Situation::Annual,
    }
}

/// A row of the table of advice as a reason.
fn reason(key: &str) -> Result<Reason> {
    let found = science::advice(key)?;
    Ok(Reason {
        text: found.text.clone(),
        source: found.source.clone(),
    })
}

/// Whether the newest test shows something that is put right over the years: pH, phosphorus or potassium
/// in the lowest classes, or pH outside what the crop wants.
fn off_the_mark(reading: &BlockReading) -> bool {
    let low = [Analyte::P, Analyte::K]
        .iter()
        .any(|a| reading.reading(*a).is_some_and(|r| r.level <= Level::Low));
    let test = reading.test.as_ref();
    let ph = test.and_then(|t| t.test.value(Analyte::Ph));
    let wanted = reading.crop.as_ref().and_then(|c| c.target_ph.as_ref());
    let ph_off = match (ph, wanted) {
        (Some(ph), Some(wanted)) => ph < wanted.low || ph > wanted.high,
        _ => false,
    };
    low || ph_off
}

fn due(last: Option<Date>, again: &Again, today: Date) -> (Due, Option<Date>, Option<Date>) {
    let Some(last) = last else {
        return (Due::Never, None, None);
    };
    let later = |years: u8| last.checked_add(i32::from(years).years()).unwrap_or(last);
    let (after, by) = (later(again.after), later(again.by));
    let near = |day: Date| day.checked_sub(SAME_SEASON_DAYS.days()).unwrap_or(day);
    let state = if today >= near(by) {
        Due::Due
    } else if today >= near(after) {
        Due::May
    } else {
        Due::NotYet
    };
    (state, Some(after), Some(by))
}

/// The latest of the days to wait for: the harvest of the crop that stands, and what lime needs.
fn not_before(
    note: &GroundNote,
    plantings: &[&Planting],
    today: Date,
) -> Result<Option<(Date, Reason)>> {
    let mut days = Vec::new();
    for p in plantings {
        if let (Some(planted), Some(harvest)) = (p.plant_on, p.harvest_on)
            && planted <= today
            && today < harvest
        {
            days.push((harvest, reason("when_after_harvest")?));
        }
    }
    if let Some(limed) = note.limed_on {
        let found = science::advice("wait_lime")?;
        let wait = found.high.unwrap_or(0.0) as i32;
        if let Ok(day) = limed.checked_add(wait.days())
            && day > today
        {
            let why = reason("wait_lime")?;
            days.push((
                day,
                Reason {
                    text: format!("Limed on {limed}. {}", why.text),
                    ..why
                },
            ));
        }
    }
    Ok(days.into_iter().max_by_key(|(day, _)| *day))
}

fn when(kind: BlockKind, tested: bool) -> Result<Vec<Reason>> {
    let mut keys = Vec::new();
    if tested {
        keys.push("when_same");
    }
    keys.push(if kind == BlockKind::Tunnel {
        "when_tunnel"
    } else {
        "when_after_harvest"
    });
    keys.extend(["when_before_amendments", "wait_lime_ph", "wait_manure"]);
    if kind != BlockKind::Tunnel {
        keys.push("when_season");
    }
    keys.into_iter().map(reason).collect()
}

fn depth(block: &Block) -> Result<Vec<Reason>> {
    let mut all = vec![Reason {
        text: format!(
            "{} in: the depth worked here.",
            quantity::plain(block.depth_in, 2)
        ),
        source: Source::new("the block in your book", Evidence::Local),
    }];
    all.push(reason("depth_worked")?);
    if block.kind == BlockKind::Perennial {
        all.push(reason("depth_perennial")?);
    }
    Ok(all)
}

impl From<science::SamplingError> for WorkError {
    fn from(e: science::SamplingError) -> Self {
        Self::Said(e.to_string())
    }
}
