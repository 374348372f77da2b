//! What the grower decided about a doubt, to be kept by the book.

use super::suggestion::Change;
use super::{Doubt, Suggestion};
use agronomy::soil::SoilTest;
use serde::{Deserialize, Serialize};

/// What is done about a doubt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "decided")]
pub enum Decision {
    /// The value stands.
    Accept,
    /// A suggestion, or a value given by hand ([`Change::Set`], [`Change::in_unit`]).
    Correct { change: Change },
    /// The doubted value is left out; the whole sample where the doubt names no analyte.
    LeaveOut,
}

/// A decision with the doubt it answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decided {
    /// [`Doubt::key`]
    pub key: String,
    /// The value that was doubted. Another value under the same key is asked anew.
    pub value: Option<f64>,
    pub decision: Decision,
}

impl Decided {
    pub fn new(doubt: &Doubt, decision: Decision) -> Self {
        Self {
            key: doubt.key(),
            value: doubt.value,
            decision,
        }
    }

    pub fn by(doubt: &Doubt, suggestion: &Suggestion) -> Self {
        let change = suggestion.change.clone();
        Self::new(doubt, Decision::Correct { change })
    }

    /// Whether the decision still answers a doubt: the same key and, to nine digits, the same value.
    pub fn answers(&self, doubt: &Doubt) -> bool {
        let same = match (self.value, doubt.value) {
            (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs().max(b.abs()),
            (a, b) => a.is_none() && b.is_none(),
        };
        same && self.key == doubt.key()
    }
}

impl Decision {
    /// Does to a test what was decided; false where the whole sample is to be left out.
    pub fn apply(&self, doubt: &Doubt, test: &mut SoilTest) -> bool {
        match (self, doubt.analyte) {
            (Self::Accept, _) => true,
            (Self::Correct { change }, _) => {
                change.apply(test);
                !matches!(change, Change::LeaveOutSample)
            }
            (Self::LeaveOut, Some(analyte)) => {
                test.measured.retain(|m| m.analyte != analyte);
                true
            }
            (Self::LeaveOut, None) => false,
        }
    }
}
