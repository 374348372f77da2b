//! Soil tests written again: a row a value as CSV and in a workbook, and in the published exchange
//! standard's first version as XML and JSON.
//!
//! What is written reads back as it was, with nothing to ask.

mod csv;
mod document;
mod json;
mod xlsx;
mod xml;

pub use csv::tidy_csv;
pub use json::exchange_json;
pub use xlsx::{WriteError, is_copy, workbook_xlsx};
pub use xml::exchange_xml;

pub(crate) use document::{RATE_UNIT, rate_element, value_element, value_unit};

use crate::tidy::{self, NOT_STATED, OF_SAMPLE};
use agronomy::soil::{Analyte, Bound, Measured, Recommended, SoilTest};

/// One test with what is known of it beside its values.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Written {
    pub test: SoilTest,
    /// The name of the block it belongs to.
    pub block: Option<String>,
    /// The day the sample was taken, as `2026-03-01`.
    pub sampled_on: Option<String>,
    pub lab: Option<String>,
    pub texture: Option<String>,
    /// What was decided about its doubtful values, a sentence each.
    pub decided: Vec<String>,
}

/// What every row of a sample begins with, as text: the cells under `HEADER[OF_SAMPLE]`.
pub(crate) fn of_sample(written: &Written) -> [String; OF_SAMPLE.end - OF_SAMPLE.start] {
    let test = &written.test;
    let text = |t: &Option<String>| tidy::guarded(t.as_deref().unwrap_or_default().trim());
    [
        tidy::guarded(test.sample.trim()),
        text(&test.lab_number),
        text(&written.block),
        text(&written.lab),
        text(&written.sampled_on),
        test.depth_in.map_or_else(String::new, number),
        text(&written.texture),
        text(&test.crop),
    ]
}

/// One row of our form with a row a value; empty where the sample has no values.
pub(crate) struct Line {
    pub(crate) kind: &'static str,
    pub(crate) of: &'static str,
    pub(crate) value: Option<f64>,
    pub(crate) bound: Bound,
    pub(crate) unit: &'static str,
    pub(crate) extractant: &'static str,
    pub(crate) buffer: &'static str,
    pub(crate) printed: String,
    pub(crate) printed_unit: String,
}

impl Line {
    fn none() -> Self {
        Self {
            kind: "",
            of: "",
            value: None,
            bound: Bound::Exact,
            unit: "",
            extractant: "",
            buffer: "",
            printed: String::new(),
            printed_unit: String::new(),
        }
    }

    fn measured(m: &Measured) -> Self {
        let needs_buffer = m.analyte == Analyte::BufferPh;
        let unknown = |needed: bool| if needed { NOT_STATED } else { "" };
        Self {
            kind: tidy::MEASURED,
            of: m.analyte.name(),
            value: Some(m.value),
            bound: m.bound,
            unit: tidy::own_unit_name(m.analyte),
            extractant: m
                .extractant
                .map_or(unknown(m.analyte.needs_extractant()), |e| e.name()),
            buffer: m.buffer.map_or(unknown(needs_buffer), |b| b.name()),
            printed: m.printed.clone(),
            printed_unit: m.printed_unit.clone(),
        }
    }

    fn recommended(r: &Recommended) -> Self {
        Self {
            kind: tidy::RECOMMENDED,
            of: tidy::rate_name(r.nutrient),
            value: Some(r.lb_per_acre),
            unit: crate::unit::RateUnit::LbPerAcre.printed(),
            printed: r.printed.clone(),
            printed_unit: r.printed_unit.clone(),
            ..Self::none()
        }
    }

    /// The value with its sign: `<0.1`.
    pub(crate) fn value(&self) -> String {
        self.value.map_or_else(String::new, |v| {
            let sign = match self.bound {
                Bound::Exact => "",
                Bound::Below => "<",
                Bound::Above => ">",
            };
            format!("{sign}{}", number(v))
        })
    }
}

/// The rows of one test, at least one.
pub(crate) fn lines(test: &SoilTest) -> Vec<Line> {
    let mut all: Vec<Line> = test.measured.iter().map(Line::measured).collect();
    all.extend(test.recommended.iter().map(Line::recommended));
    if all.is_empty() {
        all.push(Line::none());
    }
    all
}

/// The shortest text that is this number and no other; `1.234` is written `1.2340`, because with
/// three digits behind it the mark could part thousands.
pub(crate) fn number(value: f64) -> String {
    unambiguous(&value.to_string())
}

pub(crate) fn unambiguous(text: &str) -> String {
    match text.split_once('.') {
        Some((_, part)) if part.len() == 3 => format!("{text}0"),
        _ => text.to_owned(),
    }
}
