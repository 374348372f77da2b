//! Soluble salts in another unit: labs print dS/m, its tenth, its hundredth and µS/cm.

use super::history::Past;
use super::suggestion::Suggestion;
use super::{Doubt, DoubtKind, Subject, exact, facts};
use crate::facts::FACTS;
use crate::unit::Unit;
use agronomy::soil::Analyte;
use quantity::plain;

/// Other units that labs print, and what undoes each: their factor to dS/m.
fn others() -> Vec<(&'static str, f64)> {
    let factor = |unit| FACTS.unit(unit).map(|u| u.factor);
    let taken = [
        ("It is mmho/cm × 10", Unit::MmhoX10PerCm),
        ("It is mho/cm × 100,000", Unit::MhoE5PerCm),
        ("It is µS/cm", Unit::UsPerCm),
    ];
    let mut all: Vec<_> = taken
        .into_iter()
        .filter_map(|(says, unit)| Some((says, factor(unit)?)))
        .collect();
    let back = factor(Unit::UsPerCm).map(|f| ("It was dS/m already, taken for µS/cm", 1.0 / f));
    all.extend(back);
    all
}

pub(crate) fn question(subject: &Subject<'_>, past: &Past) -> Option<Doubt> {
    let m = subject.exact(Analyte::Salts)?;
    let value = m.value;
    if value <= 0.0 {
        return None;
    }
    let last = past.newest().into_iter().find_map(|t| {
        let then = exact(&t.test, Analyte::Salts)?.value;
        (then > 0.0).then_some((then, t.day()))
    });
    let times = facts::limit("salts_times").ln();
    let moved = last
        .as_ref()
        .and_then(|(then, _)| facts::log_ratio(value, *then))
        .filter(|l| l.abs() > times);
    // What was as salty last time is no news.
    let known = last.is_some() && moved.is_none();
    let high = value > facts::limit("salts_look") && !known;
    let low = value < facts::limit("salts_low") && !known;
    if !(high || low || moved.is_some()) {
        return None;
    }
    let usual = (
        facts::limit("salts_usual_low"),
        facts::limit("salts_usual_high"),
    );
    let fits = |by: f64| {
        let taken = value * by;
        match &last {
            Some((then, _)) => {
                facts::log_ratio(taken, *then).is_some_and(|l| l.abs() < 0.5 * 10f64.ln())
            }
            None => taken >= usual.0 && taken <= usual.1,
        }
    };
    let ways: Vec<Suggestion> = others()
        .iter()
        .filter(|(_, by)| fits(*by))
        .map(|(says, by)| Suggestion::scale(says, Analyte::Salts, None, value, *by))
        .collect();
    let sentence = match (&last, moved) {
        (Some((then, day)), Some(_)) => format!(
            "Salts of {} dS/m were {} last time{day}; the unit may be another.",
            plain(value, 3),
            plain(*then, 3)
        ),
        _ if value > FACTS.limit("salts_high") => format!(
            "Salts of {} dS/m are above {}; the unit may be another.",
            plain(value, 4),
            plain(FACTS.limit("salts_high"), 4)
        ),
        _ if high => format!(
            "Salts of {} dS/m are those of a saline soil; the unit may be another.",
            plain(value, 3)
        ),
        _ => format!(
            "Salts of {} dS/m are less than rain has; the unit may be another.",
            plain(value, 3)
        ),
    };
    Some(
        Doubt::of(&subject.test.sample, Some(Analyte::Salts), sentence)
            .kind(DoubtKind::Salts)
            .read_as(Analyte::Salts, value)
            .expects(usual.0, usual.1)
            .suggest(ways)
            .suggest([Suggestion::leave_out(Analyte::Salts)]),
    )
}
