//! How a soil is sampled: what scatters, how many cores tame it, and what the published sheets advise.

mod again;
mod apart;
mod ask;
mod cores;
mod own;
mod precision;
mod tables;

pub use again::{Again, Situation, again};
pub use apart::{Ground, LastTest, apart, too_large};
pub use ask::{Asking, TestKind, ask};

pub use cores::{OwnCores, cores_needed, half_width, samples_for};
pub use own::{Alike, LEAST_FREEDOM, OwnScatter, own_scatter};
pub use precision::{At, Buys, SHOWN, buys};
pub use tables::{
    Advice, AreaRule, Practice, Precision, Season, Variation, advice, advice_of, area_rules,
    field_variation, lab_precision, load, practice, seasons, usual_cores,
};

pub(crate) use cores::formula_source;
pub(crate) use tables::{constant, said, shape};

use crate::working::Source;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How far values lie about their middle, one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Coefficient of variation as a share of the value: 0.3 is 30 %.
    Relative(f64),
    /// Standard deviation in the unit of the test; the way for pH.
    Absolute(f64),
}

impl Spread {
    /// The bare number.
    pub fn size(self) -> f64 {
        match self {
            Self::Relative(v) | Self::Absolute(v) => v,
        }
    }

    /// The same kind with another number.
    pub fn resized(self, size: f64) -> Self {
        match self {
            Self::Relative(_) => Self::Relative(size),
            Self::Absolute(_) => Self::Absolute(size),
        }
    }

    /// The number as shown: percent, or the unit of the test.
    pub fn shown(self) -> f64 {
        match self {
            Self::Relative(v) => v * 100.0,
            Self::Absolute(v) => v,
        }
    }

    pub fn unit(self, of_test: &str) -> String {
        match self {
            Self::Relative(_) => "%".to_owned(),
            Self::Absolute(_) if of_test.is_empty() => "pH".to_owned(),
            Self::Absolute(_) => of_test.to_owned(),
        }
    }
}

/// How the values scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// Even on both sides: pH, which is a logarithm already.
    Normal,
    /// A long tail of high values: phosphorus, nitrate and other amounts.
    Lognormal,
}

/// Why something is advised, with where that stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    pub text: String,
    pub source: Source,
}

impl Reason {
    /// A row of the table of advice, with what it rests on here put before it.
    pub(crate) fn of(key: &str, here: &str) -> Result<Self, SamplingError> {
        let found = advice(key)?;
        Ok(Self {
            text: if here.is_empty() {
                found.text.clone()
            } else {
                format!("{here} {}", found.text)
            },
            source: found.source.clone(),
        })
    }
}

/// Why there is no count of cores.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SamplingError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error("A scatter needs at least {least} cores tested one by one, and {found} are given.")]
    TooFew { least: usize, found: usize },
    #[error(
        "So narrow a margin would take more than {0} cores; ask for a wider one or for less confidence."
    )]
    TooMany(u32),
    #[error("The rule “{rule}” prints nothing for {acres} acres; sample each block apart.")]
    Area { rule: String, acres: String },
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

/// A number above zero, or an error that names it.
pub(crate) fn positive(value: f64, what: &'static str) -> Result<f64, SamplingError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(SamplingError::BadValue(value.to_string(), what))
    }
}
