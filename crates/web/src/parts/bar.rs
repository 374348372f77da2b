//! A quantity against its need: a bar made of its parts under a line as long as the need.

use maud::{Markup, html};
use quantity::plain;

const COLOURS: [&str; 4] = ["#d8c9a6", "#b9a273", "#8a6d3b", "#5f4a25"];

/// Parts and need in one unit. The longest of the two fills the width.
pub(crate) fn bar(label: &str, need: f64, parts: &[(String, f64)], unit: &str) -> Markup {
    let sum: f64 = parts.iter().map(|(_, v)| v.max(0.0)).sum();
    let full = need.max(sum);
    if full <= 0.0 {
        return html! {};
    }
    let width = |v: f64| v / full * 600.0;
    let mut at = 0.0;
    let boxes: Vec<(f64, f64, &str)> = parts
        .iter()
        .enumerate()
        .map(|(i, (_, v))| {
            let w = width(v.max(0.0));
            let x = at;
            at += w;
            (x, w, COLOURS[i % COLOURS.len()])
        })
        .collect();
    let said = format!(
        "{label}: need {} {unit}; {}",
        plain(need, 3),
        parts
            .iter()
            .map(|(n, v)| format!("{n} {}", plain(*v, 3)))
            .collect::<Vec<_>>()
            .join(", ")
    );
    html! {
        figure.bar {
            svg viewBox="0 0 600 34" width="100%" role="img" aria-label=(said) preserveAspectRatio="none" {
                rect x="0" y="2" width=(format!("{:.1}", width(need))) height="3" fill="#22211e" {}
                @for (x, w, colour) in boxes {
                    rect x=(format!("{x:.1}")) y="12" width=(format!("{:.1}", (w - 1.0).max(0.5))) height="18" fill=(colour) {}
                }
            }
            figcaption {
                span { "need " b.num { (plain(need, 3)) } " " (unit) }
                @for (i, (name, value)) in parts.iter().enumerate() {
                    span {
                        svg.key viewBox="0 0 10 10" width="10" height="10" aria-hidden="true" {
                            rect width="10" height="10" fill=(COLOURS[i % COLOURS.len()]) {}
                        }
                        (name) " " b.num { (plain(*value, 3)) }
                    }
                }
            }
        }
    }
}
