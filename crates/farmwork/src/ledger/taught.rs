//! What the soil taught: what the published figures led to expect beside what the tests found.

use super::{Item, Moved};
use crate::history::Tested;
use crate::readings::{self, BlockReading};
use crate::weights::weight;
use crate::{Result, needs, sure};
use agronomy::doubt::{self, Answered, Confidence, Prior};
use agronomy::phosphorus_potassium as pk;
use agronomy::sampling::Shape;
use agronomy::soil::{Analyte, Bound, Extractant};
use agronomy::working::{Evidence, Figure, Source};
use farmbook::Book;
use jiff::civil::Date;
use planner::Nutrient;
use quantity::plain;
use serde::Serialize;

/// One test beside what was expected of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    pub on: Date,
    pub measured: f64,
    /// By the published figures from the first test on.
    pub expected: f64,
}

/// What the tests of one measure teach of how far this ground answers.
#[derive(Debug, Clone, Serialize)]
pub struct Taught {
    pub analyte: Analyte,
    pub tests: Vec<Beside>,
    pub says: String,
    /// The answer as a multiple of the published one, with four-of-five ends.
    pub answer: Option<(f64, f64, f64)>,
    pub working: Vec<Figure>,
}

pub(super) fn all(
    book: &Book,
    reading: &BlockReading,
    tested: &[Tested],
    moved: &[Moved],
) -> Result<Vec<Taught>> {
    let mut out = Vec::new();
    if let Some(rise) = rise_per_lb(book, reading, tested)? {
        let prior = Prior {
            sd: weight("ph_change_share"),
            source: Source::new(
                "a judgement: a third of the change that lime is reckoned to make may come out otherwise",
                Evidence::CommonPractice,
            ),
        };
        out.extend(one(
            reading,
            tested,
            moved,
            (Analyte::Ph, Item::Lime),
            &prior,
            |_| Some(rise),
        ));
    }
    for (nutrient, item) in [
        (pk::Nutrient::P2o5, Item::P2o5),
        (pk::Nutrient::K2o, Item::K2o),
    ] {
        let figure = |e: Extractant| {
            pk::test_changes()
                .iter()
                .find(|c| c.nutrient == nutrient && c.extractant == e)
        };
        let held = reading
            .line(nutrient.analyte())
            .and_then(|l| figure(l.measured.extractant?));
        let Some(held) = held else { continue };
        // The published ends are taken for nine of ten soils; where one figure stands alone, the
        // judgement that stands for lime.
        let ends = (held.lb_per_ppm / held.low - held.lb_per_ppm / held.high) / 2.0;
        let prior = Prior {
            sd: (ends / 1.645).max(weight("ph_change_share")),
            source: held.source.clone(),
        };
        let per_lb = |e: Option<Extractant>| Some(1.0 / figure(e?)?.lb_per_ppm);
        out.extend(one(
            reading,
            tested,
            moved,
            (nutrient.analyte(), item),
            &prior,
            per_lb,
        ));
    }
    Ok(out)
}

/// pH that a lb of pure lime per acre is reckoned to add: what the report’s own method says at the newest
/// test that asks for lime.
fn rise_per_lb(book: &Book, reading: &BlockReading, tested: &[Tested]) -> Result<Option<f64>> {
    let farm = book.farm()?;
    for t in tested.iter().rev() {
        let then = readings::of_block(
            reading.block.clone(),
            reading.planting.clone(),
            Some((t.test.clone(), t.boxes)),
            &farm.region,
            (&reading.tables, &reading.scatter),
        );
        let Some(ph) = then.line(Analyte::Ph).map(|l| l.measured.value) else {
            continue;
        };
        let n = needs::of_block(then);
        let asked = n.line(Nutrient::Lime).and_then(|l| l.asked).unwrap_or(0.0);
        let target = n
            .reading
            .planting
            .as_ref()
            .and_then(|p| p.target_ph)
            .or_else(|| Some(n.reading.crop.as_ref()?.target_ph.as_ref()?.aim()));
        if let Some(target) = target.filter(|t| *t > ph && asked > 0.0) {
            return Ok(Some((target - ph) / asked));
        }
    }
    Ok(None)
}

fn one(
    reading: &BlockReading,
    tested: &[Tested],
    moved: &[Moved],
    (analyte, item): (Analyte, Item),
    prior: &Prior,
    per_lb: impl Fn(Option<Extractant>) -> Option<f64>,
) -> Option<Taught> {
    // Only tests of the newest lab and method stand beside each other.
    let newest = tested.iter().rev().find_map(|t| {
        let m = t.test.test.measured.iter().find(|m| m.analyte == analyte)?;
        Some((t.lab.clone(), m.extractant))
    })?;
    let mut rows: Vec<(Date, f64, f64)> = Vec::new();
    for t in tested.iter().filter(|t| t.lab == newest.0) {
        let found =
            t.test.test.measured.iter().find(|m| {
                m.analyte == analyte && m.extractant == newest.1 && m.bound == Bound::Exact
            });
        if let Some(m) = found {
            let of = sure::of_boxes(reading, analyte, t.boxes)?;
            let sd = match of.shape {
                Shape::Lognormal => of.sigma(m.value) * m.value,
                Shape::Normal => of.sigma(m.value),
            };
            rows.push((t.day, m.value, sd));
        }
    }
    let first = rows.first()?.0;
    let per_lb = per_lb(newest.1)?;
    let expected = |until: Date| -> f64 {
        moved
            .iter()
            .filter(|m| m.item == item && m.on > first && m.on <= until)
            .map(|m| m.lb * per_lb)
            .sum()
    };
    let start = rows.first()?.1;
    let tests: Vec<Beside> = rows
        .iter()
        .map(|(on, measured, _)| Beside {
            on: *on,
            measured: *measured,
            expected: start + expected(*on),
        })
        .collect();
    let answered: Vec<Answered> = rows
        .iter()
        .map(|(on, measured, sd)| Answered {
            expected: expected(*on),
            measured: *measured,
            sd: *sd,
        })
        .collect();
    let found = doubt::learn(prior, &answered)?;
    let (low, high) = found.interval(Confidence::USUAL);
    let percent = |v: f64| plain((v * 100.0).round(), 3);
    let says = format!(
        "By its own {} tests this ground answers {} % as far as the published figures say (likely {} to {} %); {} % of that rests on its own tests.{}",
        rows.len(),
        percent(found.mean),
        percent(low),
        percent(high),
        percent(found.own),
        if low <= 1.0 && 1.0 <= high {
            " The published figure may well be right."
        } else {
            ""
        }
    );
    Some(Taught {
        analyte,
        tests,
        says,
        answer: Some((found.mean, low, high)),
        working: vec![found.figure],
    })
}
