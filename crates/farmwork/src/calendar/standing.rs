//! How an application stands on a day, in a sentence, and what can be done where its day has gone by.

use super::window::{Bound, Missing, Window, brings, window};
use super::{OnBlock, material_of};
use crate::order::block_name;
use crate::words;
use agronomy::material::{CountedFrom, Fit, Material, Pass, in_pass};
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;

/// How an application stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// It may no longer go on.
    Shut,
    /// It may still go on and does less than it should.
    Late,
    Open,
    /// Its first day is still to come.
    NotYet,
    /// A day of the book is missing.
    Missing,
    /// It is written down and nothing of it is left.
    Done,
}

impl State {
    pub const ALL: [Self; 6] = [
        Self::Shut,
        Self::Late,
        Self::Open,
        Self::NotYet,
        Self::Missing,
        Self::Done,
    ];

    /// As a grower says it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Shut => "Too late",
            Self::Late => "Late",
            Self::Open => "Can go on now",
            Self::NotYet => "To come",
            Self::Missing => "No day yet",
            Self::Done => "Done",
        }
    }
}

pub(super) fn state(window: &Window, today: Date) -> State {
    let open = window.open_from(today);
    let over = |b: &Bound| b.day < open;
    if window.is_shut() || window.stop.as_ref().is_some_and(over) {
        State::Shut
    } else if window.is_late_by_itself() || over(&window.latest) {
        State::Late
    } else if today < window.earliest.day || today < open {
        State::NotYet
    } else {
        State::Open
    }
}

/// The day on which to do it.
pub(super) fn day(window: &Window, state: State, today: Date) -> Option<Date> {
    match state {
        State::Shut | State::Missing | State::Done => None,
        State::Late => Some(window.open_from(today.max(window.earliest.day))),
        State::Open | State::NotYet => Some(window.open_from(today.max(window.best.day))),
    }
}

/// What has to be set first.
pub(super) fn asks(block: &str, missing: &[Missing]) -> String {
    let names: Vec<String> = missing
        .iter()
        .map(|m| format!("the {}", m.name()))
        .collect();
    format!(
        "No day can be told: set {} of {block} on its page under Ground.",
        words::and(&names)
    )
}

pub(super) fn says(window: &Window, state: State, on: &OnBlock<'_>) -> String {
    let Window {
        earliest,
        best,
        latest,
        stop,
        ..
    } = window;
    let shut_now = window
        .closed_on(on.today)
        .filter(|_| earliest.day <= on.today);
    let mut says = match (state, stop) {
        (State::Missing | State::Done, _) => String::new(),
        (State::NotYet, _) => match shut_now {
            Some(c) => format!(
                "Not now: {}. From {} on, by {}.",
                c.why,
                window.open_from(on.today),
                latest.day
            ),
            None => format!(
                "From {} on ({}); best on {}, by {}.",
                earliest.day, earliest.why, best.day, latest.day
            ),
        },
        (State::Open, _) if best.day > on.today => {
            format!("Best on {} ({}), by {}.", best.day, best.why, latest.day)
        }
        (State::Open, _) => format!("Now, by {} ({}).", latest.day, latest.why),
        (State::Late, stop) => {
            let since = if window.is_late_by_itself() {
                let held = window
                    .closed
                    .iter()
                    .find(|c| c.to.tomorrow().is_ok_and(|next| next == earliest.day))
                    .map_or_else(String::new, |c| format!("{}; ", c.why));
                format!("Late on any day of this pass: {held}{}", latest.why)
            } else {
                format!("Late since {}: {}", latest.day, latest.why)
            };
            match stop {
                Some(stop) => format!(
                    "{since}. It may go on until {} and does less for this crop.",
                    stop.day
                ),
                None => format!("{since}. It does less for this crop."),
            }
        }
        (State::Shut, Some(stop)) if window.is_shut() => format!(
            "No day is left: it may not go on before {} ({}) nor after {} ({}).",
            earliest.day, earliest.why, stop.day, stop.why
        ),
        (State::Shut, Some(stop)) => format!("The last day was {}: {}.", stop.day, stop.why),
        (State::Shut, None) => "No day is left.".to_owned(),
    };
    if state == State::Late
        && let Some(c) = shut_now
    {
        says.push_str(&format!(
            " Not before {}: {}.",
            window.open_from(on.today),
            c.why
        ));
    }
    let counted = |b: &Bound| b.from.0 == CountedFrom::Harvest;
    if on.anchors.harvest.is_none() && stop.as_ref().is_none_or(|s| !counted(s)) && in_season(best)
    {
        says.push_str(" The harvest day is not set, so the last useful day is not known.");
    }
    says
}

/// Whether the best day lies beside the growing crop.
fn in_season(best: &Bound) -> bool {
    best.from.0 == CountedFrom::Sidedress
}

/// Ways out: another pass, another material, another date, another year. At least one.
pub(super) fn ways(
    of: &Material,
    pass: Pass,
    was: &Window,
    state: State,
    on: &OnBlock<'_>,
) -> Vec<String> {
    let mut out = Vec::new();
    out.extend(made_hot(of));
    out.extend(other_pass(of, pass, on));
    out.extend(other_material(of, on));
    out.extend(other_date(was, state, on.today));
    out.push(next_year(of));
    out
}

/// A compost that counts as raw manure need not wait where a record shows that it was made hot.
fn made_hot(of: &Material) -> Option<String> {
    of.raw_because.as_ref().map(|_| {
        format!(
            "If {} was made hot, say so on its page under Materials: it then does not wait for the harvest.",
            of.name.to_lowercase()
        )
    })
}

fn next_year(of: &Material) -> String {
    if in_pass(of, Pass::Autumn).is_some_and(|f| f.fit == Fit::Best) {
        "Or leave it for the autumn after this crop.".to_owned()
    } else {
        "Or leave it out this season: hold it at 0 lb on the plan and plan again.".to_owned()
    }
}

/// The same material in a pass whose days are not over.
fn other_pass(of: &Material, pass: Pass, on: &OnBlock<'_>) -> Option<String> {
    Pass::ALL
        .into_iter()
        .filter(|p| *p > pass && in_pass(of, *p).is_some_and(|f| f.fit >= Fit::May))
        .find_map(|p| {
            let w = window(of, p, on).ok()?;
            let s = state(&w, on.today);
            let day = day(&w, s, on.today)?;
            matches!(s, State::Open | State::NotYet).then(|| {
                format!(
                    "{} may still go on {}: best on {day}, by {}.",
                    of.name,
                    in_words(p),
                    w.latest.day
                )
            })
        })
}

fn in_words(pass: Pass) -> &'static str {
    match pass {
        Pass::Autumn => "in autumn",
        Pass::Spring => "in early spring",
        Pass::BeforePlanting => "before planting",
        Pass::Planting => "at planting",
        Pass::Sidedress => "beside the crop",
        Pass::SecondSidedress => "beside the crop once more",
    }
}

/// The nutrient for which a material is on the block: the one of whose need it brings the largest part.
fn serves(of: &Material, on: &OnBlock<'_>) -> Option<&'static str> {
    let id = on.needs.reading.block.id.to_string();
    let part = |b: &planner::Balance| {
        let brought = b.by_material.iter().find(|(m, _)| *m == of.id)?.1;
        (b.need_lb > 0.0 && brought > 0.0).then(|| brought / b.need_lb)
    };
    on.made
        .plan
        .balances
        .iter()
        .filter(|b| b.block == id)
        .filter_map(|b| Some((part(b)?, supplied_as(b.nutrient)?)))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, key)| key)
}

fn supplied_as(nutrient: planner::Nutrient) -> Option<&'static str> {
    use planner::Nutrient;
    Some(match nutrient {
        Nutrient::N => "n",
        Nutrient::P2o5 => "p2o5",
        Nutrient::K2o => "k2o",
        Nutrient::Lime => "lime",
        Nutrient::Sulfur => "sulfur",
        _ => return None,
    })
}

/// Other ticked materials that serve the same need and whose days are not over.
fn other_material(of: &Material, on: &OnBlock<'_>) -> Option<String> {
    let key = serves(of, on)?;
    let id = on.needs.reading.block.id.to_string();
    let block = on.made.problem.blocks.iter().find(|b| b.id == id)?;
    let mut found: Vec<(Date, String)> = on
        .made
        .problem
        .materials
        .iter()
        .filter(|m| m.id != of.id && !block.refused.contains(&m.id))
        .filter_map(|m| {
            let other = material_of(on, &m.id)?;
            if !brings(&other, key) {
                return None;
            }
            Pass::ALL
                .into_iter()
                .filter(|p| {
                    !block
                        .shut
                        .iter()
                        .any(|s| s.material == m.id && (s.pass.is_empty() || s.pass == p.key()))
                        && in_pass(&other, *p).is_some_and(|f| f.fit >= Fit::May)
                })
                .find_map(|p| {
                    let w = window(&other, p, on).ok()?;
                    let s = state(&w, on.today);
                    let by = matches!(s, State::Open | State::NotYet).then_some(w.latest.day)?;
                    Some((
                        day(&w, s, on.today)?,
                        format!("{} ({}, by {by})", m.name.to_lowercase(), in_words(p)),
                    ))
                })
        })
        .collect();
    found.sort();
    let names: Vec<String> = found.into_iter().take(2).map(|(_, words)| words).collect();
    (!names.is_empty()).then(|| {
        format!(
            "In its place on {}: {}. Hold {} at 0 lb there and plan again.",
            block_name(on.made, &id),
            words::or(&names),
            of.name.to_lowercase()
        )
    })
}

/// The planting or harvest that today’s spreading would still serve.
fn other_date(was: &Window, state: State, today: Date) -> Option<String> {
    let broken = match state {
        State::Shut => was.stop.as_ref()?,
        _ => &was.latest,
    };
    let start = today.max(was.earliest.day);
    let (from, days) = broken.from;
    let day = start.checked_sub(days.days()).ok()?;
    match from {
        CountedFrom::Planting => Some(format!(
            "If it goes on by {start}, it is in time for a planting on {day} or later."
        )),
        CountedFrom::Harvest => Some(format!(
            "If it goes on by {start}, it is in time for a harvest that begins on {day} or later."
        )),
        CountedFrom::Sidedress
        | CountedFrom::SecondSidedress
        | CountedFrom::LastHarvest
        | CountedFrom::NewYear => None,
    }
}
