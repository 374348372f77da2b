//! What the soil taught: what the published figures led to expect beside what the tests found.

use super::{Item, Moved};
use crate::history::{Tested, material_name};
use crate::needs::{self, LimeAsked};
use crate::readings::BlockReading;
use crate::weights::weight;
use crate::{sure, words};
use agronomy::doubt::{self, Answered, Confidence, Prior, Response};
use agronomy::lime;
use agronomy::phosphorus_potassium as pk;
use agronomy::sampling::Shape;
use agronomy::soil::{Analyte, Bound, Extractant};
use agronomy::working::{Evidence, Figure, Source};
use farmbook::Learnable;
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;

/// One test beside what was expected of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    pub on: Date,
    pub measured: f64,
    /// By the published figures from the first test on.
    pub expected: f64,
    /// By the block’s own answer, about the middle of the tests that count.
    pub learned: f64,
    /// Why it takes no part in the answer; none where it does.
    pub left_out: Option<String>,
}

/// How far a ground answers, as a multiple of the published answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Answer {
    pub mean: f64,
    /// Ends of four cases of five.
    pub low: f64,
    pub high: f64,
    /// How much of it rests on the block’s own tests, 0 to 1.
    pub own: f64,
    /// Whether it differs from the published answer in nineteen cases of twenty.
    pub differs: bool,
}

/// What the tests of one measure teach of how far this ground answers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Taught {
    pub item: Learnable,
    pub analyte: Analyte,
    pub tests: Vec<Beside>,
    pub says: String,
    pub answer: Answer,
    /// How many tests stand behind the answer.
    pub counted: usize,
    pub working: Vec<Figure>,
}

/// One test of the run that is looked at.
struct Row {
    on: Date,
    measured: f64,
    sd: f64,
    left_out: Option<String>,
}

/// What one thing that went on or came off was expected to change.
struct Change {
    on: Date,
    lb: f64,
    material: Option<String>,
    by: f64,
}

pub(super) fn all(reading: &BlockReading, tested: &[Tested], moved: &[Moved]) -> Vec<Taught> {
    [
        lime_taught(reading, tested, moved),
        nutrient_taught(reading, tested, moved, pk::Nutrient::P2o5, Learnable::P2o5),
        nutrient_taught(reading, tested, moved, pk::Nutrient::K2o, Learnable::K2o),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// How far this ground answers to lime. What a lb of it was to bring is what the reports before the newest
/// say together, since each sees the ground’s buffering through noise of its own; the newest sets what is
/// needed now and has no say in that.
fn lime_taught(reading: &BlockReading, tested: &[Tested], moved: &[Moved]) -> Option<Taught> {
    let (extractant, mut rows) = run(reading, tested, Analyte::Ph)?;
    let (first, newest) = (rows.first()?.on, rows.last()?.on);
    let (months, worked) = months_until_it_works()?;
    let asked: Vec<(Date, LimeAsked)> = tested
        .iter()
        .filter(|t| t.day < newest)
        .filter_map(|t| Some((t.day, needs::lime_asked(reading, &t.test.test)?)))
        // A rise within the noise of two tests says nothing of the lime behind it.
        .filter(|(_, a)| a.to_ph - a.from_ph >= weight("learned_least_rise"))
        .collect();
    let published = published_rise(&asked, (months, worked))?;
    let changes: Vec<Change> = moved
        .iter()
        .filter(|m| m.item == Item::Lime && m.on > first)
        .map(|m| Change {
            on: m.on,
            lb: m.lb,
            material: m.material.clone(),
            by: m.lb * published.value,
        })
        .collect();
    let soon = |c: &Change, on: Date| {
        c.lb >= weight("slight_lime")
            && c.on <= on
            && c.on
                .checked_add(jiff::Span::new().months(months))
                .is_ok_and(|worked| on < worked)
    };
    for row in &mut rows {
        if let Some(c) = changes.iter().find(|c| soon(c, row.on)) {
            row.left_out = Some(format!(
                "taken less than {months} months after the lime of {}, which had not worked yet",
                c.on
            ));
        }
    }
    let mut taught = one(
        (Learnable::Lime, Analyte::Ph),
        extractant,
        rows,
        &changes,
        &doubt::lime_prior(),
    )?;
    taught.working.insert(0, published);
    Some(taught)
}

/// pH that a lb of pure lime per acre was to bring: the rises that the reports asked for over the lime that
/// they asked for.
fn published_rise(asked: &[(Date, LimeAsked)], (months, worked): (i32, Source)) -> Option<Figure> {
    let mut figure = Figure::new("pH that a lb of pure lime per acre was to bring");
    figure.step(
        "a test sooner than this after lime is left out: the lime has not worked yet",
        f64::from(months),
        "months",
        "the shortest that is printed for ground limestone worked in",
        worked,
    );
    for (day, a) in asked {
        figure.step(
            format!("lime by the report of {day}"),
            a.lb_per_acre,
            "lb/acre",
            format!(
                "pH {} to {}",
                words::measured(Analyte::Ph, a.from_ph),
                words::measured(Analyte::Ph, a.to_ph)
            ),
            a.source.clone(),
        );
    }
    let rise: f64 = asked.iter().map(|(_, a)| a.to_ph - a.from_ph).sum();
    let lime: f64 = asked.iter().map(|(_, a)| a.lb_per_acre).sum();
    if !(rise > 0.0 && lime > 0.0) {
        return None;
    }
    figure.step(
        "pH that a lb was to bring",
        rise / lime,
        "pH",
        format!(
            "{} / {}, all of them together",
            plain(rise, 3),
            plain(lime, 4)
        ),
        Source::arithmetic(),
    );
    Some(figure)
}

/// The shortest that is printed until ground limestone has worked, months.
fn months_until_it_works() -> Option<(i32, Source)> {
    let t = lime::timings(lime::Form::Ground).find(|t| t.what == "full reaction")?;
    Some((t.low.ceil() as i32, t.source.clone()))
}

fn nutrient_taught(
    reading: &BlockReading,
    tested: &[Tested],
    moved: &[Moved],
    nutrient: pk::Nutrient,
    item: Learnable,
) -> Option<Taught> {
    let (extractant, rows) = run(reading, tested, nutrient.analyte())?;
    let held = pk::test_changes()
        .iter()
        .find(|c| c.nutrient == nutrient && Some(c.extractant) == extractant)?;
    let ends = (held.lb_per_ppm / held.low - held.lb_per_ppm / held.high) / 2.0;
    let prior = doubt::nutrient_prior(ends);
    let first = rows.first()?.on;
    let changes: Vec<Change> = moved
        .iter()
        .filter(|m| m.item == Item::of_learnable(item) && m.on > first)
        .map(|m| Change {
            on: m.on,
            lb: m.lb,
            material: m.material.clone(),
            by: m.lb / held.lb_per_ppm,
        })
        .collect();
    let mut taught = one(
        (item, nutrient.analyte()),
        extractant,
        rows,
        &changes,
        &prior,
    )?;
    let mut published = Figure::new(format!(
        "How far a lb of {} moves the test",
        nutrient.name()
    ));
    published.step(
        format!("lb of {} per acre for 1 ppm", nutrient.name()),
        held.lb_per_ppm,
        "lb/acre",
        format!("{} to {}", plain(held.low, 3), plain(held.high, 3)),
        held.source.clone(),
    );
    taught.working.insert(0, published);
    Some(taught)
}

/// The tests of the newest lab and method, which alone stand beside each other.
fn run(
    reading: &BlockReading,
    tested: &[Tested],
    analyte: Analyte,
) -> Option<(Option<Extractant>, Vec<Row>)> {
    let (lab, extractant) = tested.iter().rev().find_map(|t| {
        let m = t.test.test.get(analyte)?;
        Some((&t.lab, m.extractant))
    })?;
    let mut rows = Vec::new();
    for t in tested.iter().filter(|t| t.lab == *lab) {
        let found = t.test.test.measured.iter().find(|m| {
            m.analyte == analyte && m.extractant == extractant && m.bound == Bound::Exact
        });
        if let Some(m) = found {
            let of = sure::of_boxes(reading, analyte, t.boxes)?;
            rows.push(Row {
                on: t.day,
                measured: m.value,
                sd: match of.shape {
                    Shape::Lognormal => of.sigma(m.value) * m.value,
                    Shape::Normal => of.sigma(m.value),
                },
                left_out: None,
            });
        }
    }
    Some((extractant, rows))
}

fn one(
    (item, analyte): (Learnable, Analyte),
    extractant: Option<Extractant>,
    mut rows: Vec<Row>,
    changes: &[Change],
    prior: &Prior,
) -> Option<Taught> {
    // Its own noise would count twice, in the level and in the answer; and a more acid test could ask
    // for less.
    let newest = rows.last_mut()?;
    newest
        .left_out
        .get_or_insert_with(|| "the newest test sets what is needed now".to_owned());
    let first = rows.first()?;
    let (since, start) = (first.on, first.measured);
    let expected = |until: Date| -> f64 {
        changes
            .iter()
            .filter(|c| c.on > since && c.on <= until)
            .map(|c| c.by)
            .sum()
    };
    let answered: Vec<Answered> = rows
        .iter()
        .filter(|r| r.left_out.is_none())
        .map(|r| Answered {
            expected: expected(r.on),
            measured: r.measured,
            sd: r.sd,
        })
        .collect();
    let found = doubt::learn(prior, &answered)?;
    let middle = middle(&answered);
    let (low, high) = found.interval(Confidence::USUAL);
    let answer = Answer {
        mean: found.mean,
        low,
        high,
        own: found.own,
        differs: differs(&found),
    };
    let tests = rows
        .iter()
        .map(|r| Beside {
            on: r.on,
            measured: r.measured,
            expected: start + expected(r.on),
            learned: middle.1 + found.mean * (expected(r.on) - middle.0),
            left_out: r.left_out.clone(),
        })
        .collect();
    Some(Taught {
        item,
        analyte,
        says: format!(
            "{}{}",
            says(&answer, &found, answered.len()),
            astray(
                rows.last()?,
                expected(rows.last()?.on),
                middle,
                &found,
                analyte
            )
        ),
        tests,
        answer,
        counted: answered.len(),
        working: vec![between(analyte, extractant, &rows, changes), found.figure],
    })
}

/// Whether an answer is otherwise than published in nineteen cases of twenty.
fn differs(found: &Response) -> bool {
    Confidence::percent(95.0).is_ok_and(|sure| {
        let (low, high) = found.interval(sure);
        high < 1.0 || 1.0 < low
    })
}

/// The mean of what was expected and of what was measured, weighted by how sure each test is, and one
/// standard deviation of the latter.
fn middle(answered: &[Answered]) -> (f64, f64, f64) {
    let weight = |a: &Answered| a.sd.powi(-2);
    let all: f64 = answered.iter().map(weight).sum();
    let mean = |of: &dyn Fn(&Answered) -> f64| {
        answered.iter().map(|a| weight(a) * of(a)).sum::<f64>() / all
    };
    (mean(&|a| a.expected), mean(&|a| a.measured), all.powf(-0.5))
}

/// That the newest test came out otherwise than the others lead to expect, by more than their noise in
/// nineteen cases of twenty; it is said and changes nothing, since that test has no say in the answer.
fn astray(
    newest: &Row,
    expected: f64,
    (x, y, sd): (f64, f64, f64),
    found: &Response,
    analyte: Analyte,
) -> String {
    let off = newest.measured - (y + found.mean * (expected - x));
    let noise = found.noise * newest.sd.hypot(sd).hypot((expected - x) * found.sd);
    let z = Confidence::percent(95.0).map_or(f64::INFINITY, doubt::z_two_sided);
    if off.abs() <= z * noise {
        return String::new();
    }
    let shown = |v: f64| match analyte {
        Analyte::Ph => plain((v * 10.0).round() / 10.0, 3),
        _ => format!("{} ppm", plain(v, 2)),
    };
    format!(
        " The newest test lies {} {} what that leads to expect, which is more than noise: see that nothing is missing from the log, and sample again before much is spread.",
        shown(off.abs()),
        if off < 0.0 { "below" } else { "above" }
    )
}

fn says(a: &Answer, found: &Response, tests: usize) -> String {
    // Scatter can make tests fall where they were to rise; no ground answers the wrong way round.
    let percent = |v: f64| plain((v.max(0.0) * 100.0).round(), 3);
    let answers = if a.mean < 0.005 {
        format!(
            "does not answer so far (likely at most {} % as far as the published figures say)",
            percent(a.high)
        )
    } else {
        format!(
            "answers {} % as far as the published figures say (likely {} to {} %)",
            percent(a.mean),
            percent(a.low),
            percent(a.high)
        )
    };
    format!(
        "By {tests} of its own tests this ground {answers}; {} % of that rests on its own tests{}.{}",
        percent(a.own),
        if found.noise > 1.25 {
            format!(
                ", which scatter about {} times as far as is published",
                plain(found.noise, 2)
            )
        } else {
            String::new()
        },
        if a.low <= 1.0 && 1.0 <= a.high {
            " The published figure may well be right."
        } else {
            ""
        }
    )
}

/// From test to test: everything that was to move it, and what was found.
fn between(
    analyte: Analyte,
    extractant: Option<Extractant>,
    rows: &[Row],
    changes: &[Change],
) -> Figure {
    let unit = match analyte {
        Analyte::Ph => "pH",
        other => other.unit(),
    };
    let log = || Source::stated("the log and the reports of this block");
    let reckoned = || {
        Source::new(
            "the pounds by the published figure above",
            Evidence::Derived,
        )
    };
    let signed = |v: f64| format!("{}{}", if v < 0.0 { "−" } else { "+" }, plain(v.abs(), 3));
    let mut figure = Figure::new(match extractant {
        Some(e) => format!("From test to test, {} by {}", analyte.name(), e.name()),
        None => format!("From test to test, {}", analyte.name()),
    });
    for pair in rows.windows(2) {
        let [from, to] = pair else { continue };
        let here: Vec<&Change> = changes
            .iter()
            .filter(|c| c.on > from.on && c.on <= to.on)
            .collect();
        // Each lime by itself; what comes and goes otherwise together.
        let (each, rest): (Vec<&Change>, Vec<&Change>) = here
            .iter()
            .partition(|c| analyte == Analyte::Ph && c.lb > 0.0);
        for c in &each {
            let name = c
                .material
                .as_deref()
                .map_or_else(|| "lime".to_owned(), |m| material_name(m).to_lowercase());
            figure.step(
                format!("{}: {name}, to bring", c.on),
                c.by,
                unit,
                format!("{} of pure lime per acre", words::lb(c.lb)),
                reckoned(),
            );
        }
        let (on, off) = rest.iter().fold((0.0, 0.0), |(on, off), c| {
            if c.lb > 0.0 {
                (on + c.lb, off)
            } else {
                (on, off - c.lb)
            }
        });
        if !rest.is_empty() {
            let formula = match analyte {
                Analyte::Ph => format!("acid that uses up {} of lime per acre", words::lb(off)),
                _ => format!("{} on, {} off per acre", words::lb(on), words::lb(off)),
            };
            figure.step(
                format!("{} to {}: feeding and harvests, to bring", from.on, to.on),
                rest.iter().map(|c| c.by).sum(),
                unit,
                formula,
                reckoned(),
            );
        }
        let was: f64 = here.iter().map(|c| c.by).sum();
        figure.step(
            format!("{} to {}: found", from.on, to.on),
            to.measured - from.measured,
            unit,
            format!(
                "{} to {}; {} was expected{}",
                words::measured(analyte, from.measured),
                words::measured(analyte, to.measured),
                signed(was),
                to.left_out
                    .as_deref()
                    .map_or_else(String::new, |why| format!("; not counted: {why}"))
            ),
            log(),
        );
    }
    figure
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_ground_answers_the_wrong_way_round() {
        let test = |expected: f64, measured: f64| Answered {
            expected,
            measured,
            sd: 0.1,
        };
        let tests = [test(0.0, 6.5), test(1.0, 6.2), test(2.0, 5.9)];
        let found = doubt::learn(&doubt::lime_prior(), &tests).unwrap();
        let (low, high) = found.interval(Confidence::USUAL);
        let answer = Answer {
            mean: found.mean,
            low,
            high,
            own: found.own,
            differs: true,
        };
        assert!(answer.mean < 0.0);
        let text = says(&answer, &found, 3);
        assert!(
            text.contains("does not answer so far") && !text.contains('−'),
            "{text}"
        );
    }
}
