//! What each block needs for its next crop: lime or sulfur first, then N, P2O5 and K2O, then the rest.

mod acidity;
mod feeding;
mod minor;

pub(crate) use acidity::Asked as LimeAsked;

use crate::Result;
use crate::learned::{Learned, OwnNeed, Teacher};
use crate::per_block;
use crate::readings::{self, BlockReading};
use agronomy::crop::{self, Crop};
use agronomy::dose::Dose;
use agronomy::lime::{LimeError, Method};
use agronomy::soil::{Recommendable, Recommended, SoilTest};
use agronomy::working::{Caution, Evidence, Figure, Source};
use farmbook::{Book, Id, Planting, StoredTest};
use planner::Nutrient;
use serde::Serialize;
use std::borrow::Borrow;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::sync::Arc;

/// One nutrient’s need on one block, lb per acre.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    pub nutrient: Nutrient,
    /// Before credits; none where no rate can be given.
    pub asked: Option<f64>,
    /// What soil, cover crop, earlier spreading and water give.
    pub credits: Vec<(String, f64)>,
    /// What this plan should bring: asked less credits, and of a split rate the first dose.
    pub need: f64,
    /// The likely range of the need, where the sources give one.
    pub range: Option<(f64, f64)>,
    /// What must not be exceeded, and why.
    pub ceiling: Option<(f64, String)>,
    /// What the rate rests on, in a few words; or why there is none.
    pub basis: String,
    /// The rest of a split rate.
    pub later: Vec<Dose>,
    /// What other published sources ask, in words.
    pub others: Vec<String>,
    /// Whether the soil holds more than enough and surplus counts more than usual.
    pub very_high: bool,
    /// What the block’s own tests say of it beside the published figures, where they say anything.
    pub own: Option<OwnNeed>,
    pub working: Vec<Figure>,
}

impl Line {
    fn none(nutrient: Nutrient, why: impl Into<String>) -> Self {
        Self {
            nutrient,
            asked: None,
            credits: Vec::new(),
            need: 0.0,
            range: None,
            ceiling: None,
            basis: why.into(),
            later: Vec::new(),
            others: Vec::new(),
            very_high: false,
            own: None,
            working: Vec::new(),
        }
    }

    /// Takes along what the block’s own tests say of it.
    fn taught(&mut self, own: Option<OwnNeed>) {
        let Some(own) = own else { return };
        if own.used {
            self.basis = format!("{}, by this block’s own answer", self.basis);
        }
        self.own = Some(own);
    }

    /// The weakest ground the need rests on.
    pub fn weakest(&self) -> Option<Evidence> {
        self.working.iter().filter_map(Figure::weakest).max()
    }

    /// Cautions of the working, each once.
    pub fn cautions(&self) -> Vec<&Caution> {
        let mut all: Vec<&Caution> = Vec::new();
        for caution in self.working.iter().flat_map(|f| &f.cautions) {
            if !all.iter().any(|c| c.text == caution.text) {
                all.push(caution);
            }
        }
        all
    }
}

/// A block with what it needs.
#[derive(Debug, Clone, Serialize)]
pub struct BlockNeeds {
    pub reading: BlockReading,
    pub lines: Vec<Line>,
    /// What the grower should know or do first.
    pub notes: Vec<String>,
}

impl BlockNeeds {
    pub fn line(&self, nutrient: Nutrient) -> Option<&Line> {
        self.lines.iter().find(|l| l.nutrient == nutrient)
    }

    pub fn acres(&self) -> f64 {
        self.reading.block.shape.spread_area().to_acres()
    }

    /// Whether anything can be planned for it.
    pub fn ready(&self) -> bool {
        self.reading.planting.is_some()
    }
}

/// The needs of every block in use, in the order of the book.
///
/// # Errors
/// The book’s own.
pub fn all(book: &Book) -> Result<Vec<BlockNeeds>> {
    let teacher = Teacher::of(book)?;
    readings::all(book)?
        .into_iter()
        .map(|reading| by_its_tests(book, &teacher, reading))
        .collect()
}

/// With more blocks than this to work out, all of them are read in one look.
const FEW: usize = 30;

/// The same without the working behind the figures, for whoever reads the figures alone. Cautions stay.
/// Blocks that nothing touched since are not worked out again.
pub(crate) fn bare(book: &Book) -> Result<Vec<Arc<BlockNeeds>>> {
    per_block::refresh::<Arc<BlockNeeds>>(book)?;
    let blocks: Vec<Id> = book.blocks()?.into_iter().map(|b| b.id).collect();
    let mut known: HashMap<Id, Arc<BlockNeeds>> = blocks
        .iter()
        .filter_map(|id| Some((*id, per_block::find(book, *id)?)))
        .collect();
    let mut missing = blocks.clone();
    missing.retain(|id| !known.contains_key(id));
    let readings = match missing.len() {
        0 => Vec::new(),
        few if few <= FEW => readings::some(book, &missing)?,
        _ => readings::all(book)?,
    };
    if !readings.is_empty() {
        let teacher = Teacher::of(book)?;
        for reading in readings {
            let id = reading.block.id;
            if let Entry::Vacant(unknown) = known.entry(id) {
                let made = by_its_tests(book, &teacher, reading)?;
                let made = Arc::new(without_working(made));
                per_block::put(book, id, Arc::clone(&made));
                unknown.insert(made);
            }
        }
    }
    Ok(blocks.iter().filter_map(|id| known.remove(id)).collect())
}

fn without_working(mut needs: BlockNeeds) -> BlockNeeds {
    for line in &mut needs.lines {
        line.others = Vec::new();
        let cautions: Vec<Caution> = line.cautions().into_iter().cloned().collect();
        line.working = Vec::new();
        if !cautions.is_empty() {
            line.working.push(Figure {
                cautions,
                ..Figure::new("")
            });
        }
    }
    for line in &mut needs.reading.lines {
        line.others = Vec::new();
        if let Some(reading) = &mut line.reading {
            // Lists and maps show the class and not the table that it stands in.
            reading.bands = Vec::new();
            reading.figure.working = Vec::new();
        }
    }
    needs
}

/// Needs by the number of their block as plans write it.
pub(crate) fn by_plan_id<N: Borrow<BlockNeeds>>(all: &[N]) -> HashMap<String, &BlockNeeds> {
    all.iter()
        .map(Borrow::borrow)
        .map(|n: &BlockNeeds| (n.reading.block.id.to_string(), n))
        .collect()
}

/// The needs of some blocks, in the order in which they are asked for.
///
/// # Errors
/// No such block, or the book’s own.
pub(crate) fn some(book: &Book, ids: &[Id]) -> Result<Vec<BlockNeeds>> {
    let teacher = Teacher::of(book)?;
    let readings = readings::some(book, ids)?.into_iter();
    readings
        .map(|reading| by_its_tests(book, &teacher, reading))
        .collect()
}

/// The needs of one block.
///
/// # Errors
/// No such block, or the book’s own.
pub fn one(book: &Book, id: Id) -> Result<BlockNeeds> {
    by_its_tests(book, &Teacher::of(book)?, readings::one(book, id)?)
}

/// The needs of one block from its reading, and from what its own tests taught.
///
/// # Errors
/// The book’s own.
pub(crate) fn by_its_tests(
    book: &Book,
    teacher: &Teacher,
    reading: BlockReading,
) -> Result<BlockNeeds> {
    let learned = teacher.for_needs(book, &reading)?;
    Ok(of_block(reading, &learned))
}

/// Whether a need of the block rests on how far its ground answers: lime, or the build-up of phosphate or
/// potash.
pub(crate) fn rests_on_an_answer(reading: &BlockReading) -> bool {
    acidity::may_need_lime(reading) || feeding::builds_up(reading)
}

/// What lime a report of the block asks for, and how far it is to lift the pH.
pub(crate) fn lime_asked(reading: &BlockReading, test: &SoilTest) -> Option<LimeAsked> {
    acidity::asked(reading, test)
}

/// The needs of one block from its reading and what was taught.
fn of_block(reading: BlockReading, learned: &Learned) -> BlockNeeds {
    let mut notes = Vec::new();
    let mut lines = Vec::new();
    match (&reading.planting, &reading.crop) {
        (None, _) => {
            notes.push("Say what grows here next; until then it is not planned for.".to_owned())
        }
        (Some(planting), None) => notes.push(format!(
            "No crop “{}” is in the tables; choose another.",
            planting.crop
        )),
        (Some(planting), Some(crop)) => {
            if let Some(test) = &reading.test {
                about_the_test(test, planting, crop, &mut notes);
            } else {
                notes.push(
                    "No soil test is matched to this block: lime, phosphate and potash get no rate."
                        .to_owned(),
                );
            }
            lines.extend(acidity::lines(
                &reading, planting, crop, learned, &mut notes,
            ));
            lines.push(feeding::nitrogen(&reading, planting, crop, &mut notes));
            lines.extend(feeding::phosphate_and_potash(
                &reading, planting, crop, learned,
            ));
            lines.extend(minor::lines(&reading, crop));
        }
    }
    BlockNeeds {
        reading,
        lines,
        notes,
    }
}

/// What each lime method says of one soil.
pub struct LimeSideBySide {
    /// The pH aimed at.
    pub target_ph: f64,
    pub methods: Vec<(Method, std::result::Result<Figure, LimeError>)>,
}

/// What every lime method that fits the block’s report would say, and the pH aimed at; none where no lime
/// is due.
pub fn lime_side_by_side(reading: &BlockReading) -> Option<LimeSideBySide> {
    acidity::side_by_side(reading)
}

/// The lab’s printed rate, where it is for this crop as far as the report says.
fn printed<'a>(
    reading: &'a BlockReading,
    crop: &Crop,
    what: Recommendable,
) -> Option<&'a Recommended> {
    let test = &reading.test.as_ref()?.test;
    let told = test.crop.as_deref().and_then(crop::find_by_name);
    test.recommendation(what)
        .filter(|_| test.crop.is_none() || told.is_some_and(|c| c.key == crop.key))
}

/// A rate as it stands on the report.
fn as_printed(what: &str, printed: &Recommended) -> Figure {
    let mut figure = Figure::new(format!("{what}, as the lab printed it"));
    figure.step(
        "the rate the lab printed",
        printed.lb_per_acre,
        "lb/acre",
        format!("{} {}", printed.printed, printed.printed_unit),
        Source::stated("the lab’s report"),
    );
    figure
}

/// What there is to know of a test before its numbers are used.
fn about_the_test(test: &StoredTest, planting: &Planting, crop: &Crop, notes: &mut Vec<String>) {
    if !test.test.recommended.is_empty() {
        match &test.test.crop {
            None => notes.push(format!(
                "The report does not say which crop its printed rates are for; they are used for {}: check that the lab was told so.",
                crop.name.to_lowercase()
            )),
            Some(told) if crop::find_by_name(told).is_none_or(|c| c.key != crop.key) => {
                notes.push(format!(
                    "The lab’s printed rates are for “{told}”, not for {}, and are not used.",
                    crop.name.to_lowercase()
                ));
            }
            Some(_) => {}
        }
    }
    // NRCS practice standard 590, as several states print it: no older than five years.
    if let Some(day) = test.sampled_on
        && planting.season - i64::from(day.year()) > 5
    {
        notes.push(format!(
            "This soil was sampled in {}: nutrient management rules take a test for five years at most. Sample again.",
            day.year()
        ));
    }
}
