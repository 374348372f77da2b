//! Whether two tests of the same ground differ by more than their doubt.

use super::{Confidence, Doubt, below, z_two_sided};
use crate::sampling::{self, Shape};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// Whether two tests of the same ground differ by more than their doubt; see [`change_between`].
pub fn change(
    before: f64,
    after: f64,
    doubt: &Doubt,
    unit: &str,
    confidence: Confidence,
) -> Figure {
    change_between((before, doubt), (after, doubt), unit, confidence).figure
}

/// What lies between two tests.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Whether it is larger than noise alone gives, as often as the confidence says.
    pub larger: bool,
    /// Standard errors of the difference.
    pub z: f64,
    /// Its value is the change, as a ratio in percent for amounts and in the unit of the test for
    /// pH; low and high bound it.
    pub figure: Figure,
}

/// The smallest change worth naming between two tests, each with its own doubt, and what was found.
///
/// The difference has the variance of both tests together: z √(s₁² + s₂²), on the logarithm for amounts.
pub fn change_between(
    (before, first): (f64, &Doubt),
    (after, second): (f64, &Doubt),
    unit: &str,
    confidence: Confidence,
) -> Change {
    let mut figure = Figure::new("Change between two tests");
    figure.working.extend(second.figure.working.iter().cloned());
    let z = z_two_sided(confidence);
    let derived = || {
        Source::new(
            "the difference of two tests has the variance of both together",
            Evidence::Derived,
        )
    };
    let sd = first.sigma(before).hypot(second.sigma(after));
    let (found, least, shown, unit) = match second.shape {
        Shape::Lognormal => (
            (after / before).ln() / sd,
            ((z * sd).exp() - 1.0) * 100.0,
            (after / before - 1.0) * 100.0,
            "%",
        ),
        Shape::Normal => ((after - before) / sd, z * sd, after - before, unit),
    };
    figure.step(
        format!(
            "least rise that stands out from the noise, {} of 100",
            plain(confidence.as_percent(), 3)
        ),
        least,
        unit,
        format!(
            "{} × √({}² + {}²)",
            plain(z, 4),
            plain(first.sigma(before), 3),
            plain(second.sigma(after), 3)
        ),
        derived(),
    );
    let odds = 2.0 * (1.0 - below(found.abs()));
    figure.step(
        "chance that noise alone gives so much",
        odds * 100.0,
        "%",
        format!("{} standard errors of a difference", plain(found.abs(), 3)),
        derived(),
    );
    let (low, high) = match second.shape {
        Shape::Lognormal => {
            let by = (z * sd).exp();
            let ratio = after / before;
            ((ratio / by - 1.0) * 100.0, (ratio * by - 1.0) * 100.0)
        }
        Shape::Normal => (shown - least, shown + least),
    };
    let larger = found.abs() > z;
    figure.step(
        if larger {
            "change, larger than the noise"
        } else {
            "change, within the noise"
        },
        shown,
        unit,
        format!("{} to {}", plain(before, 4), plain(after, 4)),
        Source::stated("the two reports"),
    );
    figure.low = Some(low);
    figure.high = Some(high);
    figure.cautions.extend(sampling::said("other_lab"));
    figure.cautions.extend(sampling::said("months"));
    Change {
        larger,
        z: found,
        figure,
    }
}
