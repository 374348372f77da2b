//! The tables of units, forms, charges, extracts and limits, compiled in.

use crate::unit::{Form, Unit};
use agronomy::soil::{Analyte, Extractant};
use agronomy::table::{self, TableError};
use agronomy::working::Source;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Dimension {
    Ph,
    /// of the soil's mass; base ppm
    Share,
    /// on an area; base lb/acre
    Area,
    /// in a volume of soil; base mg/dm3
    Volume,
    /// base meq/100 g
    Charge,
    /// base meq/100 cm3
    VolumeCharge,
    /// base dS/m
    Conductivity,
    LimeBuffer,
}

#[derive(Debug, Clone)]
pub(crate) struct UnitFact {
    pub(crate) printed: String,
    pub(crate) dimension: Dimension,
    pub(crate) factor: f64,
    pub(crate) source: Source,
}

#[derive(Debug, Clone)]
pub(crate) struct FormFact {
    pub(crate) printed: String,
    pub(crate) analyte: Analyte,
    pub(crate) per_element: f64,
    pub(crate) source: Source,
}

#[derive(Debug, Clone)]
pub(crate) struct Number {
    pub(crate) value: f64,
    pub(crate) source: Source,
}

#[derive(Debug, Clone)]
pub(crate) struct Extract {
    pub(crate) analytes: Vec<Analyte>,
    pub(crate) sums_cations: bool,
}

#[derive(Debug, Clone, Default)]
pub(crate) struct Facts {
    units: BTreeMap<String, UnitFact>,
    forms: BTreeMap<String, FormFact>,
    charges: BTreeMap<Analyte, Number>,
    extracts: BTreeMap<Extractant, Extract>,
    constants: BTreeMap<String, Number>,
}

/// A test proves that the tables parse and are complete.
pub(crate) static FACTS: LazyLock<Facts> = LazyLock::new(|| Facts::load().unwrap_or_default());

macro_rules! text {
    ($file:literal) => {
        (
            concat!("labfiles/", $file),
            include_str!(concat!("../../../reference/labfiles/", $file)),
        )
    };
}

#[derive(Deserialize)]
struct UnitRow {
    unit: String,
    printed: String,
    dimension: Dimension,
    factor: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct FormRow {
    form: String,
    printed: String,
    analyte: String,
    per_element: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ChargeRow {
    analyte: String,
    ppm_per_meq: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ExtractRow {
    extractant: String,
    analytes: String,
    sums_cations: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ConstantRow {
    key: String,
    value: f64,
    #[serde(rename = "unit")]
    _unit: String,
    source: String,
    evidence: String,
}

impl Facts {
    pub(crate) fn load() -> Result<Self, TableError> {
        let mut all = Self::default();
        let (name, text) = text!("units.csv");
        for (i, r) in table::rows::<UnitRow>(name, text)?.into_iter().enumerate() {
            let fact = UnitFact {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                printed: r.printed,
                dimension: r.dimension,
                factor: r.factor,
            };
            all.units.insert(r.unit, fact);
        }
        let (name, text) = text!("forms.csv");
        for (i, r) in table::rows::<FormRow>(name, text)?.into_iter().enumerate() {
            let fact = FormFact {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                analyte: analyte(name, i + 2, &r.analyte)?,
                printed: r.printed,
                per_element: r.per_element,
            };
            all.forms.insert(r.form, fact);
        }
        let (name, text) = text!("charges.csv");
        for (i, r) in table::rows::<ChargeRow>(name, text)?
            .into_iter()
            .enumerate()
        {
            let number = Number {
                value: r.ppm_per_meq,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            };
            all.charges
                .insert(analyte(name, i + 2, &r.analyte)?, number);
        }
        let (name, text) = text!("extracts.csv");
        for (i, r) in table::rows::<ExtractRow>(name, text)?
            .into_iter()
            .enumerate()
        {
            table::source(name, i + 2, &r.source, &r.evidence)?;
            let extractant = Extractant::from_key(&r.extractant)
                .ok_or_else(|| bad(name, i + 2, &r.extractant, "an extractant"))?;
            let analytes = r
                .analytes
                .split(' ')
                .map(|a| analyte(name, i + 2, a))
                .collect::<Result<_, _>>()?;
            let extract = Extract {
                analytes,
                sums_cations: r.sums_cations == "yes",
            };
            all.extracts.insert(extractant, extract);
        }
        let (name, text) = text!("constants.csv");
        for (i, r) in table::rows::<ConstantRow>(name, text)?
            .into_iter()
            .enumerate()
        {
            let number = Number {
                value: r.value,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            };
            all.constants.insert(r.key, number);
        }
        Ok(all)
    }

    pub(crate) fn unit(&self, unit: Unit) -> Option<&UnitFact> {
        self.units.get(unit.key())
    }

    pub(crate) fn form(&self, form: Form) -> Option<&FormFact> {
        self.forms.get(form.key())
    }

    /// ppm of the element in 1 meq/100 g.
    pub(crate) fn charge(&self, analyte: Analyte) -> Option<&Number> {
        self.charges.get(&analyte)
    }

    pub(crate) fn extract(&self, extractant: Extractant) -> Option<&Extract> {
        self.extracts.get(&extractant)
    }

    /// Whether labs measure a nutrient in an extract.
    pub(crate) fn extracts(&self, extractant: Extractant, analyte: Analyte) -> bool {
        self.extract(extractant)
            .is_some_and(|e| e.analytes.contains(&analyte))
    }

    pub(crate) fn constant(&self, key: &str) -> Option<&Number> {
        self.constants.get(key)
    }

    /// A limit; not a number where the table lacks it, so that no comparison holds.
    pub(crate) fn limit(&self, key: &str) -> f64 {
        self.constant(key).map_or(f64::NAN, |n| n.value)
    }
}

fn bad(table: &str, row: usize, word: &str, what: &str) -> TableError {
    TableError {
        table: table.to_owned(),
        row,
        problem: format!("“{word}” is not {what}"),
    }
}

fn analyte(table: &str, row: usize, key: &str) -> Result<Analyte, TableError> {
    Analyte::from_key(key).ok_or_else(|| bad(table, row, key, "an analyte"))
}
