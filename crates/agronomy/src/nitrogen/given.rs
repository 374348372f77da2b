//! What a single spreading has given by a week, with its working; how fast soil lets go.

use super::course::{Course, Spreading};
use super::release::{rule, warmth};
use super::{NitrogenError, warn};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// What one spreading has given by the end of `week` (counted from its own first week = 1) on ground
/// of the given weekly temperatures: lb N/acre, with the working.
///
/// # Errors
/// As [`weeks`]; fewer temperatures than weeks count the last one on.
pub fn given_by(
    spreading: &Spreading,
    week: u32,
    soil_c: &[f64],
    soil_source: &Source,
) -> Result<Figure, NitrogenError> {
    let Some(last) = soil_c.last() else {
        return Err(NitrogenError::BadValue(
            "none".to_owned(),
            "soil temperature",
        ));
    };
    if !(1..=156).contains(&week) {
        return Err(NitrogenError::BadValue(
            week.to_string(),
            "number of weeks, which is 1 to 156",
        ));
    }
    let (mut course, sources) = Course::of(spreading)?;
    let mut tau = 0.0;
    for n in 0..week as usize {
        tau += warmth(*soil_c.get(n).unwrap_or(last))?;
    }
    course.tau = tau;
    let mut figure = Figure::new(format!(
        "Nitrogen available from {} by week {week}",
        spreading.anchor.what
    ));
    figure.step(
        "warm time",
        tau,
        "weeks at 25 °C",
        format!(
            "{week} week{}, each counted by how fast soil organic nitrogen breaks down at its temperature",
            if week == 1 { "" } else { "s" }
        ),
        Source::new(
            format!("{}; temperatures: {}", rule("k_25")?.source.text, soil_source.text),
            soil_source.evidence.max(Evidence::Derived),
        ),
    );
    if course.at_once > 0.0 || course.lost > 0.0 {
        figure.step(
            "mineral nitrogen, there at once",
            course.at_once,
            "lb N/acre",
            format!(
                "{} − {} lost as ammonia",
                plain(course.at_once + course.lost, 4),
                plain(course.lost, 3)
            ),
            sources.last().cloned().unwrap_or_else(Source::arithmetic),
        );
    }
    if spreading.anchor.weeks <= 0.0 {
        figure.step(
            format!("available by week {week}"),
            course.given(),
            "lb N/acre",
            "mineral nitrogen is there as it is spread",
            spreading.anchor.source.clone(),
        );
        warn(&mut figure, "leaching");
        return Ok(figure);
    }
    let share = figure.step(
        "organic nitrogen let go by then",
        course.kinetics.available(course.pools, tau) * 100.0,
        "%",
        format!(
            "{} × (1 − e^(−{} × {})) + {} × (1 − e^(−{} × {}))",
            plain(course.pools.fast, 3),
            plain(course.kinetics.fast_per_week, 3),
            plain(tau, 3),
            plain(course.pools.slow, 3),
            plain(course.kinetics.slow_per_week, 3),
            plain(tau, 3)
        ),
        Source::new(
            format!(
                "held to {} % by {} weeks at {} °C: {}; the curve between by four meals: {}",
                plain(spreading.anchor.share * 100.0, 3),
                plain(spreading.anchor.weeks, 3),
                plain(spreading.anchor.temp_c, 3),
                spreading.anchor.source.text,
                rule("meals_8_weeks_warm")?.source.text
            ),
            spreading.anchor.source.evidence.max(Evidence::Derived),
        ),
    );
    figure.step(
        format!("available by week {week}"),
        course.given(),
        "lb N/acre",
        format!(
            "{} + {} × {} %",
            plain(course.at_once, 4),
            plain(course.organic, 4),
            plain(share, 4)
        ),
        Source::arithmetic(),
    );
    if let (Some(low), Some(high)) = (spreading.anchor.low, spreading.anchor.high) {
        let at = |share: f64| -> Option<f64> {
            let mut anchor = spreading.anchor.clone();
            anchor.share = share;
            let (mut c, _) = Course::of(&Spreading {
                anchor,
                ..spreading.clone()
            })
            .ok()?;
            c.tau = tau;
            Some(c.given())
        };
        figure.low = at(low);
        figure.high = at(high);
    }
    if spreading.anchor.share <= 0.0 {
        warn(&mut figure, "tie_up");
    }
    if spreading.anchor.source.evidence == Evidence::Memory {
        figure.caution(
            "The release of this material is recalled, not read in its source: check it with your adviser.",
            spreading.anchor.source.clone(),
        );
    }
    warn(&mut figure, "no_leaching");
    Ok(figure)
}

/// Weeks in which half of the soil’s ready organic nitrogen is let go at a soil temperature: ln 2 / k,
/// k per week by Campbell, Myers and Weier at 15, 25 and 35 °C, joined as [`warmth`] says.
///
/// # Errors
/// Frozen ground, where nothing is let go, or a temperature that cannot be.
pub fn soil_half_life(soil_c: f64) -> Result<Figure, NitrogenError> {
    let at_25 = rule("k_25")?;
    let k = at_25.value * warmth(soil_c)?;
    if k <= 0.0 {
        return Err(NitrogenError::BadValue(
            format!("{} °C", plain(soil_c, 3)),
            "temperature for this: frozen ground lets nothing go",
        ));
    }
    let mut figure = Figure::new("Half-life of the soil’s ready organic nitrogen");
    figure.step(
        "let go in a week",
        k,
        "per week",
        format!("{} × {}", at_25.value, plain(k / at_25.value, 4)),
        at_25.source.clone(),
    );
    figure.step(
        "half is let go in",
        std::f64::consts::LN_2 / k,
        "weeks",
        format!("ln 2 / {}", plain(k, 4)),
        Source::arithmetic(),
    );
    warn(&mut figure, "temperature");
    Ok(figure)
}
