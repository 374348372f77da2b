//! What a grower may do about a doubt, and how a test is changed by it.

use super::values::impossible;
use crate::problem::shown;
use crate::unit::{Conversion, Form, Ground, NoConversion, Unit};
use agronomy::soil::{Analyte, Bound, Extractant, Measured, SoilTest};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// One way out of a doubt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Suggestion {
    /// In a grower's words: `It is lb/acre: use 41 ppm`.
    pub says: String,
    pub change: Change,
}

/// What is done to a test. The numbers as printed by the lab stay as they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "do")]
pub enum Change {
    /// Values times a factor each: another unit or form.
    Scale {
        by: Vec<(Analyte, f64)>,
        /// Only values of this extract; none: all.
        extractant: Option<Extractant>,
    },
    /// Two columns for one another. `a` takes what `b` was, times `a_by`, and the other way.
    Swap {
        a: Analyte,
        b: Analyte,
        a_by: f64,
        b_by: f64,
    },
    /// A value in the analyte's own unit.
    Set {
        analyte: Analyte,
        extractant: Option<Extractant>,
        value: f64,
    },
    LeaveOut {
        analytes: Vec<Analyte>,
    },
    /// The whole sample is left out; the test itself is not changed.
    LeaveOutSample,
    /// The sample belongs to another block; the test itself is not changed.
    OtherBlock {
        block: i64,
    },
}

impl Change {
    /// A value as printed, in another unit than was taken.
    ///
    /// # Errors
    /// What must be known first, or that the unit measures something else.
    pub fn in_unit(
        analyte: Analyte,
        extractant: Option<Extractant>,
        printed: f64,
        unit: Unit,
        form: Option<Form>,
        ground: Ground,
    ) -> Result<Self, NoConversion> {
        Ok(Self::Set {
            analyte,
            extractant,
            value: Conversion::of(analyte, unit, form, ground)?.apply(printed),
        })
    }
}

impl Suggestion {
    pub(crate) fn new(says: impl Into<String>, change: Change) -> Self {
        Self {
            says: says.into(),
            change,
        }
    }

    pub(crate) fn leave_out(analyte: Analyte) -> Self {
        let says = format!("Leave {} out.", name(analyte));
        let analytes = vec![analyte];
        Self::new(says, Change::LeaveOut { analytes })
    }

    /// One value times a factor: `says` is what it really is, as `It is lb/acre`.
    pub(crate) fn scale(
        says: &str,
        analyte: Analyte,
        extractant: Option<Extractant>,
        value: f64,
        by: f64,
    ) -> Self {
        let unit = analyte.unit();
        let says = format!("{says}: use {} {unit}.", plain(value * by, 3));
        let by = vec![(analyte, by)];
        Self::new(says, Change::Scale { by, extractant })
    }
}

/// The name inside a sentence.
pub(crate) fn name(analyte: Analyte) -> String {
    let name = analyte.name();
    if name.starts_with("pH") {
        return name.to_owned();
    }
    let mut letters = name.chars();
    letters
        .next()
        .map(|c| c.to_lowercase().chain(letters).collect())
        .unwrap_or_default()
}

/// Names in a row: `calcium, magnesium and potassium`.
pub(crate) fn names(analytes: &[Analyte]) -> String {
    let names: Vec<String> = analytes.iter().map(|a| name(*a)).collect();
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// A text with a capital letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|c| c.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// The name of a file, block or sample in quotation marks, short and free of control characters.
pub(crate) fn titled(text: &str) -> String {
    format!("“{}”", shown(text))
}

/// Does what a suggestion says; true where the test was changed. A change that would make an impossible
/// value does nothing.
pub fn apply(suggestion: &Suggestion, test: &mut SoilTest) -> bool {
    suggestion.change.apply(test)
}

impl Change {
    /// See [`apply`].
    pub fn apply(&self, test: &mut SoilTest) -> bool {
        match self {
            Self::Scale { by, extractant } => {
                let mut scaled = test.measured.clone();
                let mut changed = false;
                for m in &mut scaled {
                    let here = extractant.is_none() || m.extractant == *extractant;
                    if let Some((_, factor)) = by.iter().find(|(a, _)| *a == m.analyte && here) {
                        m.value *= factor;
                        if impossible(m.analyte, m.value).is_some() {
                            return false;
                        }
                        changed = true;
                    }
                }
                test.measured = scaled;
                changed
            }
            Self::Swap { a, b, a_by, b_by } => {
                let at = |x: Analyte| test.measured.iter().position(|m| m.analyte == x);
                let (Some(i), Some(j)) = (at(*a), at(*b)) else {
                    return false;
                };
                let (was, other) = (test.measured[i].clone(), test.measured[j].clone());
                let (new_a, new_b) = (other.value * a_by, was.value * b_by);
                if impossible(*a, new_a).is_some() || impossible(*b, new_b).is_some() {
                    return false;
                }
                let (m, n) = (&mut test.measured[i], other.printed);
                (m.value, m.bound, m.printed) = (new_a, other.bound, n);
                let m = &mut test.measured[j];
                (m.value, m.bound, m.printed) = (new_b, was.bound, was.printed);
                true
            }
            Self::Set {
                analyte,
                extractant,
                value,
            } => {
                if impossible(*analyte, *value).is_some() {
                    return false;
                }
                let found = test.measured.iter_mut().find(|m| {
                    m.analyte == *analyte && (extractant.is_none() || m.extractant == *extractant)
                });
                match found {
                    Some(m) => {
                        m.value = *value;
                        m.bound = Bound::Exact;
                    }
                    // What could not be read at all is typed in.
                    None => test.measured.push(Measured {
                        analyte: *analyte,
                        value: *value,
                        bound: Bound::Exact,
                        extractant: *extractant,
                        buffer: None,
                        printed: plain(*value, 6),
                        printed_unit: analyte.unit().to_owned(),
                    }),
                }
                true
            }
            Self::LeaveOut { analytes } => {
                let before = test.measured.len();
                test.measured.retain(|m| !analytes.contains(&m.analyte));
                test.measured.len() < before
            }
            Self::LeaveOutSample | Self::OtherBlock { .. } => false,
        }
    }
}
