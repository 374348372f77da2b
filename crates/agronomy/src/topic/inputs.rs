//! Reading `key=value` pairs against the keys of a topic.

use super::Topic;
use crate::cations::CationError;
use crate::conversion::ConversionError;
use crate::doubt::TrendError;
use crate::lime::LimeError;
use crate::material::AmountError;
use crate::micronutrient::MicronutrientError;
use crate::nitrogen::NitrogenError;
use crate::organic_matter::OrganicError;
use crate::reading::ReadingError;
use crate::salt_class::SaltError;
use crate::sampling::SamplingError;
use crate::sodium::SodiumError;
use crate::spreader::SpreaderError;
use crate::sulfur::SulfurError;
use quantity::{Area, Length, ParseError};
use std::collections::BTreeMap;
use thiserror::Error;

/// One input of a topic.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    pub name: &'static str,
    /// What it is and in which unit.
    pub what: &'static str,
    pub needed: bool,
}

impl Key {
    pub(super) const fn needed(name: &'static str, what: &'static str) -> Self {
        Self {
            name,
            what,
            needed: true,
        }
    }

    pub(super) const fn maybe(name: &'static str, what: &'static str) -> Self {
        Self {
            name,
            what,
            needed: false,
        }
    }
}

/// Why a topic gave no figure.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum TopicError {
    #[error("There is no topic “{topic}”; the topics are {known}.")]
    UnknownTopic { topic: String, known: String },
    #[error("“{topic}” has no key “{key}”; its keys are {known}.")]
    UnknownKey {
        topic: &'static str,
        key: String,
        known: String,
    },
    #[error("“{topic}” needs {key}=…, {what}; for example: {topic} {example}")]
    Missing {
        topic: &'static str,
        key: &'static str,
        what: &'static str,
        example: &'static str,
    },
    #[error("{0} is given twice.")]
    Twice(String),
    #[error("{key}={found} is not {expected}.")]
    BadValue {
        key: String,
        found: String,
        expected: String,
    },
    #[error("{key}: {why}.")]
    Quantity { key: String, why: ParseError },
    #[error("{0}")]
    Together(String),
    #[error(transparent)]
    Lime(#[from] LimeError),
    #[error(transparent)]
    Sulfur(#[from] SulfurError),
    #[error(transparent)]
    Nitrogen(#[from] NitrogenError),
    #[error(transparent)]
    Amount(#[from] AmountError),
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    #[error(transparent)]
    Trend(#[from] TrendError),
    #[error(transparent)]
    Reading(#[from] ReadingError),
    #[error(transparent)]
    Cations(#[from] CationError),
    #[error(transparent)]
    Salts(#[from] SaltError),
    #[error(transparent)]
    Sodium(#[from] SodiumError),
    #[error(transparent)]
    Spreader(#[from] SpreaderError),
    #[error(transparent)]
    Organic(#[from] OrganicError),
    #[error(transparent)]
    Micronutrient(#[from] MicronutrientError),
    #[error(transparent)]
    Conversion(#[from] ConversionError),
}

/// The pairs given for a topic, each key once.
pub struct Inputs<'a> {
    topic: &'a Topic,
    values: BTreeMap<&'a str, &'a str>,
}

impl<'a> Inputs<'a> {
    pub(super) fn new(topic: &'a Topic, pairs: &'a [(String, String)]) -> Result<Self, TopicError> {
        let mut values = BTreeMap::new();
        for (key, value) in pairs {
            if !topic.keys.iter().any(|k| k.name == key) {
                return Err(TopicError::UnknownKey {
                    topic: topic.name,
                    key: key.clone(),
                    known: topic
                        .keys
                        .iter()
                        .map(|k| k.name)
                        .collect::<Vec<_>>()
                        .join(", "),
                });
            }
            if values.insert(key.as_str(), value.trim()).is_some() {
                return Err(TopicError::Twice(key.clone()));
            }
        }
        for key in topic.keys.iter().filter(|k| k.needed) {
            if !values.contains_key(key.name) {
                return Err(missing(topic, key));
            }
        }
        Ok(Self { topic, values })
    }

    pub(super) fn maybe(&self, key: &str) -> Option<&str> {
        self.values.get(key).copied()
    }

    pub(super) fn text(&self, key: &'static str) -> Result<&str, TopicError> {
        self.maybe(key).ok_or_else(|| {
            self.topic.keys.iter().find(|k| k.name == key).map_or_else(
                || TopicError::Together(format!("{key} is needed.")),
                |k| missing(self.topic, k),
            )
        })
    }

    pub(super) fn bad(&self, key: &str, expected: impl Into<String>) -> TopicError {
        TopicError::BadValue {
            key: key.to_owned(),
            found: self.maybe(key).unwrap_or_default().to_owned(),
            expected: expected.into(),
        }
    }

    pub(super) fn number(&self, key: &'static str) -> Result<f64, TopicError> {
        let value: f64 = self
            .text(key)?
            .replace(',', "")
            .parse()
            .map_err(|_| self.bad(key, "a number"))?;
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.bad(key, "a finite number"))
        }
    }

    /// A number that may not be negative.
    pub(super) fn amount(&self, key: &'static str) -> Result<f64, TopicError> {
        let value = self.number(key)?;
        if value >= 0.0 {
            Ok(value)
        } else {
            Err(self.bad(key, "zero or more"))
        }
    }

    /// A number above zero.
    pub(super) fn positive(&self, key: &'static str) -> Result<f64, TopicError> {
        let value = self.number(key)?;
        if value > 0.0 {
            Ok(value)
        } else {
            Err(self.bad(key, "more than zero"))
        }
    }

    pub(super) fn maybe_number(&self, key: &'static str) -> Result<Option<f64>, TopicError> {
        self.maybe(key).map(|_| self.number(key)).transpose()
    }

    pub(super) fn area(&self, key: &'static str) -> Result<Area, TopicError> {
        quantity::parse_area(self.text(key)?).map_err(|why| TopicError::Quantity {
            key: key.to_owned(),
            why,
        })
    }

    pub(super) fn length(&self, key: &'static str) -> Result<Length, TopicError> {
        quantity::parse_length(self.text(key)?).map_err(|why| TopicError::Quantity {
            key: key.to_owned(),
            why,
        })
    }

    pub(super) fn yes(&self, key: &'static str) -> Result<bool, TopicError> {
        match self.maybe(key) {
            None | Some("no") => Ok(false),
            Some("yes") => Ok(true),
            Some(_) => Err(self.bad(key, "yes or no")),
        }
    }
}

fn missing(topic: &Topic, key: &Key) -> TopicError {
    TopicError::Missing {
        topic: topic.name,
        key: key.name,
        what: key.what,
        example: topic.example,
    }
}
