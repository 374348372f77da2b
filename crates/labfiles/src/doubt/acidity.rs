//! pH beside the bases and the acidity.

use super::cations::{bases, cec};
use super::saturation::Saturated;
use super::suggestion::Suggestion;
use super::{Doubt, DoubtKind, Subject, facts};
use crate::facts::FACTS;
use agronomy::soil::Analyte;
use quantity::plain;

pub(crate) fn question(subject: &Subject<'_>) -> Option<Doubt> {
    let ph = subject.exact(Analyte::Ph)?.value;
    let (low, high) = facts::bases_at(ph)?;
    let (share, from) = share(subject)?;
    let neutral = ph >= FACTS.limit("cation_neutral_ph");
    let acid = subject.exact(Analyte::Acidity).map(|m| m.value);
    let acid_share = acid.zip(cec(subject.test)).map(|(a, c)| a / c);
    let sentence = if share < low && (!neutral || from == From::Printed) {
        format!(
            "pH {} goes with more bases than the {} % of the CEC that {}; one of them may be another sample's or another unit.",
            plain(ph, 3),
            plain(share * 100.0, 2),
            from.says()
        )
    } else if share > high {
        format!(
            "pH {} goes with fewer bases than the {} % of the CEC that {}; one of them may be another sample's or another unit.",
            plain(ph, 3),
            plain(share * 100.0, 2),
            from.says()
        )
    } else if neutral && acid_share.is_some_and(|a| a > facts::limit("acidity_neutral")) {
        format!(
            "pH {} and {} meq/100 g of exchangeable acidity do not go together: a neutral soil has next to none.",
            plain(ph, 3),
            plain(acid.unwrap_or(0.0), 3)
        )
    } else {
        return None;
    };
    Some(
        Doubt::of(&subject.test.sample, Some(Analyte::Ph), sentence)
            .kind(DoubtKind::PhAndBases)
            .read_as(Analyte::Ph, ph)
            .suggest([Suggestion::leave_out(Analyte::Ph)]),
    )
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum From {
    Cations,
    Printed,
}

impl From {
    fn says(self) -> &'static str {
        match self {
            Self::Cations => "the cations make",
            Self::Printed => "the lab prints as base saturation",
        }
    }
}

/// The bases over the CEC; none where a CEC over its limit is questioned already or was made by adding up
/// the bases alone, which says nothing of acidity.
fn share(subject: &Subject<'_>) -> Option<(f64, From)> {
    let test = subject.test;
    if let (Some(b), Some(cec)) = (bases(test), cec(test)) {
        let share = b.sum / cec;
        let by_sum = subject.exact(Analyte::Acidity).is_none()
            && (share - 1.0).abs() < facts::limit("cation_by_sum");
        return (!by_sum && share <= FACTS.limit("cation_over")).then_some((share, From::Cations));
    }
    let of = |which| {
        let mut all = subject.saturations.iter();
        all.find(|s| s.of == which).map(|s| s.percent / 100.0)
    };
    let parts = || Some(of(Saturated::Ca)? + of(Saturated::Mg)? + of(Saturated::K).unwrap_or(0.0));
    let share = of(Saturated::Bases).or_else(parts)?;
    let whole = (share - 1.0).abs() < facts::limit("cation_by_sum");
    (!whole).then_some((share, From::Printed))
}
