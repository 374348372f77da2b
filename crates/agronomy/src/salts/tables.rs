//! Parsing the salt tables.

use crate::constant::{Cautions, Constants};
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// How salts were measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Saturated paste of field soil, ECe
    SaturatedPaste,
    /// One part soil to one part water
    OneToOne,
    OneToTwo,
    OneToFive,
    /// Saturated media extract of a soilless mix
    SaturatedMedia,
    PourThrough,
    /// Irrigation water, ECw
    Water,
}

impl Method {
    pub const ALL: [Self; 7] = [
        Self::SaturatedPaste,
        Self::OneToOne,
        Self::OneToTwo,
        Self::OneToFive,
        Self::SaturatedMedia,
        Self::PourThrough,
        Self::Water,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::SaturatedPaste => "saturated_paste",
            Self::OneToOne => "one_to_one",
            Self::OneToTwo => "one_to_two",
            Self::OneToFive => "one_to_five",
            Self::SaturatedMedia => "saturated_media",
            Self::PourThrough => "pour_through",
            Self::Water => "water",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::SaturatedPaste => "saturated paste",
            Self::OneToOne => "1:1 soil to water",
            Self::OneToTwo => "1:2 soil to water",
            Self::OneToFive => "1:5 soil to water",
            Self::SaturatedMedia => "saturated media extract",
            Self::PourThrough => "pour-through",
            Self::Water => "irrigation water",
        }
    }
}

/// How much salt a crop stands, in the list's four words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rating {
    Sensitive,
    ModeratelySensitive,
    ModeratelyTolerant,
    Tolerant,
}

impl Rating {
    fn from_key(key: &str) -> Option<Self> {
        Some(match key {
            "sensitive" => Self::Sensitive,
            "moderately_sensitive" => Self::ModeratelySensitive,
            "moderately_tolerant" => Self::ModeratelyTolerant,
            "tolerant" => Self::Tolerant,
            _ => return None,
        })
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Sensitive => "sensitive",
            Self::ModeratelySensitive => "moderately sensitive",
            Self::ModeratelyTolerant => "moderately tolerant",
            Self::Tolerant => "tolerant",
        }
    }
}

/// One line of the tolerance list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tolerance {
    pub key: String,
    pub name: String,
    /// Keys of the crops it stands for.
    pub crops: Vec<String>,
    /// Threshold \[dS/m, saturated paste\] and slope \[% of yield per dS/m\]; none where only rated.
    pub figures: Option<(f64, f64)>,
    pub rating: Rating,
    /// Whether the source marks the rating as an estimate.
    pub estimated: bool,
    pub source: Source,
}

/// A published factor to a saturated-paste reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conversion {
    pub from: Method,
    pub factor: f64,
    pub low: f64,
    pub high: f64,
    pub holds_for: String,
    pub source: Source,
}

/// Everything the salt tables hold.
#[derive(Debug, Clone, Default)]
pub struct Salts {
    pub tolerances: Vec<Tolerance>,
    pub conversions: Vec<Conversion>,
    /// inches of water, percent of the salts brought down, whose figure; rising in both
    pub reclaim: Vec<(f64, f64, Source)>,
    pub(super) constants: Constants,
    pub(super) cautions: Cautions,
}

#[derive(Deserialize)]
struct ToleranceRow {
    key: String,
    name: String,
    crops: String,
    threshold: Option<f64>,
    slope: Option<f64>,
    rating: String,
    estimated: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ConversionRow {
    from: String,
    factor: f64,
    low: f64,
    high: f64,
    holds_for: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ReclaimRow {
    inches: f64,
    removed_pct: f64,
    source: String,
    evidence: String,
}

fn bad(table: &str, row: usize, problem: impl Into<String>) -> TableError {
    TableError {
        table: table.to_owned(),
        row,
        problem: problem.into(),
    }
}

fn list(text: &str) -> impl Iterator<Item = &str> {
    text.split(';').map(str::trim).filter(|s| !s.is_empty())
}

fn tolerances() -> Result<Vec<Tolerance>, TableError> {
    let name = "salts/tolerance.csv";
    let text = include_str!("../../../../reference/salts/tolerance.csv");
    table::rows::<ToleranceRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let at = i + 2;
            let figures = match (r.threshold, r.slope) {
                (Some(a), Some(b)) if a >= 0.0 && b > 0.0 => Some((a, b)),
                (None, None) => None,
                _ => {
                    return Err(bad(
                        name,
                        at,
                        "threshold and slope belong together, above zero",
                    ));
                }
            };
            Ok(Tolerance {
                crops: list(&r.crops).map(str::to_owned).collect(),
                figures,
                rating: Rating::from_key(&r.rating)
                    .ok_or_else(|| bad(name, at, format!("“{}” is not a rating", r.rating)))?,
                estimated: r.estimated == "yes",
                source: table::source(name, at, &r.source, &r.evidence)?,
                key: r.key,
                name: r.name,
            })
        })
        .collect()
}

fn conversions() -> Result<Vec<Conversion>, TableError> {
    let name = "salts/conversions.csv";
    let text = include_str!("../../../../reference/salts/conversions.csv");
    table::rows::<ConversionRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let at = i + 2;
            if !(r.low > 0.0 && r.low <= r.factor && r.factor <= r.high) {
                return Err(bad(
                    name,
                    at,
                    "low, factor and high must rise from above zero",
                ));
            }
            Ok(Conversion {
                from: Method::from_key(&r.from)
                    .ok_or_else(|| bad(name, at, format!("“{}” is not a method", r.from)))?,
                factor: r.factor,
                low: r.low,
                high: r.high,
                holds_for: r.holds_for,
                source: table::source(name, at, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

fn reclaim() -> Result<Vec<(f64, f64, Source)>, TableError> {
    let name = "salts/reclaim.csv";
    let text = include_str!("../../../../reference/salts/reclaim.csv");
    let mut points: Vec<(f64, f64, Source)> = Vec::new();
    for (i, r) in table::rows::<ReclaimRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let at = i + 2;
        if let Some((inches, removed, _)) = points.last()
            && (r.inches <= *inches || r.removed_pct <= *removed)
        {
            return Err(bad(name, at, "inches and percent must rise"));
        }
        let source = table::source(name, at, &r.source, &r.evidence)?;
        points.push((r.inches, r.removed_pct, source));
    }
    Ok(points)
}

/// Parses the salt tables that come with the program.
///
/// # Errors
/// A row that does not fit its table, in one sentence.
pub fn load() -> Result<Salts, TableError> {
    Ok(Salts {
        tolerances: tolerances()?,
        conversions: conversions()?,
        reclaim: reclaim()?,
        constants: Constants::parse(
            "salts/constants.csv",
            include_str!("../../../../reference/salts/constants.csv"),
        )?,
        cautions: Cautions::parse(
            "salts/cautions.csv",
            include_str!("../../../../reference/salts/cautions.csv"),
        )?,
    })
}

/// The shipped tables; empty if they cannot be parsed, which a test rules out.
pub(super) fn reference() -> &'static Salts {
    static SALTS: OnceLock<Salts> = OnceLock::new();
    SALTS.get_or_init(|| load().unwrap_or_default())
}
