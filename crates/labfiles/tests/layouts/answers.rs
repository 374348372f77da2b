//! The known answers of a made file, as `tests/layouts/report.py` writes them.

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured, SoilTest};
use labfiles::Topic;
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Debug, Deserialize)]
pub struct Case {
    pub file: String,
    pub form: String,
    pub lab: String,
    /// What the reader must be able to do for this file.
    pub needs: Vec<String>,
    pub answers: Vec<Answer>,
    /// What must be asked.
    pub asks: Vec<Topic>,
    /// What must be questioned.
    pub question: Vec<Doubtful>,
    /// One sentence in place of all values is a good end.
    pub may_refuse: bool,
    /// A program without which the file may be refused, with its name in the sentence.
    pub tool: Option<String>,
    pub columns: Vec<Column>,
    pub measures: BTreeMap<String, Measure>,
    pub samples: Vec<Sample>,
    #[serde(default)]
    pub history: Vec<Earlier>,
}

/// What the grower says when asked; `of` is a piece of the header or a meaning's key.
#[derive(Debug, Deserialize)]
pub struct Answer {
    pub topic: Topic,
    pub of: Option<String>,
    pub key: String,
}

#[derive(Debug, Deserialize)]
pub struct Doubtful {
    /// None: any sample, or the file.
    pub sample: Option<String>,
    pub analyte: String,
}

/// What a column truly holds.
#[derive(Debug, Deserialize)]
pub struct Column {
    pub header: String,
    pub means: String,
    pub unit: Option<String>,
    pub extractant: Option<String>,
    pub buffer: Option<String>,
}

#[derive(Debug, Deserialize)]
pub struct Measure {
    pub analyte: String,
    pub extractant: Option<String>,
    pub buffer: Option<String>,
}

impl Measure {
    pub fn extractant(&self) -> Option<Extractant> {
        self.extractant.as_deref().and_then(Extractant::from_key)
    }

    pub fn buffer(&self) -> Option<Buffer> {
        self.buffer.as_deref().and_then(Buffer::from_key)
    }
}

#[derive(Debug, Deserialize)]
pub struct Sample {
    pub name: String,
    pub lab_number: Option<String>,
    pub date: Option<String>,
    /// Top and bottom, inches.
    pub depth: Option<[f64; 2]>,
    pub values: BTreeMap<String, Found>,
    #[serde(default)]
    pub recommended: BTreeMap<String, (Option<f64>, String)>,
}

/// A value in the analyte's own unit, as printed, and the sign before it.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub enum Found {
    Exact((f64, String)),
    Bound((f64, String, Bound)),
}

impl Found {
    pub fn value(&self) -> f64 {
        match self {
            Self::Exact((v, _)) | Self::Bound((v, _, _)) => *v,
        }
    }

    pub fn printed(&self) -> &str {
        match self {
            Self::Exact((_, p)) | Self::Bound((_, p, _)) => p,
        }
    }

    pub fn bound(&self) -> Bound {
        match self {
            Self::Exact(_) => Bound::Exact,
            Self::Bound((_, _, b)) => *b,
        }
    }

    pub fn shift(&mut self, times: f64) {
        match self {
            Self::Exact((v, _)) | Self::Bound((v, _, _)) => *v *= times,
        }
    }
}

/// A sample of the year before.
#[derive(Debug, Deserialize)]
pub struct Earlier {
    pub name: String,
    pub date: String,
    /// By analyte and method, as `p@mehlich3`.
    pub values: BTreeMap<String, f64>,
}

impl Earlier {
    /// The sample as the book would hold it.
    pub fn test(&self) -> SoilTest {
        let measured = self.values.iter().map(|(key, value)| {
            let (analyte, method) = key.split_once('@').unwrap_or((key, ""));
            let analyte = Analyte::from_key(analyte).unwrap();
            Measured {
                analyte,
                value: *value,
                bound: Bound::Exact,
                extractant: Extractant::from_key(method),
                buffer: Buffer::from_key(method),
                printed: value.to_string(),
                printed_unit: analyte.unit().to_owned(),
            }
        });
        SoilTest {
            sample: self.name.clone(),
            measured: measured.collect(),
            ..SoilTest::default()
        }
    }
}
