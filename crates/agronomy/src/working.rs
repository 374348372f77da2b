//! A number together with how it came to be.
//!
//! Every result that can decide an amount carries its steps, each with formula, inputs, unit and
//! source, so that a page, a sheet or the command line can unfold it.

use serde::{Deserialize, Serialize};

/// How well a source is known. The order runs from strongest to weakest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Evidence {
    /// Read in the named publication.
    Seen,
    /// Read in another party's reproduction of it.
    Secondary,
    /// Worked out here from stated inputs.
    Derived,
    /// The farm's own or a table the grower added.
    Local,
    /// What growers usually do; no source.
    CommonPractice,
    /// Recalled, not read. Shown as unconfirmed wherever it decides a number.
    Memory,
}

impl Evidence {
    /// The word used in the reference tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Secondary => "secondary",
            Self::Derived => "derived",
            Self::Local => "local",
            Self::CommonPractice => "common-practice",
            Self::Memory => "memory",
        }
    }

    /// Reads the word used in the reference tables.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "seen" => Self::Seen,
            "secondary" => Self::Secondary,
            "derived" => Self::Derived,
            "local" => Self::Local,
            "common-practice" => Self::CommonPractice,
            "memory" => Self::Memory,
            _ => return None,
        })
    }

    /// Whether a number resting on this is to be shown as unconfirmed.
    #[inline]
    pub fn unconfirmed(self) -> bool {
        self == Self::Memory
    }
}

/// Where a fact comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Source {
    /// The publication, regulation or record, in words a person can look up.
    pub text: String,
    pub evidence: Evidence,
}

impl Source {
    pub fn new(text: impl Into<String>, evidence: Evidence) -> Self {
        Self {
            text: text.into(),
            evidence,
        }
    }

    /// Plain arithmetic on numbers already shown.
    pub fn arithmetic() -> Self {
        Self::new("arithmetic", Evidence::Derived)
    }

    /// Something the grower or the lab stated.
    pub fn stated(text: impl Into<String>) -> Self {
        Self::new(text, Evidence::Local)
    }
}

/// One line of working.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// What this line gives, in plain words.
    pub what: String,
    pub value: f64,
    pub unit: String,
    /// The formula with its inputs filled in, e.g. `(6.6 − 6.2) × 4`.
    pub formula: String,
    pub source: Source,
}

/// A caution that belongs to a number or a material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Caution {
    pub text: String,
    pub source: Source,
}

/// A number with its unit, its likely range, its working and its cautions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    pub what: String,
    pub value: f64,
    pub unit: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub working: Vec<Step>,
    pub cautions: Vec<Caution>,
}

impl Figure {
    /// An empty figure to which steps are added; the last step's value becomes the figure's.
    pub fn new(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            value: 0.0,
            unit: String::new(),
            low: None,
            high: None,
            working: Vec::new(),
            cautions: Vec::new(),
        }
    }

    /// Adds a step and takes its value and unit as the figure's own. Returns the value.
    pub fn step(
        &mut self,
        what: impl Into<String>,
        value: f64,
        unit: impl Into<String>,
        formula: impl Into<String>,
        source: Source,
    ) -> f64 {
        let unit = unit.into();
        self.value = value;
        self.unit.clone_from(&unit);
        self.working.push(Step {
            what: what.into(),
            value,
            unit,
            formula: formula.into(),
            source,
        });
        value
    }

    pub fn caution(&mut self, text: impl Into<String>, source: Source) {
        self.cautions.push(Caution {
            text: text.into(),
            source,
        });
    }

    /// The weakest evidence any step rests on.
    pub fn weakest(&self) -> Option<Evidence> {
        self.working.iter().map(|s| s.source.evidence).max()
    }
}
