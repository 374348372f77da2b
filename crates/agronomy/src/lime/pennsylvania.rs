//! Pennsylvania’s two ways from exchangeable acidity.

use super::method::{by_acidity, missing, nearest_goal, past_table, say_goal, table_step, unit};
use super::tables::{constant, tables};
use super::{LimeError, Method, Request};
use crate::working::{Figure, Source};
use quantity::plain;

/// The Pennsylvania method whose goals lie nearest the target.
pub(super) fn nearest(target: f64) -> Method {
    if target < MIDDLE_OF_6_0_AND_6_5 {
        Method::MehlichPaGarden
    } else {
        Method::MehlichPa
    }
}

const MIDDLE_OF_6_0_AND_6_5: f64 = 6.25;

/// The Agronomy Guide’s rule.
pub(super) fn field(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
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

/// The laboratory’s turf and garden table.
pub(super) fn garden(request: &Request, figure: &mut Figure) -> Result<&'static str, LimeError> {
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
