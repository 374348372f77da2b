//! What looks wrong in a soil test, though it can be read: each value beside chemistry, the block's
//! earlier tests and the other samples.
//!
//! A doubt is a question with a reason. The grower accepts the value, corrects it or leaves it out; the
//! decision is kept under the doubt's key. The tolerances are in `reference/labfiles/doubt*.csv`.

mod acidity;
mod between;
mod buffer;
mod cations;
mod decision;
mod facts;
mod history;
mod kind;
mod last_time;
mod loaded;
mod organic;
mod other_block;
mod salts;
mod saturation;
mod slip;
mod suggestion;
mod swapped;
mod values;

pub use decision::{Decided, Decision};
pub use history::{BlockTest, Dated, History, Past, PastReport, fingerprint_of_values};
pub use kind::DoubtKind;
pub use saturation::{Saturated, Saturation};
pub(crate) use suggestion::capital;
pub use suggestion::{Change, Suggestion, apply};
pub use values::impossible;

use crate::read::Sampled;
use crate::table::Origin;
use agronomy::soil::{Analyte, Extractant, Measured, SoilTest};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// Something to look at before the value is used.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Doubt {
    /// None: it concerns the whole file.
    pub sample: Option<String>,
    /// The row as a spreadsheet counts it; none where the test did not come from a table.
    pub row: Option<usize>,
    pub analyte: Option<Analyte>,
    pub sentence: String,
    #[serde(default)]
    pub kind: DoubtKind,
    /// Samples of the same name before this one: 0 for the first.
    #[serde(default)]
    pub copy: usize,
    /// As read, in `unit`.
    #[serde(default)]
    pub value: Option<f64>,
    #[serde(default)]
    pub unit: String,
    /// What would be expected, in `unit`: low and high.
    #[serde(default)]
    pub expected: Option<(f64, f64)>,
    /// By what the value was taken out, where a value is to be put in its place.
    #[serde(default)]
    pub extractant: Option<Extractant>,
    /// Where it stands on its page; a picture of it helps to decide.
    #[serde(default)]
    pub place: Option<Origin>,
    /// The likeliest first; what they say is for the grower to choose.
    #[serde(default)]
    pub suggestions: Vec<Suggestion>,
}

impl Doubt {
    pub(crate) fn of(sample: &str, analyte: Option<Analyte>, sentence: impl Into<String>) -> Self {
        Self {
            sample: Some(sample.to_owned()),
            analyte,
            sentence: sentence.into(),
            ..Self::default()
        }
    }

    pub(crate) fn of_file(analyte: Option<Analyte>, sentence: impl Into<String>) -> Self {
        Self {
            analyte,
            sentence: sentence.into(),
            ..Self::default()
        }
    }

    pub(crate) fn in_row(mut self, row: usize) -> Self {
        self.row = Some(row);
        self
    }

    pub(crate) fn kind(mut self, kind: DoubtKind) -> Self {
        self.kind = kind;
        self
    }

    /// Notes the value that is doubted, with the unit of its analyte.
    pub(crate) fn read_as(mut self, analyte: Analyte, value: f64) -> Self {
        self.value = Some(value);
        analyte.unit().clone_into(&mut self.unit);
        self
    }

    pub(crate) fn expects(mut self, low: f64, high: f64) -> Self {
        self.expected = Some((low, high));
        self
    }

    pub(crate) fn suggest(mut self, suggestions: impl IntoIterator<Item = Suggestion>) -> Self {
        self.suggestions.extend(suggestions);
        self
    }

    /// Stands for this doubt when the file is read again: kind, sample and analyte.
    /// A second sample of the same name has a key of its own.
    pub fn key(&self) -> String {
        let analyte = self.analyte.map_or("", Analyte::key);
        let sample = self.sample.as_deref().unwrap_or("");
        match self.copy {
            0 => format!("{}/{analyte}/{sample}", self.kind.key()),
            n => format!("{}/{analyte}/{sample}#{}", self.kind.key(), n + 1),
        }
    }
}

/// One sample to be questioned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subject<'a> {
    pub test: &'a SoilTest,
    /// The row as a spreadsheet counts it, where there is one.
    pub row: Option<usize>,
    /// Where the layer begins, inches below the surface.
    pub top_in: f64,
    /// Base saturation as the lab printed it; it is checked, never used.
    pub saturations: &'a [Saturation],
}

impl<'a> From<&'a Sampled> for Subject<'a> {
    fn from(sampled: &'a Sampled) -> Self {
        Self {
            test: &sampled.test,
            row: Some(sampled.row),
            top_in: sampled.top_in,
            saturations: &sampled.saturations,
        }
    }
}

impl<'a> From<&'a SoilTest> for Subject<'a> {
    fn from(test: &'a SoilTest) -> Self {
        Self {
            test,
            row: None,
            top_in: 0.0,
            saturations: &[],
        }
    }
}

impl Subject<'_> {
    /// A value that stands as a number, not as a limit.
    pub(crate) fn exact(&self, analyte: Analyte) -> Option<&Measured> {
        exact(self.test, analyte)
    }
}

pub(crate) fn exact(test: &SoilTest, analyte: Analyte) -> Option<&Measured> {
    test.measured
        .iter()
        .find(|m| m.analyte == analyte && m.bound == agronomy::soil::Bound::Exact)
}

/// What is doubtful in one test, from the values alone.
pub fn doubts(test: &SoilTest) -> Vec<Doubt> {
    let mut all = question(&[Subject::from(test)], &History::default());
    for m in &test.measured {
        if m.analyte.needs_extractant() && m.extractant.is_none() {
            let doubt = Doubt::of(&test.sample, Some(m.analyte), unread(m.analyte));
            all.push(doubt.kind(DoubtKind::NoExtractant));
        }
    }
    all
}

/// A nutrient without an extractant.
pub(crate) fn unread(analyte: Analyte) -> String {
    format!(
        "{} has no extractant; no table can read it.",
        analyte.name()
    )
}

/// Questions every value of one report. What concerns the whole report comes first, then the samples in
/// their order. No doubt means nothing was found, not that the values are right.
///
/// `history.samples` is in the order of `samples`; where it is shorter, nothing is known of the rest.
pub fn question_all(samples: &[Subject<'_>], history: &History) -> Vec<Doubt> {
    let mut all = Vec::new();
    for analyte in Analyte::ALL.into_iter().filter(|a| a.needs_extractant()) {
        let unnamed = samples
            .iter()
            .flat_map(|s| &s.test.measured)
            .any(|m| m.analyte == analyte && m.extractant.is_none());
        if unnamed {
            all.push(Doubt::of_file(Some(analyte), unread(analyte)).kind(DoubtKind::NoExtractant));
        }
    }
    all.extend(question(samples, history));
    all
}

/// The same but for missing methods, which concern a whole column.
pub(crate) fn question(samples: &[Subject<'_>], history: &History) -> Vec<Doubt> {
    let mut all = loaded::question(samples, history);
    all.extend(last_time::columns(samples, history));
    let mut names: HashMap<&str, usize> = HashMap::new();
    let mut copies = Vec::with_capacity(samples.len());
    let nothing = Past::default();
    let crossed = swapped::columns(samples, history);
    for (at, subject) in samples.iter().enumerate() {
        let copy = names.entry(&subject.test.sample).or_default();
        copies.push(*copy);
        *copy += 1;
        let past = history.samples.get(at).unwrap_or(&nothing);
        let mut own = values::question(subject);
        own.extend(cations::question(subject, past));
        own.extend(acidity::question(subject));
        own.extend(saturation::question(subject));
        own.extend(buffer::question(subject, past));
        own.extend(organic::question(subject, past));
        own.extend(salts::question(subject, past));
        match swapped::question(subject, past, crossed) {
            // A swap explains what last time says of the two.
            Some(swap) => own.push(swap),
            None => own.extend(last_time::question(subject, past)),
        }
        own.extend(other_block::question(subject, past, history));
        for doubt in &mut own {
            doubt.row = subject.row;
            doubt.copy = copies[at];
        }
        all.append(&mut own);
    }
    all.extend(between::question(samples, &copies));
    all
}

#[cfg(test)]
mod tests;
