//! A nutrient management plan laid out as the federal practice standard 590 asks: a draft for a licensed
//! or certified planner to complete. What is not known stays blank; nothing is made up.

mod asks;
mod budget;

pub use asks::{Ask, Section, sections};
pub use budget::{Budget, Source, Total};

use crate::adviser::{self, AdviserSheet};
use crate::map_sheet::{self, MapSheet};
use crate::{Result, history, needs, setback, words};
use agronomy::material::ground_conditions;
use agronomy::working::Caution;
use farmbook::{Book, Harvest, Id, MarkKind, Planting};
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;
use std::collections::BTreeMap;

/// So many earlier seasons of a rotation are shown at most.
const EARLIER_SEASONS: usize = 4;

/// The draft of a farm.
#[derive(Debug, Clone, Serialize)]
pub struct NutrientPlan {
    pub farm: String,
    pub season: i64,
    /// Whether the farm is planned by organic rules.
    pub organic: bool,
    pub today: Date,
    /// The day of the plan; empty where there is none.
    pub plan_of: String,
    pub acres: f64,
    pub sections: &'static [Section],
    /// None where no field has an outline.
    #[serde(skip)]
    pub map: Option<MapSheet>,
    pub fields: Vec<Field>,
    /// What holds for every spreading under the sky.
    pub conditions: Vec<Caution>,
    /// Cautions of the materials and needs, each once.
    pub cautions: Vec<Caution>,
    pub records: Kept,
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

impl NutrientPlan {
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
    let farm = book.farm()?;
    let all_needs = needs::all(book)?;
    let sheets = adviser::of_these(book, &all_needs, today)?;
    let mut fields = Vec::new();
    for sheet in sheets {
        let id = sheet.block_id;
        let of = all_needs.iter().find(|n| n.reading.block.id == id);
        let plantings = book.plantings_of(id)?;
        let crop = of.and_then(|n| n.reading.crop.as_ref());
        let harvest_yield = of.and_then(|n| n.reading.planting.as_ref()?.yield_lb_per_acre);
        fields.push(Field {
            near: near(book, id)?,
            outlined: book.outline(id)?.is_some(),
            rotation: rotation(&plantings, farm.season),
            harvested: harvested(&book.harvests_of(id)?, sheet.acres),
            budget: budget::of(&sheet, crop.and_then(|c| c.carried_off(harvest_yield))),
            phosphorus: phosphorus(&sheet),
            test_age: sheet
                .tests
                .columns
                .last()
                .map(|c| farm.season - i64::from(c.day.year())),
            sheet,
        });
    }
    let mut cautions: Vec<Caution> = Vec::new();
    for c in fields.iter().flat_map(|f| &f.sheet.cautions) {
        if !cautions.iter().any(|o| o.text == c.text) {
            cautions.push(c.clone());
        }
    }
    Ok(NutrientPlan {
        season: farm.season,
        organic: farm.organic,
        today,
        plan_of: fields
            .first()
            .map_or_else(String::new, |f| f.sheet.plan_of.clone()),
        acres: fields.iter().map(|f| f.sheet.acres).sum(),
        sections: sections(),
        // Without an outline there is no map, and the plan leaves room for one.
        map: map_sheet::of_farm(book).ok(),
        conditions: ground_conditions().iter().map(|c| c.1.clone()).collect(),
        cautions,
        records: kept(book)?,
        fields,
        farm: farm.name,
    })
}

fn near(book: &Book, id: Id) -> Result<Vec<Near>> {
    Ok(
        setback::of_block(book, id, &[MarkKind::Well, MarkKind::Water])?
            .into_iter()
            .map(|a| Near {
                name: a.mark.called().to_owned(),
                feet: a.distance.to_feet(),
            })
            .collect(),
    )
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
    let spreads = book.spreads()?;
    let harvests = book.harvests()?;
    let arrivals = book.arrivals()?;
    let days = spreads
        .iter()
        .map(|s| s.day)
        .chain(harvests.iter().map(|h| h.day))
        .chain(arrivals.iter().map(|a| a.day));
    Ok(Kept {
        first: days.min(),
        spreads: spreads.len(),
        harvests: harvests.len(),
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
