//! What a result means, in plain words with a source: symptoms of shortage, harm of excess, and what the
//! evidence says. A page shows them; nothing here decides an amount.

use crate::reading::Level;
use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// One statement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Note {
    /// An analyte's key, or `ratios`, `cec`, `salts`, `extractants`, `volume`, `philosophy`, `depth`.
    pub about: String,
    /// `always`, `shortage`, `excess`, `low`, `high`, `high_ph`, `free_lime` or `media`.
    pub when: String,
    pub text: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    about: String,
    when: String,
    text: String,
    source: String,
    evidence: String,
}

pub(crate) fn load() -> Result<Vec<Note>, TableError> {
    let name = "soil/meaning.csv";
    let text = include_str!("../../../reference/soil/meaning.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Note {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                about: r.about,
                when: r.when,
                text: r.text,
            })
        })
        .collect()
}

/// Every statement.
pub fn all() -> &'static [Note] {
    static NOTES: OnceLock<Vec<Note>> = OnceLock::new();
    NOTES.get_or_init(|| load().unwrap_or_default())
}

/// The statements on one subject in one situation.
pub fn notes(about: &str, when: &str) -> Vec<&'static Note> {
    all()
        .iter()
        .filter(|n| n.about == about && n.when == when)
        .collect()
}

/// What a reading means: how a shortage or an excess shows, what always holds for the nutrient, and
/// what a high pH does to it. `ph` is pH in water.
///
/// At a high pH a low test of iron, manganese or zinc gets the pH statement before the symptoms.
pub fn of(analyte: Analyte, level: Level, ph: Option<f64>) -> Vec<&'static Note> {
    let mut found = Vec::new();
    if ph.is_some_and(high_ph) {
        found.extend(notes(analyte.key(), "high_ph"));
    }
    match level {
        Level::VeryLow | Level::Low | Level::Medium => {
            found.extend(notes(analyte.key(), "shortage"));
        }
        Level::Optimum => {}
        Level::High | Level::VeryHigh => found.extend(notes(analyte.key(), "excess")),
    }
    found.extend(notes(analyte.key(), "always"));
    found
}

/// Whether a pH is high enough to keep iron, manganese and zinc from roots.
pub(crate) fn high_ph(ph: f64) -> bool {
    crate::soil_constant("fe_ph").is_some_and(|c| ph >= c.value)
}

/// Adds statements to a figure as cautions.
pub(crate) fn caution(figure: &mut Figure, notes: &[&Note]) {
    for note in notes {
        figure.caution(note.text.clone(), note.source.clone());
    }
}
