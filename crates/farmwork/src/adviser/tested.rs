//! The last soil tests of a block side by side, with what the newest means.

use crate::history::{self, Tested, method};
use crate::needs::BlockNeeds;
use crate::{sure, words};
use agronomy::soil::{Analyte, Bound, Measured};
use jiff::civil::Date;
use serde::Serialize;

/// So many tests stand beside each other at most: the newest.
const MOST_TESTS: usize = 4;

/// The tests of a block, the newest last.
#[derive(Debug, Clone, Default, Serialize)]
pub struct TestTable {
    pub columns: Vec<TestColumn>,
    pub rows: Vec<TestRow>,
    /// How many older tests there are.
    pub older: usize,
    /// What moved by more than noise, a sentence each.
    pub moved: Vec<String>,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestColumn {
    pub day: Date,
    /// Whether the soil was taken on that day; else it is the day on which the report came.
    pub sampled: bool,
    /// Empty where the report names none.
    pub lab: String,
    pub sample: String,
    /// How many boxes it is the mean of.
    pub boxes: u32,
}

/// One measured thing through the tests.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestRow {
    pub name: String,
    pub unit: String,
    /// The extractant or buffer of the newest value; empty where none is needed or named.
    pub method: String,
    /// A value for each test; empty where it was not measured. One by another method names it.
    pub values: Vec<String>,
    /// What the newest means, in the words of the table that gave the class.
    pub means: String,
    /// How likely that class is.
    pub chance: String,
}

pub(super) fn table(n: &BlockNeeds, tested: &[Tested]) -> TestTable {
    let older = tested.len().saturating_sub(MOST_TESTS);
    let shown = &tested[older..];
    TestTable {
        columns: shown.iter().map(column).collect(),
        rows: Analyte::ALL
            .into_iter()
            .filter_map(|a| row(n, shown, a))
            .collect(),
        older,
        moved: history::courses(&n.reading, tested)
            .iter()
            .flat_map(|c| c.runs.iter().map(move |r| (c.analyte, r)))
            .filter_map(|(analyte, r)| Some((analyte, r.said().find(|m| m.larger)?)))
            .map(|(analyte, m)| format!("{}: {}", analyte.name(), m.says))
            .collect(),
    }
}

fn column(t: &Tested) -> TestColumn {
    TestColumn {
        day: t.day,
        sampled: t.day_known,
        lab: t.lab.clone().unwrap_or_default(),
        sample: t.test.sample.clone(),
        boxes: t.boxes,
    }
}

fn row(n: &BlockNeeds, shown: &[Tested], analyte: Analyte) -> Option<TestRow> {
    let of = |t: &Tested| -> Option<Measured> {
        let all = &t.test.test.measured;
        all.iter().find(|m| m.analyte == analyte).cloned()
    };
    let all: Vec<Option<Measured>> = shown.iter().map(of).collect();
    let newest = all.iter().rev().flatten().next()?;
    let usual = method(newest);
    let line = n.reading.line(analyte);
    let reading = line.and_then(|l| l.reading.as_ref());
    let chance = reading
        .and_then(|r| sure::chance(&n.reading, r))
        .map_or_else(String::new, |share| {
            format!("{} %", quantity::plain((share * 100.0).round(), 3))
        });
    Some(TestRow {
        name: analyte.name().to_owned(),
        unit: analyte.unit().to_owned(),
        values: all
            .iter()
            .map(|m| m.as_ref().map_or_else(String::new, |m| value(m, &usual)))
            .collect(),
        method: usual,
        means: match (reading, line) {
            (Some(r), _) => {
                let of = n.reading.tables.by_id(&r.system);
                let name = of.map_or(r.system.as_str(), |s| s.name.as_str());
                format!("{} ({name})", r.category)
            }
            (None, Some(_)) if analyte == Analyte::Ph => aim(n),
            _ => String::new(),
        },
        chance,
    })
}

fn value(m: &Measured, usual: &str) -> String {
    let sign = match m.bound {
        Bound::Exact => "",
        Bound::Below => "< ",
        Bound::Above => "> ",
    };
    let shown = words::measured(m.analyte, m.value);
    let other = method(m);
    if other == usual || other.is_empty() {
        format!("{sign}{shown}")
    } else {
        format!("{sign}{shown} ({other})")
    }
}

/// The range of pH that the next crop likes.
fn aim(n: &BlockNeeds) -> String {
    let Some(crop) = &n.reading.crop else {
        return String::new();
    };
    crop.target_ph.as_ref().map_or_else(String::new, |r| {
        let shown = |v| words::measured(Analyte::Ph, v);
        format!(
            "{} likes {} to {}",
            crop.name.to_lowercase(),
            shown(r.low),
            shown(r.high)
        )
    })
}
