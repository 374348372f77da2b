//! Lime methods whose numbers are recalled, not read. None is chosen unless it is asked for by name,
//! and each says that it is unconfirmed.

use super::method::{
    by_buffer, missing, nearest_goal, outside, past_table, pounds, say_goal, table_step, unit,
};
use super::tables::{constant, tables};
use super::{LimeError, Method, Request};
use crate::working::{Figure, Source};
use quantity::plain;

const LB_PER_TON: f64 = 2_000.0;

/// The rate, and the key of the depth the method was made for; none where it counts the depth
/// itself.
pub(super) fn rate(
    method: Method,
    request: &Request,
    figure: &mut Figure,
) -> Result<Option<&'static str>, LimeError> {
    match method {
        Method::SmpClassic => smp_classic(request, figure).map(|()| Some("smp_classic_depth")),
        Method::TriState => tri_state(request, figure).map(|()| Some("ts_depth")),
        Method::AdamsEvans => adams_evans(request, figure).map(|()| Some("ae_depth")),
        Method::Woodruff => woodruff(request, figure).map(|()| Some("woodruff_depth")),
        _ => kansas(request, figure).map(|()| None),
    }
}

fn buffer_of(method: Method, request: &Request) -> Result<f64, LimeError> {
    request
        .buffer
        .map(|(_, b)| b)
        .ok_or_else(|| missing(method))
}

fn smp_classic(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::SmpClassic;
    let buffer = buffer_of(method, request)?;
    let grid = &tables().smp_classic;
    let source = grid.source().ok_or(LimeError::Table(method.name()))?;
    let (low, high) = grid.targets().ok_or(LimeError::Table(method.name()))?;
    if request.target_ph < low || request.target_ph > high {
        return Err(outside(method, low, high, request.target_ph));
    }
    let found = grid
        .at(buffer, request.target_ph, None)
        .ok_or(LimeError::Table(method.name()))?;
    let tons = figure.step(
        table_step(
            format!("table: SMP buffer pH {}", plain(buffer, 3)),
            found.beyond,
        ),
        found.rate,
        "ton of ground limestone/acre",
        found.how.clone(),
        source.clone(),
    );
    pounds(figure, method, tons);
    if let Some(beyond) = found.beyond {
        past_table(figure, method, by_buffer(beyond), buffer, source)?;
    }
    Ok(())
}

/// The buffer pH that an equation is used at, between the ends of the table it stands for.
fn within_smp(buffer: f64) -> Result<(f64, Option<super::grid::Beyond>), LimeError> {
    let (low, high) = (constant("smp_low")?.value, constant("smp_high")?.value);
    Ok(if buffer < low - 1e-9 {
        (low, Some(super::grid::Beyond::Below(low)))
    } else if buffer > high + 1e-9 {
        (high, Some(super::grid::Beyond::Above(high)))
    } else {
        (buffer, None)
    })
}

fn tri_state(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    const GOALS: [(f64, &str, &str); 3] = [
        (6.0, "ts_6.0_start", "ts_6.0_slope"),
        (6.5, "ts_6.5_start", "ts_6.5_slope"),
        (6.8, "ts_6.8_start", "ts_6.8_slope"),
    ];
    let method = Method::TriState;
    let buffer = buffer_of(method, request)?;
    let goal = nearest_goal(method, &GOALS.map(|(g, _, _)| g), request.target_ph)?;
    let (at, beyond) = within_smp(buffer)?;
    let index = figure.step(
        "lime test index",
        at * 10.0,
        "",
        format!("{} × 10", plain(at, 3)),
        constant("ts_depth")?.source.clone(),
    );
    // Near the mild end the lines cross, so that a lower goal would ask for more than a higher one:
    // the lowest of the goals from here up is taken.
    let mut best: Option<(f64, String, Source)> = None;
    for (_, start, slope) in GOALS.into_iter().filter(|(g, _, _)| *g >= goal - 1e-9) {
        let (start, slope) = (constant(start)?, constant(slope)?);
        let tons = (start.value - slope.value * index).max(0.0);
        if best.as_ref().is_none_or(|(t, _, _)| tons < *t - 1e-12) {
            let formula = format!(
                "{} − {} × {}, not below 0",
                plain(start.value, 4),
                plain(slope.value, 3),
                plain(index, 4)
            );
            best = Some((tons, formula, start.source.clone()));
        }
    }
    let (tons, formula, source) = best.ok_or(LimeError::Table(method.name()))?;
    let tons = figure.step(
        table_step(format!("goal pH {}", plain(goal, 3)), beyond),
        tons,
        "ton of NV 90 lime/acre",
        formula,
        source.clone(),
    );
    let nv = constant("ts_nv")?;
    figure.step(
        "as pure calcium carbonate",
        tons * nv.value * LB_PER_TON,
        unit(method),
        format!("{} × {} × 2,000", plain(tons, 4), nv.value),
        nv.source.clone(),
    );
    say_goal(figure, goal, request.target_ph, &source);
    if let Some(beyond) = beyond {
        past_table(figure, method, by_buffer(beyond), buffer, &source)?;
    }
    Ok(())
}

/// Acid saturation (0 to 1) at a pH in water, by the quadratic of Adams and Evans.
fn acid_saturation(ph: f64) -> Result<f64, LimeError> {
    let (a, b, c) = (
        constant("ae_a")?.value,
        constant("ae_b")?.value,
        constant("ae_c")?.value,
    );
    if ph < constant("ae_clamp_ph")?.value {
        return Ok(1.0);
    }
    let root = (b * b - 4.0 * c * (a - ph)).max(0.0).sqrt();
    Ok(((b - root) / (2.0 * c)).clamp(0.0, 1.0))
}

fn adams_evans(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::AdamsEvans;
    let buffer = buffer_of(method, request)?;
    let most_cec = constant("ae_cec_below")?;
    if let Some(cec) = request.cec
        && cec >= most_cec.value
    {
        return Err(LimeError::Cec {
            method: method.name(),
            most: plain(most_cec.value, 3),
            cec: plain(cec, 3),
        });
    }
    let (low, high) = (
        constant("ae_low_target")?.value,
        constant("ae_high_target")?.value,
    );
    if request.target_ph < low || request.target_ph > high {
        return Err(outside(method, low, high, request.target_ph));
    }
    let full = constant("ae_full")?;
    let (a, b, c) = (constant("ae_a")?, constant("ae_b")?, constant("ae_c")?);
    let saturation = |figure: &mut Figure, what: &str, ph: f64| -> Result<f64, LimeError> {
        Ok(figure.step(
            format!("acid saturation at {what} {}", plain(ph, 3)),
            acid_saturation(ph)?,
            "share",
            format!(
                "the root of {} = {} − {} S + {} S², at most 1",
                plain(ph, 3),
                a.value,
                b.value,
                c.value
            ),
            b.source.clone(),
        ))
    };
    let now = saturation(figure, "pH", request.ph)?;
    let then = saturation(figure, "the target pH", request.target_ph)?;
    let (factor, field) = (constant("ae_factor")?, constant("ae_field")?);
    let short = (full.value - buffer).max(0.0);
    figure.step(
        "lime",
        factor.value * short / now * (now - then) * field.value,
        unit(method),
        format!(
            "{} × ({} − {}) / {n} × ({n} − {}) × {}",
            plain(factor.value, 4),
            plain(full.value, 3),
            plain(buffer, 3),
            plain(then, 4),
            field.value,
            n = plain(now, 4),
        ),
        factor.source.clone(),
    );
    if short <= 0.0 {
        figure.caution(
            "The buffer pH shows no acidity, so the formula asks for no lime although pH is below the target: ask the lab before you lime.",
            full.source.clone(),
        );
    }
    let usual = constant("ae_usual_most")?;
    if figure.value > usual.value {
        figure.caution(
            "This is more than 5 ton/acre, which the source says the method seldom reaches: it is stretched here, so ask the lab for its own rate.",
            usual.source.clone(),
        );
    }
    if request.cec.is_none() {
        figure.caution(
            "Only for soil of CEC below 13 meq/100 g; the CEC was not given.",
            most_cec.source.clone(),
        );
    }
    Ok(())
}

fn woodruff(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::Woodruff;
    let acidity = request.neutralizable.ok_or_else(|| missing(method))?;
    let goal = nearest_goal(
        method,
        &[constant("woodruff_goal")?.value],
        request.target_ph,
    )?;
    let per = constant("woodruff_per_meq")?;
    let enm = figure.step(
        "effective neutralizing material",
        per.value * acidity,
        "lb ENM/acre",
        format!("{} × {} meq/100 g", per.value, plain(acidity, 4)),
        per.source.clone(),
    );
    let full = constant("woodruff_enm_full")?;
    figure.step(
        "as pure, fine calcium carbonate",
        enm * LB_PER_TON / full.value,
        unit(method),
        format!("{} × 2,000 / {}", plain(enm, 4), full.value),
        full.source.clone(),
    );
    say_goal(figure, goal, request.target_ph, &per.source);
    Ok(())
}

fn kansas(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::KansasSmp;
    let buffer = buffer_of(method, request)?;
    let depth = request.depth_in.ok_or_else(|| missing(method))?;
    let (low, high) = (6.0, 6.8);
    if request.target_ph < low || request.target_ph > high {
        return Err(outside(method, low, high, request.target_ph));
    }
    let (at, beyond) = within_smp(buffer)?;
    let mut goal = |goal: f64, [start, linear, square]: [&'static str; 3]| {
        let (start, linear, square) = (constant(start)?, constant(linear)?, constant(square)?);
        let rate = figure.step(
            table_step(format!("goal pH {}", plain(goal, 3)), beyond),
            (start.value - linear.value * at + square.value * at * at).max(0.0) * depth,
            unit(method),
            format!(
                "({} − {} × {b} + {} × {b}²) × {} in",
                start.value,
                linear.value,
                square.value,
                plain(depth, 3),
                b = plain(at, 3)
            ),
            start.source.clone(),
        );
        Ok::<_, LimeError>((rate, start.source.clone()))
    };
    let (most, source) = goal(high, ["ks_6.8_start", "ks_6.8_linear", "ks_6.8_square"])?;
    let (least, _) = goal(low, ["ks_6.0_start", "ks_6.0_linear", "ks_6.0_square"])?;
    let share = (request.target_ph - low) / (high - low);
    figure.step(
        "for the target between the two goals",
        least + share * (most - least),
        unit(method),
        format!(
            "{} + {} × ({} − {})",
            plain(least, 5),
            plain(share, 3),
            plain(most, 5),
            plain(least, 5)
        ),
        Source::arithmetic(),
    );
    if let Some(beyond) = beyond {
        past_table(figure, method, by_buffer(beyond), buffer, &source)?;
    }
    Ok(())
}
