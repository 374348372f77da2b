//! Values that cannot be, and values that no farm soil gives.

use super::suggestion::Suggestion;
use super::{Doubt, DoubtKind, Subject};
use crate::facts::FACTS;
use agronomy::soil::{Analyte, Bound, Measured};
use quantity::plain;

/// What a value must be, if it cannot be what was read.
pub fn impossible(analyte: Analyte, value: f64) -> Option<String> {
    let (low, high, unit) = match analyte {
        Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh => {
            (FACTS.limit("ph_least"), FACTS.limit("ph_most"), "pH")
        }
        Analyte::OrganicMatter => (0.0, FACTS.limit("percent_most"), "%"),
        _ => (0.0, f64::MAX, ""),
    };
    let wrong = !value.is_finite() || value < low || value > high;
    wrong.then(|| {
        if unit.is_empty() {
            "a number of a usual size".to_owned()
        } else {
            format!("{unit} from {} to {}", plain(low, 3), plain(high, 3))
        }
    })
}

pub(crate) fn question(subject: &Subject<'_>) -> Vec<Doubt> {
    let test = subject.test;
    test.measured
        .iter()
        .filter_map(|m| {
            let (kind, sentence) = one(m)?;
            let mut doubt = Doubt::of(&test.sample, Some(m.analyte), sentence)
                .kind(kind)
                .read_as(m.analyte, m.value);
            doubt.expected = range(m.analyte);
            Some(doubt.suggest([Suggestion::leave_out(m.analyte)]))
        })
        .collect()
}

/// What farm soils give, where there is a limit on both sides.
fn range(analyte: Analyte) -> Option<(f64, f64)> {
    match analyte {
        Analyte::Ph | Analyte::PhSalt => Some((FACTS.limit("ph_low"), FACTS.limit("ph_high"))),
        Analyte::BufferPh => Some((FACTS.limit("buffer_low"), FACTS.limit("buffer_high"))),
        Analyte::OrganicMatter => Some((0.0, FACTS.limit("om_high"))),
        Analyte::Cec => Some((0.0, FACTS.limit("cec_most"))),
        _ => None,
    }
}

fn one(m: &Measured) -> Option<(DoubtKind, String)> {
    let over = |key: &str| m.value > FACTS.limit(key);
    let under = |key: &str| m.value < FACTS.limit(key);
    // Written only where a sentence needs it: most values are fine.
    let shown = || plain(m.value, 4);
    let limit = |key: &str| plain(FACTS.limit(key), 4);
    let unlikely = |sentence: String| Some((DoubtKind::Unlikely, sentence));
    if let Some(expected) = impossible(m.analyte, m.value) {
        let sentence = format!("{} {} cannot be: {expected}.", m.analyte.name(), m.value);
        return Some((DoubtKind::Impossible, sentence));
    }
    match m.analyte {
        Analyte::Ph | Analyte::PhSalt if under("ph_low") || over("ph_high") => unlikely(format!(
            "{} {} is outside {} to {}; no farm soil reads that.",
            m.analyte.name(),
            shown(),
            limit("ph_low"),
            limit("ph_high"),
        )),
        Analyte::BufferPh if over("buffer_high") || under("buffer_low") => unlikely(format!(
            "Buffer pH {} is outside {} to {}.",
            shown(),
            limit("buffer_low"),
            limit("buffer_high"),
        )),
        Analyte::OrganicMatter if over("om_high") => unlikely(format!(
            "Organic matter {} % is peat or a slip; above {} % it is worth a look.",
            shown(),
            limit("om_high")
        )),
        Analyte::Cec if over("cec_most") => unlikely(format!(
            "CEC {} meq/100 g is more than any farm soil holds.",
            shown()
        )),
        a if a.unit() == Analyte::P.unit() && over("ppm_most") => unlikely(format!(
            "{} {} ppm is more than a tenth of the soil.",
            a.name(),
            shown()
        )),
        Analyte::P | Analyte::K if m.bound == Bound::Above => {
            let sentence = format!(
                "{} is printed as more than {} ppm; the true value is higher.",
                m.analyte.name(),
                shown()
            );
            Some((DoubtKind::AtLeast, sentence))
        }
        _ => None,
    }
}
