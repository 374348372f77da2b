//! The tables of `reference/sampling/`.

use super::{SamplingError, Shape, Spread};
use crate::constant::{Cautions, Constant, Constants};
use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::{Caution, Evidence, Source};
use serde::Deserialize;
use std::sync::OnceLock;

/// Published scatter within a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Variation {
    pub analyte: Analyte,
    /// Between single cores, or of the whole test where `whole_test`.
    pub spread: Spread,
    /// A calm and a rough field: the quartiles, as sizes of `spread`.
    pub calm: f64,
    pub rough: f64,
    /// Sampling and analysis are in it already, whatever the number of cores.
    pub whole_test: bool,
    pub what: String,
    pub source: Source,
}

/// Published error of a lab.
#[derive(Debug, Clone, PartialEq)]
pub struct Precision {
    /// None: for any test without its own.
    pub analyte: Option<Analyte>,
    /// Between labs, not within one.
    pub between: bool,
    pub spread: Spread,
    pub what: String,
    pub source: Source,
}

/// How far a test moves with the season alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    pub analyte: Analyte,
    pub low: f64,
    pub high: f64,
    pub unit: String,
    pub what: String,
    pub source: Source,
}

/// One line of published or common advice on sampling.
#[derive(Debug, Clone, PartialEq)]
pub struct Practice {
    /// `cores`, `area`, `depth`, `pattern`, `avoid`, `separate`, `when`, `handle`, `interval` or `tunnel`
    pub topic: String,
    pub item: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub context: String,
    pub source: Source,
}

/// How much ground one sample may stand for.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaRule {
    pub rule: String,
    pub what: String,
    pub acres_per_sample: Option<f64>,
    pub from_acres: Option<f64>,
    pub to_acres: Option<f64>,
    pub samples: Option<f64>,
    pub source: Source,
}

/// A published sentence that a decision about sampling rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    pub key: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub text: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct VariationRow {
    analyte: String,
    measure: String,
    typical: f64,
    low: f64,
    high: f64,
    what: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct PrecisionRow {
    analyte: String,
    kind: String,
    measure: String,
    value: f64,
    what: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ShapeRow {
    analyte: String,
    shape: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct SeasonRow {
    analyte: String,
    low: f64,
    high: f64,
    unit: String,
    what: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct PracticeRow {
    topic: String,
    item: String,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    context: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct AreaRow {
    rule: String,
    what: String,
    acres_per_sample: Option<f64>,
    from_acres: Option<f64>,
    to_acres: Option<f64>,
    samples: Option<f64>,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct AdviceRow {
    key: String,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    text: String,
    source: String,
    evidence: String,
}

#[derive(Debug, Default)]
struct Tables {
    constants: Constants,
    cautions: Cautions,
    variation: Vec<Variation>,
    precision: Vec<Precision>,
    /// None: for any other test.
    shapes: Vec<(Option<Analyte>, Shape, Source)>,
    seasons: Vec<Season>,
    practice: Vec<Practice>,
    areas: Vec<AreaRule>,
    advice: Vec<Advice>,
}

/// One row’s place, for its error.
struct Place(&'static str, usize);

impl Place {
    fn wrong(&self, problem: String) -> TableError {
        TableError {
            table: self.0.to_owned(),
            row: self.1,
            problem,
        }
    }

    fn source(&self, text: &str, evidence: &str) -> Result<Source, TableError> {
        if text.is_empty() {
            return Err(self.wrong("the row names no source".to_owned()));
        }
        table::source(self.0, self.1, text, evidence)
    }

    fn analyte(&self, key: &str) -> Result<Analyte, TableError> {
        Analyte::from_key(key)
            .ok_or_else(|| self.wrong(format!("“{key}” is not something a lab measures")))
    }

    /// `*` is any other.
    fn any_analyte(&self, key: &str) -> Result<Option<Analyte>, TableError> {
        (key != "*").then(|| self.analyte(key)).transpose()
    }

    fn spread(&self, measure: &str, value: f64) -> Result<Spread, TableError> {
        if !(value.is_finite() && value > 0.0) {
            return Err(self.wrong("a scatter is a number above zero".to_owned()));
        }
        match measure {
            "cv_pct" => Ok(Spread::Relative(value / 100.0)),
            "sd" => Ok(Spread::Absolute(value)),
            _ => Err(self.wrong(format!("“{measure}” is not a measure of scatter"))),
        }
    }
}

/// Reads a table row by row.
fn each<R: serde::de::DeserializeOwned, T>(
    name: &'static str,
    text: &str,
    make: impl Fn(R, Place) -> Result<T, TableError>,
) -> Result<Vec<T>, TableError> {
    table::rows::<R>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, row)| make(row, Place(name, i + 2)))
        .collect()
}

macro_rules! file {
    ($name:literal) => {
        (
            concat!("sampling/", $name, ".csv"),
            include_str!(concat!("../../../../reference/sampling/", $name, ".csv")),
        )
    };
}

fn parse() -> Result<Tables, TableError> {
    let (name, text) = file!("constants");
    let constants = Constants::parse(name, text)?;
    let (name, text) = file!("cautions");
    let cautions = Cautions::parse(name, text)?;
    let (name, text) = file!("field_variation");
    let variation = each(name, text, |r: VariationRow, at| {
        let (of, measure) = r
            .measure
            .split_once('_')
            .ok_or_else(|| at.wrong(format!("“{}” is not a measure of scatter", r.measure)))?;
        let spread = at.spread(measure, r.typical)?;
        Ok(Variation {
            analyte: at.analyte(&r.analyte)?,
            spread,
            calm: at.spread(measure, r.low)?.size(),
            rough: at.spread(measure, r.high)?.size(),
            whole_test: of == "test",
            source: at.source(&r.source, &r.evidence)?,
            what: r.what,
        })
    })?;
    let (name, text) = file!("lab_precision");
    let precision = each(name, text, |r: PrecisionRow, at| {
        Ok(Precision {
            analyte: at.any_analyte(&r.analyte)?,
            between: match r.kind.as_str() {
                "within" => false,
                "between" => true,
                other => return Err(at.wrong(format!("“{other}” is neither within nor between"))),
            },
            spread: at.spread(&r.measure, r.value)?,
            source: at.source(&r.source, &r.evidence)?,
            what: r.what,
        })
    })?;
    let (name, text) = file!("shapes");
    let shapes = each(name, text, |r: ShapeRow, at| {
        let shape = match r.shape.as_str() {
            "normal" => Shape::Normal,
            "lognormal" => Shape::Lognormal,
            other => return Err(at.wrong(format!("“{other}” is not a shape"))),
        };
        Ok((
            at.any_analyte(&r.analyte)?,
            shape,
            at.source(&r.source, &r.evidence)?,
        ))
    })?;
    let (name, text) = file!("season");
    let seasons = each(name, text, |r: SeasonRow, at| {
        Ok(Season {
            analyte: at.analyte(&r.analyte)?,
            low: r.low,
            high: r.high,
            unit: r.unit,
            what: r.what,
            source: at.source(&r.source, &r.evidence)?,
        })
    })?;
    let (name, text) = file!("practice");
    let practice = each(name, text, |r: PracticeRow, at| {
        Ok(Practice {
            topic: r.topic,
            item: r.item,
            low: r.low,
            high: r.high,
            unit: r.unit,
            context: r.context,
            source: at.source(&r.source, &r.evidence)?,
        })
    })?;
    let (name, text) = file!("sample_area");
    let areas = each(name, text, |r: AreaRow, at| {
        if r.acres_per_sample.is_some() == r.samples.is_some() {
            return Err(at.wrong("either acres_per_sample or samples, not both".to_owned()));
        }
        Ok(AreaRule {
            rule: r.rule,
            what: r.what,
            acres_per_sample: r.acres_per_sample,
            from_acres: r.from_acres,
            to_acres: r.to_acres,
            samples: r.samples,
            source: at.source(&r.source, &r.evidence)?,
        })
    })?;
    let (name, text) = file!("advice");
    let advice = each(name, text, |r: AdviceRow, at| {
        Ok(Advice {
            source: at.source(&r.source, &r.evidence)?,
            key: r.key,
            low: r.low,
            high: r.high,
            unit: r.unit,
            text: r.text,
        })
    })?;
    Ok(Tables {
        constants,
        cautions,
        variation,
        precision,
        shapes,
        seasons,
        practice,
        areas,
        advice,
    })
}

/// Checks the sampling tables that come with the program.
pub fn load() -> Result<(), TableError> {
    parse().map(|_| ())
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| parse().unwrap_or_default())
}

/// The published scatter of a test within a field; none where no source is held.
pub fn field_variation(analyte: Analyte) -> Option<&'static Variation> {
    tables().variation.iter().find(|v| v.analyte == analyte)
}

/// The published error of a lab: within one, or between two. A general percentage does not serve a
/// test on a logarithmic scale.
pub fn lab_precision(analyte: Analyte, between: bool) -> Option<&'static Precision> {
    let of = |wanted: Option<Analyte>, between: bool| {
        tables()
            .precision
            .iter()
            .find(|p| p.analyte == wanted && p.between == between)
    };
    of(Some(analyte), between).or_else(|| {
        if shape(analyte).is_some_and(|(s, _)| s == Shape::Lognormal) {
            of(None, between)
        } else {
            of(Some(analyte), false)
        }
    })
}

/// How a test scatters, with its source.
pub(crate) fn shape(analyte: Analyte) -> Option<(Shape, &'static Source)> {
    let of = |wanted: Option<Analyte>| {
        tables()
            .shapes
            .iter()
            .find(|(a, _, _)| *a == wanted)
            .map(|(_, shape, source)| (*shape, source))
    };
    of(Some(analyte)).or_else(|| of(None))
}

/// What the season alone does to a test.
pub fn seasons(analyte: Analyte) -> impl Iterator<Item = &'static Season> {
    tables()
        .seasons
        .iter()
        .filter(move |s| s.analyte == analyte)
}

/// Advice on sampling, published first.
pub fn practice(topic: &str) -> Vec<&'static Practice> {
    let mut all: Vec<_> = tables()
        .practice
        .iter()
        .filter(|p| p.topic == topic)
        .collect();
    all.sort_by_key(|p| p.source.evidence == Evidence::CommonPractice);
    all
}

/// The rules for how much ground a sample may stand for.
pub fn area_rules() -> &'static [AreaRule] {
    &tables().areas
}

/// The advice under a key.
///
/// # Errors
/// No row has the key, which a test rules out for every key that is asked for.
pub fn advice(key: &str) -> Result<&'static Advice, SamplingError> {
    tables()
        .advice
        .iter()
        .find(|a| a.key == key)
        .ok_or(SamplingError::Table("sampling advice"))
}

/// Every piece of advice whose key begins so, in the order of the table.
pub fn advice_of(topic: &'static str) -> impl Iterator<Item = &'static Advice> {
    tables()
        .advice
        .iter()
        .filter(move |a| a.key.starts_with(topic))
}

pub(crate) fn constant(key: &'static str) -> Result<&'static Constant, SamplingError> {
    tables().constants.get(key).ok_or(SamplingError::Table(key))
}

/// The cores that growers usually mix into a sample: common practice.
pub fn usual_cores() -> Option<u32> {
    constant("cores").ok().map(|c| c.value as u32)
}

/// The cautions for one situation.
pub(crate) fn said(when: &'static str) -> impl Iterator<Item = Caution> {
    tables().cautions.when(when).map(|(text, source)| Caution {
        text: text.to_owned(),
        source: source.clone(),
    })
}
