//! Lime, by the row's buffer, toward the crop's range or the target given.

use crate::front::{Front, mix};
use crate::line::{Line, Piece};
use crate::reading::push_say;
use agronomy::crop::crops;
use agronomy::lime::{self, Method, Quick, QuickRate, Request};
use agronomy::soil::Buffer;
use quantity::plain;
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

/// What is written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Answer<'p> {
    pub(crate) class: &'static Piece,
    pub(crate) rate: Rate<'p>,
    pub(crate) unconfirmed: bool,
}

/// The rate and its method.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Rate<'p> {
    Ready(&'p Piece),
    /// lb/acre and the method’s key
    Amount(f64, &'static str),
}

impl Rate<'_> {
    #[inline]
    pub(crate) fn write(self, out: &mut Line) {
        match self {
            Self::Ready(piece) => out.piece(piece),
            Self::Amount(lb_per_acre, method) => {
                out.tenth(lb_per_acre);
                out.byte(b',');
                out.text(method.as_bytes());
                out.byte(b',');
            }
        }
    }
}

/// A rate by the buffer alone, as it is written.
#[derive(Debug)]
struct Ready {
    rate: Piece,
    say: String,
    unconfirmed: bool,
}

static NO_CLASS: Piece = Piece::known(",");
static BELOW: Piece = Piece::known("below,");
static IN_RANGE: Piece = Piece::known("in range,");
static ABOVE: Piece = Piece::known("above,");

static NO_RATE: Piece = Piece::known(",,");
static NO_LIME: Piece = Piece::known("0,,");

impl Answer<'_> {
    const NONE: Self = Self {
        class: &NO_CLASS,
        rate: Rate::Ready(&NO_RATE),
        unconfirmed: false,
    };

    fn no_lime(class: &'static Piece) -> Self {
        Self {
            class,
            rate: Rate::Ready(&NO_LIME),
            unconfirmed: false,
        }
    }
}

struct Plan {
    aim: Result<Aim, &'static str>,
    buffer: Option<Buffer>,
    depth_in: Option<f64>,
    /// The buffer's method made ready, for the target or the nearest its table goes to
    quick: Option<(Quick, f64)>,
    /// Said where the table ends before the target; else empty
    stops_short: String,
    no_lime_this_year: bool,
}

#[derive(Clone, Copy)]
struct Aim {
    low: f64,
    high: f64,
    target: f64,
}

/// An answer by the road with working.
#[derive(Debug, Clone)]
struct Slow {
    lb_per_acre: Option<f64>,
    method: &'static str,
    unconfirmed: bool,
    say: String,
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

const AT_LEAST: &str = "Lime: at least this much; the table ends here.";

fn stops_short(nearest: f64, target: f64) -> String {
    format!(
        "Lime to pH {} for {}: there its table ends.",
        plain(nearest, 3),
        plain(target, 3)
    )
}

impl Plan {
    /// What is to be said of a rate.
    fn say_of(&self, rate: QuickRate, say: &mut Vec<u8>) {
        if !self.stops_short.is_empty() {
            push_say(say, &self.stops_short);
        }
        if rate.at_least {
            push_say(say, AT_LEAST);
        }
        if rate.no_acidity {
            push_say(say, "The buffer shows no acidity: ask the lab.");
        }
    }

    fn new(key: Key) -> Self {
        let crop = crops().get(key.crop());
        let range = crop.and_then(|c| c.target_ph.as_ref());
        let own = key.number(1);
        let aim = match (own, range, crop) {
            (Some(target), _, _) => Ok(Aim {
                low: target,
                high: target,
                target,
            }),
            (None, Some(range), _) => Ok(Aim {
                low: range.low,
                high: range.high,
                target: range.aim(),
            }),
            (None, None, Some(_)) => Err(
                "No pH range is held for this crop, so there is no lime rate: give a target pH.",
            ),
            (None, None, None) => Err("No crop and no target pH, so there is no lime rate."),
        };
        let buffer = Buffer::ALL.get(key.buffer()).copied();
        let depth_in = key.number(2);
        let quick = aim
            .ok()
            .zip(buffer)
            .and_then(|(aim, buffer)| ready(buffer, aim.target, depth_in));
        Self {
            stops_short: match (&quick, aim) {
                (Some((_, nearest)), Ok(aim)) if *nearest != aim.target => {
                    stops_short(*nearest, aim.target)
                }
                _ => String::new(),
            },
            no_lime_this_year: own.is_none() && range.is_some_and(|r| r.no_lime_in_crop_year),
            aim,
            buffer,
            depth_in,
            quick,
        }
    }

    /// The rate by the road with working.
    fn ask(&self, ph: f64, soil: Soil) -> Slow {
        let no = |say: String| Slow {
            lb_per_acre: None,
            method: "",
            unconfirmed: false,
            say,
        };
        let Ok(aim) = self.aim else {
            return no(String::new());
        };
        if soil.buffer_ph.is_none() && soil.acidity.is_none() && soil.lbc.is_none() {
            return no(
                "pH is below the target and the row has no buffer pH, so there is no lime rate."
                    .to_owned(),
            );
        }
        let by_buffer = Request {
            ph,
            target_ph: aim.target,
            buffer: self.buffer.zip(soil.buffer_ph),
            depth_in: self.depth_in,
            ..Request::default()
        };
        let mut request = Request {
            acidity: soil.acidity,
            lbc: soil.lbc,
            ..by_buffer
        };
        match lime::toward(&request, None) {
            Err(why) => no(why.to_string()),
            Ok((figure, used)) => {
                let mut say = String::new();
                if used != aim.target {
                    say = stops_short(used, aim.target);
                }
                if figure.what.starts_with("At least") {
                    say = format!("{say} {AT_LEAST}").trim().to_owned();
                }
                request.target_ph = used;
                Slow {
                    lb_per_acre: Some(figure.value),
                    method: lime::choose(&request, None).map_or("", Method::key),
                    unconfirmed: figure.weakest().is_some_and(|e| e.unconfirmed()),
                    say,
                }
            }
        }
    }
}

/// The method of a buffer, for the target or the nearest that its table goes to.
fn ready(buffer: Buffer, target: f64, depth_in: Option<f64>) -> Option<(Quick, f64)> {
    let mut probe = Request {
        // Below every target, so that only the table's own ends stand in the way.
        ph: 0.0,
        target_ph: target,
        buffer: Some((buffer, 6.0)),
        depth_in,
        ..Request::default()
    };
    if let Err(stopped) = lime::recommend(&probe, None)
        && let Some(nearest) = lime::nearest_target(&stopped, &probe)
    {
        probe.target_ph = nearest;
    }
    let method = lime::choose(&probe, None).ok()?;
    Quick::new(method, probe.target_ph, depth_in).map(|q| (q, probe.target_ph))
}
