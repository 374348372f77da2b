//! How likely a need is to be left short, from the doubt of the test and of the release.

use crate::needs::Line;
use agronomy::doubt::Confidence;
use statrs::distribution::{ContinuousCDF, Normal};

/// Half the width of an interval that holds four of five cases, in standard deviations.
fn half_width() -> Option<f64> {
    let normal = Normal::new(0.0, 1.0).ok()?;
    Some(normal.inverse_cdf(0.5 + 0.5 * Confidence::USUAL.share()))
}

/// One material’s part of a nutrient: the likely amount with its low and high end, lb per acre.
pub(crate) struct Part {
    pub low: f64,
    pub high: f64,
}

/// Chance (0 to 1) that `supplied` lb per acre do not reach what the crop truly needs.
///
/// The need’s range and each material’s release are taken as normal, their printed or reckoned ends
/// holding four of five cases, independent of each other: z = (need − supplied) / √(σ_need² + Σσ²). None
/// where nothing of it is in doubt.
pub(crate) fn short(line: &Line, supplied: f64, parts: &[Part]) -> Option<f64> {
    line.asked?;
    let width = half_width()?;
    let sd = |low: f64, high: f64| (high - low).max(0.0) / (2.0 * width);
    let need = line.range.map_or(0.0, |(low, high)| sd(low, high));
    let variance = need * need + parts.iter().map(|p| sd(p.low, p.high).powi(2)).sum::<f64>();
    if variance <= 1e-9 {
        return None;
    }
    let z = (line.need - supplied) / variance.sqrt();
    Some(Normal::new(0.0, 1.0).ok()?.cdf(z))
}

#[cfg(test)]
mod tests {
    use super::*;
    use planner::Nutrient;

    fn line(need: f64, range: Option<(f64, f64)>) -> Line {
        Line {
            nutrient: Nutrient::N,
            asked: Some(need),
            credits: Vec::new(),
            need,
            range,
            ceiling: None,
            basis: String::new(),
            later: Vec::new(),
            others: Vec::new(),
            very_high: false,
            own: None,
            working: Vec::new(),
        }
    }

    #[test]
    fn met_to_the_lb_is_an_even_chance_and_the_ends_are_one_in_ten() {
        let asked = line(100.0, Some((80.0, 120.0)));
        let at = |supplied| short(&asked, supplied, &[]).unwrap();
        assert!((at(100.0) - 0.5).abs() < 1e-9);
        // Four of five cases lie between the ends, so a tenth lies beyond each.
        assert!((at(120.0) - 0.1).abs() < 1e-6, "{}", at(120.0));
        assert!((at(80.0) - 0.9).abs() < 1e-6);
        assert_eq!(short(&line(100.0, None), 100.0, &[]), None);
    }

    #[test]
    fn a_doubtful_release_makes_a_surplus_less_sure() {
        let asked = line(100.0, Some((80.0, 120.0)));
        let wide = [Part {
            low: 60.0,
            high: 180.0,
        }];
        assert!(short(&asked, 120.0, &wide).unwrap() > short(&asked, 120.0, &[]).unwrap());
    }
}
