//! The picture of one measured thing through the years, as SVG: the same for the page and for paper.
//!
//! Read without colour: each run has its own mark, named below; the doubt is a bar through the mark;
//! the range that is enough is a stretch with its name.

use super::axis::{FAINT, INK, LEFT, LOAM, PAPER, RIGHT, SOFT, WIDE, Years, begin, escaped};
use super::course::{Course, Point, Run};
use crate::words;
use agronomy::soil::{Analyte, Bound};
use quantity::plain;
use std::fmt::Write;

/// Without the names of the runs below.
const HIGH: f64 = 226.0;
/// The height of one name.
const NAME: f64 = 20.0;
const TOP: f64 = 14.0;
const FOOT: f64 = 28.0;

struct Plane {
    years: Years,
    low: f64,
    span: f64,
}

impl Plane {
    fn y(&self, value: f64) -> f64 {
        HIGH - FOOT - (value - self.low) / self.span * (HIGH - TOP - FOOT)
    }
}

/// A round step that cuts a span into three to six parts.
fn step(span: f64) -> f64 {
    let rough = span / 4.0;
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 2.5, 5.0, 10.0]
        .iter()
        .map(|m| m * power)
        .find(|s| *s >= rough)
        .unwrap_or(power)
}

/// The picture, on the years that all pictures of the block have; empty where there is no point.
pub fn chart(course: &Course, years: Years) -> String {
    let points: Vec<&Point> = course.runs.iter().flat_map(|r| &r.points).collect();
    let Some(plane) = plane(course, &points, years) else {
        return String::new();
    };
    let high = HIGH + NAME * course.runs.len() as f64;
    let mut svg = begin(high, &spoken(course));
    axes(&mut svg, course, &plane);
    for (i, run) in course.runs.iter().enumerate() {
        draw(&mut svg, run, i, &plane);
    }
    names(&mut svg, course);
    svg.push_str("</svg>");
    svg
}

/// Values closer together than this are drawn no further apart: a scale finer than what a test can tell
/// would show noise as news.
fn least_span(course: &Course, points: &[&Point], middle: f64) -> f64 {
    if points.iter().any(|p| p.likely.is_some()) {
        return 0.1 * middle.abs();
    }
    match course.analyte {
        Analyte::Ph | Analyte::BufferPh => 1.0,
        _ => middle.abs(),
    }
}

fn plane(course: &Course, points: &[&Point], years: Years) -> Option<Plane> {
    points.first()?;
    let ends = |p: &&Point| p.likely.map_or([p.value, p.value], |(l, h)| [l, h]);
    let all = points.iter().flat_map(ends);
    let mut low = all.clone().fold(f64::MAX, f64::min);
    let mut high = all.fold(f64::MIN, f64::max);
    let lacking = least_span(course, points, (low + high) / 2.0) - (high - low);
    if lacking > 0.0 {
        let floor = if low >= 0.0 { 0.0 } else { f64::MIN };
        low = (low - lacking / 2.0).max(floor);
        high += lacking / 2.0;
    }
    // The range that is enough is shown where it is near enough not to flatten the values.
    if let Some((l, h, _)) = &course.good {
        let room = (high - low).max(0.1 * high.abs());
        if *l < high + room && *h > low - room {
            low = low.min(l.max(low - room));
            high = high.max(h.min(high + room));
        }
    }
    let grid = step((high - low).max(0.02 * high.abs()).max(1e-6));
    low = (low / grid).floor() * grid;
    high = ((high / grid).ceil() * grid).max(low + grid);
    Some(Plane {
        years,
        low,
        span: high - low,
    })
}

fn axes(svg: &mut String, course: &Course, plane: &Plane) {
    let right = WIDE - RIGHT;
    if let Some((low, high, name)) = &course.good {
        let top = plane.y(high.min(plane.low + plane.span));
        let bottom = plane.y(low.max(plane.low));
        if bottom - top > 1.0 {
            let _ = write!(
                svg,
                "<rect x=\"{LEFT}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"{LOAM}\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\" fill=\"{SOFT}\" font-size=\"14\">{}</text>",
                right - LEFT,
                bottom - top,
                LEFT + 5.0,
                top + 13.0,
                escaped(name)
            );
        }
    }
    let grid = step(plane.span);
    let lines = (plane.span / grid).round() as i32;
    for i in 0..=lines {
        let value = plane.low + f64::from(i) * grid;
        let y = plane.y(value);
        let _ = write!(
            svg,
            "<line x1=\"{LEFT}\" x2=\"{right}\" y1=\"{y:.1}\" y2=\"{y:.1}\" stroke=\"{FAINT}\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"{SOFT}\">{}</text>",
            LEFT - 7.0,
            y + 4.5,
            plain(value, 4)
        );
    }
    plane.years.named(svg, HIGH - 8.0);
}

fn draw(svg: &mut String, run: &Run, number: usize, plane: &Plane) {
    let line: Vec<String> = run
        .points
        .iter()
        .map(|p| format!("{:.1},{:.1}", plane.years.x(p.on), plane.y(p.value)))
        .collect();
    let dash = ["", "6 4", "2 4", "10 3 2 3"][number % 4];
    if line.len() > 1 {
        let _ = write!(
            svg,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.5\" stroke-dasharray=\"{}\"/>",
            line.join(" "),
            if dash.is_empty() { "none" } else { dash }
        );
    }
    for p in &run.points {
        let (x, y) = (plane.years.x(p.on), plane.y(p.value));
        if let Some((low, high)) = p.likely {
            let (a, b) = (plane.y(low), plane.y(high));
            let _ = write!(
                svg,
                "<path d=\"M{x:.1} {a:.1}V{b:.1}M{:.1} {a:.1}h8M{:.1} {b:.1}h8\" fill=\"none\" stroke=\"{SOFT}\"/>",
                x - 4.0,
                x - 4.0
            );
        }
        mark(svg, number, (x, y), p.bound);
    }
}

/// A mark of its own for each run; below or above what the lab can tell, an arrow that way.
fn mark(svg: &mut String, number: usize, (x, y): (f64, f64), bound: Bound) {
    let drawn = match (bound, number % 4) {
        (Bound::Below, _) => format!(
            "<path d=\"M{x:.1} {:.1}l-5 -8h10z\" fill=\"{PAPER}\" stroke=\"{INK}\"/>",
            y + 4.0
        ),
        (Bound::Above, _) => format!(
            "<path d=\"M{x:.1} {:.1}l-5 8h10z\" fill=\"{PAPER}\" stroke=\"{INK}\"/>",
            y - 4.0
        ),
        (_, 0) => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"{INK}\"/>"),
        (_, 1) => format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"8\" height=\"8\" fill=\"{PAPER}\" stroke=\"{INK}\" stroke-width=\"1.5\"/>",
            x - 4.0,
            y - 4.0
        ),
        (_, 2) => format!(
            "<path d=\"M{x:.1} {:.1}l5 5l-5 5l-5 -5z\" fill=\"{INK}\"/>",
            y - 5.0
        ),
        _ => format!(
            "<path d=\"M{:.1} {:.1}l8 8m0 -8l-8 8\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"2\"/>",
            x - 4.0,
            y - 4.0
        ),
    };
    svg.push_str(&drawn);
}

/// The names of the runs below, each with its mark.
fn names(svg: &mut String, course: &Course) {
    for (i, run) in course.runs.iter().enumerate() {
        let y = HIGH + NAME * (i as f64 + 0.4);
        mark(svg, i, (LEFT + 6.0, y), Bound::Exact);
        let _ = write!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" fill=\"{INK}\">{}</text>",
            LEFT + 18.0,
            y + 5.0,
            escaped(&cut(&words::capital(&run.name())))
        );
    }
}

fn cut(name: &str) -> String {
    const MOST: usize = 56;
    if name.chars().count() <= MOST {
        return name.to_owned();
    }
    name.chars().take(MOST - 1).chain(['…']).collect()
}

fn spoken(course: &Course) -> String {
    let values: Vec<String> = course
        .runs
        .iter()
        .flat_map(|r| &r.points)
        .map(|p| format!("{} {}", p.on, plain(p.value, 3)))
        .collect();
    format!(
        "{} through the years: {}. The same values stand in the table.",
        course.analyte.name(),
        values.join(", ")
    )
}
