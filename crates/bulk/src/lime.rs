//! Lime, by the row's buffer, toward the crop's range or the target given.

mod answer;
mod plan;

pub(crate) use answer::{Answer, Rate};

use crate::front::{Front, mix};
use crate::line::{Line, Piece};
use crate::reading::push_say;
use answer::{ABOVE, BELOW, IN_RANGE, NO_RATE};
use plan::{Plan, Slow};
use std::collections::HashMap;

/// What a plan goes by: crop and buffer, target pH and depth by their bits, as the file has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Key([u64; 3]);

/// Stands for a blank: bits that no number from a file has.
const BLANK: u64 = u64::MAX;

fn bits(number: Option<f64>) -> u64 {
    number.map_or(BLANK, f64::to_bits)
}

impl Key {
    #[inline]
    pub(crate) fn new(
        crop: u16,
        buffer: u16,
        target_ph: Option<f64>,
        depth_in: Option<f64>,
    ) -> Self {
        let words = u64::from(crop) << 16 | u64::from(buffer);
        Self([words, bits(target_ph), bits(depth_in)])
    }

    #[inline]
    fn mixed(self) -> u64 {
        let [words, target, depth] = self.0;
        words ^ target.rotate_left(17) ^ depth.rotate_left(41)
    }

    fn crop(self) -> usize {
        (self.0[0] >> 16) as usize
    }

    fn buffer(self) -> usize {
        (self.0[0] & 0xffff) as usize
    }

    fn number(self, at: usize) -> Option<f64> {
        (self.0[at] != BLANK).then(|| f64::from_bits(self.0[at]))
    }
}

/// What the row says of its acidity.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Soil {
    pub(crate) ph: Option<f64>,
    pub(crate) buffer_ph: Option<f64>,
    pub(crate) acidity: Option<f64>,
    pub(crate) lbc: Option<f64>,
}

/// A rate by the buffer alone, as it is written.
#[derive(Debug)]
struct Ready {
    rate: Piece,
    say: String,
    unconfirmed: bool,
}

pub(crate) struct Plans {
    known: HashMap<Key, usize>,
    plans: Vec<Plan>,
    met: Front<Key, usize>,
    ready: Vec<Ready>,
    ready_met: Front<(usize, u64), usize, MOST>,
    slow: HashMap<SlowKey, usize>,
    slow_met: Front<SlowKey, usize>,
    answers: Vec<Slow>,
}

/// So many are kept at most.
const MOST: usize = 4_096;

impl Plans {
    pub(crate) fn new() -> Self {
        Self {
            known: HashMap::new(),
            plans: Vec::new(),
            met: Front::new(),
            ready: Vec::new(),
            ready_met: Front::new(),
            slow: HashMap::new(),
            slow_met: Front::new(),
            answers: Vec::new(),
        }
    }

    #[inline]
    pub(crate) fn answer(&mut self, key: Key, soil: Soil, say: &mut Vec<u8>) -> Answer<'_> {
        let Some(ph) = soil.ph else {
            return Answer::NONE;
        };
        let mixed = key.mixed();
        let at = match self.met.get(mixed, &key) {
            Some(at) => at,
            None => {
                let at = self.find(key);
                self.met.keep(mixed, key, at);
                at
            }
        };
        let plan = &self.plans[at];
        let aim = match plan.aim {
            Ok(aim) => aim,
            Err(why) => {
                push_say(say, why);
                return Answer::NONE;
            }
        };
        if ph > aim.high {
            return Answer::no_lime(&ABOVE);
        }
        if ph >= aim.low {
            return Answer::no_lime(&IN_RANGE);
        }
        if plan.no_lime_this_year {
            push_say(say, "No lime in the year this crop grows.");
            return Answer::no_lime(&BELOW);
        }
        let Some(((quick, _), buffer_ph)) = plan
            .quick
            .as_ref()
            .zip(soil.buffer_ph)
            .filter(|((_, target), _)| ph < *target)
        else {
            return self.by_the_long_road(at, ph, soil, say);
        };
        if quick.by_buffer_alone() {
            let key = (at, buffer_ph.to_bits());
            let mixed = key.1 ^ (at as u64).rotate_left(20);
            let met = self.ready_met.get(mixed, &key);
            let Some(ready) = met.or_else(|| self.make_ready(mixed, key, ph, buffer_ph)) else {
                return self.by_the_long_road(at, ph, soil, say);
            };
            let ready = &self.ready[ready];
            if !ready.say.is_empty() {
                push_say(say, &ready.say);
            }
            return Answer {
                class: &BELOW,
                rate: Rate::Ready(&ready.rate),
                unconfirmed: ready.unconfirmed,
            };
        }
        let Some(rate) = quick.at(ph, buffer_ph) else {
            return self.by_the_long_road(at, ph, soil, say);
        };
        plan.say_of(rate, say);
        Answer {
            class: &BELOW,
            rate: Rate::Amount(rate.lb_per_acre, quick.method().key()),
            unconfirmed: rate.evidence.unconfirmed(),
        }
    }

    /// Writes down what a table says of a buffer pH, for the rows to come; none where it has no rate.
    #[cold]
    fn make_ready(
        &mut self,
        mixed: u64,
        key: (usize, u64),
        ph: f64,
        buffer_ph: f64,
    ) -> Option<usize> {
        let plan = &self.plans[key.0];
        let (quick, _) = plan.quick.as_ref()?;
        let rate = quick.at(ph, buffer_ph)?;
        let mut text = Line::default();
        Rate::Amount(rate.lb_per_acre, quick.method().key()).write(&mut text);
        let mut say = Vec::new();
        plan.say_of(rate, &mut say);
        let ready = Ready {
            rate: Piece::new(text.written()),
            say: String::from_utf8(say).unwrap_or_default(),
            unconfirmed: rate.evidence.unconfirmed(),
        };
        if self.ready.len() >= MOST {
            self.ready.clear();
            self.ready_met.clear();
        }
        self.ready.push(ready);
        self.ready_met.keep(mixed, key, self.ready.len() - 1);
        Some(self.ready.len() - 1)
    }

    #[cold]
    fn find(&mut self, key: Key) -> usize {
        if let Some(at) = self.known.get(&key) {
            return *at;
        }
        if self.plans.len() >= MOST {
            self.plans.clear();
            self.known.clear();
            self.forget_answers();
            self.ready.clear();
            self.ready_met.clear();
            self.met.clear();
        }
        self.plans.push(Plan::new(key));
        self.known.insert(key, self.plans.len() - 1);
        self.plans.len() - 1
    }

    #[cold]
    fn ask(&mut self, key: SlowKey, ph: f64, soil: Soil) -> usize {
        if let Some(answer) = self.slow.get(&key) {
            return *answer;
        }
        if self.answers.len() >= MOST {
            self.forget_answers();
        }
        self.answers.push(self.plans[key.0].ask(ph, soil));
        self.slow.insert(key, self.answers.len() - 1);
        self.answers.len() - 1
    }

    fn forget_answers(&mut self) {
        self.slow.clear();
        self.slow_met.clear();
        self.answers.clear();
    }

    fn by_the_long_road(
        &mut self,
        at: usize,
        ph: f64,
        soil: Soil,
        say: &mut Vec<u8>,
    ) -> Answer<'_> {
        let soil_bits = [
            ph.to_bits(),
            bits(soil.buffer_ph),
            bits(soil.acidity),
            bits(soil.lbc),
        ];
        let key = (at, soil_bits);
        let mixed = mix(soil_bits) ^ at as u64;
        let answer = match self.slow_met.get(mixed, &key) {
            Some(answer) => answer,
            None => {
                let answer = self.ask(key, ph, soil);
                self.slow_met.keep(mixed, key, answer);
                answer
            }
        };
        let slow = &self.answers[answer];
        if !slow.say.is_empty() {
            push_say(say, &slow.say);
        }
        Answer {
            class: &BELOW,
            rate: slow
                .lb_per_acre
                .map_or(Rate::Ready(&NO_RATE), |lb| Rate::Amount(lb, slow.method)),
            unconfirmed: slow.unconfirmed,
        }
    }
}

/// A plan's place and the bits of what the row says.
type SlowKey = (usize, [u64; 4]);
