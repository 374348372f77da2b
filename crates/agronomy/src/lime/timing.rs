//! How long lime takes, when to test again, and what each form asks of the hand that spreads it.

use super::LimeError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::working::{Caution, Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// In which form the lime comes, or where it is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// Ground limestone, worked in
    Ground,
    Pelleted,
    Hydrated,
    /// Burnt or quick lime
    Burnt,
    /// Wood ash
    Ash,
    /// Ground limestone left on the surface
    Surface,
}

impl Form {
    pub const ALL: [Self; 6] = [
        Self::Ground,
        Self::Pelleted,
        Self::Hydrated,
        Self::Burnt,
        Self::Ash,
        Self::Surface,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Ground => "ground",
            Self::Pelleted => "pelleted",
            Self::Hydrated => "hydrated",
            Self::Burnt => "burnt",
            Self::Ash => "ash",
            Self::Surface => "surface",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Ground => "ground limestone, worked in",
            Self::Pelleted => "pelleted lime",
            Self::Hydrated => "hydrated lime",
            Self::Burnt => "burnt lime",
            Self::Ash => "wood ash",
            Self::Surface => "lime left on the surface",
        }
    }

    /// What to look out for with this form, in handling and in effect.
    pub fn cautions(self) -> Vec<Caution> {
        let own: &[&'static str] = match self {
            Self::Ground => &["always"],
            Self::Pelleted => &["pelleted", "always"],
            Self::Hydrated => &["hydrated", "strong"],
            Self::Burnt => &["burnt", "strong"],
            Self::Ash => &["ash"],
            Self::Surface => &["surface", "always"],
        };
        own.iter()
            .chain(&["urea", "retest"])
            .flat_map(|when| super::said(when))
            .collect()
    }
}

/// One printed time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Timing {
    pub form: String,
    pub what: String,
    pub low: f64,
    pub high: f64,
    /// `months`, or `months an inch` for lime left on the surface
    pub unit: String,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    form: String,
    what: String,
    low: f64,
    high: f64,
    unit: String,
    note: String,
    source: String,
    evidence: String,
}

pub(super) fn parse((name, text): (&str, &str)) -> Result<Vec<Timing>, TableError> {
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let bad = |problem: String| table::wrong(name, i, problem);
            if Form::from_key(&r.form).is_none() {
                return Err(bad(format!("“{}” is not a form of lime", r.form)));
            }
            if r.low > r.high {
                return Err(bad("the low end is above the high end".to_owned()));
            }
            Ok(Timing {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                form: r.form,
                what: r.what,
                low: r.low,
                high: r.high,
                unit: r.unit,
                note: r.note,
            })
        })
        .collect()
}

/// Every printed time for a form.
pub fn timings(form: Form) -> impl Iterator<Item = &'static Timing> {
    tables()
        .timings
        .iter()
        .filter(move |t| t.form == form.key())
}

/// How long this form takes: the latest of the months in which it should have worked, with the
/// earliest and latest beside it and every printed time in the working.
///
/// # Errors
/// Only if the tables cannot be read.
pub fn timing(form: Form) -> Result<Figure, LimeError> {
    let mut figure = Figure::new(format!("Time for {} to work", form.name()));
    for t in timings(form) {
        let span = if t.high > t.low {
            format!("{} to {} {}", plain(t.low, 3), plain(t.high, 3), t.unit)
        } else {
            format!("{} {}", plain(t.low, 3), t.unit)
        };
        figure.step(
            t.what.clone(),
            t.high,
            t.unit.clone(),
            if t.note.is_empty() {
                span
            } else {
                format!("{span}: {}", t.note)
            },
            t.source.clone(),
        );
    }
    // What the form is due for: the full reaction of ground limestone, else its only time.
    let due = timings(form)
        .find(|t| t.what == "full reaction")
        .or_else(|| timings(form).next())
        .ok_or(LimeError::Table("time that lime takes"))?;
    figure.step(
        format!("reckon with: {}", due.what),
        due.high,
        due.unit.clone(),
        format!("{} to {}", plain(due.low, 3), plain(due.high, 3)),
        due.source.clone(),
    );
    figure.low = Some(due.low);
    figure.high = Some(due.high);
    figure.cautions.extend(form.cautions());
    if due.source.evidence == Evidence::Memory {
        figure.cautions.extend(super::said("unconfirmed"));
    }
    Ok(figure)
}
