//! Cations in per cent beside the same cations in another unit: base saturation, though no word says so.

use crate::doubt::Saturated;
use crate::header::SHARE;
use crate::layout::{Column, Meaning};
use crate::unit::Unit;
use crate::words::{Kind, WORDS};
use agronomy::soil::Analyte;

/// How many such columns make it sure.
const ENOUGH: usize = 2;

/// The part of the CEC that a header such as `% K` or `Ca %` names.
fn share(column: &Column) -> Option<Saturated> {
    if column.meaning != Meaning::Ignore || column.why != SHARE {
        return None;
    }
    let scan = WORDS.scan(&column.header);
    let [key] = scan.keys(Kind::Analyte)[..] else {
        return None;
    };
    let percent = scan.keys(Kind::Unit) == [Unit::Percent.key()];
    let of = Saturated::ALL.iter().copied().find(|s| s.key() == key)?;
    (percent && scan.unknown.is_empty()).then_some(of)
}

/// Takes two and more such columns for base saturation, each where another column holds that cation. The
/// part of hydrogen has no other column and goes with the rest.
pub(crate) fn settle(columns: &mut [Column]) {
    let held: Vec<Analyte> = columns
        .iter()
        .filter_map(|c| match c.meaning {
            Meaning::Value { analyte, .. } => Some(analyte),
            _ => None,
        })
        .collect();
    let found: Vec<(usize, Saturated)> = columns
        .iter()
        .enumerate()
        .filter_map(|(i, c)| Some((i, share(c)?)))
        .filter(|(_, of)| {
            *of == Saturated::Acidity || of.analyte().is_some_and(|a| held.contains(&a))
        })
        .collect();
    let sure = |of: &Saturated| *of != Saturated::Acidity;
    if found.iter().filter(|(_, of)| sure(of)).count() < ENOUGH {
        return;
    }
    for (i, of) in found {
        let column = &mut columns[i];
        column.meaning = Meaning::Saturation { of };
        column.sure = true;
        "A share in per cent beside the cation in another unit: base saturation, checked only."
            .clone_into(&mut column.why);
    }
}
