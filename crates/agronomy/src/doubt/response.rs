//! What a block’s own tests say of how far it answers: published value as prior, tests as evidence.

use super::{Confidence, z_two_sided};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// What was believed before: the answer of this ground as a multiple of the published one.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    /// One standard deviation about 1.
    pub sd: f64,
    pub source: Source,
}

/// One test beside what the published figures had led to expect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answered {
    /// The change expected since the first test by everything put on and taken off, in the unit of the
    /// test; zero for the first.
    pub expected: f64,
    pub measured: f64,
    /// One standard deviation of the test, in its unit.
    pub sd: f64,
}

/// How far the ground answers, as a multiple of the published answer: above 1, a pound moves it further.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    pub mean: f64,
    pub sd: f64,
    /// How much of the belief comes from the block’s own tests, 0 to 1.
    pub own: f64,
    pub figure: Figure,
}

impl Response {
    /// Between what the answer lies, as often as the confidence says.
    pub fn interval(&self, confidence: Confidence) -> (f64, f64) {
        let z = z_two_sided(confidence);
        (self.mean - z * self.sd, self.mean + z * self.sd)
    }
}

/// Learns the answer from tests of one lab by one method. None with fewer than two tests, or where
/// nothing was expected to move, so that nothing can be learned.
///
/// y = a + f x with y the tests, x the expected change, a the unknown level of the first test (flat
/// prior) and f the answer (normal prior about 1): with weights 1/sd²,
/// f = (1/s₀² + Sxy) / (1/s₀² + Sxx). The tests keep their own noise apart, so a test that ends one step
/// and begins the next is not counted twice.
///
/// Source: normal regression with known noise and a normal prior, as in any text on Bayesian statistics;
/// agrees with `tests/outside/response.py`.
pub fn learn(prior: &Prior, tests: &[Answered]) -> Option<Response> {
    let usable = |t: &&Answered| {
        t.sd > 0.0 && t.sd.is_finite() && t.measured.is_finite() && t.expected.is_finite()
    };
    let tests: Vec<&Answered> = tests.iter().filter(usable).collect();
    if tests.len() < 2 || !(prior.sd > 0.0 && prior.sd.is_finite()) {
        return None;
    }
    let weights: Vec<f64> = tests.iter().map(|t| t.sd.powi(-2)).collect();
    let all: f64 = weights.iter().sum();
    let mean = |of: &dyn Fn(&Answered) -> f64| {
        tests
            .iter()
            .zip(&weights)
            .map(|(t, w)| w * of(t))
            .sum::<f64>()
            / all
    };
    let (x0, y0) = (mean(&|t| t.expected), mean(&|t| t.measured));
    let (mut sxx, mut sxy) = (0.0, 0.0);
    for (t, w) in tests.iter().zip(&weights) {
        let x = t.expected - x0;
        sxx += w * x * x;
        sxy += w * x * (t.measured - y0);
    }
    if sxx <= 1e-12 {
        return None;
    }
    let before = prior.sd.powi(-2);
    let precision = before + sxx;
    let source = || {
        Source::new(
            "normal regression with known noise and a normal prior",
            Evidence::Derived,
        )
    };
    let mut figure = Figure::new("How far this ground answers");
    figure.step(
        "believed before any test",
        1.0,
        "of the published answer",
        format!("1 ± {}", plain(prior.sd, 3)),
        prior.source.clone(),
    );
    figure.step(
        "what its own tests say",
        sxy / sxx,
        "of the published answer",
        format!(
            "{} tests: {} / {}, ± {}",
            tests.len(),
            plain(sxy, 3),
            plain(sxx, 3),
            plain(sxx.powf(-0.5), 3)
        ),
        source(),
    );
    let found = figure.step(
        "both together",
        (before + sxy) / precision,
        "of the published answer",
        format!(
            "({} + {}) / ({} + {})",
            plain(before, 3),
            plain(sxy, 3),
            plain(before, 3),
            plain(sxx, 3)
        ),
        source(),
    );
    let response = Response {
        mean: found,
        sd: precision.powf(-0.5),
        own: sxx / precision,
        figure,
    };
    let (low, high) = response.interval(Confidence::USUAL);
    Some(Response {
        figure: Figure {
            low: Some(low),
            high: Some(high),
            ..response.figure
        },
        ..response
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn prior() -> Prior {
        Prior {
            sd: 0.33,
            source: Source::stated("test"),
        }
    }

    fn test(expected: f64, measured: f64) -> Answered {
        Answered {
            expected,
            measured,
            sd: 0.1,
        }
    }

    #[test]
    fn nothing_is_learned_from_nothing() {
        assert_eq!(learn(&prior(), &[]), None);
        assert_eq!(learn(&prior(), &[test(0.0, 6.0)]), None);
        assert_eq!(learn(&prior(), &[test(0.0, 6.0), test(0.0, 6.4)]), None);
        assert_eq!(
            learn(&prior(), &[test(0.0, 6.0), test(1.0, f64::NAN)]),
            None
        );
    }

    /// Two equal tests a step of 1 apart: Sxx = 0.5 / 0.01 = 50, so f = (9.18 + 25) / (9.18 + 50) for an
    /// answer of half the step, worked out by hand.
    #[test]
    fn half_an_answer_moves_the_belief_part_of_the_way() {
        let found = learn(&prior(), &[test(0.0, 5.5), test(1.0, 6.0)]).unwrap();
        let before = 1.0 / (0.33 * 0.33);
        assert!((found.mean - (before + 25.0) / (before + 50.0)).abs() < 1e-12);
        assert!((found.sd - (before + 50.0).powf(-0.5)).abs() < 1e-12);
        assert!((found.own - 50.0 / (before + 50.0)).abs() < 1e-12);
        assert!(0.5 < found.mean && found.mean < 1.0);
    }

    proptest! {
        /// What was expected and came leaves the belief where it was, only surer; the level does not matter.
        #[test]
        fn what_came_as_expected_changes_nothing(steps in proptest::collection::vec(-1.0f64..1.0, 2..8), level in 4.0f64..8.0) {
            let mut x = 0.0;
            let mut tests = vec![test(0.0, level)];
            for s in steps {
                x += s;
                tests.push(test(x, level + x));
            }
            if let Some(found) = learn(&prior(), &tests) {
                prop_assert!((found.mean - 1.0).abs() < 1e-9);
                prop_assert!(found.sd <= 0.33 + 1e-12 && (0.0..=1.0).contains(&found.own));
            }
        }

        /// The belief lies between what was believed and what the tests say.
        #[test]
        fn the_belief_lies_between(f in 0.2f64..2.0, step in 0.1f64..2.0) {
            let found = learn(&prior(), &[test(0.0, 5.5), test(step, 5.5 + f * step)]).unwrap();
            let (low, high) = (f.min(1.0), f.max(1.0));
            prop_assert!(low - 1e-9 <= found.mean && found.mean <= high + 1e-9);
        }
    }
}
