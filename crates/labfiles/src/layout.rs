//! What the columns of one lab's file mean: confirmed once by the grower, remembered by the book.

use crate::doubt::Saturated;
use crate::facts::FACTS;
use crate::unit::{DepthUnit, Form, RateUnit, Unit};
use agronomy::soil::{Analyte, Buffer, Extractant, Recommendable};
use serde::{Deserialize, Serialize};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "is")]
pub enum Meaning {
    /// the name on the box
    Sample,
    LabNumber,
    Ignore,
    Crop,
    Texture,
    Date,
    /// depth sampled: `6`, `0-6`, `0-6 in`; the unit may stand in the cells
    Depth {
        unit: Option<DepthUnit>,
    },
    /// density of the soil in the lab's scoop, g/cm3
    Density,
    Value {
        analyte: Analyte,
        unit: Option<Unit>,
        /// none: printed as the element
        form: Option<Form>,
        extractant: Option<Extractant>,
        buffer: Option<Buffer>,
    },
    /// Base saturation as printed, % of the CEC: checked against the cations, never used.
    Saturation {
        of: Saturated,
    },
    /// A rate that the lab prints.
    Recommendation {
        what: Recommendable,
        unit: Option<RateUnit>,
        /// For lime: the effect of the lab's material, % of pure calcium carbonate. None: unknown,
        /// and the rate is kept as printed.
        cce: Option<f64>,
    },
}

impl Meaning {
    /// The meaning in a grower's words.
    pub fn says(&self) -> String {
        match self {
            Self::Sample => "sample name".to_owned(),
            Self::LabNumber => "lab number".to_owned(),
            Self::Ignore => "nothing to keep".to_owned(),
            Self::Crop => "crop".to_owned(),
            Self::Texture => "soil texture".to_owned(),
            Self::Date => "date".to_owned(),
            Self::Depth { .. } => "depth sampled".to_owned(),
            Self::Density => "density of the soil in the scoop, g/cm3".to_owned(),
            Self::Saturation { of } => of.says().to_owned(),
            Self::Value { analyte, form, .. } => match form {
                Some(form) => format!("{} as {}", analyte.name(), form.printed()),
                None => analyte.name().to_owned(),
            },
            Self::Recommendation { what, .. } => format!("{} to apply", what.name()),
        }
    }

    /// The key of this meaning as a choice: `sample`, `value:p`, `value:p:p2o5`, `recommend:lime`.
    pub fn key(&self) -> String {
        match self {
            Self::Sample => "sample".to_owned(),
            Self::LabNumber => "lab_number".to_owned(),
            Self::Ignore => "ignore".to_owned(),
            Self::Crop => "crop".to_owned(),
            Self::Texture => "texture".to_owned(),
            Self::Date => "date".to_owned(),
            Self::Depth { .. } => "depth".to_owned(),
            Self::Density => "density".to_owned(),
            Self::Saturation { of } => format!("saturation:{}", of.key()),
            Self::Value { analyte, form, .. } => match form {
                Some(form) => format!("value:{}:{}", analyte.key(), form.key()),
                None => format!("value:{}", analyte.key()),
            },
            Self::Recommendation { what, .. } => format!("recommend:{}", what.key()),
        }
    }

    /// The meaning with a key, without units or methods.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::all().into_iter().find(|m| m.key() == key)
    }

    /// Every meaning that can be chosen, without units or methods.
    pub fn all() -> Vec<Self> {
        let value = |analyte, form| Self::Value {
            analyte,
            unit: None,
            form,
            extractant: None,
            buffer: None,
        };
        let rate = |what| Self::Recommendation {
            what,
            unit: None,
            cce: None,
        };
        let mut all = vec![
            Self::Sample,
            Self::LabNumber,
            Self::Ignore,
            Self::Crop,
            Self::Texture,
            Self::Date,
            Self::Depth { unit: None },
            Self::Density,
        ];
        all.extend(Analyte::ALL.into_iter().map(|a| value(a, None)));
        all.extend(
            Form::ALL
                .iter()
                .filter_map(|f| f.analyte().map(|a| value(a, Some(*f)))),
        );
        all.extend(Recommendable::ALL.into_iter().map(rate));
        all.extend(Saturated::ALL.iter().map(|of| Self::Saturation { of: *of }));
        all
    }

    /// Whether a number is read from the column.
    pub(crate) fn is_number(&self) -> bool {
        matches!(
            self,
            Self::Value { .. }
                | Self::Recommendation { .. }
                | Self::Density
                | Self::Saturation { .. }
        )
    }
}

/// One column of a file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Column {
    /// Counted from 1, as a spreadsheet's first column.
    pub index: usize,
    /// The header as printed, with what stands under it (unit, method).
    pub header: String,
    pub meaning: Meaning,
    /// False until the grower has confirmed a doubtful meaning.
    pub sure: bool,
    /// Why this meaning was proposed, or what makes it doubtful; one sentence.
    pub why: String,
}

/// What an open question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Topic {
    /// which column holds the sample's name
    Sample,
    Meaning,
    Unit,
    Extractant,
    Buffer,
    Depth,
    Density,
    /// what kind of lime the lab's rate is for
    LimeBasis,
    /// whether `1,234` is a thousand or one and a bit
    DecimalMark,
}

/// A question that the grower has answered with “not stated”.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settled {
    pub topic: Topic,
    pub column: Option<usize>,
}

/// What the columns of a file mean. The book stores it and finds it again by the fingerprint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// The lab's name as found above the header; may be empty.
    pub lab: String,
    /// Stands for the header and the methods named in the file: another header or another method
    /// gives another fingerprint.
    pub fingerprint: String,
    /// Which of the file's tables is meant, from 0, where the grower said so. Of one file only:
    /// another file's tables stand in another order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub table: Option<usize>,
    /// The header's row as a spreadsheet counts it, from 1.
    pub header_row: usize,
    /// Rows under the header with units or methods.
    pub under_rows: Vec<usize>,
    pub columns: Vec<Column>,
    /// The extractant of columns that name none, where labs use it for that nutrient.
    pub extractant: Option<Extractant>,
    /// The buffer of buffer pH columns that name none.
    pub buffer: Option<Buffer>,
    /// Depth sampled where there is no depth column, inches.
    pub depth_in: Option<f64>,
    /// The lab prints lb/acre as twice its ppm, whatever the depth.
    pub doubles_ppm: bool,
    /// Density of the soil in the lab's scoop where there is no such column, g/cm3.
    pub density: Option<f64>,
    /// `6,5` is six and a half. None: the file cannot tell.
    pub decimal_comma: Option<bool>,
    pub settled: Vec<Settled>,
}

impl Layout {
    /// The column with an index from 1.
    pub fn column(&self, index: usize) -> Option<&Column> {
        self.columns.iter().find(|c| c.index == index)
    }

    /// The extractant behind a column: its own, or the report's where it can pull that nutrient.
    pub fn extractant_of(&self, column: &Column) -> Option<Extractant> {
        match column.meaning {
            Meaning::Value {
                analyte,
                extractant,
                ..
            } if analyte.needs_extractant() => {
                extractant.or(self.extractant.filter(|e| FACTS.extracts(*e, analyte)))
            }
            _ => None,
        }
    }

    /// The buffer behind a buffer pH column.
    pub fn buffer_of(&self, column: &Column) -> Option<Buffer> {
        match column.meaning {
            Meaning::Value {
                analyte: Analyte::BufferPh,
                buffer,
                ..
            } => buffer.or(self.buffer),
            _ => None,
        }
    }

    pub(crate) fn is_settled(&self, topic: Topic, column: Option<usize>) -> bool {
        self.settled
            .iter()
            .any(|s| s.topic == topic && s.column == column)
    }

    pub(crate) fn has(&self, wanted: impl Fn(&Meaning) -> bool) -> bool {
        self.columns.iter().any(|c| wanted(&c.meaning))
    }
}
