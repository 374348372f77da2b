//! Whether a row of yearly tests moves: Mann-Kendall’s test and Theil and Sen’s slope.

use super::below;
use crate::sampling;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use thiserror::Error;

/// Above this many tests without ties the normal approximation serves.
const EXACT_UP_TO: usize = 10;

/// Why there is no trend.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum TrendError {
    #[error("A trend needs at least three tests in time order, and {0} are given.")]
    TooFew(usize),
    #[error("The test {0} is not a finite number.")]
    BadValue(String),
    #[error("Two tests bear the same date {0}; take their mean first.")]
    SameTime(String),
}

/// A row of tests and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// Sum of signs over all pairs.
    pub s: i64,
    /// Two-sided chance that an order without any trend gives so much.
    pub p: f64,
    /// Median slope, per unit of time.
    pub slope: f64,
    /// Median of the values less slope times median of the times.
    pub intercept: f64,
    pub figure: Figure,
}

/// Two-sided probability of |S| at least `s` among all orders of `n` values without ties, by counting.
///
/// Source: Kendall, Rank Correlation Methods: the counts follow the recurrence of inversions.
pub fn mann_kendall_exact(n: usize, s: i64) -> f64 {
    let pairs = n * n.saturating_sub(1) / 2;
    // counts[k]: share of the orders with k inversions.
    let mut counts = vec![1.0];
    for length in 2..=n {
        let mut next = vec![0.0; counts.len() + length - 1];
        for (k, share) in counts.iter().enumerate() {
            for add in 0..length {
                next[k + add] += share / length as f64;
            }
        }
        counts = next;
    }
    let s = s.unsigned_abs() as usize;
    let tail: f64 = counts
        .iter()
        .enumerate()
        .filter(|(k, _)| pairs.abs_diff(2 * k) >= s)
        .map(|(_, share)| share)
        .sum();
    tail.min(1.0)
}

fn median(sorted: &[f64]) -> f64 {
    let n = sorted.len();
    if n % 2 == 1 {
        sorted[n / 2]
    } else {
        (sorted[n / 2 - 1] + sorted[n / 2]) / 2.0
    }
}

/// The trend of values at times (years, say), in time order or not.
///
/// S = Σ sign(x_j − x_i); var S = (n(n−1)(2n+5) − Σ t(t−1)(2t+5)) / 18; z = (S ∓ 1) / √var S, the exact
/// count where there are no ties and at most ten tests. Slope: the median over all pairs (Theil 1950, Sen
/// 1968). Worked examples: US EPA 530/R-09-007, 17-6 and 17-7.
///
/// # Errors
/// Fewer than three tests, one that is no number, or two at the same time.
pub fn trend(points: &[(f64, f64)], unit: &str) -> Result<Trend, TrendError> {
    if points.len() < 3 {
        return Err(TrendError::TooFew(points.len()));
    }
    if let Some(bad) = points
        .iter()
        .find(|p| !(p.0.is_finite() && p.1.is_finite()))
    {
        return Err(TrendError::BadValue(format!("{} at {}", bad.1, bad.0)));
    }
    let mut points = points.to_vec();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = points.len();
    let (mut s, mut slopes, mut tied) = (0i64, Vec::new(), false);
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            if b.0 == a.0 {
                return Err(TrendError::SameTime(plain(a.0, 6)));
            }
            s += match b.1.total_cmp(&a.1) {
                _ if b.1 == a.1 => {
                    tied = true;
                    0
                }
                std::cmp::Ordering::Greater => 1,
                _ => -1,
            };
            slopes.push((b.1 - a.1) / (b.0 - a.0));
        }
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median(&slopes);
    let mut values: Vec<f64> = points.iter().map(|p| p.1).collect();
    values.sort_by(f64::total_cmp);
    let times: Vec<f64> = points.iter().map(|p| p.0).collect();
    let intercept = median(&values) - slope * median(&times);
    let epa = || {
        Source::new(
            "US EPA 530/R-09-007 (2009) chapter 17, with examples 17-6 and 17-7",
            Evidence::Seen,
        )
    };
    let mut figure = Figure::new("Trend");
    figure.step(
        "sum of signs S",
        s as f64,
        "pairs",
        format!("{n} tests, {} pairs", slopes.len()),
        epa(),
    );
    let p = if !tied && n <= EXACT_UP_TO {
        let p = mann_kendall_exact(n, s);
        figure.step(
            "chance that no trend at all gives so much, two-sided",
            p * 100.0,
            "%",
            format!("all orders of {n} values counted"),
            Source::new(
                "Kendall, Rank Correlation Methods: exact distribution",
                Evidence::Derived,
            ),
        );
        p
    } else {
        let of = |n: f64| n * (n - 1.0) * 2.0f64.mul_add(n, 5.0);
        let mut ties = 0.0;
        let mut from = 0;
        while from < n {
            let run = values[from..]
                .iter()
                .take_while(|v| **v == values[from])
                .count();
            ties += of(run as f64);
            from += run;
        }
        let variance = (of(n as f64) - ties) / 18.0;
        figure.step(
            "variance of S",
            variance,
            "pairs²",
            "(n(n−1)(2n+5) − Σ t(t−1)(2t+5)) / 18".to_owned(),
            epa(),
        );
        let z = if variance > 0.0 {
            (s - s.signum()) as f64 / variance.sqrt()
        } else {
            0.0
        };
        let p = 2.0 * below(-z.abs());
        figure.step(
            "chance that no trend at all gives so much, two-sided",
            p * 100.0,
            "%",
            format!("z = {}", plain(z, 5)),
            epa(),
        );
        p
    };
    figure.step(
        "median slope over all pairs",
        slope,
        format!("{unit} a year"),
        format!("middle of {} slopes", slopes.len()),
        Source::new(
            "Theil 1950; Sen 1968; US EPA 530/R-09-007 (2009) chapter 17",
            Evidence::Seen,
        ),
    );
    // Whether any order at all could have stood out.
    if mann_kendall_exact(n, (n * (n - 1) / 2) as i64) > 0.05 {
        figure.cautions.extend(sampling::said("few"));
    }
    figure.cautions.extend(sampling::said("months"));
    Ok(Trend {
        s,
        p,
        slope,
        intercept,
        figure,
    })
}
