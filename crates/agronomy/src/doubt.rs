//! How far a soil test can be trusted: it is one draw from an uneven field, through a lab that repeats
//! itself only so well.
//!
//! A reported value is the mean of `n` mixed cores, tested once: var = s_field² / n + s_lab² (Harvey,
//! Modern Analytical Chemistry, eq. 7.8). Amounts scatter lognormally, pH normally (Starr, Meisinger and
//! Parkin 1992, 1995).

mod chance;
mod change;
mod rank;
mod response;
mod seasons;
mod settle;
mod trend;

pub use chance::{Chance, chances};
pub use change::{Change, change, change_between};
pub use rank::mann_kendall_exact;
pub use response::{Answered, Judged, Prior, Response, judged, learn, lime_prior, nutrient_prior};
pub use seasons::{SeasonalTrend, other_season, seasonal_trend};
pub use settle::tests_to_settle;
pub use trend::{Trend, TrendError, trend};

use crate::sampling::{self, SamplingError, Shape, Spread};
use crate::soil::Analyte;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// How often a statement should hold, as a share: 0.8 is 80 of 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Confidence(f64);

impl Confidence {
    /// Four of five: what a farm decides by.
    pub const USUAL: Self = Self(0.8);

    /// As a share, 0 to 1.
    pub fn share(self) -> f64 {
        self.0
    }

    /// From percent, 50 to 99.9.
    ///
    /// # Errors
    /// A percentage outside that.
    pub fn percent(percent: f64) -> Result<Self, SamplingError> {
        if (50.0..=99.9).contains(&percent) {
            Ok(Self(percent / 100.0))
        } else {
            Err(SamplingError::BadValue(
                percent.to_string(),
                "confidence; give 50 to 99.9 percent",
            ))
        }
    }

    pub fn as_percent(self) -> f64 {
        self.0 * 100.0
    }

    fn upper(self) -> f64 {
        0.5 + self.0 / 2.0
    }
}

/// The share of a standard normal distribution below `z`.
pub(crate) fn below(z: f64) -> f64 {
    Normal::standard().cdf(z)
}

/// The z between whose negative and itself the confidence lies.
pub fn z_two_sided(confidence: Confidence) -> f64 {
    Normal::standard().inverse_cdf(confidence.upper())
}

/// The same for Student’s t with `freedom` degrees of freedom, at least one.
pub fn t_two_sided(confidence: Confidence, freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom.max(1.0))
        .map_or(f64::INFINITY, |t| t.inverse_cdf(confidence.upper()))
}

/// The doubt of one test value.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// One standard deviation of the reported value about the true mean of the ground.
    pub total: Spread,
    pub shape: Shape,
    /// How it was put together; its value is the total, in percent or in the unit of the test.
    pub figure: Figure,
}

/// The doubt of a test that `cores` mixed cores stand behind, with the farm’s own scatter between cores
/// where it has one.
///
/// # Errors
/// No published scatter is held for this test and none of one’s own is given, or no cores.
pub fn of_test(analyte: Analyte, cores: u32, own: Option<Spread>) -> Result<Doubt, SamplingError> {
    if cores == 0 {
        return Err(SamplingError::TooFew { least: 1, found: 0 });
    }
    let (shape, _) = sampling::shape(analyte).ok_or(SamplingError::Table("shape of scatter"))?;
    let mut figure = Figure::new(format!("Doubt of {}", analyte.name()));
    let published = sampling::field_variation(analyte);
    let (field, source, whole) = match (own, published) {
        (Some(own), _) => {
            sampling::positive(own.size(), "scatter between cores")?;
            (
                own,
                Source::stated("your own samples of the same ground"),
                false,
            )
        }
        (None, Some(v)) => (v.spread, v.source.clone(), v.whole_test),
        (None, None) => return Err(SamplingError::Table("scatter of this test within a field")),
    };
    let unit = field.unit(analyte.unit());
    if whole {
        let total = figure.step(
            "sampling and analysis together, one standard deviation",
            field.shown(),
            unit,
            plain(field.shown(), 3),
            source,
        );
        let total = match field {
            Spread::Relative(_) => Spread::Relative(total / 100.0),
            Spread::Absolute(_) => Spread::Absolute(total),
        };
        return Ok(Doubt {
            total,
            shape,
            figure,
        });
    }
    figure.step(
        "between single cores, one standard deviation",
        field.shown(),
        unit.clone(),
        published.map_or_else(|| plain(field.shown(), 3), |v| v.what.clone()),
        source,
    );
    let of_mean = field.size() / f64::from(cores).sqrt();
    figure.step(
        "of the mean of the mixed cores",
        field.resized(of_mean).shown(),
        unit.clone(),
        format!("{} / √{cores}", plain(field.shown(), 3)),
        sampling::formula_source(),
    );
    let lab = sampling::lab_precision(analyte, false).filter(|p| {
        matches!(
            (p.spread, field),
            (Spread::Relative(_), Spread::Relative(_)) | (Spread::Absolute(_), Spread::Absolute(_))
        )
    });
    let mut total = of_mean;
    if let Some(lab) = lab {
        figure.step(
            "the lab’s own repeat",
            lab.spread.shown(),
            unit.clone(),
            lab.what.clone(),
            lab.source.clone(),
        );
        total = of_mean.hypot(lab.spread.size());
    }
    let total = field.resized(total);
    figure.step(
        "together, one standard deviation of the test",
        total.shown(),
        unit,
        match lab {
            Some(lab) => format!(
                "√({}² + {}²)",
                plain(field.resized(of_mean).shown(), 3),
                plain(lab.spread.shown(), 3)
            ),
            None => plain(total.shown(), 3),
        },
        Source::new(
            "Harvey, Modern Analytical Chemistry, eq. 7.8: variances add",
            Evidence::Seen,
        ),
    );
    if own.is_none() {
        figure.cautions.extend(sampling::said("one_composite"));
    }
    Ok(Doubt {
        total,
        shape,
        figure,
    })
}

impl Doubt {
    /// Standard deviation on the scale on which the test is normal: of its logarithm where lognormal.
    pub fn sigma(&self, value: f64) -> f64 {
        match (self.shape, self.total) {
            (Shape::Lognormal, Spread::Relative(cv)) => cv.mul_add(cv, 1.0).ln().sqrt(),
            (Shape::Lognormal, Spread::Absolute(sd)) if value > 0.0 => {
                let cv = sd / value;
                cv.mul_add(cv, 1.0).ln().sqrt()
            }
            (Shape::Normal, Spread::Relative(cv)) => cv * value,
            (_, Spread::Absolute(sd)) => sd,
        }
    }

    /// What lies `z` standard deviations from the value.
    pub fn at(&self, value: f64, z: f64) -> f64 {
        match self.shape {
            Shape::Lognormal => value * (z * self.sigma(value)).exp(),
            Shape::Normal => value + z * self.sigma(value),
        }
    }

    /// Between what the true mean of the ground lies, as often as the confidence says.
    pub fn interval(&self, value: f64, confidence: Confidence) -> (f64, f64) {
        let z = z_two_sided(confidence);
        (self.at(value, -z), self.at(value, z))
    }

    /// The value with its interval as a figure, in the unit of the test.
    pub fn figure_of(&self, value: f64, unit: &str, confidence: Confidence) -> Figure {
        let mut figure = self.figure.clone();
        let (low, high) = self.interval(value, confidence);
        figure.step(
            format!(
                "the test; the true mean lies between in {} of 100 cases",
                plain(confidence.as_percent(), 3)
            ),
            value,
            if unit.is_empty() { "pH" } else { unit },
            format!("{} to {}", plain(low, 4), plain(high, 4)),
            Source::new(
                match self.shape {
                    Shape::Lognormal => "lognormal scatter of the mean",
                    Shape::Normal => "normal scatter of the mean",
                },
                Evidence::Derived,
            ),
        );
        figure.low = Some(low);
        figure.high = Some(high);
        figure
    }

    /// The share of the doubt that lies below `edge`.
    pub(crate) fn below(&self, value: f64, edge: f64) -> f64 {
        let sigma = self.sigma(value);
        match self.shape {
            Shape::Lognormal if edge <= 0.0 => 0.0,
            Shape::Lognormal if value <= 0.0 => 1.0,
            Shape::Lognormal => below((edge.ln() - value.ln()) / sigma),
            Shape::Normal => below((edge - value) / sigma),
        }
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_trend;
