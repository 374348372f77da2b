//! A nutrient management plan laid out as the federal practice standard 590 asks: a draft for a licensed
//! or certified planner to complete. What is not known stays blank; nothing is made up.

mod asks;
mod budget;

pub use asks::{Ask, Section, sections};
pub use budget::{Budget, Source, Total};

use crate::adviser::{self, AdviserSheet};
use crate::map_sheet::{self, MapSheet};
use crate::needs::{self, BlockNeeds};
use crate::order::day;
use crate::{Result, at_hand, block_sheet, history, setback, words};
use agronomy::material::ground_conditions;
use agronomy::working::Caution;
use farmbook::{BlockOutline, Book, Harvest, Id, MapMark, MarkKind, Planting};
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;
use std::collections::BTreeMap;

/// So many earlier seasons of a rotation are shown at most.
const EARLIER_SEASONS: usize = 4;

/// What of the draft holds for the whole farm.
#[derive(Debug, Clone, Serialize)]
pub struct Front {
    pub farm: String,
    pub season: i64,
    /// Whether the farm is planned by organic rules.
    pub organic: bool,
    pub today: Date,
    /// The day of the plan; empty where there is none.
    pub plan_of: String,
    /// How many fields there are.
    pub count: usize,
    pub acres: f64,
    pub sections: &'static [Section],
    /// Whether any field has an outline, and so a place on the map.
    pub mapped: bool,
    /// What holds for every spreading under the sky.
    pub conditions: Vec<Caution>,
    /// Cautions of the materials and needs of every field, each once.
    pub cautions: Vec<Caution>,
    pub records: Kept,
}

/// The draft of a farm.
#[derive(Debug, Clone, Serialize)]
pub struct NutrientPlan {
    #[serde(flatten)]
    pub front: Front,
    /// None where no field has an outline.
    #[serde(skip)]
    pub map: Option<MapSheet>,
    pub fields: Vec<Field>,
}

/// One field.
#[derive(Debug, Clone, Serialize)]
pub struct Field {
    pub sheet: AdviserSheet,
    /// Wells and water on the map, the nearest first; none where the field has no outline.
    pub near: Vec<Near>,
    /// Whether its outline is on the map.
    pub outlined: bool,
    /// Seasons and crops, the newest last.
    pub rotation: Vec<(i64, String)>,
    /// What was carried off in the seasons on record, lb/acre.
    pub harvested: Vec<(i64, f64)>,
    pub budget: Budget,
    /// What the soil test for phosphorus says, for whoever assesses the risk.
    pub phosphorus: String,
    /// Years from the newest test to the season; none without a test.
    pub test_age: Option<i64>,
}

/// Something sensitive and how far the nearest ground of the field is from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Near {
    pub name: String,
    /// ft; zero where it reaches into the field
    pub feet: f64,
}

/// What of the record there is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Kept {
    pub spreads: usize,
    pub harvests: usize,
    pub deliveries: usize,
    pub first: Option<Date>,
}

impl Front {
    /// A section by its key; the test of the table rules out that one is missing.
    pub fn section(&self, key: &str) -> Option<&'static Section> {
        self.sections.iter().find(|s| s.key == key)
    }
}

/// The sentence that stands on every page.
pub const DRAFT: &str = "Draft for a licensed or certified planner to complete. It is no nutrient management plan until they sign it.";

/// The draft for a farm as of a day.
///
/// # Errors
/// The book’s own.
pub fn of_farm(book: &Book, today: Date) -> Result<NutrientPlan> {
    Ok(NutrientPlan {
        front: front(book, today)?,
        // Without an outline there is no map, and the plan leaves room for one.
        map: map_sheet::of_farm(book).ok(),
        fields: of_needs(book, &needs::all(book)?, today)?,
    })
}

/// What of the draft holds for the whole farm.
///
/// # Errors
/// The book’s own.
pub fn front(book: &Book, today: Date) -> Result<Front> {
    let farm = book.farm()?;
    let all = at_hand::needs(book)?;
    let made = at_hand::plan(book)?;
    let choices = at_hand::choices(book)?;
    Ok(Front {
        season: farm.season,
        organic: farm.organic,
        today,
        plan_of: made
            .as_ref()
            .map_or_else(String::new, |m| day(&m.stored.made_at)),
        count: all.len(),
        acres: all.iter().map(|n| n.acres()).sum(),
        sections: sections(),
        mapped: !book.outlines()?.is_empty(),
        conditions: ground_conditions().iter().map(|c| c.1.clone()).collect(),
        cautions: block_sheet::cautions_of_farm(made.as_deref(), &choices, &all),
        records: kept(book)?,
        farm: farm.name,
    })
}

/// Some fields, in the order in which they are asked for.
///
/// # Errors
/// No such block, or the book’s own.
pub fn fields(book: &Book, ids: &[Id], today: Date) -> Result<Vec<Field>> {
    of_needs(book, &needs::some(book, ids)?, today)
}

fn of_needs(book: &Book, all: &[BlockNeeds], today: Date) -> Result<Vec<Field>> {
    let season = book.farm()?.season;
    let marks = book.marks()?;
    let sheets = adviser::of_these(book, all, today)?;
    all.iter()
        .zip(sheets)
        .map(|(n, sheet)| {
            let id = n.reading.block.id;
            let goal = n
                .reading
                .planting
                .as_ref()
                .and_then(|p| p.yield_lb_per_acre);
            let removed = n.reading.crop.and_then(|c| c.carried_off(goal));
            let outline = book.outline(id)?;
            Ok(Field {
                near: outline.as_ref().map_or_else(Vec::new, |o| near(o, &marks)),
                outlined: outline.is_some(),
                rotation: rotation(&book.plantings_of(id)?, season),
                harvested: harvested(&book.harvests_of(id)?, sheet.acres),
                budget: budget::of(&sheet, removed),
                phosphorus: phosphorus(&sheet),
                test_age: sheet
                    .tests
                    .columns
                    .last()
                    .map(|c| season - i64::from(c.day.year())),
                sheet,
            })
        })
        .collect()
}

fn near(outline: &BlockOutline, marks: &[MapMark]) -> Vec<Near> {
    setback::away(outline, marks, &[MarkKind::Well, MarkKind::Water])
        .into_iter()
        .map(|a| Near {
            name: a.mark.called().to_owned(),
            feet: a.distance.to_feet(),
        })
        .collect()
}

fn rotation(plantings: &[Planting], season: i64) -> Vec<(i64, String)> {
    let mut all: BTreeMap<i64, String> = BTreeMap::new();
    for p in plantings {
        all.insert(p.season, history::crop_name(&p.crop));
        // What grew before, where only that was told.
        if let Some(before) = &p.credits.previous {
            all.entry(p.season - 1)
                .or_insert_with(|| before_name(before));
        }
    }
    let earlier = all.keys().filter(|s| **s < season).count();
    all.into_iter()
        .skip(earlier.saturating_sub(EARLIER_SEASONS))
        .collect()
}

/// What grew before, as the table of previous crops names it.
fn before_name(key: &str) -> String {
    let all = agronomy::nitrogen::previous_crops();
    let found = all.iter().find(|p| p.key == key);
    found.map_or_else(|| key.to_owned(), |p| p.name.clone())
}

/// lb per acre of each season, by what was weighed.
fn harvested(all: &[Harvest], acres: f64) -> Vec<(i64, f64)> {
    let mut sums: BTreeMap<i64, f64> = BTreeMap::new();
    for h in all {
        *sums.entry(h.season).or_default() += h.weight.to_pounds() / acres;
    }
    sums.into_iter().collect()
}

fn phosphorus(sheet: &AdviserSheet) -> String {
    let row = sheet
        .tests
        .rows
        .iter()
        .find(|r| r.name == agronomy::soil::Analyte::P.name());
    let value = row.and_then(|r| Some((r, r.values.iter().rev().find(|v| !v.is_empty())?)));
    value.map_or_else(
        || "not tested".to_owned(),
        |(r, v)| {
            let class = if r.means.is_empty() {
                String::new()
            } else {
                format!(": {}", r.means)
            };
            format!("{v} {} {}{class}", r.unit, r.method)
        },
    )
}

fn kept(book: &Book) -> Result<Kept> {
    let (spreads, harvests) = (book.spreads_standing()?, book.harvests_standing()?);
    let arrivals = book.arrivals()?;
    let came = arrivals.iter().map(|a| a.day).min();
    Ok(Kept {
        first: [spreads.first, harvests.first, came]
            .into_iter()
            .flatten()
            .min(),
        spreads: spreads.count as usize,
        harvests: harvests.count as usize,
        deliveries: arrivals.len(),
    })
}

/// A yield on record, in words.
pub fn in_words(harvested: &[(i64, f64)]) -> String {
    let all: Vec<String> = harvested
        .iter()
        .map(|(season, lb)| format!("{} lb/acre in {season}", plain(lb.round(), 4)))
        .collect();
    if all.is_empty() {
        "none weighed yet".to_owned()
    } else {
        words::and(&all)
    }
}
