//! A block’s newest soil test, each value read with a published table for its extractant.

use crate::{Result, boxes, own_tables};
use agronomy::crop::{self, Crop};
use agronomy::phosphorus_potassium as pk;
use agronomy::reading::{self, Reading, System, Systems};
use agronomy::sampling::{self, Alike, OwnScatter};
use agronomy::soil::{Analyte, Bound, Extractant, Measured};
use agronomy::texture::Texture;
use farmbook::{Block, Book, Farm, Id, Planting, StoredTest};
use serde::Serialize;
use std::collections::HashMap;
use std::sync::Arc;

/// One measured value and what it means.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    pub measured: Measured,
    /// What the table says; none where no table may be used.
    pub reading: Option<Reading>,
    /// Whether the table is that of the farm’s own region.
    pub own_region: bool,
    /// Why that table was taken, or why there is none.
    pub why: String,
    /// What other tables for the same extractant say.
    pub others: Vec<Reading>,
}

/// A block with its newest test.
#[derive(Debug, Clone, Serialize)]
pub struct BlockReading {
    pub block: Block,
    pub planting: Option<Planting>,
    pub crop: Option<&'static Crop>,
    /// Of several boxes in the newest report, their mean.
    pub test: Option<StoredTest>,
    /// How many boxes it is the mean of.
    pub boxes: u32,
    pub lines: Vec<Line>,
    /// The tables it was read with, the grower’s own among them.
    #[serde(skip)]
    pub tables: Arc<Systems>,
    /// The farm’s own scatter between cores, where its samples tell one.
    #[serde(skip)]
    pub scatter: Arc<Scatter>,
}

/// The farm’s own scatter by analyte.
pub type Scatter = HashMap<Analyte, OwnScatter>;

impl BlockReading {
    pub fn line(&self, analyte: Analyte) -> Option<&Line> {
        self.lines.iter().find(|l| l.measured.analyte == analyte)
    }

    pub fn reading(&self, analyte: Analyte) -> Option<&Reading> {
        self.line(analyte).and_then(|l| l.reading.as_ref())
    }
}

/// Every block in use with its reading, in the order of the book.
///
/// # Errors
/// The book’s own.
pub fn all(book: &Book) -> Result<Vec<BlockReading>> {
    let shared = Shared::of(book)?;
    let plantings = book.plantings(shared.farm.season)?.into_iter();
    let mut planting_of: HashMap<Id, Planting> = plantings.map(|p| (p.block, p)).collect();
    let tests = book.latest_tests()?.into_iter();
    let mut test_of: HashMap<Id, StoredTest> = tests.filter_map(|t| Some((t.block?, t))).collect();
    let read = |block: Block| {
        let planting = planting_of.remove(&block.id);
        let newest = test_of.remove(&block.id);
        shared.read(block, planting, newest)
    };
    Ok(book.blocks()?.into_iter().map(read).collect())
}

/// The readings of some blocks, in use or put away, in the order in which they are asked for.
///
/// # Errors
/// No such block, or the book’s own.
pub fn some(book: &Book, ids: &[Id]) -> Result<Vec<BlockReading>> {
    let shared = Shared::of(book)?;
    ids.iter().map(|id| shared.one(book, *id)).collect()
}

/// The reading of one block, in use or put away.
///
/// # Errors
/// No such block, or the book’s own.
pub fn one(book: &Book, id: Id) -> Result<BlockReading> {
    Shared::of(book)?.one(book, id)
}

/// What the readings of all blocks share.
struct Shared {
    farm: Farm,
    /// Tests of several boxes of one block in one report.
    repeated: Vec<StoredTest>,
    systems: Arc<Systems>,
    scatter: Arc<Scatter>,
}

impl Shared {
    fn of(book: &Book) -> Result<Self> {
        let repeated = book.repeated_tests()?;
        Ok(Self {
            farm: book.farm()?,
            systems: own_tables::systems(book)?,
            scatter: Arc::new(own_scatter(book, &repeated)?),
            repeated,
        })
    }

    fn one(&self, book: &Book, id: Id) -> Result<BlockReading> {
        let planting = book.planting(id, self.farm.season)?;
        Ok(self.read(book.block(id)?, planting, book.latest_test(id)?))
    }

    fn read(
        &self,
        block: Block,
        planting: Option<Planting>,
        newest: Option<StoredTest>,
    ) -> BlockReading {
        let test = newest.map(|t| with_its_boxes(&t, &self.repeated));
        let tables = (&self.systems, &self.scatter);
        of_block(block, planting, test, &self.farm.region, tables)
    }
}

/// A test with the other boxes of its block and report, and how many they are together.
fn with_its_boxes(newest: &StoredTest, repeated: &[StoredTest]) -> (StoredTest, u32) {
    let same: Vec<&StoredTest> = repeated
        .iter()
        .filter(|t| t.report == newest.report && t.block == newest.block)
        .collect();
    match boxes::together(&same) {
        Some(one) => (one, same.len() as u32),
        None => (newest.clone(), 1),
    }
}

/// One block’s reading.
pub fn of_block(
    block: Block,
    planting: Option<Planting>,
    test: Option<(StoredTest, u32)>,
    region: &str,
    (systems, scatter): (&Arc<Systems>, &Arc<Scatter>),
) -> BlockReading {
    let crop = planting.as_ref().and_then(|p| crop::find(&p.crop));
    let key = crop.map(|c| c.key.as_str());
    let (test, boxes) = test.map_or((None, 0), |(test, boxes)| (Some(test), boxes));
    let lines = test.as_ref().map_or_else(Vec::new, |t| {
        t.test
            .measured
            .iter()
            .map(|m| line(m, key, block.texture, region, systems))
            .collect()
    });
    BlockReading {
        block,
        planting,
        crop,
        test,
        boxes,
        lines,
        tables: Arc::clone(systems),
        scatter: Arc::clone(scatter),
    }
}

/// What several samples of the same ground, sent at one time, say of the scatter between cores.
///
/// # Errors
/// The book’s own.
fn own_scatter(book: &Book, tests: &[StoredTest]) -> Result<Scatter> {
    if tests.is_empty() {
        return Ok(Scatter::new());
    }
    let usual = sampling::usual_cores().unwrap_or(1);
    let cores: HashMap<_, _> = book
        .blocks()?
        .into_iter()
        .map(|b| (b.id, b.cores))
        .collect();
    Ok(Analyte::ALL
        .into_iter()
        .filter_map(|analyte| {
            let groups: Vec<Alike> = tests
                .chunk_by(|a, b| a.report == b.report && a.block == b.block)
                .map(|same| {
                    let block = same.first().and_then(|t| t.block);
                    Alike {
                        cores: block
                            .and_then(|b| cores.get(&b).copied().flatten())
                            .unwrap_or(usual),
                        values: comparable(same, analyte),
                    }
                })
                .collect();
            Some((analyte, sampling::own_scatter(analyte, &groups)?))
        })
        .collect())
}

/// The values of samples by one extractant, without those below detection.
fn comparable(tests: &[StoredTest], analyte: Analyte) -> Vec<f64> {
    let all: Vec<&Measured> = tests
        .iter()
        .flat_map(|t| &t.test.measured)
        .filter(|m| m.analyte == analyte && m.bound == Bound::Exact)
        .collect();
    let first = all.first().map(|m| (m.extractant, m.buffer));
    all.into_iter()
        .filter(|m| Some((m.extractant, m.buffer)) == first)
        .map(|m| m.value)
        .collect()
}

/// The tables that may be used for a value, best first: those read in their source, and among them the
/// farm’s region; then those whose classes are only recalled.
fn tables_for<'a>(
    measured: &Measured,
    crop: Option<&str>,
    texture: Option<Texture>,
    region: &str,
    systems: &'a Systems,
) -> Vec<&'a System> {
    let Some(extractant) = measured.extractant else {
        return Vec::new();
    };
    let mut systems: Vec<&System> = systems
        .for_extractant(extractant)
        .into_iter()
        .filter(|s| {
            s.bands
                .iter()
                .any(|b| b.nutrient == measured.analyte && b.extractant == extractant)
        })
        .collect();
    // Evidence goes before rates: a class whose limits were only recalled decides nothing while another
    // table was read in its source. Without a region the same table serves every block.
    systems.sort_by_key(|s| {
        let recalled = s
            .bands
            .iter()
            .any(|b| b.nutrient == measured.analyte && b.source.evidence.unconfirmed());
        let rates = crop.is_some_and(|c| in_region(s, region) && has_rates(s, c));
        let home = in_region(s, region);
        let yields = gives_way(s, measured.analyte, extractant, crop, texture);
        (yields && !(home && keyed(s)), !home, recalled, !rates)
    });
    systems
}

/// Whether nothing that the value would be read with was read in a source.
fn gives_way(
    system: &System,
    analyte: Analyte,
    extractant: Extractant,
    crop: Option<&str>,
    texture: Option<Texture>,
) -> bool {
    system.only_recalled(
        analyte,
        extractant,
        system.group_for(analyte, crop, texture),
    )
}

/// Whether rates that were read are printed for the classes of a table: its own region keeps it then,
/// even though the limits of the classes are recalled.
fn keyed(system: &System) -> bool {
    pk::tables().iter().any(|t| t.systems.contains(&system.id))
}

fn in_region(system: &System, region: &str) -> bool {
    !region.is_empty()
        && system
            .region
            .to_lowercase()
            .contains(&region.to_lowercase())
}

fn has_rates(system: &System, crop: &str) -> bool {
    pk::tables()
        .iter()
        .any(|t| t.systems.contains(&system.id) && t.rates.iter().any(|r| r.crop == crop))
}

fn line(
    measured: &Measured,
    crop: Option<&str>,
    texture: Option<Texture>,
    region: &str,
    systems: &Systems,
) -> Line {
    let none = |why: String| Line {
        measured: measured.clone(),
        reading: None,
        own_region: false,
        why,
        others: Vec::new(),
    };
    if !measured.analyte.needs_extractant() {
        return none(match measured.analyte {
            Analyte::Ph => "Set beside the range of the next crop.".to_owned(),
            Analyte::BufferPh => match measured.buffer {
                Some(buffer) => format!(
                    "The {} buffer; it sets how much lime, not whether.",
                    buffer.name()
                ),
                None => "The report does not name the buffer, so no lime rate is drawn from it."
                    .to_owned(),
            },
            _ => "Shown as the lab printed it; no class is given.".to_owned(),
        });
    }
    let Some(extractant) = measured.extractant else {
        return none(format!(
            "The report does not name the extractant for {}, and without it the number means nothing: ask the lab.",
            measured.analyte.name().to_lowercase()
        ));
    };
    let tables = tables_for(measured, crop, texture, region, systems);
    let mut readings = Vec::new();
    let mut refused = None;
    for system in tables {
        match reading::look_up(
            system,
            measured,
            system.group_for(measured.analyte, crop, texture),
        ) {
            Ok(reading) => readings.push((system, reading)),
            Err(why) => {
                refused.get_or_insert_with(|| why.to_string());
            }
        }
    }
    let mut readings = readings.into_iter();
    let Some((system, first)) = readings.next() else {
        return none(refused.unwrap_or_else(|| {
            format!(
                "No table for {} by {} is held here, so it gets no class.",
                measured.analyte.name().to_lowercase(),
                extractant.name()
            )
        }));
    };
    let recalled = |s: &System| gives_way(s, measured.analyte, extractant, crop, texture);
    let recalled_at_home = || {
        !recalled(system)
            && systems.for_extractant(extractant).into_iter().any(|s| {
                in_region(s, region)
                    && s.bands
                        .iter()
                        .any(|b| b.nutrient == measured.analyte && b.extractant == extractant)
                    && recalled(s)
            })
    };
    let why = if in_region(system, region) {
        format!(
            "{}: your region’s table for {}.",
            system.name,
            extractant.name()
        )
    } else if region.is_empty() {
        format!(
            "{}: the first table held for {}; name your region to choose.",
            system.name,
            extractant.name()
        )
    } else if recalled_at_home() {
        format!(
            "{}: the {} table of {region} held here is only recalled, so that of {}, which was read in its source, is used.",
            system.name,
            extractant.name(),
            system.region
        )
    } else {
        format!(
            "{}: no {} table of {region} is held, so that of {} is used.",
            system.name,
            extractant.name(),
            system.region
        )
    };
    Line {
        measured: measured.clone(),
        reading: Some(first),
        own_region: in_region(system, region),
        why,
        others: readings.map(|(_, r)| r).collect(),
    }
}

/// The regions that tables are held for, for the grower to choose from.
pub fn regions() -> Vec<&'static str> {
    let mut all: Vec<&str> = reading::systems()
        .iter()
        .map(|s| s.region.as_str())
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}
