//! The cations as meq/100 g beside the CEC.

use super::history::Past;
use super::suggestion::{Change, Suggestion, name, names};
use super::{Doubt, DoubtKind, Subject, exact, facts, slip};
use crate::facts::FACTS;
use agronomy::soil::{Analyte, Extractant, Measured, SoilTest};
use quantity::plain;

/// Calcium, magnesium, potassium and sodium of one extract that holds them all.
pub(crate) struct Bases<'a> {
    pub(crate) parts: Vec<&'a Measured>,
    pub(crate) extractant: Extractant,
    /// meq/100 g
    pub(crate) sum: f64,
}

/// meq/100 g of a value in ppm.
pub(crate) fn meq(m: &Measured) -> Option<f64> {
    Some(m.value / FACTS.charge(m.analyte)?.value)
}

/// The bases of a test; none without calcium and magnesium, or where the extract does not sum them.
pub(crate) fn bases(test: &SoilTest) -> Option<Bases<'_>> {
    let extractant = exact(test, Analyte::Ca)?.extractant?;
    if !FACTS.extract(extractant)?.sums_cations {
        return None;
    }
    let of = |analyte| exact(test, analyte).filter(|m| m.extractant == Some(extractant));
    let mut parts = vec![of(Analyte::Ca)?, of(Analyte::Mg)?];
    parts.extend([Analyte::K, Analyte::Na].into_iter().filter_map(of));
    let sum = parts.iter().filter_map(|m| meq(m)).sum();
    Some(Bases {
        parts,
        extractant,
        sum,
    })
}

/// The CEC, where it is a number above zero.
pub(crate) fn cec(test: &SoilTest) -> Option<f64> {
    exact(test, Analyte::Cec)
        .map(|m| m.value)
        .filter(|c| *c > 0.0)
}

fn acidity(test: &SoilTest) -> f64 {
    exact(test, Analyte::Acidity).map_or(0.0, |m| m.value)
}

pub(crate) fn question(subject: &Subject<'_>, past: &Past) -> Option<Doubt> {
    let test = subject.test;
    let cec = cec(test)?;
    let bases = bases(test)?;
    let acid = acidity(test);
    let ph = test.value(Analyte::Ph);
    let (ratio, total) = (bases.sum / cec, (bases.sum + acid) / cec);
    let within = |low: &str, high: &str| ratio >= FACTS.limit(low) && ratio <= FACTS.limit(high);
    let facts = || {
        let parts: Vec<Analyte> = [Analyte::Ca, Analyte::Mg, Analyte::K, Analyte::Na].into();
        format!(
            "{} make {} meq/100 g beside a CEC of {}",
            super::suggestion::capital(&names(&parts)),
            plain(bases.sum, 3),
            plain(cec, 3)
        )
    };
    let has_acidity = exact(test, Analyte::Acidity).is_some();
    let sentence = if within("cation_double_low", "cation_double_high") {
        format!(
            "{}: about twice, as when lb/acre were taken for ppm (or the soil holds free lime).",
            facts()
        )
    } else if ratio > FACTS.limit("cation_over") {
        format!(
            "{}; they cannot exceed it unless the soil holds free lime or the unit is another.",
            facts()
        )
    } else if ratio < FACTS.limit("cation_under")
        && ph.is_some_and(|ph| ph >= FACTS.limit("cation_neutral_ph"))
    {
        format!(
            "{}: too little for a neutral soil, as when ppm were taken for lb/acre.",
            facts()
        )
    } else if has_acidity && total > facts::limit("cation_total_high") {
        format!(
            "{}; with {} meq of acidity they are more than it can hold.",
            facts(),
            plain(acid, 3)
        )
    } else if has_acidity && total < facts::limit("cation_total_low") {
        format!(
            "{}; with {} meq of acidity they leave much of it unaccounted for, as when ppm were taken for lb/acre.",
            facts(),
            plain(acid, 3)
        )
    } else {
        return None;
    };
    if ratio > 1.0 && was_so_before(ratio, ph, past) {
        return None;
    }
    let (low, high) = if has_acidity {
        (
            (cec * facts::limit("cation_total_low") - acid).max(0.0),
            (cec * facts::limit("cation_total_high") - acid).max(0.0),
        )
    } else {
        let (low, high) = ph.and_then(facts::bases_at).unwrap_or((0.0, 1.0));
        (cec * low, cec * high)
    };
    let mut doubt = Doubt::of(&test.sample, Some(Analyte::Cec), sentence)
        .kind(DoubtKind::CationSum)
        .read_as(Analyte::Cec, cec)
        .suggest(ways(&bases, test.depth_in, low, high))
        .suggest([Suggestion::leave_out(Analyte::Cec)]);
    // The sum of the bases is what is off: it stands beside the CEC in its unit.
    doubt.value = Some(bases.sum);
    Some(doubt.expects(low, high))
}

/// Free lime stands over the CEC every time.
fn was_so_before(ratio: f64, ph: Option<f64>, past: &Past) -> bool {
    ph.is_some_and(|ph| ph >= facts::limit("free_lime_ph"))
        && past.newest().iter().any(|t| {
            let then = bases(&t.test).zip(cec(&t.test)).map(|(b, c)| b.sum / c);
            then.and_then(|then| facts::log_ratio(ratio, then))
                .is_some_and(|change| change.abs() < facts::limit("same_ratio"))
        })
}

/// Slips that would bring the sum between low and high: the shared unit first, then the oxides.
fn ways(bases: &Bases<'_>, depth_in: Option<f64>, low: f64, high: f64) -> Vec<Suggestion> {
    let mut all = Vec::new();
    let fits = |sum: f64| sum >= low && sum <= high;
    let analytes: Vec<Analyte> = bases.parts.iter().map(|m| m.analyte).collect();
    let extractant = Some(bases.extractant);
    if let Some(first) = bases.parts.first() {
        for s in slip::shared(first, depth_in) {
            if fits(bases.sum * s.by) {
                let says = format!(
                    "{}: {} times {}.",
                    s.says.replace("It is", "They are"),
                    names(&analytes),
                    plain(s.by, 3)
                );
                let by = analytes.iter().map(|a| (*a, s.by)).collect();
                all.push(Suggestion::new(says, Change::Scale { by, extractant }));
            }
        }
    }
    let oxides: Vec<(Analyte, f64)> = bases
        .parts
        .iter()
        .filter_map(|m| Some((m.analyte, slip::forms(m).first()?.by)))
        .collect();
    let factor = |m: &Measured| {
        oxides
            .iter()
            .find(|(a, _)| *a == m.analyte)
            .map_or(1.0, |o| o.1)
    };
    let sum: f64 = bases
        .parts
        .iter()
        .filter_map(|m| Some(meq(m)? * factor(m)))
        .sum();
    if fits(sum) {
        let printed = bases.parts.first().and_then(|m| slip::form_of(m));
        let says = match printed {
            Some(_) => "They are elements, not oxides.".to_owned(),
            None => "They are oxides (CaO, MgO, K2O), not elements.".to_owned(),
        };
        let by = oxides;
        all.push(Suggestion::new(says, Change::Scale { by, extractant }));
    }
    // One cation alone may be off, by a decimal point.
    for m in &bases.parts {
        for by in [0.1, 10.0] {
            if let Some(own) = meq(m)
                && own > 0.5 * bases.sum.min(high)
                && fits(bases.sum - own + own * by)
            {
                let says = format!("The decimal point of {} is off", name(m.analyte));
                all.push(Suggestion::scale(
                    &says,
                    m.analyte,
                    m.extractant,
                    m.value,
                    by,
                ));
            }
        }
    }
    all
}
