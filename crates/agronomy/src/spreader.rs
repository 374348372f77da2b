//! What a calibration walk says of a spreader: a measured strip, and the weight that went onto it.
//!
//! `r = 1,000 · m / (w · l · n)`, where r is lb per 1,000 ft2, m the lb caught or used up, w the width in
//! ft that one trip covers, l the ft walked with the gate open and n the trips over the strip. (NC State
//! Extension, Calibrating your spreader: weigh what fell on a known area; Rutgers Snyder Farm and LSU
//! AgCenter for drop spreaders.)

mod advice;
mod reach;
mod setting;
mod swath;

pub use advice::{Turn, Verdict, advice, verdict, verdict_words};
pub use reach::{Reach, cups, feet_per_bucket, goes};
pub use setting::{AtSetting, Found, at_settings, number, setting_for, with_passes};
pub use swath::swath;

use crate::constant::{Cautions, Constants};
use crate::working::{Caution, Evidence, Figure, Source};
use quantity::{Length, Mass, plain};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// How a material leaves the tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Straight down through holes, as wide as the hopper.
    Drop,
    /// Thrown to both sides by a turning plate.
    Broadcast,
    Hand,
}

impl Way {
    pub const ALL: [Self; 3] = [Self::Drop, Self::Broadcast, Self::Hand];

    pub fn key(self) -> &'static str {
        match self {
            Self::Drop => "drop",
            Self::Broadcast => "broadcast",
            Self::Hand => "hand",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Drop => "drop spreader",
            Self::Broadcast => "broadcast spreader",
            Self::Hand => "by hand",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.key() == key)
    }
}

/// How the width that one trip covers was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "by")]
pub enum Width {
    /// ft: inside the hopper, the effective swath, or the strip spread by hand.
    Measured { ft: f64 },
    /// ft from edge to edge of the throw, of which each pass gives up a share to the next.
    Throw { ft: f64, overlap_percent: f64 },
    /// What fell into pans that stood `spacing_ft` apart across the path, the middle one on it; any unit.
    Pans { spacing_ft: f64, caught: Vec<f64> },
}

/// How the weight that went on was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "by")]
pub enum Laid {
    /// lb caught or used up.
    Weighed { lb: f64 },
    /// lb put in, and lb left in the hopper.
    LeftOver { before_lb: f64, after_lb: f64 },
    /// So many handfuls, cups or scoops, one of which weighs `each_lb`.
    Counted {
        count: f64,
        of: String,
        each_lb: f64,
    },
}

/// What was measured on a walk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Walk {
    pub way: Way,
    pub width: Width,
    /// ft walked with the gate open, once.
    pub length_ft: f64,
    /// How many times the strip was walked before weighing.
    pub trips: u32,
    pub laid: Laid,
}

/// Why a walk says nothing.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SpreaderError {
    #[error("Found {what} of {found}, expected {expected}.")]
    BadValue {
        what: &'static str,
        found: String,
        expected: String,
    },
    #[error("{0}")]
    Pans(String),
}

/// The most that a strip can be, ft: against slips of the keyboard.
const MOST_WIDTH: f64 = 200.0;
const MOST_LENGTH: f64 = 20_000.0;
const MOST_LB: f64 = 50_000.0;

pub(crate) fn within(
    what: &'static str,
    value: f64,
    most: f64,
    unit: &str,
) -> Result<f64, SpreaderError> {
    if value.is_finite() && value > 0.0 && value <= most {
        return Ok(value);
    }
    Err(SpreaderError::BadValue {
        what,
        found: format!("{} {unit}", plain(value, 4)),
        expected: format!("more than 0 and at most {} {unit}", plain(most, 4)),
    })
}

impl Walk {
    /// ft that one trip covers, with its working where it was not measured outright.
    ///
    /// # Errors
    /// A width that cannot be, or pans that do not tell one.
    pub fn width(&self, figure: &mut Figure) -> Result<f64, SpreaderError> {
        let ft = match &self.width {
            Width::Measured { ft } => *ft,
            Width::Throw {
                ft,
                overlap_percent,
            } => {
                within("a throw", *ft, MOST_WIDTH, "ft")?;
                if !(0.0..=90.0).contains(overlap_percent) {
                    return Err(SpreaderError::BadValue {
                        what: "an overlap",
                        found: format!("{} %", plain(*overlap_percent, 3)),
                        expected: "from 0 to 90 % of the throw".to_owned(),
                    });
                }
                figure.step(
                    "effective swath",
                    ft * (1.0 - overlap_percent / 100.0),
                    "ft",
                    format!(
                        "{} ft × (1 − {} %)",
                        plain(*ft, 4),
                        plain(*overlap_percent, 3)
                    ),
                    named("least_overlap").1,
                )
            }
            Width::Pans { spacing_ft, caught } => swath(*spacing_ft, caught, figure)?,
        };
        within("a width", ft, MOST_WIDTH, "ft")
    }

    /// lb that went on, with its working where it was not weighed outright.
    fn weight(&self, figure: &mut Figure) -> Result<f64, SpreaderError> {
        let lb = match &self.laid {
            Laid::Weighed { lb } => *lb,
            Laid::LeftOver {
                before_lb,
                after_lb,
            } => {
                within("a weight put in", *before_lb, MOST_LB, "lb")?;
                if !(0.0..*before_lb).contains(after_lb) {
                    return Err(SpreaderError::BadValue {
                        what: "a weight left over",
                        found: format!("{} lb", plain(*after_lb, 4)),
                        expected: format!("less than the {} lb put in", plain(*before_lb, 4)),
                    });
                }
                figure.step(
                    "used up",
                    before_lb - after_lb,
                    "lb",
                    format!("{} lb − {} lb", plain(*before_lb, 4), plain(*after_lb, 4)),
                    Source::arithmetic(),
                )
            }
            Laid::Counted { count, of, each_lb } => {
                within("a count", *count, 100_000.0, "")?;
                within("a weight of one measure", *each_lb, MOST_LB, "lb")?;
                let of = if of.trim().is_empty() {
                    "measure"
                } else {
                    of.trim()
                };
                figure.step(
                    "spread",
                    count * each_lb,
                    "lb",
                    format!("{} × {} lb a {of}", plain(*count, 4), plain(*each_lb, 4)),
                    Source::arithmetic(),
                )
            }
        };
        within("a weight", lb, MOST_LB, "lb")
    }

    /// What the walk laid down, lb per 1,000 ft2, with its working; lb per acre and g per m2 stand in it.
    ///
    /// # Errors
    /// A measure that cannot be.
    pub fn rate(&self) -> Result<Figure, SpreaderError> {
        let mut figure = Figure::new("What the walk laid down");
        let width = self.width(&mut figure)?;
        within("a length", self.length_ft, MOST_LENGTH, "ft")?;
        if !(1..=100).contains(&self.trips) {
            return Err(SpreaderError::BadValue {
                what: "a number of trips",
                found: self.trips.to_string(),
                expected: "from 1 to 100".to_owned(),
            });
        }
        let lb = self.weight(&mut figure)?;
        let trips = f64::from(self.trips);
        let ground = Length::feet(width) * Length::feet(self.length_ft * trips);
        let strip = figure.step(
            "the strip",
            ground.to_square_feet(),
            "ft2",
            if self.trips > 1 {
                format!(
                    "{} ft × {} ft × {} trips",
                    plain(width, 4),
                    plain(self.length_ft, 5),
                    self.trips
                )
            } else {
                format!("{} ft × {} ft", plain(width, 4), plain(self.length_ft, 5))
            },
            Source::arithmetic(),
        );
        let rate = Mass::pounds(lb) / ground;
        let (lb, strip) = (plain(lb, 4), plain(strip, 5));
        let definition = Source::new("legal definition of the units", Evidence::Derived);
        figure.step(
            "on an acre",
            rate.to_lb_per_acre(),
            "lb/acre",
            format!("{lb} / {strip} × 43,560"),
            definition.clone(),
        );
        figure.step(
            "in metric units",
            rate / quantity::Rate::grams_per_m2(1.0),
            "g/m2",
            format!("{lb} lb × 453.6 / ({strip} ft2 × 0.0929)"),
            definition,
        );
        figure.step(
            "on 1,000 ft2",
            rate.to_lb_per_1000_ft2(),
            "lb/1000 ft2",
            format!("{lb} / {strip} × 1,000"),
            Source::arithmetic(),
        );
        Ok(figure)
    }
}

fn constants() -> &'static Constants {
    static ALL: OnceLock<Constants> = OnceLock::new();
    ALL.get_or_init(|| {
        Constants::parse(
            "materials/spreading.csv",
            include_str!("../../../reference/materials/spreading.csv"),
        )
        .unwrap_or_default()
    })
}

/// A named number of the table; the tests hold every name that is asked for.
fn named(key: &str) -> (f64, Source) {
    constants().get(key).map_or_else(
        || (f64::NAN, Source::new("missing", Evidence::Memory)),
        |c| (c.value, c.source.clone()),
    )
}

/// How far apart several walks at one setting may lie before they are walked again, percent of their mean.
pub fn most_apart() -> (f64, Source) {
    named("apart")
}

/// How many of the newest walks of a setting count.
pub fn walks_that_count() -> usize {
    named("walks").0 as usize
}

/// Between which shares of the throw passes overlap, percent.
pub fn usual_overlap() -> (f64, f64) {
    (named("least_overlap").0, named("most_overlap").0)
}

/// What to mind on a walk of a way.
pub fn mind(way: Way) -> Vec<Caution> {
    static ALL: OnceLock<Cautions> = OnceLock::new();
    let all = ALL.get_or_init(|| {
        Cautions::parse(
            "materials/spreader_advice.csv",
            include_str!("../../../reference/materials/spreader_advice.csv"),
        )
        .unwrap_or_default()
    });
    [way.key(), "all"]
        .into_iter()
        .flat_map(|when| all.when(when))
        .map(|(text, source)| Caution {
            text: text.to_owned(),
            source: source.clone(),
        })
        .collect()
}

#[cfg(test)]
mod tests;
