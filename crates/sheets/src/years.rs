//! A block through the years, ready to set.

use crate::block::{CautionView, Foot, cautions};
use crate::words::text;
use agronomy::soil::Bound;
use farmwork::history::{self, Course, History, Years};
use farmwork::learned::{self, Own};
use farmwork::words;
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct YearsView {
    title: String,
    author: String,
    foot: Foot,
    block: String,
    opening: String,
    /// What happened, as SVG on the years of the charts.
    strip: String,
    courses: Vec<CourseView>,
    /// What stands above all that the tests taught; nothing follows where they taught nothing.
    taught_opening: &'static str,
    taught: Vec<TaughtView>,
    /// When, what kind, what, further facts.
    events: Vec<[String; 4]>,
    cautions: Vec<CautionView>,
}

#[derive(Serialize)]
struct CourseView {
    name: String,
    says: Vec<String>,
    /// The picture as SVG, the same as on the page.
    chart: String,
    apart: Vec<String>,
    /// Day, value, likely range, method and lab.
    values: Vec<[String; 4]>,
}

/// What the tests of one measure teach, as its page says it.
#[derive(Serialize)]
struct TaughtView {
    name: String,
    unit: &'static str,
    says: String,
    /// Whether needs go by it.
    standing: String,
    /// Day, by the published figures, by its own answer, found, why it is not counted.
    tests: Vec<[String; 5]>,
}

pub(crate) fn view(farm: &str, season: &str, of: &History, taught: &[Own]) -> YearsView {
    let all: Vec<_> = of
        .courses
        .iter()
        .flat_map(|c| c.cautions.iter().cloned())
        .collect();
    YearsView {
        title: text(&format!("{} through the years", of.block.name)),
        author: text(farm),
        foot: Foot::new(&of.block.name, farm, season, ""),
        block: text(&of.block.name),
        opening: text(&of.opening()),
        strip: history::strip(of),
        courses: of
            .years()
            .map(|years| of.courses.iter().map(|c| course(c, years)).collect())
            .unwrap_or_default(),
        taught_opening: learned::OPENING,
        taught: taught.iter().map(of_taught).collect(),
        events: of
            .events
            .iter()
            .map(|e| {
                [
                    e.when(),
                    words::capital(e.kind.name()),
                    text(&e.what),
                    text(&e.more),
                ]
            })
            .collect(),
        cautions: cautions(&all),
    }
}

fn of_taught(own: &Own) -> TaughtView {
    let t = &own.taught;
    let shown = |v: f64| words::measured(t.analyte, v);
    TaughtView {
        name: words::capital(t.item.name()),
        unit: t.analyte.unit(),
        says: text(&t.says),
        standing: text(&own.standing.says()),
        tests: t
            .tests
            .iter()
            .map(|b| {
                [
                    b.on.to_string(),
                    shown(b.expected),
                    shown(b.learned),
                    shown(b.measured),
                    b.left_out
                        .as_ref()
                        .map_or_else(String::new, |why| text(&format!("not counted: {why}"))),
                ]
            })
            .collect(),
    }
}

fn course(of: &Course, years: Years) -> CourseView {
    let named = of.runs.len() > 1;
    CourseView {
        name: if of.unit.is_empty() {
            of.analyte.name().to_owned()
        } else {
            format!("{}, {}", of.analyte.name(), of.unit)
        },
        says: of
            .runs
            .iter()
            .filter_map(|r| {
                let all: Vec<&str> = r.said().map(|m| m.says.as_str()).collect();
                if all.is_empty() {
                    return None;
                }
                let name = if named {
                    format!("{}. ", words::capital(&r.name()))
                } else {
                    String::new()
                };
                Some(text(&format!("{name}{}", all.join(" "))))
            })
            .collect(),
        chart: history::chart(of, years),
        apart: of
            .apart
            .iter()
            .chain(&of.estimated)
            .map(|a| text(a))
            .collect(),
        values: of
            .runs
            .iter()
            .flat_map(|r| r.points.iter().map(move |p| (r, p)))
            .map(|(r, p)| {
                let sign = match p.bound {
                    Bound::Exact => "",
                    Bound::Below => "< ",
                    Bound::Above => "> ",
                };
                let shown = |v| words::measured(of.analyte, v);
                [
                    p.on.to_string(),
                    format!("{sign}{}", shown(p.value)),
                    p.likely.map_or_else(String::new, |(l, h)| {
                        format!("{} to {}", shown(l), shown(h))
                    }),
                    text(&match p.about() {
                        about if about.is_empty() => words::capital(&r.name()),
                        about => format!("{}; {about}, an estimate", words::capital(&r.name())),
                    }),
                ]
            })
            .collect(),
    }
}
