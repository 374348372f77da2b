//! How the warmth of the soil moves the days of an application, where the grower knows it.

use super::window::{Bound, Window};
use crate::season::week_of;
use crate::soil_temperature::{Known, SoilYear, shown};
use agronomy::material::{Holds, Warmth};
use agronomy::working::{Caution, Source};
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;

/// Days in a row on which it may not go on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Closed {
    pub from: Date,
    pub to: Date,
    /// With the temperature and how it is known.
    pub why: String,
    pub source: Source,
}

/// How far past a window without an end it is looked for days that may follow.
const DAYS_PAST: i64 = 180;

fn after(day: Date, days: i64) -> Option<Date> {
    day.checked_add(days.days()).ok()
}

/// How a temperature is told: `30 °F (-1 °C) in week 50 of 2026, as you measured it`.
fn told(day: Date, known: &Known) -> String {
    format!(
        "the soil is at {} in the week of {day}, {}",
        shown(known.celsius),
        known.how.words()
    )
}

/// Days ahead of planting that hold a count of days warm enough to work, at most so many; days of which
/// nothing is known count. With it the words that say what did not count.
pub(super) fn warm_days_ahead(
    soil: &SoilYear,
    rules: &[&Warmth],
    planting: Date,
    days: i64,
    most: i64,
) -> (i64, Option<String>) {
    let Some(rule) = rules.iter().find(|r| r.holds == Holds::WorksFrom) else {
        return (days, None);
    };
    let (mut ahead, mut worked, mut cold) = (0, 0, 0);
    let mut coldest: Option<(Date, Known)> = None;
    while worked < days && ahead < most.max(days) {
        ahead += 1;
        let Some(day) = after(planting, -ahead) else {
            break;
        };
        match soil.at(day).filter(|k| rule.fails(k.celsius)) {
            None => worked += 1,
            Some(known) => {
                cold += 1;
                if coldest
                    .as_ref()
                    .is_none_or(|(_, c)| known.celsius < c.celsius)
                {
                    coldest = Some((day, known));
                }
            }
        }
    }
    let words = coldest.map(|(day, known)| {
        let weeks = (cold + 6) / 7;
        let what = if weeks == 1 { "week" } else { "weeks" };
        format!(
            "{}: {weeks} {what} did not ({})",
            rule.why,
            told(day, &known)
        )
    });
    (ahead, words)
}

/// The window with the days taken out on which the soil is too cold or too warm for the material; as it
/// was where nothing is known of the soil.
pub(super) fn hold(mut w: Window, rules: &[&Warmth], soil: &SoilYear) -> Window {
    if soil.is_empty() {
        return w;
    }
    let last = w.stop.as_ref().map_or(w.latest.day, |s| s.day);
    let far = match &w.stop {
        Some(stop) => stop.day,
        None => after(w.latest.day, DAYS_PAST).unwrap_or(w.latest.day),
    };
    let closed = closed(rules, soil, (w.earliest.day, w.latest.day), far);
    if closed.is_empty() {
        return w;
    }
    w.notes.extend(
        closed
            .iter()
            .filter(|c| c.from <= last.max(w.earliest.day))
            .map(|c| Caution {
                text: format!("Not from {} to {}: {}.", c.from, c.to, c.why),
                source: c.source.clone(),
            }),
    );
    w.closed = closed;
    let first = w.earliest.day;
    w.earliest = later(&w, w.earliest.clone());
    let opens = w.earliest.day;
    w.latest = sooner(&w, w.latest.clone(), opens.max(first));
    w.stop = w.stop.take().map(|stop| sooner(&w, stop, opens.max(first)));
    let best = later(&w, w.best.clone());
    w.best = if best.day > w.latest.day {
        sooner(&w, w.latest.clone(), opens)
    } else if best.day < opens {
        w.earliest.clone()
    } else {
        best
    };
    w
}

impl Window {
    /// The first day from a day on that is not closed.
    pub(super) fn open_from(&self, mut day: Date) -> Date {
        for c in &self.closed {
            if (c.from..=c.to).contains(&day) {
                day = c.to.tomorrow().unwrap_or(day);
            }
        }
        day
    }

    /// What closes a day.
    pub(super) fn closed_on(&self, day: Date) -> Option<&Closed> {
        self.closed.iter().find(|c| (c.from..=c.to).contains(&day))
    }
}

fn moved(bound: Bound, day: Date, by: &Closed) -> Bound {
    Bound {
        day,
        why: format!("{}, in place of {}: {}", by.why, bound.day, bound.why),
        source: by.source.clone(),
        from: bound.from,
    }
}

/// A bound on a closed day goes to the next open one.
fn later(w: &Window, bound: Bound) -> Bound {
    match w.closed_on(bound.day) {
        None => bound,
        Some(by) => {
            let day = w.open_from(bound.day);
            moved(bound, day, by)
        }
    }
}

/// A bound on a closed day goes back to the last open one; it stays where none is left from a day on.
fn sooner(w: &Window, bound: Bound, least: Date) -> Bound {
    let mut day = bound.day;
    while let Some(by) = w.closed_on(day) {
        match by.from.yesterday() {
            Ok(before) if before >= least => day = before,
            _ => return bound,
        }
    }
    match w.closed_on(bound.day) {
        Some(by) => moved(bound, day, by),
        None => bound,
    }
}

/// The closed days from the first to a far day, in runs with one reason. What waits for colder soil waits
/// for the last warm week up to the last day of the window.
fn closed(
    rules: &[&Warmth],
    soil: &SoilYear,
    (first, latest): (Date, Date),
    far: Date,
) -> Vec<Closed> {
    let mut out: Vec<Closed> = Vec::new();
    let warm_until = |rule: &Warmth| {
        let mut day = latest;
        while day >= first {
            if soil.at(day).is_some_and(|k| rule.fails(k.celsius)) {
                return Some(day);
            }
            day = day.yesterday().ok()?;
        }
        None
    };
    for rule in rules {
        match rule.holds {
            Holds::WorksFrom => {}
            Holds::Below => {
                if let Some(to) = warm_until(rule)
                    && let Some(known) = soil.at(to)
                {
                    out.push(Closed {
                        from: first,
                        to,
                        why: format!("{} ({})", rule.why, told(to, &known)),
                        source: rule.source.clone(),
                    });
                }
            }
            Holds::Above => out.extend(runs(rule, soil, first, far)),
        }
    }
    out.sort_by_key(|c| (c.from, c.to));
    out
}

/// Runs of days on which a rule fails, told by their first week.
fn runs(rule: &Warmth, soil: &SoilYear, first: Date, far: Date) -> Vec<Closed> {
    let mut out: Vec<Closed> = Vec::new();
    let mut day = first;
    // What is known is known by the week.
    let mut of_week: Option<((i16, u32), Option<Known>)> = None;
    while day <= far {
        let week = (day.year(), week_of(day));
        if of_week.as_ref().is_none_or(|(at, _)| *at != week) {
            let fails = soil.at(day).filter(|k| rule.fails(k.celsius));
            of_week = Some((week, fails));
        }
        if let Some((_, Some(known))) = &of_week {
            match out.last_mut() {
                Some(run) if run.to.tomorrow().is_ok_and(|next| next == day) => run.to = day,
                _ => out.push(Closed {
                    from: day,
                    to: day,
                    why: format!("{} ({})", rule.why, told(day, known)),
                    source: rule.source.clone(),
                }),
            }
        }
        match day.tomorrow() {
            Ok(next) => day = next,
            Err(_) => break,
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use agronomy::material::{CountedFrom, Pass, find, soil_warmth};
    use agronomy::working::Evidence;
    use farmbook::SoilTime;
    use jiff::civil::date;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    fn bound(day: Date) -> Bound {
        Bound {
            day,
            why: "as printed".to_owned(),
            source: Source::new("a printed page", Evidence::Seen),
            from: (CountedFrom::Planting, 0),
        }
    }

    fn window(first: Date, best: Date, last: Date, stop: Option<Date>) -> Window {
        Window {
            earliest: bound(first),
            best: bound(best),
            latest: bound(last),
            stop: stop.map(bound),
            closed: Vec::new(),
            notes: Vec::new(),
        }
    }

    fn soil(weeks: &[(u32, f64)]) -> SoilYear {
        let all: BTreeMap<SoilTime, f64> = weeks
            .iter()
            .map(|(week, celsius)| (SoilTime::Week(*week), *celsius))
            .collect();
        SoilYear::new(&all)
    }

    fn rules(id: &str, pass: Pass) -> Vec<&'static Warmth> {
        soil_warmth(find(id).unwrap(), pass)
    }

    /// The days from the first to the last on which it may go on.
    fn open_days(w: &Window) -> Vec<Date> {
        let mut day = w.earliest.day;
        let mut out = Vec::new();
        let last = w.stop.as_ref().map_or(w.latest.day, |s| s.day);
        while day <= last {
            if w.closed_on(day).is_none() {
                out.push(day);
            }
            day = day.tomorrow().unwrap();
        }
        out
    }

    // 1 March 2027 is the 60th day of the year: week 9 holds 26 February to 4 March.
    #[test]
    fn ground_at_0_degrees_shuts_and_above_does_not() {
        let of = rules("lime_calcitic", Pass::Spring);
        let plain = window(date(2027, 3, 1), date(2027, 3, 20), date(2027, 4, 9), None);
        for (celsius, opens) in [
            (0.0, date(2027, 3, 5)),
            (-3.0, date(2027, 3, 5)),
            (0.1, date(2027, 3, 1)),
        ] {
            let w = hold(plain.clone(), &of, &soil(&[(9, celsius)]));
            assert_eq!(w.earliest.day, opens, "{celsius} °C");
            assert_eq!(
                (w.best.day, w.latest.day),
                (date(2027, 3, 20), date(2027, 4, 9))
            );
            if celsius <= 0.0 {
                assert!(
                    w.earliest.why.contains("frozen")
                        && w.earliest.why.contains("2027-03-01")
                        && w.earliest.why.contains("as you gave it"),
                    "{}",
                    w.earliest.why
                );
                assert_eq!(w.notes.len(), 1);
            } else {
                assert_eq!(w, plain);
            }
        }
        // Nothing known, or nothing known of these weeks: as it was.
        assert_eq!(hold(plain.clone(), &of, &SoilYear::default()), plain);
        assert_eq!(hold(plain.clone(), &of, &soil(&[(48, -5.0)])), plain);
    }

    #[test]
    fn frost_at_either_end_and_between_is_told_apart() {
        let of = rules("lime_calcitic", Pass::Autumn);
        let (first, best, last) = (date(2026, 11, 1), date(2026, 11, 20), date(2026, 12, 20));
        let plain = window(first, best, last, Some(date(2027, 5, 1)));
        // Week 47 holds 19 to 25 November, weeks 50 to 52 the days from 10 December on.
        let frozen: Vec<_> = [47, 50, 51, 52, 1, 2, 3].map(|w| (w, -1.0)).to_vec();
        let w = hold(plain, &of, &soil(&frozen));
        assert_eq!(w.earliest.day, first);
        assert_eq!(w.best.day, date(2026, 11, 26));
        assert_eq!(w.latest.day, date(2026, 12, 9));
        assert_eq!(w.stop.as_ref().unwrap().day, date(2027, 5, 1));
        assert!(w.closed_on(date(2026, 11, 19)).is_some());
        assert!(w.closed_on(date(2026, 11, 18)).is_none());
        assert_eq!(w.open_from(date(2026, 11, 22)), date(2026, 11, 26));
        // Frozen from end to end no day is left.
        let weeks: Vec<_> = (1..=52).map(|w| (w, -1.0)).collect();
        let w = hold(window(first, best, last, Some(last)), &of, &soil(&weeks));
        assert!(w.is_shut() && open_days(&w).is_empty());
        let w = hold(window(first, best, last, None), &of, &soil(&weeks));
        assert!(w.is_late_by_itself());
    }

    // Iowa State Univ. Extension: wait until the soil stays below 50 °F (10 °C).
    #[test]
    fn autumn_urea_waits_until_the_soil_stays_below_10_degrees() {
        let of = rules("urea", Pass::Autumn);
        let plain = window(
            date(2026, 9, 1),
            date(2026, 10, 15),
            date(2026, 11, 30),
            None,
        );
        let opens = |weeks: &[(u32, f64)]| hold(plain.clone(), &of, &soil(weeks)).earliest.day;
        // Week 44 holds 29 October to 4 November.
        assert_eq!(opens(&[(44, 10.0)]), date(2026, 11, 5));
        assert_eq!(opens(&[(44, 9.9)]), date(2026, 9, 1));
        // A cold week before a warm one is not staying cold.
        assert_eq!(
            opens(&[(42, 8.0), (43, 8.0), (44, 11.0)]),
            date(2026, 11, 5)
        );
        let warm: Vec<_> = (36..=48).map(|w| (w, 12.0)).collect();
        assert!(hold(plain.clone(), &of, &soil(&warm)).is_late_by_itself());
        // In spring it does not hold, nor for what brings no ammonium.
        let spring = rules("urea", Pass::Spring);
        assert_eq!(hold(plain.clone(), &spring, &soil(&warm)), plain);
        let potash = rules("k_sulfate", Pass::Autumn);
        assert_eq!(hold(plain.clone(), &potash, &soil(&warm)), plain);
    }

    #[test]
    fn weeks_below_10_degrees_do_not_count_for_sulfur_and_slow_meals() {
        let of = rules("sulfur", Pass::Spring);
        let planting = date(2027, 5, 10);
        let ahead = |weeks: &[(u32, f64)]| warm_days_ahead(&soil(weeks), &of, planting, 28, 365);
        assert_eq!(ahead(&[]), (28, None));
        // Week 18 holds 30 April to 6 May.
        assert_eq!(ahead(&[(18, 10.0)]), (28, None));
        let (days, words) = ahead(&[(18, 9.9)]);
        assert_eq!(days, 35);
        let words = words.unwrap();
        assert!(
            words.contains("1 week did not") && words.contains("49.8 °F (9.9 °C)"),
            "{words}"
        );
        // A cold year ends at the most that is printed.
        let cold: Vec<_> = (1..=52).map(|w| (w, 2.0)).collect();
        assert_eq!(ahead(&cold).0, 365);
        let lime = rules("lime_calcitic", Pass::Spring);
        assert_eq!(
            warm_days_ahead(&soil(&cold), &lime, planting, 28, 365).0,
            28
        );
    }

    proptest! {
        #[test]
        fn colder_ground_never_opens_a_day(
            weeks in prop::collection::btree_map(1_u32..=52, -8.0..20.0_f64, 0..52),
            colder in 0.0..12.0_f64,
            first in 0_i64..300,
            long in 0_i64..120,
            stop in prop::option::of(0_i64..200),
        ) {
            let day = |n: i64| date(2026, 9, 1).checked_add(n.days()).unwrap();
            let w = window(
                day(first),
                day(first + long / 2),
                day(first + long),
                stop.map(|n| day(first + long + n)),
            );
            let all = |by: f64| -> SoilYear {
                let weeks: Vec<_> = weeks.iter().map(|(w, c)| (*w, c - by)).collect();
                soil(&weeks)
            };
            for id in ["lime_calcitic", "sulfur", "feather_meal"] {
                let of = rules(id, Pass::Spring);
                let before = open_days(&w);
                let warm = open_days(&hold(w.clone(), &of, &all(0.0)));
                let cold = open_days(&hold(w.clone(), &of, &all(colder)));
                prop_assert!(warm.iter().all(|d| before.contains(d)));
                prop_assert!(cold.iter().all(|d| warm.contains(d)), "{id}");
                let ahead = |by| warm_days_ahead(&all(by), &of, day(first), 90, 365).0;
                prop_assert!(ahead(colder) >= ahead(0.0) && ahead(0.0) >= 90);
            }
            // Of what waits for cold soil, warmer ground never opens a day, and no edge leaves the order.
            let urea = rules("urea", Pass::Autumn);
            let held = hold(w.clone(), &urea, &all(0.0));
            if held.earliest.day <= held.latest.day {
                prop_assert!(held.earliest.day <= held.best.day && held.best.day <= held.latest.day);
                prop_assert!(held.closed_on(held.best.day).is_none());
            }
        }
    }
}
