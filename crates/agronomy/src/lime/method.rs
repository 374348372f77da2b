//! The published methods themselves.

use super::grid::Beyond;
use super::tables::{constant, tables};
use super::{
    LimeError, Method, Request, already_there, by_texture, check, depth_source, for_depth,
    pennsylvania, recalled,
};
use crate::working::{Caution, Evidence, Figure, Source};
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
    // None: the method allows for the depth itself, or its source states none.
    let depth = match method {
        Method::Sikora => Some(sikora(request, &mut figure)?),
        Method::MehlichNc => Some(north_carolina(request, &mut figure)?),
        Method::MehlichPa => Some(pennsylvania::field(request, &mut figure)?),
        Method::MehlichPaGarden => Some(pennsylvania::garden(request, &mut figure)?),
        Method::GeorgiaLbc => {
            georgia(request, &mut figure)?;
            None
        }
        Method::SmpIowa => Some(smp_iowa(request, &mut figure)?),
        Method::NorwayTexture
        | Method::TaiwanPh
        | Method::TextureCool
        | Method::TextureWarm
        | Method::UkRb209 => by_texture::rate(method, request, &mut figure)?,
        Method::SmpClassic
        | Method::TriState
        | Method::AdamsEvans
        | Method::Woodruff
        | Method::KansasSmp => recalled::rate(method, request, &mut figure)?,
    };
    if let (Some(worked), Some(depth)) = (request.depth_in, depth) {
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
        let scaled = |edge: f64| for_depth(edge, made_for.value, worked);
        figure.low = figure.low.map(scaled);
        figure.high = figure.high.map(scaled);
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
        if figure.weakest().is_some_and(Evidence::unconfirmed) {
            figure.cautions.extend(super::said("unconfirmed"));
        }
    }
}

/// The unit of the method’s rate.
pub(super) fn unit(method: Method) -> String {
    method
        .basis()
        .map_or_else(|| "lb/acre".to_owned(), |b| b.unit.clone())
}

pub(super) fn missing(method: Method) -> LimeError {
    LimeError::Missing {
        method: method.name(),
        needs: method.needs(),
    }
}

pub(super) fn outside(method: Method, low: f64, high: f64, target: f64) -> LimeError {
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
pub(super) fn past_table(
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
pub(super) enum Side {
    Sour(f64),
    Mild(f64),
}

/// For a buffer pH, a lower number is the sourer soil.
pub(super) fn by_buffer(beyond: Beyond) -> Side {
    match beyond {
        Beyond::Below(last) => Side::Sour(last),
        Beyond::Above(last) => Side::Mild(last),
    }
}

/// For an acidity, a higher number is the sourer soil.
pub(super) fn by_acidity(beyond: Beyond) -> Side {
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
pub(super) fn table_step(what: String, beyond: Option<Beyond>) -> String {
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

/// The printed goal nearest the target, the lower one where two are as near.
pub(super) fn nearest_goal(method: Method, goals: &[f64], target: f64) -> Result<f64, LimeError> {
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

pub(super) fn say_goal(figure: &mut Figure, goal: f64, target: f64, source: &Source) {
    if (goal - target).abs() > 1e-9 {
        figure.caution(
            format!(
                "The source prints only some goals; {} is the nearest to your {}.",
                plain(goal, 3),
                plain(target, 3)
            ),
            source.clone(),
        );
    }
}

fn georgia(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
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
    Ok(())
}

/// Tons of the method's own lime in pounds of it.
pub(super) fn pounds(figure: &mut Figure, method: Method, tons: f64) {
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
