//! Magnesium, calcium, sulfur and trace elements: the lab's printed rate first, else a printed rate for
//! ground that a table reads as low, else what is missing in words.

use super::Line;
use crate::readings::BlockReading;
use crate::words;
use agronomy::crop::Crop;
use agronomy::micronutrient::{self, Rate};
use agronomy::reading::{Level, Reading};
use agronomy::soil::{Analyte, Recommendable, Recommended};
use agronomy::working::{Figure, Source};
use planner::Nutrient;
use quantity::plain;

/// Nutrient, what a lab may print of it, what it is read by, its key in the tables.
const MINOR: [(Nutrient, Recommendable, Analyte, &str); 8] = [
    (Nutrient::Ca, Recommendable::Ca, Analyte::Ca, "ca"),
    (Nutrient::Mg, Recommendable::Mg, Analyte::Mg, "mg"),
    (Nutrient::S, Recommendable::S, Analyte::S, "s"),
    (Nutrient::B, Recommendable::B, Analyte::B, "b"),
    (Nutrient::Zn, Recommendable::Zn, Analyte::Zn, "zn"),
    (Nutrient::Mn, Recommendable::Mn, Analyte::Mn, "mn"),
    (Nutrient::Cu, Recommendable::Cu, Analyte::Cu, "cu"),
    (Nutrient::Fe, Recommendable::Fe, Analyte::Fe, "fe"),
];

/// The needs beyond pH, nitrogen, phosphate and potash. A nutrient that the test does not show short and
/// the lab asks nothing of has no line.
pub(super) fn lines(reading: &BlockReading, crop: &Crop) -> Vec<Line> {
    MINOR
        .into_iter()
        .filter_map(|(nutrient, printed, analyte, key)| {
            let mut line = match super::printed(reading, crop, printed) {
                Some(rate) if rate.lb_per_acre > 0.0 => of_lab(nutrient, rate),
                // The lab looked and asks for none.
                Some(_) => return None,
                None => of_tables(reading, crop, nutrient, analyte, key)?,
            };
            if nutrient == Nutrient::B && line.asked.is_some() {
                hold_boron(&mut line, crop);
            }
            Some(line)
        })
        .collect()
}

fn of_lab(nutrient: Nutrient, rate: &Recommended) -> Line {
    let figure = super::as_printed(&words::capital(nutrient.name()), rate);
    asked(
        nutrient,
        rate.lb_per_acre,
        None,
        figure,
        "printed by the lab",
    )
}

fn of_tables(
    reading: &BlockReading,
    crop: &Crop,
    nutrient: Nutrient,
    analyte: Analyte,
    key: &str,
) -> Option<Line> {
    let read = reading.reading(analyte)?;
    if read.level > Level::Low {
        return None;
    }
    let none = || {
        Line::none(
            nutrient,
            format!(
                "the test reads {}, and no source held here gives a rate for {}; ask the lab or an adviser",
                read.level.name(),
                crop.name.to_lowercase()
            ),
        )
    };
    if nutrient == Nutrient::B {
        return Some(boron(reading, crop, read).unwrap_or_else(none));
    }
    let rate = micronutrient::rates(&crop.key, key)
        .into_iter()
        .find(|r| fits(r));
    Some(match rate {
        Some(rate) => {
            let mut figure = Figure::new(format!(
                "{} on ground that reads low",
                words::capital(nutrient.name())
            ));
            reads(&mut figure, read);
            figure.step(
                format!("printed rate ({})", rate.situation),
                rate.low,
                "lb/acre",
                format!(
                    "{} to {} lb per acre",
                    plain(rate.low, 3),
                    plain(rate.high, 3)
                ),
                rate.source.clone(),
            );
            let range = (rate.low < rate.high).then_some((rate.low, rate.high));
            asked(
                nutrient,
                rate.low,
                range,
                figure,
                "a printed rate for low ground",
            )
        }
        None => none(),
    })
}

/// Whether a printed rate is one for ground that is short of the element, spread over the ground.
fn fits(rate: &Rate) -> bool {
    matches!(
        rate.situation.as_str(),
        "deficient soil, broadcast" | "routine"
    )
}

fn boron(reading: &BlockReading, crop: &Crop, read: &Reading) -> Option<Line> {
    let test = reading.line(Analyte::B).map(|l| l.measured.value);
    let advice = micronutrient::boron(&crop.key, test).ok()?;
    let low = advice.figure.low.filter(|low| *low > 0.0)?;
    let mut figure = advice.figure;
    reads(&mut figure, read);
    figure.step(
        "the low end of the printed rate, since the margin is narrow",
        low,
        "lb B/acre",
        format!(
            "{} to {} lb per acre",
            plain(low, 3),
            plain(figure.high.unwrap_or(low), 3)
        ),
        Source::arithmetic(),
    );
    let range = figure
        .high
        .filter(|high| *high > low)
        .map(|high| (low, high));
    Some(asked(
        Nutrient::B,
        low,
        range,
        figure,
        "a printed rate for ground that reads low",
    ))
}

/// Boron is harmful soon after it is enough: no plan brings more than the most of one dressing that is
/// printed for the crop, all materials together, or than the lab asks.
fn hold_boron(line: &mut Line, crop: &Crop) {
    let Ok(advice) = micronutrient::boron(&crop.key, None) else {
        return;
    };
    let ceiling = advice.figure.value.max(line.need);
    line.ceiling = Some((
        ceiling,
        format!(
            "boron harms soon after it is enough: {} lb/acre is the most in one dressing",
            plain(ceiling, 3)
        ),
    ));
    if let Some(figure) = line.working.first_mut() {
        // Those of a table's rate are the same ones.
        figure.cautions = advice.figure.cautions;
    }
}

fn reads(figure: &mut Figure, read: &Reading) {
    figure.step(
        "the test",
        read.value,
        read.unit.clone(),
        format!("reads {}", read.level.name()),
        read.source.clone(),
    );
}

fn asked(
    nutrient: Nutrient,
    need: f64,
    range: Option<(f64, f64)>,
    mut figure: Figure,
    basis: &str,
) -> Line {
    figure.value = need;
    let mut line = Line::none(nutrient, basis);
    line.asked = Some(need);
    line.need = need;
    line.range = range;
    line.working = vec![figure];
    line
}
