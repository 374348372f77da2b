//! Nitrogen supplied and taken up, summed week by week, as two lines with their words.

use agronomy::nitrogen::{Week, Weeks};
use agronomy::working::Evidence;
use maud::{Markup, html};
use quantity::plain;

const WIDE: f64 = 600.0;
const HIGH: f64 = 180.0;

fn line(weeks: &[Week], most: f64, of: impl Fn(&Week) -> f64) -> String {
    let step = WIDE / (weeks.len().max(2) - 1) as f64;
    let points: Vec<String> = weeks
        .iter()
        .enumerate()
        .map(|(i, w)| format!("{:.1},{:.1}", i as f64 * step, HIGH - of(w) / most * HIGH))
        .collect();
    points.join(" ")
}

/// The chart, what it says in a sentence, and the weeks as a table.
pub(crate) fn weeks(found: &Weeks) -> Markup {
    let most = found
        .weeks
        .iter()
        .flat_map(|w| [w.supplied, w.taken])
        .fold(1.0, f64::max);
    let says = match (found.first_short, found.shortest) {
        (Some(week), Some((worst, lb))) => format!(
            "The crop first runs short in week {week} after planting and is furthest behind in week {worst}, by {} lb/acre: feed before then.",
            plain(lb, 2)
        ),
        _ => "What the ground lets go keeps ahead of the crop in every week.".to_owned(),
    };
    html! {
        h2 { "Nitrogen week by week" }
        p { (says) " " span.num { (plain(found.surplus, 2)) } " lb/acre is left as nitrate at the end, where rain can wash it out." }
        figure.weeks {
            svg viewBox=(format!("0 0 {WIDE} {HIGH}")) width="100%" role="img" aria-label=(says) {
                line x1="0" y1=(HIGH) x2=(WIDE) y2=(HIGH) stroke="#5d5a52" {}
                polyline points=(line(&found.weeks, most, |w| w.supplied)) fill="none" stroke="#8a6d3b" stroke-width="3" {}
                polyline points=(line(&found.weeks, most, |w| w.taken)) fill="none" stroke="#1f5c74" stroke-width="3" stroke-dasharray="7 4" {}
            }
            figcaption {
                span { svg.key viewBox="0 0 24 10" width="24" height="10" aria-hidden="true" { line x1="0" y1="5" x2="24" y2="5" stroke="#8a6d3b" stroke-width="3" {} } "let go by soil and materials, summed" }
                span { svg.key viewBox="0 0 24 10" width="24" height="10" aria-hidden="true" { line x1="0" y1="5" x2="24" y2="5" stroke="#1f5c74" stroke-width="3" stroke-dasharray="7 4" {} } "taken up by the crop, summed" }
                span { "weeks 1 to " (found.weeks.len()) " after planting; top " b.num { (plain(most, 3)) } " lb N/acre" }
            }
        }
        details {
            summary { "The weeks in numbers" }
            div.scroll tabindex="0" role="region" aria-label="Nitrogen by week; it may scroll sideways" {
                table.rows.num {
                    thead { tr { th scope="col" { "Week" } th scope="col" { "Soil" small { "°C" } } th scope="col" { "From materials" small { "lb N/acre" } } th scope="col" { "From organic matter" small { "lb N/acre" } } th scope="col" { "Crop takes" small { "lb N/acre" } } th scope="col" { "Ahead" small { "lb N/acre, summed" } } } }
                    tbody {
                        @for w in &found.weeks {
                            tr { td { (w.week) } td { (plain(w.soil_c, 3)) } td { (plain(w.spread, 2)) } td { (plain(w.soil, 2)) } td { (plain(w.uptake, 2)) } td { (plain(w.balance, 2)) } }
                        }
                    }
                }
            }
            p.meta { "A model of the usual course and no forecast. It rests on:" }
            ul {
                @for s in once(found) { li { (s.text) @if s.evidence == Evidence::CommonPractice { " (common practice)" } @else if s.evidence.unconfirmed() { " (unconfirmed)" } } }
            }
            p.meta { a href="/ground/warmth" { "Your own soil temperatures" } }
            @for caution in &found.cautions { p.meta { (caution.text) } }
        }
    }
}

fn once(found: &Weeks) -> Vec<&agronomy::working::Source> {
    let mut all: Vec<&agronomy::working::Source> = Vec::new();
    for source in &found.sources {
        if !all.iter().any(|s| s.text == source.text) {
            all.push(source);
        }
    }
    all
}
