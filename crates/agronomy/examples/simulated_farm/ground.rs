//! Made ground whose truth is known: it answers to lime and cropping by its own measure, and tests see it
//! through noise. In one case all is as is believed; in the others what is believed is wrong.

use agronomy::doubt::{self, Answered, Confidence, Doubt, trend};
use agronomy::soil::Analyte;
use statrs::distribution::{ContinuousCDF, Normal};

pub const RUNS: usize = 500;
pub const YEARS: usize = 10;
pub const CORES: u32 = 12;
/// What a year’s acid takes off the pH by the published answer.
const ACID: f64 = 0.12;
const TARGET: f64 = 6.5;
const LOWEST: f64 = 6.1;
/// Ground that answers less is none.
const LEAST: f64 = 0.1;

/// What is true of the farms of one case, beside what is believed of them.
#[derive(Debug, Clone, Copy)]
pub struct Case {
    pub name: &'static str,
    /// Where the answers truly lie, and how far they scatter, in standard deviations of what is believed.
    pub shift: f64,
    pub spread: f64,
    /// How far tests truly scatter, as a multiple of the published.
    pub noise: f64,
    /// One test of so many is three times as far off; none where zero.
    pub astray: u32,
}

const AS_BELIEVED: Case = Case {
    name: "as believed",
    shift: 0.0,
    spread: 1.0,
    noise: 1.0,
    astray: 0,
};

/// What is believed is true in the first alone.
pub const CASES: [Case; 10] = [
    AS_BELIEVED,
    Case {
        name: "every answer as published, 1",
        spread: 0.0,
        ..AS_BELIEVED
    },
    Case {
        name: "answers lie closer, half as far about 1",
        spread: 0.5,
        ..AS_BELIEVED
    },
    Case {
        name: "every answer one standard deviation high, 1.73",
        shift: 1.0,
        spread: 0.0,
        ..AS_BELIEVED
    },
    Case {
        name: "every answer one standard deviation low, 0.27",
        shift: -1.0,
        spread: 0.0,
        ..AS_BELIEVED
    },
    Case {
        name: "every answer two standard deviations high, 2.46",
        shift: 2.0,
        spread: 0.0,
        ..AS_BELIEVED
    },
    Case {
        name: "every answer as low as two, held at a tenth",
        shift: -2.0,
        spread: 0.0,
        ..AS_BELIEVED
    },
    Case {
        name: "tests scatter half as far again as published",
        noise: 1.5,
        ..AS_BELIEVED
    },
    Case {
        name: "tests scatter two thirds as far as published",
        noise: 2.0 / 3.0,
        ..AS_BELIEVED
    },
    Case {
        name: "one test of ten three times as far off",
        astray: 10,
        ..AS_BELIEVED
    },
];

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

    /// How far a test lies from the truth, in published standard deviations.
    fn off(&mut self, case: &Case) -> f64 {
        let z = case.noise * self.normal();
        if case.astray > 0 && self.unit() * f64::from(case.astray) < 1.0 {
            3.0 * z
        } else {
            z
        }
    }
}

/// Shares of one, of [`RUNS`] runs each; distances in the unit said.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// Intervals of 90 % that held the truth: single tests, slopes, answers.
    pub tests_held: f64,
    pub slopes_held: f64,
    pub answers_held: f64,
    /// Answers found otherwise than published in nineteen cases of twenty: then plans go by them.
    pub differ: f64,
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

fn nineteen_of_twenty() -> Confidence {
    Confidence::percent(95.0).unwrap_or(Confidence::USUAL)
}

fn doubt_of(analyte: Analyte) -> Option<Doubt> {
    doubt::of_test(analyte, CORES, None).ok()
}

/// One farm of ten years: limed when its test asks for it, its answer learned from all the tests.
struct Limed {
    answer: f64,
    tests: Vec<Answered>,
}

fn limed(draw: &mut Draw, ph: &Doubt, case: &Case, sd: f64) -> Limed {
    let answer = (1.0 + sd * (case.shift + case.spread * draw.normal())).max(LEAST);
    let mut truth = 5.6 + 0.6 * draw.unit();
    let mut expected = 0.0;
    let mut tests = Vec::new();
    for _ in 0..YEARS {
        let measured = ph.at(truth, draw.off(case));
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

/// Runs every farm of a case.
pub fn run(seed: u64, case: &Case) -> Option<Found> {
    let (ph, p, om) = (
        doubt_of(Analyte::Ph)?,
        doubt_of(Analyte::P)?,
        doubt_of(Analyte::OrganicMatter)?,
    );
    let mut draw = Draw(seed);
    let prior = doubt::lime_prior();
    let mut f = Found::default();
    let mut slopes = 0.0;
    for _ in 0..RUNS {
        // Single tests.
        let (ph_true, p_true) = (5.0 + 2.0 * draw.unit(), 15.0 + 150.0 * draw.unit());
        let inside = |d: &Doubt, truth: f64, measured: f64| {
            let (low, high) = d.interval(measured, ninety());
            f64::from(u8::from(low <= truth && truth <= high))
        };
        let (a, b) = (ph.at(ph_true, draw.off(case)), p.at(p_true, draw.off(case)));
        f.tests_held += (inside(&ph, ph_true, a) + inside(&p, p_true, b)) / 2.0;

        // Organic matter that creeps, and phosphorus that stays.
        let slope = 0.08 * (draw.unit() - 0.5);
        let creeping: Vec<(f64, f64)> = (0..YEARS)
            .map(|y| (y as f64, om.at(3.0 + slope * y as f64, draw.off(case))))
            .collect();
        if let Some((low, high)) = trend(&creeping, "%")
            .ok()
            .and_then(|t| t.interval(ninety()))
        {
            slopes += 1.0;
            f.slopes_held += f64::from(u8::from(low <= slope && slope <= high));
        }
        let still: Vec<(f64, f64)> = (0..YEARS)
            .map(|y| (y as f64, p.at(p_true, draw.off(case))))
            .collect();
        let moves = trend(&still, "ppm").is_ok_and(|t| t.stands_out(ninety()));
        f.false_trends += f64::from(u8::from(moves));
        let change = doubt::change_between((still[0].1, &p), (still[1].1, &p), "ppm", ninety());
        f.false_changes += f64::from(u8::from(change.larger));

        // Lime.
        let farm = limed(&mut draw, &ph, case, prior.sd);
        // The newest test sets the need and has no say in the answer, as in the plans.
        let before = farm.tests.get(..YEARS - 1).unwrap_or_default();
        if let Some(found) = doubt::learn(&prior, before) {
            let (low, high) = found.interval(ninety());
            f.answers_held += f64::from(u8::from(low <= farm.answer && farm.answer <= high));
            let (low, high) = found.interval(nineteen_of_twenty());
            f.differ += f64::from(u8::from(high < 1.0 || 1.0 < low));
            // The right dose for a rise is the rise over the true answer.
            let right = 1.0 / farm.answer;
            f.published_error += (1.0 - right).abs() / right;
            f.learned_error += (1.0 / found.mean.max(LEAST) - right).abs() / right;
        }
    }
    let runs = RUNS as f64;
    f.slopes_held /= slopes;
    for share in [
        &mut f.tests_held,
        &mut f.answers_held,
        &mut f.differ,
        &mut f.false_changes,
        &mut f.false_trends,
        &mut f.published_error,
        &mut f.learned_error,
    ] {
        *share /= runs;
    }
    Some(f)
}
