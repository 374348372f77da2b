//! Clean samples made from CEC and saturations, with a lab's scatter, and their history.

use super::super::*;
use crate::doubt::{BlockTest, Dated, Past, PastReport};
use agronomy::soil::{Bound, Buffer, Extractant};

/// A small generator of its own: the same numbers every time (xorshift, 64 bits).
pub(super) struct Dice {
    state: u64,
    /// No scatter: every normal draw is nought.
    quiet: bool,
}

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1,
            quiet: false,
        }
    }

    pub(super) fn unit(&mut self) -> f64 {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        (self.state >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(super) fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Even on the logarithm.
    fn log_within(&mut self, low: f64, high: f64) -> f64 {
        self.within(low.ln(), high.ln()).exp()
    }

    /// Normal, by Box and Muller.
    pub(super) fn normal(&mut self) -> f64 {
        if self.quiet {
            return 0.0;
        }
        let (a, b) = (self.unit().max(1e-12), self.unit());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// One soil: what is true of it, before any lab.
#[derive(Clone)]
struct Soil {
    ph: f64,
    /// meq/100 g: Ca, Mg, K, Na, acidity
    meq: [f64; 5],
    p: f64,
    om: f64,
    salts: f64,
}

const CATIONS: [Analyte; 4] = [Analyte::Ca, Analyte::Mg, Analyte::K, Analyte::Na];

fn soil(dice: &mut Dice) -> Soil {
    let cec = dice.log_within(3.0, 35.0);
    let ph = dice.within(4.8, 7.6);
    let middle = 0.32 + (ph - 4.8) / 2.2 * 0.64;
    let bases = (middle + dice.within(-0.06, 0.06)).clamp(0.25, 0.99);
    let (mg, k, na) = (
        dice.within(0.10, 0.22) * bases,
        dice.within(0.02, 0.06) * bases.max(0.6),
        dice.within(0.005, 0.02),
    );
    let ca = bases - mg - k - na;
    Soil {
        ph,
        meq: [ca, mg, k, na, 1.0 - bases].map(|share| share * cec),
        p: dice.log_within(8.0, 250.0),
        om: dice.within(0.8, (cec / 1.3).clamp(1.0, 9.0)),
        salts: dice.within(0.1, 0.9),
    }
}

/// The same soil another year: sampling and season, about 10 % for P, K and Mg (Ferrari and Vermeulen).
fn another_year(soil: &Soil, dice: &mut Dice) -> Soil {
    let mut next = soil.clone();
    let mut moved = |value: f64, by: f64| value * (by * dice.normal()).exp();
    next.meq = soil.meq.map(|m| moved(m, 0.1));
    next.p = moved(soil.p, 0.1);
    next.om = moved(soil.om, 0.08);
    next.salts = moved(soil.salts, 0.3);
    next.ph = (soil.ph + 0.12 * dice.normal()).clamp(4.6, 7.8);
    next
}

fn measured(analyte: Analyte, value: f64, digits: i32) -> Measured {
    let step = 10f64.powi(-digits);
    let value = (value / step).round() * step;
    let printed = format!("{value:.*}", usize::try_from(digits.max(0)).unwrap());
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: analyte.needs_extractant().then_some(Extractant::Mehlich3),
        buffer: None,
        printed,
        printed_unit: analyte.unit().to_owned(),
    }
}

/// A lab's report of a soil.
#[derive(Clone)]
pub(super) struct Made {
    pub(super) test: SoilTest,
    pub(super) saturations: Vec<Saturation>,
}

fn lab(soil: &Soil, name: &str, buffer: Buffer, depth: f64, dice: &mut Dice) -> Made {
    // Published repeats of Mehlich-3 P have a CV of 3 to 9 %; cations are given the middle of the lower half.
    let mut noise = |by: f64| (by * dice.normal()).exp();
    let meq = soil.meq.map(|m| m * noise(0.04));
    let p = soil.p * noise(0.05);
    let om = soil.om * noise(0.05);
    let by_sum = noise(1.0) < 2.0;
    let sum: f64 = meq.iter().sum();
    let cec = if by_sum {
        sum
    } else {
        soil.meq.iter().sum::<f64>() * noise(0.07)
    };
    let mut test = SoilTest {
        sample: name.to_owned(),
        depth_in: Some(depth),
        ..SoilTest::default()
    };
    let mut all = vec![
        measured(Analyte::Ph, soil.ph + 0.05 * dice.normal(), 1),
        measured(Analyte::OrganicMatter, om, 1),
        measured(Analyte::Cec, cec, 1),
        measured(Analyte::P, p, 0),
        measured(Analyte::Acidity, meq[4], 1),
        measured(Analyte::Salts, soil.salts, 2),
    ];
    for (analyte, meq) in CATIONS.into_iter().zip(meq) {
        let per_meq = crate::facts::FACTS.charge(analyte).unwrap().value;
        all.push(measured(analyte, meq * per_meq, 0));
    }
    let acid = soil.meq[4];
    // Adams-Evans is for a CEC below 13 (Huluka 2005); a lab reads richer ground in another.
    let poor = soil.meq.iter().sum::<f64>() < 13.0;
    let buffer = if buffer == Buffer::AdamsEvans && !poor {
        Buffer::Smp
    } else {
        buffer
    };
    let read = match buffer {
        Buffer::AdamsEvans => 8.0 - acid / 8.0,
        Buffer::Mehlich => (6.6 - acid / 4.0).max(soil.ph - 0.5).min(6.6),
        _ => (7.2 - 0.12 * acid).max(soil.ph.min(6.4)),
    };
    let mut buffered = measured(Analyte::BufferPh, read + 0.03 * dice.normal(), 2);
    buffered.buffer = Some(buffer);
    all.push(buffered);
    test.measured = all;
    let mut saturations = Vec::new();
    if by_sum {
        let parts = [
            Saturated::Ca,
            Saturated::Mg,
            Saturated::K,
            Saturated::Na,
            Saturated::Acidity,
        ];
        for (of, meq) in parts.into_iter().zip(meq) {
            saturations.push(Saturation {
                of,
                percent: (meq / cec * 1000.0).round() / 10.0,
                step: 0.1,
            });
        }
    }
    Made { test, saturations }
}

/// A farm's report with all that is known from before.
pub(super) struct Farm {
    pub(super) samples: Vec<Made>,
    pub(super) history: History,
}

impl Farm {
    pub(super) fn questioned(&self, with_history: bool) -> Vec<Doubt> {
        let subjects: Vec<Subject<'_>> = self
            .samples
            .iter()
            .map(|m| Subject {
                saturations: if with_history { &m.saturations } else { &[] },
                ..Subject::from(&m.test)
            })
            .collect();
        let nothing = History::default();
        let history = if with_history {
            &self.history
        } else {
            &nothing
        };
        question_all(&subjects, history)
    }
}

/// A farm of `blocks` blocks tested three times; the last time is the report.
pub(super) fn farm(seed: u64, blocks: usize) -> Farm {
    of_dice(seed, blocks, Dice::new(seed + 1))
}

/// The same without any scatter: the lab repeats itself to its last digit, and the soils stand still.
pub(super) fn still_farm(seed: u64, blocks: usize) -> Farm {
    let mut dice = Dice::new(seed + 1);
    dice.quiet = true;
    of_dice(seed, blocks, dice)
}

fn of_dice(seed: u64, blocks: usize, mut dice: Dice) -> Farm {
    let buffers = [Buffer::Smp, Buffer::AdamsEvans, Buffer::Mehlich];
    let buffer = buffers[seed as usize % 3];
    let depth = [6.0, 20.0 / 3.0, 8.0][seed as usize / 3 % 3];
    let mut made = Farm {
        samples: Vec::new(),
        history: History::default(),
    };
    let mut reports = [2023, 2024].map(|year| PastReport {
        name: format!("soil {year}.csv"),
        on: Some(format!("{year}-03-01")),
        ..PastReport::default()
    });
    for at in 0..blocks {
        let (id, name) = (at as i64, format!("Block {at}"));
        let first = soil(&mut dice);
        let second = another_year(&first, &mut dice);
        let third = another_year(&second, &mut dice);
        let mut past = Past {
            block: Some(id),
            name: name.clone(),
            tests: Vec::new(),
        };
        for (soil, report) in [&first, &second].into_iter().zip(&mut reports) {
            let mut test = lab(soil, &name, buffer, depth, &mut dice).test;
            let number = format!("{}-{at:03}", report.name);
            test.lab_number = Some(number.clone());
            report.lab_numbers.push(number);
            report.values.extend(fingerprint_of_values(&test));
            past.tests.push(Dated {
                on: report.on.clone(),
                test,
            });
        }
        made.history.blocks.push(BlockTest {
            block: id,
            name: name.clone(),
            latest: past.tests[1].clone(),
        });
        made.history.samples.push(past);
        let mut now = lab(&third, &name, buffer, depth, &mut dice);
        now.test.lab_number = Some(format!("2025-{at:03}"));
        made.samples.push(now);
    }
    made.history.reports = reports.into();
    made
}
