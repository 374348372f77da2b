//! How many yearly tests it takes until a slow trend can be told from noise.

use super::trend::EXACT_UP_TO;
use super::{Confidence, below, rank, z_two_sided};
use crate::sampling::SamplingError;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// More than this many years of tests are no answer.
const MOST: usize = 200;

/// Tests, one a year, that it takes in all until a true `slope` a year stands out from noise of standard
/// deviation `sigma` (both in one unit, or both on the logarithm) in `power` of 100 farms.
///
/// By the sum of signs S: a pair i years apart rises with the chance Φ(i slope / (√2 σ)), which gives the
/// sum to be expected; the test is passed where S reaches what no trend gives in fewer cases than the
/// confidence leaves (Kendall’s count up to ten tests), S scattering as it does without a trend.
///
/// # Errors
/// No slope, no noise, or more than 200 years.
pub fn tests_to_settle(
    slope: f64,
    sigma: f64,
    confidence: Confidence,
    power: Confidence,
) -> Result<Figure, SamplingError> {
    if !(slope.is_finite() && slope != 0.0) {
        return Err(SamplingError::BadValue(plain(slope, 4), "slope a year"));
    }
    if !(sigma.is_finite() && sigma > 0.0) {
        return Err(SamplingError::BadValue(
            plain(sigma, 4),
            "noise of one test",
        ));
    }
    let tests = (3..=MOST)
        .find(|n| {
            reached(*n, confidence).is_some_and(|s| {
                below((expected(*n, slope, sigma) - s + 1.0) / rank::variance(&vec![1; *n]).sqrt())
                    >= power.share()
            })
        })
        .ok_or_else(|| {
            SamplingError::BadValue(
                plain(slope, 3),
                "slope: it is so small beside the noise that two hundred years of tests would not settle it",
            )
        })?;
    let source = || {
        Source::new(
            "Kendall, Rank Correlation Methods: S and its variance; the power follows from both",
            Evidence::Derived,
        )
    };
    let mut figure = Figure::new("Tests until the trend is settled");
    figure.step(
        format!(
            "sum of signs that stands out, {} of 100",
            plain(confidence.as_percent(), 3)
        ),
        reached(tests, confidence).unwrap_or_default(),
        "pairs",
        format!("{tests} tests"),
        source(),
    );
    figure.step(
        "sum of signs to be expected",
        expected(tests, slope, sigma),
        "pairs",
        format!(
            "each pair rises with the chance Φ(years apart × {} / (√2 × {}))",
            plain(slope.abs(), 3),
            plain(sigma, 3)
        ),
        source(),
    );
    figure.step(
        "yearly tests in all",
        tests as f64,
        "tests",
        format!(
            "fewest that find it on {} of 100 farms",
            plain(power.as_percent(), 3)
        ),
        source(),
    );
    Ok(figure)
}

/// The least S that stands out among `n` tests; none where no order of them does.
fn reached(n: usize, confidence: Confidence) -> Option<f64> {
    if n > EXACT_UP_TO {
        return Some(z_two_sided(confidence) * rank::variance(&vec![1; n]).sqrt() + 1.0);
    }
    let most = n * (n - 1) / 2;
    (0..=most)
        .filter(|s| s % 2 == most % 2)
        .find(|s| rank::mann_kendall_exact(n, *s as i64) <= 1.0 - confidence.share())
        .map(|s| s as f64)
}

/// The sum of signs to be expected of `n` yearly tests with a slope.
fn expected(n: usize, slope: f64, sigma: f64) -> f64 {
    (1..n)
        .map(|apart| {
            let rises = below(apart as f64 * slope.abs() / (std::f64::consts::SQRT_2 * sigma));
            (n - apart) as f64 * (2.0 * rises - 1.0)
        })
        .sum()
}
