//! Number of cores for a wanted precision, and the precision that a number of cores gives.

use super::{SamplingError, Spread, area_rules, constant, positive, practice, said};
use crate::doubt::{Confidence, t_two_sided, z_two_sided};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// More cores than anybody takes; a search stops here.
const MOST: u32 = 100_000;

/// Where n = (t s / E)² stands.
pub(crate) fn formula_source() -> Source {
    Source::new(
        "n = (t s / E)²: US EPA 530/R-09-007 (2009) ch. 21; Mississippi Administrative Code title 11 part 8 ch. 2 addendum; Harvey, Modern Analytical Chemistry p. 192",
        Evidence::Seen,
    )
}

/// The farm’s own cores, each tested by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnCores {
    pub count: usize,
    pub mean: f64,
    /// Standard deviation with n − 1.
    pub sd: f64,
}

impl OwnCores {
    /// From at least three values that are numbers and not below zero.
    pub fn new(values: &[f64]) -> Result<Self, SamplingError> {
        if values.len() < 3 {
            return Err(SamplingError::TooFew {
                least: 3,
                found: values.len(),
            });
        }
        if let Some(bad) = values.iter().find(|v| !(v.is_finite() && **v >= 0.0)) {
            return Err(SamplingError::BadValue(bad.to_string(), "test of a core"));
        }
        let n = values.len() as f64;
        let mean = positive(values.iter().sum::<f64>() / n, "mean of the cores")?;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        Ok(Self {
            count: values.len(),
            mean,
            sd: (squares / (n - 1.0)).sqrt(),
        })
    }

    /// As a share of the mean, or in the unit of the test.
    pub fn spread(&self, relative: bool) -> Spread {
        if relative {
            Spread::Relative(self.sd / self.mean)
        } else {
            Spread::Absolute(self.sd)
        }
    }
}

/// Cores for a mean that lies within `error` of the true one, as often as `confidence` says.
///
/// `scatter` between cores and `error` are in the same unit, or both in percent. Where the scatter comes
/// from `pilot` cores of one’s own, t keeps their degrees of freedom and n = (t s / E)² is rounded up;
/// otherwise n is the smallest that meets t(n − 1) s / √n ≤ E.
///
/// # Errors
/// A scatter or an error that is not above zero; more than 100,000 cores.
pub fn cores_needed(
    scatter: f64,
    error: f64,
    confidence: Confidence,
    pilot: Option<usize>,
    unit: &str,
) -> Result<Figure, SamplingError> {
    let scatter = positive(scatter, "scatter between cores")?;
    let error = positive(error, "margin of error")?;
    let mut figure = Figure::new("Cores for one sample");
    let root = scatter / error;
    let z = z_two_sided(confidence);
    let formula = |t: f64| {
        format!(
            "({} × {} {unit} / {} {unit})²",
            plain(t, 4),
            plain(scatter, 4),
            plain(error, 4)
        )
    };
    let count = if let Some(pilot) = pilot {
        let t = t_two_sided(confidence, pilot.saturating_sub(1) as f64);
        let exact = figure.step(
            format!("by t of your own {pilot} cores"),
            (t * root).powi(2),
            "cores",
            formula(t),
            formula_source(),
        );
        whole(exact)?
    } else {
        let start = figure.step(
            "if the scatter were known for certain",
            (z * root).powi(2),
            "cores",
            formula(z),
            formula_source(),
        );
        let mut n = whole(start)?.max(2);
        while t_two_sided(confidence, f64::from(n - 1)) * root / f64::from(n).sqrt()
            > error_free(1.0)
        {
            n += 1;
            if n > MOST {
                return Err(SamplingError::TooMany(MOST));
            }
        }
        n
    };
    let usual = constant("cores")?;
    figure.step(
        "growers usually take",
        usual.value,
        "cores",
        plain(usual.value, 3),
        usual.source.clone(),
    );
    if let Some((low, high)) = published_range() {
        figure.step(
            format!("published sheets ask for {low} to {high} in a field; the most asked"),
            high,
            "cores",
            format!("{low} to {high}"),
            Source::new(
                "the sheets listed under sampling practice (extension services of eleven states)",
                Evidence::Secondary,
            ),
        );
    }
    let t = t_two_sided(
        confidence,
        pilot.map_or(f64::from(count) - 1.0, |p| p.saturating_sub(1) as f64),
    );
    figure.step(
        format!(
            "cores to come within {} {unit} in {} of 100 cases",
            plain(error, 3),
            plain(confidence.as_percent(), 4)
        ),
        f64::from(count),
        "cores",
        format!("{}, rounded up", formula(t)),
        formula_source(),
    );
    figure.cautions.extend(said("cores"));
    Ok(figure)
}

/// A margin met to the last bit counts as met.
fn error_free(error: f64) -> f64 {
    error * (1.0 + 1e-12)
}

fn whole(exact: f64) -> Result<u32, SamplingError> {
    let up = (exact - 1e-9).ceil().max(1.0);
    if up <= f64::from(MOST) {
        Ok(up as u32)
    } else {
        Err(SamplingError::TooMany(MOST))
    }
}

/// The least and the most cores that published sheets ask for in a composite.
fn published_range() -> Option<(f64, f64)> {
    let rows = practice("cores");
    let composites = rows.iter().filter(|p| {
        p.item.starts_with("cores per composite") && p.source.evidence != Evidence::CommonPractice
    });
    let ends: Vec<f64> = composites.flat_map(|p| [p.low, p.high]).flatten().collect();
    let low = ends.iter().copied().reduce(f64::min)?;
    let high = ends.iter().copied().reduce(f64::max)?;
    Some((low, high))
}

/// How near the mean of `cores` lies to the true one: t(n − 1) s / √n, in the unit of `scatter`.
///
/// # Errors
/// Fewer than two cores, or a scatter that is not above zero.
pub fn half_width(
    scatter: f64,
    cores: u32,
    confidence: Confidence,
    unit: &str,
) -> Result<Figure, SamplingError> {
    let scatter = positive(scatter, "scatter between cores")?;
    if cores < 2 {
        return Err(SamplingError::TooFew {
            least: 2,
            found: cores as usize,
        });
    }
    let n = f64::from(cores);
    let t = t_two_sided(confidence, n - 1.0);
    let mut figure = Figure::new("How near the mean of the cores lies to the true one");
    figure.step(
        format!("t for {} degrees of freedom", cores - 1),
        t,
        "standard errors",
        format!("two-sided, {} of 100", plain(confidence.as_percent(), 4)),
        Source::new("Student’s t distribution", Evidence::Derived),
    );
    figure.step(
        format!(
            "within this much in {} of 100 cases",
            plain(confidence.as_percent(), 4)
        ),
        t * scatter / n.sqrt(),
        unit,
        format!("{} × {} {unit} / √{cores}", plain(t, 4), plain(scatter, 4)),
        formula_source(),
    );
    Ok(figure)
}

/// Samples that a published rule asks for on a piece of ground.
///
/// # Errors
/// An unknown rule, or ground the rule does not print a number for.
pub fn samples_for(acres: f64, rule: &str) -> Result<Figure, SamplingError> {
    let acres = positive(acres, "area")?;
    let mut rows = area_rules().iter().filter(|r| r.rule == rule).peekable();
    if rows.peek().is_none() {
        return Err(SamplingError::BadValue(
            format!("“{rule}”"),
            "rule for the number of samples",
        ));
    }
    let row = rows.find(|r| {
        // The sheet counts whole acres.
        let whole = acres.round();
        r.from_acres.is_none_or(|a| whole >= a) && r.to_acres.is_none_or(|a| whole <= a)
    });
    let none = || SamplingError::Area {
        rule: rule.to_owned(),
        acres: plain(acres, 3),
    };
    let row = row.ok_or_else(none)?;
    let mut figure = Figure::new("Samples for this ground");
    match (row.acres_per_sample, row.samples) {
        (Some(each), _) => figure.step(
            row.what.clone(),
            (acres / each - 1e-9).ceil(),
            "samples",
            format!(
                "{} acres / {} acres, rounded up",
                plain(acres, 3),
                plain(each, 3)
            ),
            row.source.clone(),
        ),
        (None, Some(samples)) => figure.step(
            row.what.clone(),
            samples,
            "samples",
            format!(
                "{} to {} acres",
                plain(row.from_acres.unwrap_or(0.0), 3),
                plain(row.to_acres.unwrap_or(acres), 3)
            ),
            row.source.clone(),
        ),
        (None, None) => return Err(none()),
    };
    for apart in practice("separate") {
        figure.caution(
            format!("Whatever the area, sample apart: {}.", apart.context),
            apart.source.clone(),
        );
    }
    Ok(figure)
}
