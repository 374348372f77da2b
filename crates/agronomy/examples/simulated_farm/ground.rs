//! Made ground whose truth is known: it answers to lime and cropping by its own measure, and tests see it
//! through the noise that is published.

use agronomy::doubt::{self, Answered, Confidence, Doubt, Prior, trend};
use agronomy::soil::Analyte;
use agronomy::working::Source;
use statrs::distribution::{ContinuousCDF, Normal};

pub const RUNS: usize = 500;
pub const YEARS: usize = 10;
pub const CORES: u32 = 12;
/// How far grounds differ in their answer, as a share of the published one: the judgement that plans use.
pub const ANSWER_SD: f64 = 0.33;
/// What a year’s acid takes off the pH by the published answer.
const ACID: f64 = 0.12;
const TARGET: f64 = 6.5;
const LOWEST: f64 = 6.1;

/// A small linear congruential generator (Knuth, MMIX): the same farms every time.
pub struct Draw(pub u64);

impl Draw {
    pub fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        Normal::standard().inverse_cdf(self.unit())
    }
}

/// Shares of one, of [`RUNS`] runs each; distances in the unit said.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// Intervals of 90 % that held the truth: single tests, slopes, answers.
    pub tests_held: f64,
    pub slopes_held: f64,
    pub answers_held: f64,
    /// Still ground called moving at the stated 10 %: between two tests, over ten.
    pub false_changes: f64,
    pub false_trends: f64,
    /// Mean distance of the next lime dose from the dose that would be right, share of the right one.
    pub published_error: f64,
    pub learned_error: f64,
}

fn ninety() -> Confidence {
    Confidence::percent(90.0).unwrap_or(Confidence::USUAL)
}

fn doubt_of(analyte: Analyte) -> Option<Doubt> {
    doubt::of_test(analyte, CORES, None).ok()
}

/// One farm of ten years: limed when its test asks for it, its answer learned from all the tests.
struct Limed {
    answer: f64,
    tests: Vec<Answered>,
}

fn limed(draw: &mut Draw, ph: &Doubt) -> Limed {
    // The truth of each farm is drawn from what is believed of farms; an answer below a tenth is no soil.
    let answer = (1.0 + ANSWER_SD * draw.normal()).max(0.1);
    let mut truth = 5.6 + 0.6 * draw.unit();
    let mut expected = 0.0;
    let mut tests = Vec::new();
    for _ in 0..YEARS {
        let measured = ph.at(truth, draw.normal());
        tests.push(Answered {
            expected,
            measured,
            sd: ph.sigma(measured),
        });
        let lime = if measured < LOWEST {
            TARGET - measured
        } else {
            0.0
        };
        expected += lime - ACID;
        truth += answer * (lime - ACID);
    }
    Limed { answer, tests }
}

/// Runs every farm.
pub fn run(seed: u64) -> Option<Found> {
    let (ph, p, om) = (
        doubt_of(Analyte::Ph)?,
        doubt_of(Analyte::P)?,
        doubt_of(Analyte::OrganicMatter)?,
    );
    let mut draw = Draw(seed);
    let prior = Prior {
        sd: ANSWER_SD,
        source: Source::stated("made"),
    };
    let mut f = Found::default();
    let mut slopes = 0.0;
    for _ in 0..RUNS {
        // Single tests.
        let (ph_true, p_true) = (5.0 + 2.0 * draw.unit(), 15.0 + 150.0 * draw.unit());
        let inside = |d: &Doubt, truth: f64, measured: f64| {
            let (low, high) = d.interval(measured, ninety());
            f64::from(u8::from(low <= truth && truth <= high))
        };
        let (a, b) = (ph.at(ph_true, draw.normal()), p.at(p_true, draw.normal()));
        f.tests_held += (inside(&ph, ph_true, a) + inside(&p, p_true, b)) / 2.0;

        // Organic matter that creeps, and phosphorus that stays.
        let slope = 0.08 * (draw.unit() - 0.5);
        let creeping: Vec<(f64, f64)> = (0..YEARS)
            .map(|y| (y as f64, om.at(3.0 + slope * y as f64, draw.normal())))
            .collect();
        if let Some((low, high)) = trend(&creeping, "%")
            .ok()
            .and_then(|t| t.interval(ninety()))
        {
            slopes += 1.0;
            f.slopes_held += f64::from(u8::from(low <= slope && slope <= high));
        }
        let still: Vec<(f64, f64)> = (0..YEARS)
            .map(|y| (y as f64, p.at(p_true, draw.normal())))
            .collect();
        let moves = trend(&still, "ppm").is_ok_and(|t| t.stands_out(ninety()));
        f.false_trends += f64::from(u8::from(moves));
        let change = doubt::change_between((still[0].1, &p), (still[1].1, &p), "ppm", ninety());
        f.false_changes += f64::from(u8::from(change.larger));

        // Lime.
        let farm = limed(&mut draw, &ph);
        if let Some(found) = doubt::learn(&prior, &farm.tests) {
            let (low, high) = found.interval(ninety());
            f.answers_held += f64::from(u8::from(low <= farm.answer && farm.answer <= high));
            // The right dose for a rise is the rise over the true answer.
            let right = 1.0 / farm.answer;
            f.published_error += (1.0 - right).abs() / right;
            f.learned_error += (1.0 / found.mean.max(0.1) - right).abs() / right;
        }
    }
    let runs = RUNS as f64;
    f.slopes_held /= slopes;
    for share in [
        &mut f.tests_held,
        &mut f.answers_held,
        &mut f.false_changes,
        &mut f.false_trends,
        &mut f.published_error,
        &mut f.learned_error,
    ] {
        *share /= runs;
    }
    Some(f)
}
