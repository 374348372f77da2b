//! A value on a line: where it lies, the optimum as the thick stretch, the classes in words.

use agronomy::reading::{Level, Reading};
use maud::{Markup, html};
use quantity::plain;

const WIDTH: f64 = 480.0;

struct Stretch {
    low: f64,
    high: f64,
    word: String,
    optimum: bool,
}

fn draw(value: f64, stretches: &[Stretch], said: &str) -> Markup {
    let (Some(first), Some(last)) = (stretches.first(), stretches.last()) else {
        return html! {};
    };
    let (from, to) = (first.low.min(value), last.high.max(value));
    let at = |v: f64| ((v - from) / (to - from).max(1e-9)).clamp(0.0, 1.0) * (WIDTH - 20.0) + 10.0;
    html! {
        svg viewBox="0 0 480 58" width="100%" role="img" aria-label=(said) {
            line x1="10" x2="470" y1="32" y2="32" stroke="#d9d3c5" stroke-width="2" {}
            @for s in stretches {
                @if s.optimum {
                    line x1=(format!("{:.1}", at(s.low))) x2=(format!("{:.1}", at(s.high))) y1="32" y2="32" stroke="#8a6d3b" stroke-width="6" {}
                }
                line x1=(format!("{:.1}", at(s.low))) x2=(format!("{:.1}", at(s.low))) y1="26" y2="38" stroke="#5d5a52" {}
                @if at(s.high) - at(s.low) > s.word.len() as f64 * 6.6 {
                    text x=(format!("{:.1}", (at(s.low) + at(s.high)) / 2.0)) y="53" text-anchor="middle" { (s.word) }
                }
            }
            path d=(format!("M{x:.1} 31 l-6 -9 h12 z", x = at(value))) fill="#22211e" {}
            text.v x=(format!("{:.1}", at(value).clamp(18.0, WIDTH - 18.0))) y="16" text-anchor="middle" { (plain(value, 3)) }
        }
    }
}

/// A soil test value on its table’s classes.
pub(crate) fn reading(reading: &Reading) -> Markup {
    let top = reading
        .bands
        .iter()
        .filter_map(|b| b.high.or(b.low))
        .fold(0.0, f64::max)
        .max(reading.value)
        * 1.15;
    let best = reading
        .bands
        .iter()
        .map(|b| b.level)
        .filter(|l| *l <= Level::Optimum)
        .max();
    let mut stretches: Vec<Stretch> = reading
        .bands
        .iter()
        .map(|b| Stretch {
            low: b.low.unwrap_or(0.0),
            high: b.high.unwrap_or(top),
            word: b.category.clone(),
            optimum: Some(b.level) == best,
        })
        .collect();
    stretches.sort_by(|a, b| a.low.total_cmp(&b.low));
    let said = format!(
        "{} {} ppm, {}",
        reading.analyte.name(),
        plain(reading.value, 3),
        reading.category
    );
    draw(reading.value, &stretches, &said)
}

/// pH on the crop’s range.
pub(crate) fn ph(value: f64, low: f64, high: f64) -> Markup {
    let stretches = [
        Stretch {
            low: (low - 1.0).min(value - 0.3),
            high: low,
            word: "acid".to_owned(),
            optimum: false,
        },
        Stretch {
            low,
            high,
            word: "right".to_owned(),
            optimum: true,
        },
        Stretch {
            low: high,
            high: (high + 1.0).max(value + 0.3),
            word: "alkaline".to_owned(),
            optimum: false,
        },
    ];
    let said = format!(
        "pH {}, the crop’s range is {} to {}",
        plain(value, 3),
        plain(low, 2),
        plain(high, 2)
    );
    draw(value, &stretches, &said)
}
