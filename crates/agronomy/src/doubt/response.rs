//! What a block’s own tests say of how far it answers: published value as prior, tests as evidence.

use super::{Confidence, below, z_two_sided};
use crate::sampling;
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
    /// How far the tests lie about the line, as a multiple of the published scatter.
    pub noise: f64,
    pub figure: Figure,
    parts: Vec<Part>,
}

/// The belief where the tests scattered by one certain measure and the ground is of one kind: normal, and
/// so likely.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Part {
    weight: f64,
    mean: f64,
    sd: f64,
    /// How much of it comes from the tests, 0 to 1.
    own: f64,
    /// The scatter, as a multiple of the published.
    noise: f64,
}

impl Response {
    /// Between what the answer lies, as often as the confidence says.
    pub fn interval(&self, confidence: Confidence) -> (f64, f64) {
        let tail = (1.0 - confidence.share()) / 2.0;
        (self.quantile(tail), self.quantile(1.0 - tail))
    }

    /// The answer below which it lies with this chance.
    fn quantile(&self, chance: f64) -> f64 {
        let reach = 12.0;
        let ends = |sign: f64| self.parts.iter().map(move |p| p.mean + sign * reach * p.sd);
        let mut low = ends(-1.0).fold(self.mean, f64::min);
        let mut high = ends(1.0).fold(self.mean, f64::max);
        for _ in 0..60 {
            let middle = low.midpoint(high);
            let under: f64 = self
                .parts
                .iter()
                .map(|p| p.weight * below((middle - p.mean) / p.sd))
                .sum();
            if under < chance {
                low = middle;
            } else {
                high = middle;
            }
        }
        low.midpoint(high)
    }
}

/// What is believed of how far a ground answers to lime before it was tested.
pub fn lime_prior() -> Prior {
    prior("lime_answer_sd")
}

/// The same of phosphate and potash; `ends` are the published ends of lb per ppm about their middle, as
/// shares of the answer, taken for nine of ten soils.
pub fn nutrient_prior(ends: f64) -> Prior {
    let found = prior("nutrient_answer_sd");
    Prior {
        sd: (ends / z_two_sided(Confidence(0.9))).max(found.sd),
        ..found
    }
}

/// What is judged beside a prior.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// How many of a block’s own tests the published scatter is worth.
    pub noise_worth: f64,
    /// The share of grounds that answer by more than the prior’s scatter leads to expect, 0 to 1.
    pub odd_share: f64,
    /// How many times as far those scatter about 1.
    pub odd_times: f64,
    noise_source: Source,
}

/// The judgements that learning rests on; none where a table cannot be read, which a test rules out.
pub fn judged() -> Option<Judged> {
    let of = |key| sampling::constant(key).ok();
    let noise = of("noise_worth")?;
    Some(Judged {
        noise_worth: noise.value,
        odd_share: of("odd_answer_share")?.value,
        odd_times: of("odd_answer_times")?.value,
        noise_source: noise.source.clone(),
    })
}

fn prior(key: &'static str) -> Prior {
    sampling::constant(key).map_or_else(
        |_| Prior {
            sd: f64::NAN,
            source: Source::new(key, Evidence::Memory),
        },
        |c| Prior {
            sd: c.value,
            source: c.source.clone(),
        },
    )
}

/// Weighted sums of the tests about their means, with weights 1/sd².
struct Sums {
    count: f64,
    sxx: f64,
    sxy: f64,
    /// The sum of squares that the best line leaves.
    left: f64,
}

fn sums(tests: &[&Answered]) -> Option<Sums> {
    let weights: Vec<f64> = tests.iter().map(|t| t.sd.powi(-2)).collect();
    let all: f64 = weights.iter().sum();
    let mean = |of: &dyn Fn(&Answered) -> f64| {
        let sum: f64 = tests.iter().zip(&weights).map(|(t, w)| w * of(t)).sum();
        sum / all
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
    let left = tests
        .iter()
        .zip(&weights)
        .map(|(t, w)| w * (t.measured - y0 - sxy / sxx * (t.expected - x0)).powi(2))
        .sum();
    Some(Sums {
        count: tests.len() as f64,
        sxx,
        sxy,
        left,
    })
}

/// Steps between the least and the most that the tests may scatter.
const STEPS: usize = 160;

/// The belief for each measure of scatter and each kind of ground, by how likely they are.
fn parts(s: &Sums, prior: f64, judged: &Judged) -> Vec<Part> {
    let own = s.sxy / s.sxx;
    let worth = judged.noise_worth;
    // The variance is `t` times the published one: inverse gamma before, worth so many tests.
    let freedom = worth + s.count - 1.0;
    let width = (2.0 / freedom).sqrt();
    let most = s.left + s.sxx * (own - 1.0).powi(2);
    let from = ((worth + s.left) / freedom).ln() - 8.0 * width;
    let to = ((worth + most) / freedom).ln() + 12.0 * width;
    let kinds = [
        (1.0 - judged.odd_share, prior),
        (judged.odd_share, prior * judged.odd_times),
    ];
    let all: Vec<Part> = kinds
        .into_iter()
        .filter(|(share, _)| *share > 0.0)
        .flat_map(|(share, sd)| {
            let before = sd.powi(-2);
            (0..=STEPS).map(move |n| {
                let log_t = from + (to - from) * n as f64 / STEPS as f64;
                let t = log_t.exp();
                let precision = before + s.sxx / t;
                let misfit = s.left / t + s.sxx / t * before / precision * (own - 1.0).powi(2);
                Part {
                    // Its logarithm, for now.
                    weight: share.ln()
                        - 0.5 * (freedom * log_t + worth / t + misfit - (before / precision).ln()),
                    mean: (before + s.sxy / t) / precision,
                    sd: precision.powf(-0.5),
                    own: 1.0 - before / precision,
                    noise: t.sqrt(),
                }
            })
        })
        .collect();
    let best = all.iter().map(|p| p.weight).fold(f64::MIN, f64::max);
    let sum: f64 = all.iter().map(|p| (p.weight - best).exp()).sum();
    all.into_iter()
        .map(|p| Part {
            weight: (p.weight - best).exp() / sum,
            ..p
        })
        .filter(|p| p.weight > 1e-12)
        .collect()
}

/// Learns the answer from tests of one lab by one method. None with fewer than two tests, or where
/// nothing was expected to move, so that nothing can be learned.
///
/// y = a + f x with y the tests, x the expected change, a the unknown level of the first test (flat
/// prior) and f the answer: normal about 1 with the prior's s₀, or, for the share of grounds that are odd, with
/// a multiple of it, so that tests of a ground far from the published soon outweigh it (a contaminated normal
/// prior: Berger and Berliner 1986, Annals of Statistics 14: 461–486, recalled, not read). The tests scatter
/// with t times their published variance, where t is inverse gamma about 1, worth as many tests as
/// `noise_worth` says: for a certain t and s₀ and weights 1/sd², f is normal about
/// (1/s₀² + Sxy/t) / (1/s₀² + Sxx/t), and the belief is the mixture of these by how likely each pair is. The tests keep their own noise apart, so a test that ends one step and
/// begins the next is not counted twice, and a block whose tests scatter more than is published is
/// believed more slowly.
///
/// Source: Bayesian regression with a prior of two normals and scatter known but for its size, as in any text on
/// Bayesian statistics; agrees with the integral in `tests/outside/response.py`.
pub fn learn(prior: &Prior, tests: &[Answered]) -> Option<Response> {
    let usable = |t: &&Answered| {
        t.sd > 0.0 && t.sd.is_finite() && t.measured.is_finite() && t.expected.is_finite()
    };
    let tests: Vec<&Answered> = tests.iter().filter(usable).collect();
    if tests.len() < 2 || !(prior.sd > 0.0 && prior.sd.is_finite()) {
        return None;
    }
    let judged = judged()?;
    let s = sums(&tests)?;
    let parts = parts(&s, prior.sd, &judged);
    let of = |what: &dyn Fn(&Part) -> f64| parts.iter().map(|p| p.weight * what(p)).sum::<f64>();
    let mean = of(&|p| p.mean);
    let square = of(&|p| p.sd * p.sd + (p.mean - mean).powi(2));
    let (own, noise) = (of(&|p| p.own), of(&|p| p.noise));
    let mut response = Response {
        mean,
        sd: square.sqrt(),
        own,
        noise,
        figure: told(prior, &s, (noise, &judged), (mean, own), tests.len()),
        parts,
    };
    let (low, high) = response.interval(Confidence::USUAL);
    response.figure.low = Some(low);
    response.figure.high = Some(high);
    Some(response)
}

/// The steps that led there.
fn told(
    prior: &Prior,
    s: &Sums,
    (noise, judged): (f64, &Judged),
    (mean, own): (f64, f64),
    tests: usize,
) -> Figure {
    let source = || {
        Source::new(
            "Bayesian regression with a prior of two normals and scatter known but for its size",
            Evidence::Derived,
        )
    };
    let unit = "of the published answer";
    let mut figure = Figure::new("How far this ground answers");
    figure.step(
        "believed before any test",
        1.0,
        unit,
        format!(
            "1 ± {}; one ground in {}, 1 ± {}",
            plain(prior.sd, 3),
            plain(1.0 / judged.odd_share, 3),
            plain(prior.sd * judged.odd_times, 3)
        ),
        prior.source.clone(),
    );
    figure.step(
        "how far the tests lie about the line",
        noise,
        "times the published scatter",
        format!("{tests} tests beside the published scatter"),
        judged.noise_source.clone(),
    );
    figure.step(
        "what its own tests say",
        s.sxy / s.sxx,
        unit,
        format!(
            "{} / {}, ± {}",
            plain(s.sxy, 3),
            plain(s.sxx, 3),
            plain(noise * s.sxx.powf(-0.5), 3)
        ),
        source(),
    );
    figure.step(
        "both together",
        mean,
        unit,
        format!("{} % by its own tests", plain((own * 100.0).round(), 3)),
        source(),
    );
    figure
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

    /// Two tests a step of 1 apart that moved by half of it, Sxx = 2 · 0.5² / 0.1² = 50: the belief of usual
    /// ground of certain scatter is (9.18 + 25) / (9.18 + 50), of odd ground (1.02 + 25) / (1.02 + 50). Not
    /// knowing the scatter for certain keeps it nearer to 1.
    #[test]
    fn half_an_answer_moves_the_belief_part_of_the_way() {
        let found = learn(&prior(), &[test(0.0, 5.5), test(1.0, 6.0)]).unwrap();
        let known = |sd: f64| (sd.powi(-2) + 25.0) / (sd.powi(-2) + 50.0);
        let odd = 0.33 * judged().unwrap().odd_times;
        assert!(
            known(odd) < found.mean && found.mean < known(0.33) + 0.05,
            "{}",
            found.mean
        );
        let (low, high) = found.interval(Confidence::USUAL);
        assert!(low < found.mean && found.mean < high && found.noise > 0.9);
    }

    /// Ground that answers far from the published is believed sooner than one normal would let it be.
    #[test]
    fn odd_ground_outweighs_the_prior() {
        let tests: Vec<Answered> = (0..6)
            .map(|n| test(0.3 * f64::from(n), 5.0 + 0.9 * f64::from(n)))
            .collect();
        let found = learn(&prior(), &tests).unwrap();
        // Σ(x − x̄)² = 1.575 over 0.01: one normal of certain scatter says (9.18 + 3 · 157.5) / 166.7.
        let one = (0.33f64.powi(-2) + 3.0 * 157.5) / (0.33f64.powi(-2) + 157.5);
        assert!(
            one + 0.05 < found.mean && found.mean < 3.0,
            "{}",
            found.mean
        );
    }

    /// Tests that scatter three times as far as is published are believed less.
    #[test]
    fn scatter_beyond_the_published_slows_the_belief() {
        let steps = [0.0, 1.0, 0.8, 1.6, 1.4, 2.2];
        let at = |off: f64| -> Vec<Answered> {
            (0..6)
                .map(|n| {
                    test(
                        steps[n],
                        5.0 + 0.5 * steps[n] + if n % 2 == 0 { off } else { -off },
                    )
                })
                .collect()
        };
        let (calm, rough) = (learn(&prior(), &at(0.05)), learn(&prior(), &at(0.4)));
        let (calm, rough) = (calm.unwrap(), rough.unwrap());
        assert!(
            calm.noise < 1.1 && rough.noise > 1.5,
            "{} {}",
            calm.noise,
            rough.noise
        );
        assert!(rough.own < calm.own && rough.sd > calm.sd);
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
                let j = judged().unwrap();
                let before = 0.33 * (1.0 - j.odd_share + j.odd_share * j.odd_times.powi(2)).sqrt();
                prop_assert!(found.sd <= before + 1e-12 && (0.0..=1.0).contains(&found.own));
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
