//! When a crop takes its nitrogen up, week by week.
//!
//! U(t) = N · (g(t) − g(0)) / (g(L) − g(0)), g(t) = 1 / (1 + e^(−(t − m)/s)), t in weeks after
//! planting. L is the season’s length; m the middle of rapid growth, which is the crop-development and
//! mid-season stages of FAO 56; s is set so that the published 85 % (Univ. of Massachusetts, “as much
//! as”) of a logistic curve lies within rapid growth: s = width / (2 ln((1 + 0.85) / (1 − 0.85))).

use super::release::rule;
use super::{NitrogenError, checked};
use crate::crop::Crop;
use crate::table::{self, TableError};
use crate::working::{Evidence, Source};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// The stages of a crop’s season, weeks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Season {
    pub initial: f64,
    pub development: f64,
    pub mid: f64,
    pub late: f64,
    pub note: String,
    pub source: Source,
}

impl Season {
    /// Planting to the end of harvest, weeks.
    pub fn weeks(&self) -> f64 {
        self.initial + self.development + self.mid + self.late
    }
}

#[derive(Deserialize)]
struct Raw {
    crop: String,
    initial: f64,
    development: f64,
    mid: f64,
    late: f64,
    note: String,
    source: String,
    evidence: String,
}

fn load_seasons() -> Result<Vec<(String, Season)>, TableError> {
    let name = "crops/season.csv";
    let text = include_str!("../../../../reference/crops/season.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let days = [r.initial, r.development, r.mid, r.late];
            let known = crate::crop::find(&r.crop).is_some();
            if !known || days.iter().any(|d| !d.is_finite() || *d < 0.0) || days[1] + days[2] <= 0.0
            {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not a crop, or its stages are no days", r.crop),
                });
            }
            Ok((
                r.crop,
                Season {
                    initial: r.initial / 7.0,
                    development: r.development / 7.0,
                    mid: r.mid / 7.0,
                    late: r.late / 7.0,
                    note: r.note,
                    source: table::source(name, i + 2, &r.source, &r.evidence)?,
                },
            ))
        })
        .collect()
}

pub(super) fn load() -> Result<(), TableError> {
    load_seasons().map(|_| ())
}

fn seasons() -> &'static [(String, Season)] {
    static SEASONS: OnceLock<Vec<(String, Season)>> = OnceLock::new();
    SEASONS.get_or_init(|| load_seasons().unwrap_or_default())
}

/// The stages of a crop’s season where the tables hold them. Most were read for warm regions: a
/// default to start from.
pub fn season(crop: &Crop) -> Option<&'static Season> {
    seasons()
        .iter()
        .find(|(k, _)| *k == crop.key)
        .map(|(_, s)| s)
}

/// A crop’s uptake over its season.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Uptake {
    /// All that the crop takes up, lb N/acre
    pub total: f64,
    /// Weeks from planting to the end
    pub weeks: f64,
    /// The middle of rapid growth, weeks after planting
    pub middle: f64,
    /// The steepness s, weeks
    pub steepness: f64,
    pub sources: Vec<Source>,
}

/// The uptake of a crop that takes up `total` lb N/acre, stretched to `weeks` where the grower knows
/// the length of the season better than the table.
///
/// # Errors
/// No season is held for the crop and none is given, or a value that cannot be.
pub fn uptake(crop: &Crop, total: f64, weeks: Option<f64>) -> Result<Uptake, NitrogenError> {
    checked(total, 1_000.0, "nitrogen uptake in lb per acre")?;
    if let Some(w) = weeks {
        checked(w, 60.0, "length of the season in weeks")?;
        if w < 1.0 {
            return Err(NitrogenError::BadValue(
                quantity::plain(w, 3),
                "length of the season, which is a week at least",
            ));
        }
    }
    let spread = rule("rapid_growth_share")?;
    let share = spread.value / 100.0;
    let (initial, rapid, all, source) = match (season(crop), weeks) {
        (Some(s), given) => {
            let stretch = given.map_or(1.0, |w| w / s.weeks());
            (
                s.initial * stretch,
                (s.development + s.mid) * stretch,
                s.weeks() * stretch,
                Source::new(
                    format!("{}; {}", s.source.text, s.note),
                    if given.is_some() {
                        s.source.evidence.max(Evidence::Local)
                    } else {
                        s.source.evidence
                    },
                ),
            )
        }
        // A quarter of the season, then the half of rapid growth.
        (None, Some(w)) => (
            w / 4.0,
            w / 2.0,
            w,
            Source::new(
                "no stages are held for this crop: a quarter, a half and a quarter of the season",
                Evidence::CommonPractice,
            ),
        ),
        (None, None) => return Err(NitrogenError::NoSeason(crop.name.to_lowercase())),
    };
    Ok(Uptake {
        total,
        weeks: all,
        middle: initial + rapid / 2.0,
        steepness: rapid / (2.0 * ((1.0 + share) / (1.0 - share)).ln()),
        sources: vec![source, spread.source.clone()],
    })
}

impl Uptake {
    /// lb N/acre taken up by `t` weeks after planting; 0 before, all of it after the season.
    pub fn by(&self, t: f64) -> f64 {
        let g = |t: f64| 1.0 / (1.0 + (-(t - self.middle) / self.steepness).exp());
        let (start, end) = (g(0.0), g(self.weeks));
        self.total * (g(t.clamp(0.0, self.weeks)) - start) / (end - start)
    }
}
