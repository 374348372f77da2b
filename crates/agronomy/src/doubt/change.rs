//! Whether two tests of the same ground differ by more than their doubt.

use super::{Confidence, Doubt, below, z_two_sided};
use crate::sampling::{self, Shape};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// The smallest change worth naming between two tests with the same doubt, and what was found.
///
/// The figure’s value is the change, as a ratio in percent for amounts and in the unit of the test for
/// pH; low and high bound it. The step before tells the least change that stands out: z √2 s.
pub fn change(
    before: f64,
    after: f64,
    doubt: &Doubt,
    unit: &str,
    confidence: Confidence,
) -> Figure {
    let mut figure = Figure::new("Change between two tests");
    figure.working.extend(doubt.figure.working.iter().cloned());
    let z = z_two_sided(confidence);
    let root2 = std::f64::consts::SQRT_2;
    let derived = || {
        Source::new(
            "the difference of two tests has twice the variance of one",
            Evidence::Derived,
        )
    };
    let (found, least, shown, unit) = match doubt.shape {
        Shape::Lognormal => {
            let sigma = doubt.sigma(before);
            let least = ((z * root2 * sigma).exp() - 1.0) * 100.0;
            (
                (after / before).ln() / (root2 * sigma),
                least,
                (after / before - 1.0) * 100.0,
                "%",
            )
        }
        Shape::Normal => {
            let sigma = doubt.sigma(before);
            (
                (after - before) / (root2 * sigma),
                z * root2 * sigma,
                after - before,
                unit,
            )
        }
    };
    figure.step(
        format!(
            "least rise that stands out from the noise, {} of 100",
            plain(confidence.as_percent(), 3)
        ),
        least,
        unit,
        format!("{} × √2 × one standard deviation", plain(z, 4)),
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
    let (low, high) = match doubt.shape {
        Shape::Lognormal => {
            let by = (z * root2 * doubt.sigma(before)).exp();
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
    figure
}
