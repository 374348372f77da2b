//! Base saturation as the lab printed it: parts of a whole, and the same cations in other words.

use super::cations::cec;
use super::suggestion::{Change, Suggestion, name, names};
use super::{Doubt, DoubtKind, Subject, facts, slip};
use crate::facts::FACTS;
use agronomy::soil::{Analyte, Measured};
use quantity::plain;
use serde::{Deserialize, Serialize};

macro_rules! saturated {
    ($($variant:ident = $key:literal, $says:literal, $analyte:expr;)+) => {
        /// What holds a part of the CEC.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
        pub enum Saturated {
            $(#[serde(rename = $key)] $variant),+
        }

        impl Saturated {
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            pub fn key(self) -> &'static str {
                match self { $(Self::$variant => $key),+ }
            }

            /// In a grower's words.
            pub fn says(self) -> &'static str {
                match self { $(Self::$variant => $says),+ }
            }

            /// The analyte whose part of the CEC it is; none for all bases together.
            pub fn analyte(self) -> Option<Analyte> {
                match self { $(Self::$variant => $analyte),+ }
            }
        }
    };
}

saturated! {
    Ca = "ca", "calcium, % of the CEC", Some(Analyte::Ca);
    Mg = "mg", "magnesium, % of the CEC", Some(Analyte::Mg);
    K = "k", "potassium, % of the CEC", Some(Analyte::K);
    Na = "na", "sodium, % of the CEC", Some(Analyte::Na);
    Acidity = "acidity", "hydrogen or acidity, % of the CEC", Some(Analyte::Acidity);
    Bases = "bases", "all bases, % of the CEC", None;
}

/// One printed share of the CEC. It is checked and never used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Saturation {
    pub of: Saturated,
    /// % of the CEC
    pub percent: f64,
    /// The step of its last printed digit, %: 0.1 for `3.2`.
    pub step: f64,
}

impl Saturation {
    /// The rounding that the print allows.
    fn rounding(&self) -> f64 {
        rounding_of(0.5 * self.step, self.percent)
    }
}

pub(crate) fn question(subject: &Subject<'_>) -> Vec<Doubt> {
    let mut all: Vec<Doubt> = sum(subject).into_iter().collect();
    all.extend(agreement(subject));
    all
}

fn sum(subject: &Subject<'_>) -> Option<Doubt> {
    let of = |which: Saturated| {
        let mut all = subject.saturations.iter();
        all.find(|s| s.of == which).map(|s| s.percent)
    };
    if let Some(s) = subject
        .saturations
        .iter()
        .find(|s| !(0.0..=facts::limit("saturation_high")).contains(&s.percent))
    {
        let sentence = format!(
            "{} is printed as {}: a part of a whole is between 0 and 100.",
            super::suggestion::capital(s.of.says()),
            plain(s.percent, 3)
        );
        return Some(doubt(subject, sentence, s.percent));
    }
    let bases = of(Saturated::Ca)?
        + of(Saturated::Mg)?
        + of(Saturated::K)?
        + of(Saturated::Na).unwrap_or(0.0);
    let acid = of(Saturated::Acidity);
    let all = bases + acid.unwrap_or(0.0);
    let neutral = subject
        .exact(Analyte::Ph)
        .is_some_and(|m| m.value >= facts::limit("free_lime_ph"));
    let sentence = if all > facts::limit("saturation_high") {
        format!(
            "The printed base saturation makes {} %, more than the whole.",
            plain(all, 3)
        )
    } else if all < facts::limit("saturation_low") && (acid.is_some() || neutral) {
        format!(
            "The printed base saturation makes {} %; something is missing up to 100.",
            plain(all, 3)
        )
    } else if let Some(total) =
        of(Saturated::Bases).filter(|t| (t - bases).abs() > facts::limit("saturation_total"))
    {
        format!(
            "The printed base saturation of {} % is not the sum of its parts, {} %.",
            plain(total, 3),
            plain(bases, 3)
        )
    } else {
        return None;
    };
    Some(doubt(subject, sentence, all))
}

fn doubt(subject: &Subject<'_>, sentence: String, value: f64) -> Doubt {
    let mut doubt = Doubt::of(&subject.test.sample, None, sentence).kind(DoubtKind::SaturationSum);
    doubt.value = Some(value);
    "%".clone_into(&mut doubt.unit);
    doubt.expects(
        facts::limit("saturation_low"),
        facts::limit("saturation_high"),
    )
}

/// A cation whose ppm are not what saturation and CEC make.
struct Off<'a> {
    m: &'a Measured,
    expected: f64,
    /// natural logarithm of what the value must be multiplied with
    needed: f64,
    slack: f64,
}

fn agreement(subject: &Subject<'_>) -> Vec<Doubt> {
    let Some(cec) = cec(subject.test) else {
        return Vec::new();
    };
    let mut bases = 0;
    let mut off = Vec::new();
    for s in subject.saturations {
        let Some(m) = s.of.analyte().and_then(|a| subject.exact(a)) else {
            continue;
        };
        let per_meq = if m.analyte == Analyte::Acidity {
            1.0
        } else {
            match FACTS.charge(m.analyte) {
                Some(charge) => charge.value,
                None => continue,
            }
        };
        let expected = s.percent / 100.0 * cec * per_meq;
        let Some(needed) = facts::log_ratio(expected, m.value) else {
            continue;
        };
        let base = m.analyte != Analyte::Acidity;
        bases += usize::from(base);
        // The CEC is printed to a tenth.
        let slack = facts::limit("saturation_agree") + s.rounding() + rounding(m) + 0.05 / cec;
        if needed.abs() > slack {
            off.push(Off {
                m,
                expected,
                needed,
                slack,
            });
        }
    }
    let acid = |o: &Off<'_>| o.m.analyte == Analyte::Acidity;
    if off.len() >= 2 && off.len() == bases && !off.iter().any(acid) {
        // All bases off together: one unit or the CEC.
        let first = &off[0];
        let depth = subject.test.depth_in;
        let fits = |by: f64| {
            off.iter()
                .all(|o| (by.ln() - o.needed).abs() < o.slack * 2.0)
        };
        let analytes: Vec<Analyte> = off.iter().map(|o| o.m.analyte).collect();
        let mut fitting = slip::fitting(slip::shared(first.m, depth), first.needed, f64::INFINITY);
        fitting.retain(|s| fits(s.by));
        let ways = fitting.into_iter().map(|s| {
            let says = format!("{}: {}.", s.says.replace("It is", "They are"), by(s.by));
            let by = analytes.iter().map(|a| (*a, s.by)).collect();
            let extractant = first.m.extractant;
            Suggestion::new(says, Change::Scale { by, extractant })
        });
        let sentence = format!(
            "{} do not go with the base saturation and the CEC of {}: {} {} read and {} expected.",
            super::suggestion::capital(&names(&analytes)),
            plain(cec, 3),
            plain(first.m.value, 3),
            first.m.analyte.unit(),
            plain(first.expected, 3)
        );
        let mut doubt = Doubt::of(&subject.test.sample, None, sentence)
            .kind(DoubtKind::Saturation)
            .read_as(first.m.analyte, first.m.value)
            .expects(
                first.expected * (-first.slack).exp(),
                first.expected * first.slack.exp(),
            )
            .suggest(ways);
        let oxides: Vec<(Analyte, f64)> = off
            .iter()
            .filter_map(|o| {
                let slips = slip::fitting(slip::forms(o.m), o.needed, o.slack);
                Some((o.m.analyte, slips.first()?.by))
            })
            .collect();
        if oxides.len() == off.len() {
            let extractant = first.m.extractant;
            let change = Change::Scale {
                by: oxides,
                extractant,
            };
            doubt
                .suggestions
                .push(Suggestion::new("They are oxides, not elements.", change));
        }
        doubt.suggestions.push(Suggestion::leave_out(Analyte::Cec));
        return vec![doubt];
    }
    off.into_iter().map(|o| one(subject, &o, cec)).collect()
}

/// The rounding that the printed number allows.
fn rounding(m: &Measured) -> f64 {
    let printed = m.printed.trim().replace(',', ".").parse::<f64>();
    match printed {
        Ok(printed) => rounding_of(0.5 * crate::number::step(&m.printed), printed),
        Err(_) => 0.0,
    }
}

/// Half a step downwards as a natural logarithm: 0.1 printed may be 0.05, half of it.
fn rounding_of(half: f64, value: f64) -> f64 {
    if half < value {
        -(1.0 - half / value).ln()
    } else {
        f64::INFINITY
    }
}

fn by(factor: f64) -> String {
    format!("times {}", plain(factor, 3))
}

fn one(subject: &Subject<'_>, off: &Off<'_>, cec: f64) -> Doubt {
    let analyte = off.m.analyte;
    let sentence = format!(
        "{} {} {} does not go with its base saturation and the CEC of {}: they make {}.",
        analyte.name(),
        plain(off.m.value, 3),
        analyte.unit(),
        plain(cec, 3),
        plain(off.expected, 3)
    );
    let slips = slip::fitting(
        slip::all(off.m, subject.test.depth_in),
        off.needed,
        off.slack * 1.5,
    );
    let set = Suggestion::new(
        format!(
            "Use {} {} as the saturation says for {}.",
            plain(off.expected, 3),
            analyte.unit(),
            name(analyte)
        ),
        Change::Set {
            analyte,
            extractant: off.m.extractant,
            value: off.expected,
        },
    );
    Doubt::of(&subject.test.sample, Some(analyte), sentence)
        .kind(DoubtKind::Saturation)
        .read_as(analyte, off.m.value)
        .expects(
            off.expected * (-off.slack).exp(),
            off.expected * off.slack.exp(),
        )
        .suggest(slips.iter().map(|s| s.suggestion(off.m)))
        .suggest([set, Suggestion::leave_out(analyte)])
}
