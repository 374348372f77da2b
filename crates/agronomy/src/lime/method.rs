//! The published methods themselves.

use super::grid::Beyond;
use super::tables::{constant, tables};
use super::{LimeError, Method, Request, already_there, check, depth_source, for_depth};
use crate::working::{Caution, Figure, Source};
use quantity::plain;

pub(super) const LB_PER_TON: f64 = 2_000.0;

/// The lime rate by one method: lb per acre, for the depth worked, of the lime in [`Method::basis`].
pub fn requirement(method: Method, request: &Request) -> Result<Figure, LimeError> {
    check(request)?;
    if let Some(none) = already_there(request) {
        return Ok(none);
    }
    if !method.fits(request) {
        return Err(missing(method));
    }
    let basis = method.basis().ok_or(LimeError::Table(method.name()))?;
    let mut figure = Figure::new(format!("Lime, as {}", basis.lime));
    let depth = match method {
        Method::Sikora => sikora(request, &mut figure)?,
        Method::MehlichNc => north_carolina(request, &mut figure)?,
        Method::MehlichPa => pennsylvania(request, &mut figure)?,
        Method::MehlichPaGarden => pennsylvania_garden(request, &mut figure)?,
        Method::GeorgiaLbc => return georgia(request, figure),
        Method::SmpIowa => smp_iowa(request, &mut figure)?,
    };
    if let Some(worked) = request.depth_in {
        let made_for = constant(depth)?;
        let rate = figure.value;
        figure.working.push(crate::working::Step {
            what: "depth the table was made for".to_owned(),
            value: made_for.value,
            unit: "in".to_owned(),
            formula: plain(made_for.value, 3),
            source: made_for.source.clone(),
        });
        figure.step(
            "for the depth worked",
            for_depth(rate, made_for.value, worked),
            unit(method),
            format!(
                "{} × {} / {}",
                plain(rate, 4),
                plain(worked, 3),
                plain(made_for.value, 3)
            ),
            depth_source(),
        );
        figure.low = figure.low.map(|_| figure.value);
    }
    finish(&mut figure, method);
    Ok(figure)
}

fn finish(figure: &mut Figure, method: Method) {
    figure.unit = "lb/acre".to_owned();
    if figure.value > 0.0 {
        if let Some(basis) = method.basis() {
            figure.cautions.push(basis.caution.clone());
        }
        figure.cautions.extend(super::cautions());
    }
}

/// The unit of the method’s rate.
fn unit(method: Method) -> String {
    method
        .basis()
        .map_or_else(|| "lb/acre".to_owned(), |b| b.unit.clone())
}

fn missing(method: Method) -> LimeError {
    LimeError::Missing {
        method: method.name(),
        needs: method.needs(),
    }
}

fn outside(method: Method, low: f64, high: f64, target: f64) -> LimeError {
    LimeError::Target {
        method: method.name(),
        low: plain(low, 3),
        high: plain(high, 3),
        target: plain(target, 3),
    }
}

/// What stands for a reading past the last printed line. On the sour side the last line is a floor,
/// and that is said loudly. On the mild side a rate is never carried on: zero if the last line asks
/// for none, else no rate.
fn past_table(
    figure: &mut Figure,
    method: Method,
    side: Side,
    reading: f64,
    source: &Source,
) -> Result<(), LimeError> {
    match side {
        Side::Sour(last) => {
            figure.what = format!("At least this much: {}", lower_first(&figure.what));
            figure.low = Some(figure.value);
            figure.cautions.push(Caution {
                text: format!(
                    "AT LEAST THIS MUCH: the lab’s number, {}, is more acid than the last line of the {}, {}. The rate is the one printed there and the soil needs more: ask the lab for its own rate, and test again before the next dose.",
                    plain(reading, 3),
                    method.name(),
                    plain(last, 3)
                ),
                source: source.clone(),
            });
            Ok(())
        }
        Side::Mild(_) if figure.value <= 0.0 => Ok(()),
        Side::Mild(last) => Err(LimeError::PastTable {
            method: method.name(),
            last: plain(last, 3),
            reading: plain(reading, 3),
        }),
    }
}

/// Past which end of a table a reading lies, with the last printed reading there.
enum Side {
    Sour(f64),
    Mild(f64),
}

/// For a buffer pH, a lower number is the sourer soil.
fn by_buffer(beyond: Beyond) -> Side {
    match beyond {
        Beyond::Below(last) => Side::Sour(last),
        Beyond::Above(last) => Side::Mild(last),
    }
}

/// For an acidity, a higher number is the sourer soil.
fn by_acidity(beyond: Beyond) -> Side {
    match beyond {
        Beyond::Below(last) => Side::Mild(last),
        Beyond::Above(last) => Side::Sour(last),
    }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

/// The step's words: past the table it says that the last line stands in for the reading.
fn table_step(what: String, beyond: Option<Beyond>) -> String {
    match beyond {
        None => what,
        Some(Beyond::Below(last) | Beyond::Above(last)) => {
            format!("{what}, past the last line, {}", plain(last, 3))
        }
    }
}

fn sikora(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
    let method = Method::Sikora;
    let (_, buffer) = request.buffer.ok_or_else(|| missing(method))?;
    let grid = &tables().sikora;
    let source = grid.source().ok_or(LimeError::Table(method.name()))?;
    let (low, high) = grid.targets().ok_or(LimeError::Table(method.name()))?;
    if request.target_ph < low || request.target_ph > high {
        return Err(outside(method, low, high, request.target_ph));
    }
    let gap = (
        constant("oregon_break_low")?.value,
        constant("oregon_break_high")?.value,
    );
    let found = grid
        .at(buffer, request.target_ph, Some(gap))
        .ok_or_else(|| LimeError::Held {
            method: method.name(),
            why: "three cells of its target 6.8 column look misprinted".to_owned(),
        })?;
    let tons = figure.step(
        table_step(
            format!("table: Sikora buffer pH {}", plain(buffer, 3)),
            found.beyond,
        ),
        found.rate,
        "ton of 100-score lime/acre",
        found.how.clone(),
        source.clone(),
    );
    pounds(figure, method, tons);
    if let Some(beyond) = found.beyond {
        past_table(figure, method, by_buffer(beyond), buffer, source)?;
    }
    Ok("oregon_depth")
}

fn smp_iowa(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
    let method = Method::SmpIowa;
    let (_, buffer) = request.buffer.ok_or_else(|| missing(method))?;
    let grid = &tables().smp;
    let source = grid.source().ok_or(LimeError::Table(method.name()))?;
    let (low, high) = grid.targets().ok_or(LimeError::Table(method.name()))?;
    if request.target_ph < low || request.target_ph > high {
        return Err(outside(method, low, high, request.target_ph));
    }
    let found = grid
        .at(buffer, request.target_ph, None)
        .ok_or_else(|| LimeError::Held {
            method: method.name(),
            why: "its cell for buffer pH 5.8 and target 6.9 does not follow the rest".to_owned(),
        })?;
    figure.step(
        table_step(
            format!("table: SMP buffer pH {}", plain(buffer, 3)),
            found.beyond,
        ),
        found.rate,
        unit(method),
        found.how.clone(),
        source.clone(),
    );
    if let Some(beyond) = found.beyond {
        past_table(figure, method, by_buffer(beyond), buffer, source)?;
    }
    Ok("iowa_depth")
}

fn north_carolina(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
    let method = Method::MehlichNc;
    let (_, buffer) = request.buffer.ok_or_else(|| missing(method))?;
    let end = constant("nc_end_ph")?;
    let per_ph = constant("nc_acidity_per_ph")?;
    if request.target_ph > end.value {
        return Err(outside(method, 0.0, end.value, request.target_ph));
    }
    let acidity = figure.step(
        "acidity from the Mehlich buffer pH",
        nc_acidity(buffer, end.value, per_ph.value),
        "meq/100 cm3",
        format!(
            "({} − {}) × {}",
            plain(end.value, 3),
            plain(buffer, 3),
            plain(per_ph.value, 3)
        ),
        per_ph.source.clone(),
    );
    let factor = figure.step(
        "share of the acidity to remove",
        nc_share(request.ph, request.target_ph, end.value),
        "",
        format!(
            "({t} − {p}) / ({e} − {p})",
            t = plain(request.target_ph, 3),
            p = plain(request.ph, 3),
            e = plain(end.value, 3)
        ),
        end.source.clone(),
    );
    let tons = figure.step(
        "lime",
        acidity * factor,
        "ton/acre",
        format!("{} × {}", plain(acidity, 4), plain(factor, 4)),
        end.source.clone(),
    );
    pounds(figure, method, tons);
    if buffer >= end.value {
        figure.caution(
            format!(
                "The buffer pH of {} shows no acidity to neutralise, so the formula asks for no lime although pH is below the target: ask the lab before you lime.",
                plain(buffer, 3)
            ),
            per_ph.source.clone(),
        );
    }
    Ok("nc_depth")
}

/// Acidity by the Mehlich buffer, meq/100 cm3: `(end − buffer pH) × per`, not below zero.
pub(super) fn nc_acidity(buffer: f64, end: f64, per_ph: f64) -> f64 {
    ((end - buffer) * per_ph).max(0.0)
}

/// The share of the acidity to remove: `(target − pH) / (end − pH)`.
pub(super) fn nc_share(ph: f64, target: f64, end: f64) -> f64 {
    (target - ph) / (end - ph)
}

/// The Pennsylvania method whose goals lie nearest the target.
pub(super) fn pennsylvania_for(target: f64) -> Method {
    if target < MIDDLE_OF_6_0_AND_6_5 {
        Method::MehlichPaGarden
    } else {
        Method::MehlichPa
    }
}

const MIDDLE_OF_6_0_AND_6_5: f64 = 6.25;

/// The printed goal nearest the target, the lower one where two are as near.
fn nearest_goal(method: Method, goals: &[f64], target: f64) -> Result<f64, LimeError> {
    const REACH: f64 = 0.25;
    goals
        .iter()
        .copied()
        .filter(|g| (g - target).abs() <= REACH + 1e-9)
        .min_by(|a, b| (a - target).abs().total_cmp(&(b - target).abs()))
        .ok_or_else(|| {
            let low = goals.iter().copied().fold(f64::INFINITY, f64::min) - REACH;
            let high = goals.iter().copied().fold(f64::NEG_INFINITY, f64::max) + REACH;
            outside(method, low, high, target)
        })
}

fn say_goal(figure: &mut Figure, goal: f64, target: f64, source: &Source) {
    if (goal - target).abs() > 1e-9 {
        figure.caution(
            format!(
                "The source prints goals half a pH apart; {} is the nearest to your {}.",
                plain(goal, 3),
                plain(target, 3)
            ),
            source.clone(),
        );
    }
}

fn pennsylvania(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
    let method = Method::MehlichPa;
    let acidity = request.acidity.ok_or_else(|| missing(method))?;
    let goal = nearest_goal(method, &[6.5, 7.0], request.target_ph)?;
    let neutral = constant("pa_lb_per_meq_7.0")?;
    let slight = constant("pa_lb_per_meq_6.5")?;
    let fixed = constant("pa_fixed_6.5")?;
    let turn = constant("pa_break")?.value;
    let sound_from = constant("pa_held_below")?.value;
    let held = |why: &str| LimeError::Held {
        method: method.name(),
        why: why.to_owned(),
    };
    let (value, formula, source) = if goal > 6.75 {
        let formula = format!("{} × {}", plain(neutral.value, 4), plain(acidity, 4));
        (neutral.value * acidity, formula, &neutral.source)
    } else if acidity > turn {
        let formula = format!("{} × {}", plain(slight.value, 4), plain(acidity, 4));
        (slight.value * acidity, formula, &slight.source)
    } else if acidity >= turn {
        return Err(held(
            "the rule does not say what an acidity of exactly 4 meq/100 g asks for",
        ));
    } else if acidity < sound_from {
        return Err(held(
            "below 2 meq/100 g its goal 6.5 would ask for more than its goal 7.0",
        ));
    } else if request.ph >= goal {
        // Reached when the target lies a little above the goal and the soil between the two.
        (0.0, "pH at or above the goal".to_owned(), &fixed.source)
    } else {
        (fixed.value, plain(fixed.value, 4), &fixed.source)
    };
    figure.step(
        format!(
            "acidity {} meq/100 g, goal pH {}",
            plain(acidity, 4),
            plain(goal, 3)
        ),
        value,
        unit(method),
        formula,
        source.clone(),
    );
    say_goal(figure, goal, request.target_ph, source);
    Ok("pa_depth")
}

fn pennsylvania_garden(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
    let method = Method::MehlichPaGarden;
    let acidity = request.acidity.ok_or_else(|| missing(method))?;
    let grid = &tables().garden;
    let source = grid.source().ok_or(LimeError::Table(method.name()))?;
    let goal = nearest_goal(method, &[6.0, 6.5, 7.0], request.target_ph)?;
    let (first, _) = grid.readings().ok_or(LimeError::Table(method.name()))?;
    if acidity < first {
        return Err(LimeError::Held {
            method: method.name(),
            why: format!(
                "the table begins at {} meq/100 g and its smallest dose would be too much below that",
                plain(first, 3)
            ),
        });
    }
    let found = grid
        .at(acidity, goal, None)
        .ok_or_else(|| LimeError::Held {
            method: method.name(),
            why: "its goal 6.5 column is not sound from 21.9 meq/100 g on".to_owned(),
        })?;
    let per_1000 = figure.step(
        table_step(
            format!(
                "table: acidity {} meq/100 g, goal pH {}",
                plain(acidity, 4),
                plain(goal, 3)
            ),
            found.beyond,
        ),
        found.rate,
        "lb CCE/1000 ft2",
        found.how.clone(),
        source.clone(),
    );
    figure.step(
        "on an acre",
        quantity::Rate::lb_per_1000_ft2(per_1000).to_lb_per_acre(),
        unit(method),
        format!("{} × 43.56", plain(per_1000, 4)),
        Source::arithmetic(),
    );
    say_goal(figure, goal, request.target_ph, source);
    if let Some(beyond) = found.beyond {
        past_table(figure, method, by_acidity(beyond), acidity, source)?;
    }
    Ok("pa_garden_depth")
}

fn georgia(request: &Request, mut figure: Figure) -> Result<Figure, LimeError> {
    let method = Method::GeorgiaLbc;
    let lbc = request.lbc.ok_or_else(|| missing(method))?;
    let (linear, square) = (constant("ga_linear")?, constant("ga_square")?);
    let (low, high) = (constant("ga_low_ph")?, constant("ga_high_ph")?);
    if request.target_ph > high.value || request.target_ph < low.value {
        return Err(outside(method, low.value, high.value, request.target_ph));
    }
    let full = figure.step(
        "lime buffer capacity at equilibrium",
        lbc * (linear.value + square.value * lbc),
        "mg CaCO3/kg per pH",
        format!(
            "{l} × ({} + {} × {l})",
            linear.value,
            square.value,
            l = plain(lbc, 4)
        ),
        linear.source.clone(),
    );
    let mg = figure.step(
        "lime for the rise",
        full * (request.target_ph - request.ph),
        "mg CaCO3/kg",
        format!(
            "{} × ({} − {})",
            plain(full, 4),
            plain(request.target_ph, 3),
            plain(request.ph, 3)
        ),
        Source::arithmetic(),
    );
    let per_inch = constant("soil_million_lb_per_in")?;
    let depth = match request.depth_in {
        Some(d) => d,
        None => constant("ga_depth")?.value,
    };
    let soil = figure.step(
        "soil to that depth",
        per_inch.value * depth,
        "million lb/acre",
        format!("{} × {} in", per_inch.value, plain(depth, 3)),
        per_inch.source.clone(),
    );
    figure.step(
        "lime per acre",
        mg * soil,
        unit(method),
        format!("{} × {}", plain(mg, 4), plain(soil, 4)),
        Source::arithmetic(),
    );
    if request.ph < low.value {
        figure.caution(
            "The method is straight from pH 4 to 6.5; below that it is stretched.",
            low.source.clone(),
        );
    }
    finish(&mut figure, method);
    Ok(figure)
}

/// Tons of the method's own lime in pounds of it.
fn pounds(figure: &mut Figure, method: Method, tons: f64) {
    let basis = method.basis();
    figure.step(
        basis.map_or_else(
            || "in pounds".to_owned(),
            |b| format!("in pounds, as {}", b.lime),
        ),
        tons * LB_PER_TON,
        unit(method),
        format!("{} × 2,000", plain(tons, 4)),
        Source::arithmetic(),
    );
}
