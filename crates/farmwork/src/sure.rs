//! How far a block’s test can be trusted, and what its doubt does to a rate.

use crate::readings::BlockReading;
use agronomy::doubt::{self, Confidence, Doubt};
use agronomy::reading::{self, Reading};
use agronomy::sampling;
use agronomy::soil::{Analyte, Measured};
use agronomy::working::{Evidence, Figure, Source};
use quantity::plain;

/// The doubt of one test of the block, from the cores behind it and the farm’s own scatter where its samples tell one; none where no
/// scatter is held.
pub(crate) fn of(reading: &BlockReading, analyte: Analyte) -> Option<Doubt> {
    of_boxes(reading, analyte, reading.boxes)
}

/// The same for another test of the block, the mean of so many boxes.
pub(crate) fn of_boxes(reading: &BlockReading, analyte: Analyte, boxes: u32) -> Option<Doubt> {
    let cores = match reading.block.cores {
        Some(said) => said,
        None => sampling::usual_cores()?,
    } * boxes.max(1);
    let Some(own) = reading.scatter.get(&analyte) else {
        return doubt::of_test(analyte, cores, None).ok();
    };
    let mut doubt = doubt::of_test(analyte, cores, Some(own.spread)).ok()?;
    // The sum behind the farm’s own scatter comes first.
    let mut working = own.figure.working.clone();
    working.append(&mut doubt.figure.working);
    doubt.figure.working = working;
    Some(doubt)
}

/// The ends of what the ground may truly hold, in four of five cases.
pub(crate) fn ends(reading: &BlockReading, measured: &Measured) -> Option<(f64, f64)> {
    let doubt = of(reading, measured.analyte)?;
    Some(doubt.interval(measured.value, Confidence::USUAL))
}

/// The same value read again with the same table where the ground held `value` instead.
pub(crate) fn read_at(
    of: &BlockReading,
    read: &Reading,
    measured: &Measured,
    value: f64,
) -> Option<Reading> {
    let system = of.tables.by_id(&read.system)?;
    let other = Measured {
        value,
        ..measured.clone()
    };
    let group = (read.group != "all").then_some(read.group.as_str());
    reading::read(system, &other, group)
}

/// A rate’s range: what the same table asks at both ends of the test. The figure tells both.
pub(crate) fn range(
    what: &str,
    rate: f64,
    ends: (f64, f64),
    unit: &str,
    at: impl Fn(f64) -> Option<f64>,
) -> Option<((f64, f64), Figure)> {
    let mut figure = Figure::new(format!("How the test’s doubt moves {what}"));
    let mut all = vec![rate];
    for (word, end) in [("low", ends.0), ("high", ends.1)] {
        let there = at(end)?;
        figure.step(
            format!("at the {word} end of the test"),
            there,
            "lb/acre",
            format!("test {} {unit}", plain(end, 3)),
            Source::new(
                "the same table at the ends of what the ground may truly hold, four of five cases",
                Evidence::Derived,
            ),
        );
        all.push(there);
    }
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    figure.low = Some(low);
    figure.high = Some(high);
    Some(((low, high), figure))
}

/// The chance (0 to 1) that the class of a test is the true one; none where no scatter is held.
pub(crate) fn chance(reading: &BlockReading, read: &Reading) -> Option<f64> {
    let (chances, _) = doubt::chances(read, &of(reading, read.analyte)?);
    let own = chances.iter().find(|c| c.category == read.category)?;
    Some(own.chance)
}

/// How sure the class of a test is, in a sentence, with the sum behind it.
pub(crate) fn class(reading: &BlockReading, read: &Reading) -> Option<(String, Figure)> {
    let doubt = of(reading, read.analyte)?;
    let (chances, figure) = doubt::chances(read, &doubt);
    let own = chances.iter().find(|c| c.category == read.category)?;
    let percent = |share: f64| plain((share * 100.0).round(), 3);
    let mut others: Vec<_> = chances
        .iter()
        .filter(|c| c.category != read.category && c.chance >= 0.1)
        .collect();
    others.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    let rest: Vec<String> = others
        .iter()
        .map(|c| format!("{} {} %", c.category, percent(c.chance)))
        .collect();
    let cores = match reading.block.cores {
        Some(n) => format!("{n} cores"),
        None => "the usual dozen cores".to_owned(),
    };
    let cores = if reading.boxes > 1 {
        format!("{cores} in each of {} boxes", reading.boxes)
    } else {
        cores
    };
    let cores = if reading.scatter.contains_key(&read.analyte) {
        format!("{cores}, by your own ground’s scatter,")
    } else {
        cores
    };
    let sure = format!(
        "With {cores} this class is {} % likely",
        percent(own.chance)
    );
    Some((
        if rest.is_empty() {
            format!("{sure}.")
        } else {
            format!("{sure}; {}.", crate::words::and(&rest))
        },
        figure,
    ))
}
