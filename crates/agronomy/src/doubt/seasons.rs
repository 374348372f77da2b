//! The season of a test: a trend within each season apart, and what is said when tests come from
//! different times of the year.

use super::{below, rank, trend::median};
use crate::sampling;
use crate::soil::Analyte;
use crate::working::{Caution, Evidence, Figure, Source};
use quantity::plain;

/// Months that two tests may lie apart in the year before the season is named.
const SAME_SEASON: i8 = 2;

/// A trend with each season compared with itself alone.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonalTrend {
    pub s: i64,
    pub p: f64,
    /// Median over the pairs of each season, per unit of time.
    pub slope: f64,
    pub figure: Figure,
}

/// The seasonal trend of values as (time in years, season, value); none with fewer than three pairs that
/// share a season.
///
/// S and its variance are summed over the seasons, with one step for S being whole (Hirsch and Slack
/// 1982). Worked example: US EPA 530/R-09-007 (2009), 14-10.
pub fn seasonal_trend(points: &[(f64, u32, f64)], unit: &str) -> Option<SeasonalTrend> {
    let mut points = points.to_vec();
    points.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.total_cmp(&b.0)));
    let (mut s, mut variance, mut slopes, mut seasons) = (0, 0.0, Vec::new(), 0);
    for season in points.chunk_by(|a, b| a.1 == b.1) {
        for (i, a) in season.iter().enumerate() {
            for b in &season[i + 1..] {
                s += i64::from(b.2 > a.2) - i64::from(b.2 < a.2);
                if b.0 > a.0 {
                    slopes.push((b.2 - a.2) / (b.0 - a.0));
                }
            }
        }
        let mut values: Vec<f64> = season.iter().map(|p| p.2).collect();
        values.sort_by(f64::total_cmp);
        variance += rank::variance(&rank::groups(&values));
        seasons += 1;
    }
    if slopes.len() < 3 || !slopes.iter().all(|v| v.is_finite()) {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let z = rank::z(s, variance);
    let p = 2.0 * below(-z.abs());
    let source = || {
        Source::new(
            "Hirsch and Slack 1982; US EPA 530/R-09-007 (2009) chapter 14, with example 14-10",
            Evidence::Seen,
        )
    };
    let mut figure = Figure::new("Trend, each season beside itself");
    figure.step(
        "sum of signs S over the seasons",
        s as f64,
        "pairs",
        format!("{seasons} seasons, {} pairs", slopes.len()),
        source(),
    );
    figure.step(
        "variance of S",
        variance,
        "pairs²",
        "sum over the seasons",
        source(),
    );
    figure.step(
        "chance that no trend at all gives so much, two-sided",
        p * 100.0,
        "%",
        format!("z = {}", plain(z, 5)),
        source(),
    );
    let slope = figure.step(
        "median slope over all pairs of a season",
        median(&slopes),
        format!("{unit} a year"),
        format!("middle of {} slopes", slopes.len()),
        source(),
    );
    Some(SeasonalTrend {
        s,
        p,
        slope,
        figure,
    })
}

/// What the season alone can do to tests taken in these months (1 to 12), where two of them lie more
/// than two months apart in the year; one line for each published figure.
pub fn other_season(analyte: Analyte, months: &[i8]) -> Vec<Caution> {
    let apart = |a: i8, b: i8| {
        let d = (a - b).abs();
        d.min(12 - d)
    };
    let far = months
        .iter()
        .any(|a| months.iter().any(|b| apart(*a, *b) > SAME_SEASON));
    if !far {
        return Vec::new();
    }
    let mut said: Vec<Caution> = sampling::seasons(analyte)
        .map(|s| Caution {
            text: format!(
                "Taken at different times of the year: {} ({}).",
                if s.low < s.high {
                    format!(
                        "the season alone was seen to move it by {} to {} {}",
                        plain(s.low, 3),
                        plain(s.high, 3),
                        s.unit
                    )
                } else {
                    format!(
                        "the season alone was seen to move it by {} {}",
                        plain(s.low, 3),
                        s.unit
                    )
                },
                s.what
            ),
            source: s.source.clone(),
        })
        .collect();
    if said.is_empty() {
        said.extend(sampling::said("months"));
    }
    said
}
