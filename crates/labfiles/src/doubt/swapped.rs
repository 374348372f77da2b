//! Phosphorus and potassium in each other's column.

use super::cations::{cec, meq};
use super::facts::{self, log_ratio};
use super::history::{Dated, History, Past};
use super::saturation::Saturated;
use super::suggestion::{Change, Suggestion};
use super::{Doubt, DoubtKind, Subject, exact, slip};
use crate::facts::FACTS;
use agronomy::soil::{Analyte, Measured};
use quantity::plain;

/// Whether the two columns of the whole file fit each other’s last values, and clearly better than their
/// own: a swap shows there even where no single sample is far off.
pub(crate) fn columns(samples: &[Subject<'_>], history: &History) -> bool {
    let (mut straight, mut crossed, mut count) = (0.0, 0.0, 0);
    for (subject, past) in samples.iter().zip(&history.samples) {
        let (Some(p), Some(k)) = (subject.exact(Analyte::P), subject.exact(Analyte::K)) else {
            continue;
        };
        let Some((_, then_p, then_k)) = then(p, k, past) else {
            continue;
        };
        let off = |a: f64, b: f64| log_ratio(a, b).map_or(0.0, f64::abs);
        straight += off(p.value, then_p) + off(k.value, then_k);
        crossed += off(p.value, then_k) + off(k.value, then_p);
        count += 2;
    }
    f64::from(count) >= 2.0 * facts::limit("swap_column_least")
        && straight / f64::from(count) > facts::limit("swap_column_apart")
        && crossed * facts::limit("swap_column_times") < straight
}

pub(crate) fn question(subject: &Subject<'_>, past: &Past, columns: bool) -> Option<Doubt> {
    let (p, k) = (subject.exact(Analyte::P)?, subject.exact(Analyte::K)?);
    let why = last_time(p, k, past)
        .or_else(|| {
            columns.then(|| {
                "in the whole file each fits the other’s last values better than its own".to_owned()
            })
        })
        .or_else(|| by_saturation(subject, p, k))
        .or_else(|| by_share(subject, p, k))?;
    let sentence = format!(
        "Phosphorus {} ppm and potassium {} ppm may be swapped: {why}.",
        plain(p.value, 3),
        plain(k.value, 3)
    );
    let doubt = Doubt::of(&subject.test.sample, Some(Analyte::P), sentence)
        .kind(DoubtKind::Swapped)
        .read_as(Analyte::P, p.value)
        .suggest(swap(p, k));
    Some(doubt.suggest([
        Suggestion::leave_out(Analyte::P),
        Suggestion::leave_out(Analyte::K),
    ]))
}

/// The numbers change places; each is read in the form of its new column. Only where both have one unit.
fn swap(p: &Measured, k: &Measured) -> Option<Suggestion> {
    let unit = |m: &Measured| m.printed_unit.split(' ').next().map(str::to_owned);
    if unit(p) != unit(k) {
        return None;
    }
    let form = |m: &Measured| {
        let form = slip::form_of(m).and_then(|f| FACTS.form(f));
        form.map_or(1.0, |f| f.per_element)
    };
    let (a_by, b_by) = (form(k) / form(p), form(p) / form(k));
    let says = format!(
        "Swap them: phosphorus {} ppm, potassium {} ppm.",
        plain(k.value * a_by, 3),
        plain(p.value * b_by, 3)
    );
    let change = Change::Swap {
        a: Analyte::P,
        b: Analyte::K,
        a_by,
        b_by,
    };
    Some(Suggestion::new(says, change))
}

/// The newest earlier values by the same extractants.
fn then<'a>(p: &Measured, k: &Measured, past: &'a Past) -> Option<(&'a Dated, f64, f64)> {
    past.newest().into_iter().find_map(|t| {
        let then_p = exact(&t.test, Analyte::P).filter(|o| o.extractant == p.extractant)?;
        let then_k = exact(&t.test, Analyte::K).filter(|o| o.extractant == k.extractant)?;
        Some((t, then_p.value, then_k.value))
    })
}

fn last_time(p: &Measured, k: &Measured, past: &Past) -> Option<String> {
    let (t, then_p, then_k) = then(p, k, past)?;
    let near =
        |a: f64, b: f64| log_ratio(a, b).is_some_and(|l| l.abs() < facts::limit("swap_near"));
    let apart =
        |a: f64, b: f64| log_ratio(a, b).is_some_and(|l| l.abs() > facts::limit("swap_apart"));
    (near(p.value, then_k)
        && near(k.value, then_p)
        && apart(p.value, then_p)
        && apart(k.value, then_k))
    .then(|| {
        format!(
            "last time{} they were {} and {}",
            t.day(),
            plain(then_p, 3),
            plain(then_k, 3)
        )
    })
}

/// Potassium's printed saturation fits the phosphorus and not the potassium.
fn by_saturation(subject: &Subject<'_>, p: &Measured, k: &Measured) -> Option<String> {
    let s = subject.saturations.iter().find(|s| s.of == Saturated::K)?;
    let expected = s.percent / 100.0 * cec(subject.test)? * FACTS.charge(Analyte::K)?.value;
    let slack = 2.0 * facts::limit("saturation_agree");
    let off = |m: &Measured| log_ratio(m.value, expected).map(f64::abs);
    (off(p)? < slack && off(k)? > facts::limit("unit_least")).then(|| {
        format!(
            "potassium’s part of the CEC, {} %, makes {} ppm",
            plain(s.percent, 3),
            plain(expected, 3)
        )
    })
}

/// So little potassium beside so much phosphorus, and the other way quite usual.
fn by_share(subject: &Subject<'_>, p: &Measured, k: &Measured) -> Option<String> {
    let cec = cec(subject.test)?;
    let share = meq(k)? / cec;
    let other = p.value / FACTS.charge(Analyte::K)?.value / cec;
    (share < facts::limit("swap_k_share")
        && p.value > facts::limit("swap_times") * k.value
        && other > facts::limit("swap_p_share_low")
        && other < facts::limit("swap_p_share_high"))
    .then(|| {
        format!(
            "the potassium is {} % of the CEC, seldom below 1 %",
            plain(share * 100.0, 2)
        )
    })
}
