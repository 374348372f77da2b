//! Three years on: where phosphorus, potassium and pH of each block are heading under the plan.

use crate::at_hand;
use crate::needs::{self, BlockNeeds, Line};
use crate::planning::Made;
use crate::weights::weight;
use crate::{Result, sure};
use agronomy::material;
use agronomy::phosphorus_potassium as pk;
use agronomy::soil::{Analyte, Measured};
use agronomy::working::Figure;
use farmbook::Book;
use planner::Nutrient;
use quantity::plain;
use serde::Serialize;

/// How far the look goes.
pub const YEARS: usize = 3;

/// A value with the ends between which it likely lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reach {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// One value of a block through the years.
#[derive(Debug, Clone, Serialize)]
pub struct Course {
    pub analyte: Analyte,
    pub unit: String,
    /// Now, and after each season; empty where nothing can be said.
    pub at: Vec<Reach>,
    /// lb per acre spread in each season: P2O5, K2O or pure lime.
    pub spread: Vec<f64>,
    /// lb per acre that each harvest carries off.
    pub carried_off: f64,
    /// In words: where it is heading, or why nothing is said.
    pub says: String,
    pub working: Vec<Figure>,
}

/// A block through the years.
#[derive(Debug, Clone, Serialize)]
pub struct BlockYears {
    pub id: i64,
    pub block: String,
    pub crop: String,
    pub courses: Vec<Course>,
}

/// Where each planned block is heading if the same crop came each year and each year’s rate were spread:
/// in the first season what the plan spreads, then what the same table asks at the value expected.
///
/// P and K move by surplus or deficit over the published lb per ppm; pH by the share of the asked lime
/// that is spread, later doses included, less the acid of the nitrogen. The ends carry the doubt of the
/// test and the range of lb per ppm.
///
/// # Errors
/// The book’s own.
pub fn look_ahead(book: &Book, made: &Made) -> Result<Vec<BlockYears>> {
    let choices = at_hand::choices(book)?;
    let amounts = made.by_block();
    let total = |block: &str, acres: f64, key: &str| -> f64 {
        amounts
            .get(block)
            .into_iter()
            .flatten()
            .filter_map(|a| {
                let of = choices.iter().find(|c| c.material.id == a.material)?;
                Some(a.lb * material::total(&of.material, key) / acres)
            })
            .sum()
    };
    let all = at_hand::needs(book)?;
    let needs_of = needs::by_plan_id(&all);
    let mut out = Vec::new();
    for asked in &made.problem.blocks {
        let Some(n) = needs_of.get(&asked.id).copied() else {
            continue;
        };
        let (p, k) = (
            total(&asked.id, asked.acres, "p2o5"),
            total(&asked.id, asked.acres, "k2o"),
        );
        out.push(BlockYears {
            id: n.reading.block.id,
            block: n.reading.block.name.clone(),
            crop: n
                .reading
                .crop
                .as_ref()
                .map_or_else(String::new, |c| c.name.clone()),
            courses: vec![
                fed(n, pk::Nutrient::P2o5, p),
                fed(n, pk::Nutrient::K2o, k),
                acidity(n, made, &asked.id, asked.acres),
            ],
        });
    }
    Ok(out)
}

fn unknown(analyte: Analyte, says: impl Into<String>) -> Course {
    Course {
        analyte,
        unit: analyte.unit().to_owned(),
        at: Vec::new(),
        spread: Vec::new(),
        carried_off: 0.0,
        says: says.into(),
        working: Vec::new(),
    }
}

/// P or K through the years.
fn fed(n: &BlockNeeds, nutrient: pk::Nutrient, first: f64) -> Course {
    let analyte = nutrient.analyte();
    let Some(line) = n.reading.line(analyte) else {
        return unknown(analyte, "not tested");
    };
    let measured = &line.measured;
    let Some(extractant) = measured.extractant else {
        return unknown(analyte, "the report does not name the extractant");
    };
    let at = usize::from(nutrient == pk::Nutrient::K2o) + 1;
    let planting = n.reading.planting.as_ref();
    let carried = n
        .reading
        .crop
        .as_ref()
        .and_then(|c| c.carried_off(planting.and_then(|p| p.yield_lb_per_acre)));
    let Some((carried, carried_source)) = carried else {
        return unknown(
            analyte,
            "what the harvest carries off is not known: give the expected yield with the block",
        );
    };
    let removal = carried[at];
    let (low, high) = sure::ends(&n.reading, measured).unwrap_or((measured.value, measured.value));
    let mut now = Reach {
        value: measured.value,
        low,
        high,
    };
    let mut course = Course {
        at: vec![now],
        carried_off: removal,
        ..unknown(analyte, "")
    };
    for year in 0..YEARS {
        let spread = match year {
            0 => first,
            _ => asked_at(n, nutrient, measured, now.value, (removal, &carried_source))
                .unwrap_or(0.0),
        };
        let change = match pk::test_change(nutrient, extractant, spread - removal) {
            Ok(figure) => figure,
            Err(why) => return unknown(analyte, why.to_string()),
        };
        let ends = (
            change.low.unwrap_or(change.value),
            change.high.unwrap_or(change.value),
        );
        now = Reach {
            value: (now.value + change.value).max(0.0),
            low: (now.low + ends.0.min(ends.1)).max(0.0),
            high: (now.high + ends.0.max(ends.1)).max(0.0),
        };
        course.at.push(now);
        course.spread.push(spread);
        course.working.push(change);
    }
    course.says = heading(&course, removal);
    course
}

fn heading(course: &Course, removal: f64) -> String {
    let (first, last) = match (course.at.first(), course.at.last()) {
        (Some(first), Some(last)) => (first.value, last.value),
        _ => return String::new(),
    };
    let way = match last - first {
        d if d.abs() < 0.03 * first.max(1.0) => "stays about where it is",
        d if d > 0.0 => "rises",
        _ => "comes down",
    };
    let spread: f64 = course.spread.iter().sum();
    format!(
        "{way}: {} lb/acre go on in {YEARS} seasons and {} are carried off",
        plain(spread, 3),
        plain(removal * YEARS as f64, 3)
    )
}

/// What the block’s own table would ask at another value of the test.
fn asked_at(
    n: &BlockNeeds,
    nutrient: pk::Nutrient,
    measured: &Measured,
    value: f64,
    (removal, source): (f64, &agronomy::working::Source),
) -> Option<f64> {
    let read = n.reading.line(nutrient.analyte())?.reading.as_ref()?;
    let there = sure::read_at(&n.reading, read, measured, value)?;
    let crop = n.reading.crop.as_ref()?;
    let need = pk::need(
        nutrient,
        Some(&there),
        &crop.key,
        None,
        Some((removal, source.clone())),
    );
    Some(need.ok()?.figure.value)
}

/// pH through the years.
fn acidity(n: &BlockNeeds, made: &Made, id: &str, acres: f64) -> Course {
    let Some(ph) = n.reading.line(Analyte::Ph).map(|l| l.measured.value) else {
        return unknown(Analyte::Ph, "not tested");
    };
    let lime = n.line(Nutrient::Lime);
    let Some((line, asked)) = lime.and_then(|l| Some((l, l.asked.filter(|a| *a > 0.0)?))) else {
        return unknown(
            Analyte::Ph,
            "no lime is asked, so nothing tells how fast this ground moves",
        );
    };
    let crop = n.reading.crop;
    let target = n
        .reading
        .planting
        .as_ref()
        .and_then(|p| p.target_ph)
        .or(crop.and_then(|c| c.target_ph.as_ref()).map(|t| t.aim()))
        .unwrap_or(ph);
    if target <= ph {
        return unknown(
            Analyte::Ph,
            "no lime is asked, so nothing tells how fast this ground moves",
        );
    }
    let rise = (target - ph) / asked;
    let balance = made
        .plan
        .balances
        .iter()
        .find(|b| b.block == id && b.nutrient == Nutrient::Lime);
    let (first, acid) = balance.map_or((0.0, 0.0), |b| {
        let acid: f64 = b.by_material.iter().map(|(_, lb)| lb.min(0.0)).sum();
        (b.supplied_lb / acres, acid / acres)
    });
    let mut course = Course {
        at: vec![around(ph, 0.0)],
        ..unknown(Analyte::Ph, "")
    };
    let mut value = ph;
    for year in 0..YEARS {
        let spread = match year {
            0 => first,
            _ => acid + later(line, year),
        };
        value += spread * rise;
        course.spread.push(spread);
        course.at.push(around(value, (value - ph).abs()));
    }
    course.says = format!(
        "from {} towards {}; lime takes 6 to 12 months to act, and the acid of the nitrogen is taken off",
        plain(ph, 2),
        plain(target, 2)
    );
    course
}

/// Doses set for a later year, lb of pure lime per acre.
fn later(line: &Line, year: usize) -> f64 {
    line.later
        .iter()
        .filter(|d| (d.after_months.unwrap_or(6.0) / 12.0).ceil() as usize == year)
        .map(|d| d.lb_per_acre)
        .sum()
}

/// A change in pH may well come out otherwise by a part of it, and a reading by a little.
fn around(value: f64, moved: f64) -> Reach {
    let doubt = weight("ph_reading") + moved * weight("ph_change_share");
    Reach {
        value,
        low: value - doubt,
        high: value + doubt,
    }
}
