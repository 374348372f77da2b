//! Whether a row of yearly tests moves: Mann-Kendall’s test and Theil and Sen’s slope.

use super::{Confidence, below, rank, z_two_sided};
use crate::sampling;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use thiserror::Error;

/// Above this many tests the normal approximation serves.
pub(super) const EXACT_UP_TO: usize = 10;

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
    /// Of every pair, rising.
    slopes: Vec<f64>,
    /// How many tests are alike, group by group.
    groups: Vec<usize>,
}

impl Trend {
    /// Between what the true slope lies, as often as the confidence says; none where so few tests
    /// bound it on no side.
    ///
    /// From ten tests on the ranks (N − C)/2 and (N + C)/2 + 1 with C = z √var S, between ranks in
    /// proportion (Gilbert 1987; US EPA 530/R-09-007 (2009) chapter 17). Below ten the widest rank
    /// that the count of all orders allows, so that it holds at least as often.
    pub fn interval(&self, confidence: Confidence) -> Option<(f64, f64)> {
        let pairs = self.slopes.len();
        let tests: usize = self.groups.iter().sum();
        if tests < EXACT_UP_TO {
            let miss = 1.0 - confidence.share();
            let rank = (1..=pairs.div_ceil(2)).rev().find(|rank| {
                rank::mann_kendall_exact(tests, (pairs + 2 - 2 * rank) as i64) <= miss
            })?;
            return Some((self.slopes[rank - 1], self.slopes[pairs - rank]));
        }
        let c = z_two_sided(confidence) * rank::variance(&self.groups).sqrt();
        let low = (pairs as f64 - c) / 2.0;
        let high = (pairs as f64 + c) / 2.0 + 1.0;
        (low >= 1.0).then(|| (self.at_rank(low), self.at_rank(high)))
    }

    /// The slope at a rank counted from one, between two ranks in proportion.
    fn at_rank(&self, rank: f64) -> f64 {
        let below = (rank.floor() as usize).clamp(1, self.slopes.len());
        let above = (below + 1).min(self.slopes.len());
        let (a, b) = (self.slopes[below - 1], self.slopes[above - 1]);
        a + (b - a) * (rank - rank.floor())
    }

    /// Whether it stands out from no trend at all, as often as the confidence says.
    pub fn stands_out(&self, confidence: Confidence) -> bool {
        self.p <= 1.0 - confidence.share()
    }
}

pub(super) fn median(sorted: &[f64]) -> f64 {
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
/// count of all orders, ties or not, up to ten tests. Slope: the median over all pairs (Theil 1950, Sen
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
    let (mut s, mut slopes) = (0i64, Vec::new());
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            if b.0 == a.0 {
                return Err(TrendError::SameTime(plain(a.0, 6)));
            }
            s += match b.1.total_cmp(&a.1) {
                _ if b.1 == a.1 => 0,
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
    let groups = rank::groups(&values);
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
    let p = if n <= EXACT_UP_TO {
        let p = rank::exact(&groups, s);
        figure.step(
            "chance that no trend at all gives so much, two-sided",
            p * 100.0,
            "%",
            format!("all orders of {n} values counted"),
            Source::new(
                "Kendall, Rank Correlation Methods: exact distribution; like values swapped count once",
                Evidence::Derived,
            ),
        );
        p
    } else {
        let variance = rank::variance(&groups);
        figure.step(
            "variance of S",
            variance,
            "pairs²",
            "(n(n−1)(2n+5) − Σ t(t−1)(2t+5)) / 18".to_owned(),
            epa(),
        );
        let z = rank::z(s, variance);
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
    if rank::mann_kendall_exact(n, (n * (n - 1) / 2) as i64) > 0.05 {
        figure.cautions.extend(sampling::said("few"));
    }
    figure.cautions.extend(sampling::said("months"));
    let mut trend = Trend {
        s,
        p,
        slope,
        intercept,
        figure,
        slopes,
        groups,
    };
    if let Some((low, high)) = trend.interval(Confidence::USUAL) {
        (trend.figure.low, trend.figure.high) = (Some(low), Some(high));
    }
    Ok(trend)
}
