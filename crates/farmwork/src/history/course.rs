//! One measured thing through the years, in runs of one lab and one method.

use super::Tested;
use crate::readings::BlockReading;
use crate::{sure, words};
use agronomy::conversion::{self, Estimate};
use agronomy::doubt::{self, Confidence, Doubt};
use agronomy::reading::Level;
use agronomy::soil::{Analyte, Bound, Extractant, Measured};
use agronomy::working::{Caution, Figure};
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;
use std::collections::HashSet;

/// One value of one test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    pub on: Date,
    pub value: f64,
    pub bound: Bound,
    /// Between what the true mean of the ground lies in four of five cases; none where no scatter of this
    /// test is published.
    pub likely: Option<(f64, f64)>,
    /// How many boxes it is the mean of.
    pub boxes: u32,
    pub sample: String,
    /// What it would be about by the other extractants that this was measured by, where somebody printed an
    /// equation: shown beside it, and used for nothing.
    pub about: Vec<Estimate>,
}

impl Point {
    /// `about 10 by Bray P1`; empty where nobody printed an equation.
    pub fn about(&self) -> String {
        let all: Vec<String> = self
            .about
            .iter()
            .map(|e| format!("about {} by {}", plain(e.value, 2), e.to.name()))
            .collect();
        all.join(", ")
    }
}

/// Whether a run moved, in words, with the sums behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    pub says: String,
    /// Whether it is more than noise, four of five.
    pub larger: bool,
    pub working: Figure,
}

/// Tests of one lab by one method: the only ones that stand beside each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    pub lab: Option<String>,
    /// The extractant or buffer; empty where the measure needs none.
    pub method: String,
    /// Oldest first.
    pub points: Vec<Point>,
    /// Between the last two tests.
    pub change: Option<Moved>,
    /// Over three or more.
    pub trend: Option<Moved>,
    /// For organic matter: how many more years would settle it.
    pub settle: Option<Moved>,
}

impl Run {
    /// What is said of it, the trend first.
    pub fn said(&self) -> impl Iterator<Item = &Moved> {
        [&self.trend, &self.change, &self.settle]
            .into_iter()
            .flatten()
    }

    /// `Mehlich-3, by Alder Lab`
    pub fn name(&self) -> String {
        let lab = match &self.lab {
            Some(lab) => format!("by {lab}"),
            None => "by a lab that is not named".to_owned(),
        };
        if self.method.is_empty() {
            lab
        } else {
            format!("{}, {lab}", self.method)
        }
    }
}

/// One measured thing through the years.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    pub analyte: Analyte,
    pub unit: String,
    /// Oldest first; no line is drawn from one to the next.
    pub runs: Vec<Run>,
    /// Why runs are not joined, one sentence for each step from run to run.
    pub apart: Vec<String>,
    /// Whose estimates stand beside values, one sentence for each equation.
    pub estimated: Vec<String>,
    /// The range the newest test is held to, with its name.
    pub good: Option<(f64, f64, String)>,
    pub cautions: Vec<Caution>,
}

impl Course {
    /// The sums behind what is said of its runs.
    pub fn working(&self) -> Vec<Figure> {
        self.runs
            .iter()
            .flat_map(Run::said)
            .map(|m| m.working.clone())
            .collect()
    }

    /// The newest value.
    pub fn newest(&self) -> Option<&Point> {
        self.runs
            .iter()
            .filter_map(|r| r.points.last())
            .max_by_key(|p| p.on)
    }
}

/// Everything that was measured, what a grower asks after first.
pub(super) fn all(reading: &BlockReading, tested: &[Tested]) -> Vec<Course> {
    const FIRST: [Analyte; 4] = [Analyte::Ph, Analyte::OrganicMatter, Analyte::P, Analyte::K];
    let rest = Analyte::ALL.into_iter().filter(|a| !FIRST.contains(a));
    FIRST
        .into_iter()
        .chain(rest)
        .filter_map(|analyte| one(reading, tested, analyte))
        .collect()
}

fn one(reading: &BlockReading, tested: &[Tested], analyte: Analyte) -> Option<Course> {
    let mut runs: Vec<Run> = Vec::new();
    let mut months = Vec::new();
    let of = |t: &Tested| -> Vec<Extractant> {
        let of_it = t.test.test.measured.iter();
        of_it
            .filter(|m| m.analyte == analyte)
            .filter_map(|m| m.extractant)
            .collect()
    };
    let used: HashSet<Extractant> = tested.iter().flat_map(of).collect();
    for t in tested {
        for m in t.test.test.measured.iter().filter(|m| m.analyte == analyte) {
            let method = method(m);
            if t.day_known {
                months.push(t.day.month());
            }
            let of = sure::of_boxes(reading, analyte, t.boxes);
            let point = Point {
                on: t.day,
                value: m.value,
                bound: m.bound,
                likely: of
                    .filter(|_| m.bound == Bound::Exact)
                    .map(|d| d.interval(m.value, Confidence::USUAL)),
                boxes: t.boxes,
                sample: t.test.sample.clone(),
                about: conversion::estimates(m)
                    .into_iter()
                    .filter(|e| used.contains(&e.to))
                    .collect(),
            };
            match runs
                .iter_mut()
                .find(|r| r.lab == t.lab && r.method == method)
            {
                Some(run) => run.points.push(point),
                None => runs.push(Run {
                    lab: t.lab.clone(),
                    method,
                    points: vec![point],
                    change: None,
                    trend: None,
                    settle: None,
                }),
            }
        }
    }
    if runs.is_empty() {
        return None;
    }
    for run in &mut runs {
        run.change = change(reading, analyte, run);
        run.trend = trend(analyte, run);
        run.settle = settle(reading, analyte, run);
    }
    let apart = runs
        .windows(2)
        .map(|pair| why_apart(analyte, pair))
        .collect();
    let mut cautions = doubt::other_season(analyte, &months);
    for c in runs
        .iter()
        .flat_map(|r| &r.trend)
        .flat_map(|t| &t.working.cautions)
    {
        // What is said of the months stands here where they differ, and not where they do not.
        if c.text.contains("too few tests") && !cautions.contains(c) {
            cautions.push(c.clone());
        }
    }
    Some(Course {
        analyte,
        unit: analyte.unit().to_owned(),
        estimated: estimated(&runs),
        apart,
        good: good(reading, analyte),
        cautions,
        runs,
    })
}

/// The extractant or buffer of a value, in words; empty where it needs none.
pub(crate) fn method(m: &Measured) -> String {
    match (m.extractant, m.buffer) {
        (Some(e), _) => e.name().to_owned(),
        (None, Some(b)) => b.name().to_owned(),
        (None, None) if m.analyte.needs_extractant() => "extractant not named".to_owned(),
        (None, None) => String::new(),
    }
}

fn why_apart(analyte: Analyte, pair: &[Run]) -> String {
    let (a, b) = (&pair[0], &pair[1]);
    if a.method == b.method {
        format!(
            "{} and {} are not joined: another lab may read the same soil otherwise.",
            words::capital(&a.name()),
            b.name()
        )
    } else {
        format!(
            "{} and {} are not joined: they draw different shares of the soil’s {}, so one number says nothing of the other.",
            words::capital(&a.name()),
            b.name(),
            analyte.name().to_lowercase()
        )
    }
}

/// Each equation that stands behind an estimate, once.
fn estimated(runs: &[Run]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for run in runs {
        for e in run.points.iter().flat_map(|p| &p.about) {
            let says = format!(
                "What {} would be by {} is an estimate by {}, made on {}. No line joins it to tests, and no plan uses it.",
                run.method,
                e.to.name(),
                e.source.text,
                e.made_on
            );
            if !out.contains(&says) {
                out.push(says);
            }
        }
    }
    out
}

/// The range of the class that is enough, or of the crop’s pH.
fn good(reading: &BlockReading, analyte: Analyte) -> Option<(f64, f64, String)> {
    if analyte == Analyte::Ph {
        let crop = reading.crop.as_ref()?;
        let range = crop.target_ph.as_ref()?;
        return Some((
            range.low,
            range.high,
            format!("right for {}", crop.name.to_lowercase()),
        ));
    }
    let read = reading.reading(analyte)?;
    let best = read
        .bands
        .iter()
        .map(|b| b.level)
        .filter(|l| *l <= Level::Optimum)
        .max()?;
    let band = read.bands.iter().find(|b| b.level == best)?;
    Some((band.low.unwrap_or(0.0), band.high?, band.category.clone()))
}

/// The values that can be counted with, the mean of each day.
fn counted(run: &Run) -> Vec<(Date, f64, u32)> {
    let exact: Vec<&Point> = run
        .points
        .iter()
        .filter(|p| p.bound == Bound::Exact)
        .collect();
    exact
        .chunk_by(|a, b| a.on == b.on)
        .filter_map(|same| {
            let first = same.first()?;
            let mean = same.iter().map(|p| p.value).sum::<f64>() / same.len() as f64;
            Some((first.on, mean, same.iter().map(|p| p.boxes).sum()))
        })
        .collect()
}

fn with_unit(analyte: Analyte, value: f64) -> String {
    let shown = words::measured(analyte, value);
    if analyte.unit().is_empty() {
        shown
    } else {
        format!("{shown} {}", analyte.unit())
    }
}

fn change(reading: &BlockReading, analyte: Analyte, run: &Run) -> Option<Moved> {
    let all = counted(run);
    let [.., (day, before, first), (_, after, second)] = all.as_slice() else {
        return None;
    };
    let of = |boxes| sure::of_boxes(reading, analyte, boxes);
    let (a, b): (Doubt, Doubt) = (of(*first)?, of(*second)?);
    let unit = if analyte.unit().is_empty() {
        "pH"
    } else {
        analyte.unit()
    };
    if !(*before > 0.0 && *after > 0.0) {
        return None;
    }
    let found = doubt::change_between((*before, &a), (*after, &b), unit, Confidence::USUAL);
    let way = match after - before {
        d if d.abs() < 1e-9 => "is as it was".to_owned(),
        d if d > 0.0 => format!("rose by {}", with_unit(analyte, d)),
        d => format!("came down by {}", with_unit(analyte, -d)),
    };
    let says = if found.larger {
        format!(
            "Since {day} it {way}: more than the noise of two tests gives in four of five cases."
        )
    } else {
        format!("Since {day} it {way}: no more than the noise of two tests gives.")
    };
    Some(Moved {
        says,
        larger: found.larger,
        working: found.figure,
    })
}

fn years(day: Date) -> f64 {
    f64::from(day.year()) + (f64::from(day.day_of_year()) - 1.0) / f64::from(day.days_in_year())
}

fn trend(analyte: Analyte, run: &Run) -> Option<Moved> {
    let points: Vec<(f64, f64)> = counted(run)
        .iter()
        .map(|(d, v, _)| (years(*d), *v))
        .collect();
    let unit = if analyte.unit().is_empty() {
        "pH"
    } else {
        analyte.unit()
    };
    let t = doubt::trend(&points, unit).ok()?;
    let larger = t.stands_out(Confidence::USUAL);
    let cases = words::of_ten(t.p);
    let since = counted(run).first().map_or(0, |(d, _, _)| d.year());
    let of = format!("Over {} tests since {since}", points.len());
    let range = t
        .interval(Confidence::USUAL)
        .map_or_else(String::new, |(l, h)| {
            format!(" (likely {} to {})", plain(l, 2), plain(h, 2))
        });
    let says = if larger {
        format!(
            "{of} it {} by about {} {unit} a year{range}; without any trend that much comes about in {cases}.",
            if t.slope > 0.0 { "rises" } else { "comes down" },
            plain(t.slope.abs(), 2),
        )
    } else {
        format!(
            "{of} no trend stands out: the middle slope is {} {unit} a year{range}, and without any trend that much comes about in {cases}.",
            plain(t.slope, 2),
        )
    };
    Some(Moved {
        says,
        larger,
        working: t.figure,
    })
}

/// How many more years of tests would settle a slow trend.
fn settle(reading: &BlockReading, analyte: Analyte, run: &Run) -> Option<Moved> {
    if analyte != Analyte::OrganicMatter {
        return None;
    }
    let all = counted(run);
    let points: Vec<(f64, f64)> = all.iter().map(|(d, v, _)| (years(*d), *v)).collect();
    let t = doubt::trend(&points, "%").ok()?;
    if t.stands_out(Confidence::USUAL) {
        return None;
    }
    let mean = all.iter().map(|(_, v, _)| v).sum::<f64>() / all.len() as f64;
    let of = sure::of_boxes(reading, analyte, 1)?;
    let sigma = match of.shape {
        agronomy::sampling::Shape::Lognormal => of.sigma(mean) * mean,
        agronomy::sampling::Shape::Normal => of.sigma(mean),
    };
    match doubt::tests_to_settle(t.slope, sigma, Confidence::USUAL, Confidence::USUAL) {
        Ok(figure) => {
            let more = figure.value - all.len() as f64;
            Some(Moved {
                says: if more < 0.5 {
                    "As many tests as there are would have found a slope like this on four of five farms: it may well be nothing.".to_owned()
                } else {
                    format!(
                        "If it goes on like this, about {} more yearly tests would settle whether it moves.",
                        plain(more, 3)
                    )
                },
                larger: false,
                working: figure,
            })
        }
        Err(_) => Some(Moved {
            says: "So small a slope would not be settled by two hundred years of tests: take it as unchanged.".to_owned(),
            larger: false,
            working: t.figure,
        }),
    }
}
