//! Reading what the topics of nitrogen over the weeks take: a material, temperatures, spreadings.

use super::inputs::{Inputs, TopicError};
use crate::nitrogen::{self, Anchor, Covered, Spreading, Weather};
use crate::working::Source;

pub(super) fn anchor(inputs: &Inputs<'_>) -> Result<Anchor, TopicError> {
    let given: Vec<&str> = ["material", "green_n", "dry_n", "c_to_n"]
        .into_iter()
        .filter(|k| inputs.maybe(k).is_some())
        .collect();
    Ok(match given.as_slice() {
        ["material"] => nitrogen::release_class(inputs.text("material")?)?.anchor(),
        ["green_n"] => nitrogen::green_by_n(inputs.amount("green_n")?)?,
        ["dry_n"] => nitrogen::dry_by_n(inputs.amount("dry_n")?)?,
        ["c_to_n"] => nitrogen::by_carbon(inputs.positive("c_to_n")?)?,
        _ => {
            return Err(TopicError::Together(
                "Give one of material, green_n, dry_n and c_to_n; for example: material=feather"
                    .to_owned(),
            ));
        }
    })
}

/// One temperature with its unit, as °C.
pub(super) fn celsius(text: &str) -> Option<f64> {
    let text = text.trim().trim_end_matches('°').trim();
    let (number, to_c): (&str, fn(f64) -> f64) = match text.chars().last()? {
        'F' | 'f' => (text.get(..text.len() - 1)?, |f| (f - 32.0) / 1.8),
        'C' | 'c' => (text.get(..text.len() - 1)?, |c| c),
        _ => return None,
    };
    let value: f64 = number.trim().trim_end_matches('°').trim().parse().ok()?;
    value.is_finite().then(|| to_c(value))
}

/// As many weekly temperatures as are asked for, and where they come from.
pub(super) fn temperatures(
    inputs: &Inputs<'_>,
    count: usize,
) -> Result<(Vec<f64>, Source), TopicError> {
    let Some(text) = inputs.maybe("soil_temp") else {
        let first: u32 = match inputs.maybe("week_of_year") {
            None => 18,
            Some(week) => week
                .parse()
                .map_err(|_| inputs.bad("week_of_year", "a whole number from 1 to 52"))?,
        };
        return Ok(nitrogen::stand_in_soil_c(first, count)?);
    };
    let mut all: Vec<f64> = text
        .split(',')
        .map(celsius)
        .collect::<Option<_>>()
        .ok_or_else(|| {
            inputs.bad(
                "soil_temp",
                "a list of temperatures, each with F or C, e.g. 58F,60F",
            )
        })?;
    if all.iter().any(|c| !(-40.0..=60.0).contains(c)) {
        return Err(inputs.bad("soil_temp", "a temperature that soil can have"));
    }
    let last = all.last().copied().unwrap_or(15.0);
    all.resize(count.max(1), last);
    Ok((all, Source::stated("the soil temperatures you gave")))
}

/// `class:lb:week,class:lb:week`
pub(super) fn spreadings(inputs: &Inputs<'_>) -> Result<Vec<Spreading>, TopicError> {
    let Some(text) = inputs.maybe("spread") else {
        return Ok(Vec::new());
    };
    text.split(',')
        .map(|one| {
            let bad = || {
                inputs.bad(
                    "spread",
                    "class:lb N/acre:week with commas, e.g. feather:60:1",
                )
            };
            let parts: Vec<_> = one.split(':').map(str::trim).collect();
            let [class, lb, week] = parts.as_slice() else {
                return Err(bad());
            };
            let week: i32 = week.parse().map_err(|_| bad())?;
            if !(-60..=104).contains(&week) {
                return Err(bad());
            }
            Ok(Spreading {
                anchor: nitrogen::release_class(class)?.anchor(),
                total_n: lb.parse().map_err(|_| bad())?,
                ammonium_n: 0.0,
                nitrate_n: 0.0,
                week,
                covered: Covered::WithinDays(0.0),
                weather: Weather::Average,
            })
        })
        .collect()
}
