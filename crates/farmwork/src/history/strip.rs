//! What happened on a block, drawn on the years of its pictures: the same for the page and for paper.
//!
//! Read without colour: each kind has a lane with its name and its own mark. What has only a season has a
//! mark in its middle, with a line through the whole of it.

use super::axis::{FAINT, INK, LEFT, LOAM, PAPER, RIGHT, SOFT, WIDE, Years, begin, escaped};
use super::{Event, History, Kind};
use std::fmt::Write;

/// The height of a lane.
const LANE: f64 = 24.0;
const FOOT: f64 = 24.0;
/// The width of a letter in a crop’s bar.
const LETTER: f64 = 7.0;

/// From the top down.
const LANES: [(Kind, &str); 5] = [
    (Kind::Crop, "Crop"),
    (Kind::Lime, "Lime"),
    (Kind::Spread, "Spread"),
    (Kind::Harvest, "Harvest"),
    (Kind::Test, "Test"),
];

/// The picture; empty where nothing happened.
pub fn strip(history: &History) -> String {
    let Some(years) = history.years() else {
        return String::new();
    };
    // The day on which a harvest was planned is the end of its crop’s bar.
    let drawn = |kind: Kind| {
        history
            .events
            .iter()
            .filter(move |e| e.kind == kind && !e.planned)
    };
    let lanes: Vec<(Kind, &str)> = LANES
        .into_iter()
        .filter(|(kind, _)| drawn(*kind).next().is_some())
        .collect();
    if lanes.is_empty() {
        return String::new();
    }
    let high = LANE * lanes.len() as f64 + FOOT;
    let mut svg = begin(high, &spoken(history, years));
    let bottom = high - FOOT;
    for year in years.first..=years.last + 1 {
        let x = years.x_year(f64::from(year));
        let _ = write!(
            svg,
            "<path d=\"M{x:.1} 0V{bottom:.1}\" stroke=\"{FAINT}\"/>"
        );
    }
    for (i, (kind, name)) in lanes.iter().enumerate() {
        let y = LANE * (i as f64 + 0.5);
        let _ = write!(
            svg,
            "<path d=\"M{LEFT} {:.1}H{:.1}\" stroke=\"{FAINT}\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"{SOFT}\">{name}</text>",
            LANE * (i as f64 + 1.0),
            WIDE - RIGHT,
            LEFT - 7.0,
            y + 5.0
        );
        for e in drawn(*kind) {
            draw(&mut svg, e, years, y);
        }
    }
    years.named(&mut svg, high - 6.0);
    svg.push_str("</svg>");
    svg
}

/// A name as far as it has room; none where only a letter or two would stand, which would be a riddle: the
/// table has every name.
fn fitted(name: &str, room: f64) -> Option<String> {
    let letters = (room / LETTER).max(0.0) as usize;
    if name.chars().count() <= letters {
        return Some(name.to_owned()).filter(|n| !n.is_empty());
    }
    (letters >= 4).then(|| name.chars().take(letters - 1).chain(['…']).collect())
}

fn draw(svg: &mut String, e: &Event, years: Years, y: f64) {
    let season = e.season as f64;
    let x =
        e.on.map_or_else(|| years.x_year(season + 0.5), |d| years.x(d));
    let title = format!("<title>{}: {}</title>", e.when(), escaped(&e.what));
    if e.kind == Kind::Crop {
        let from = e.on.map_or_else(|| years.x_year(season), |d| years.x(d));
        let to = match (e.on, e.until) {
            (_, Some(day)) => years.x(day),
            // Without a harvest day a crop lasts to the end of its year.
            _ => years.x_year(season + 1.0) - 1.5,
        };
        let wide = (to - from).max(3.0);
        let dash = if e.on.is_none() || e.until.is_none() {
            " stroke-dasharray=\"3 2\""
        } else {
            ""
        };
        let _ = write!(
            svg,
            "<g>{title}<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{wide:.1}\" height=\"16\" fill=\"{LOAM}\" stroke=\"{INK}\" stroke-width=\"0.8\"{dash}/>",
            y - 8.0
        );
        if let Some(name) = fitted(&e.short, wide - 5.0) {
            let _ = write!(
                svg,
                "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"13\" fill=\"{INK}\">{}</text>",
                from + 3.0,
                y + 4.5,
                escaped(&name)
            );
        }
        svg.push_str("</g>");
        return;
    }
    let _ = write!(svg, "<g>{title}");
    if e.on.is_none() {
        let (from, to) = (years.x_year(season), years.x_year(season + 1.0));
        let _ = write!(
            svg,
            "<path d=\"M{:.1} {y:.1}H{:.1}\" stroke=\"{SOFT}\"/>",
            from + 1.0,
            to - 1.0
        );
    }
    let _ = match e.kind {
        Kind::Lime => write!(
            svg,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"8\" height=\"8\" fill=\"{PAPER}\" stroke=\"{INK}\" stroke-width=\"1.5\"/>",
            x - 4.0,
            y - 4.0
        ),
        Kind::Spread => write!(
            svg,
            "<path d=\"M{x:.1} {:.1}l5 9h-10z\" fill=\"{INK}\"/>",
            y - 5.0
        ),
        Kind::Harvest => write!(
            svg,
            "<path d=\"M{:.1} {:.1}l4.5 5l4.5 -5M{x:.1} {:.1}v-10\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.6\"/>",
            x - 4.5,
            y,
            y + 5.0
        ),
        _ => write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"{INK}\"/>"
        ),
    };
    svg.push_str("</g>");
}

fn spoken(history: &History, years: Years) -> String {
    let counts: Vec<String> = LANES
        .into_iter()
        .filter_map(|(kind, name)| {
            let n = history
                .events
                .iter()
                .filter(|e| e.kind == kind && !e.planned)
                .count();
            (n > 0).then(|| format!("{}, {n} times", name.to_lowercase()))
        })
        .collect();
    format!(
        "What happened on {} from {} to {}: {}. Each stands in the table.",
        history.block.name,
        years.first,
        years.last,
        counts.join("; ")
    )
}

#[cfg(test)]
mod tests {
    use super::fitted;

    #[test]
    fn a_name_stands_whole_or_shows_that_it_was_cut_or_not_at_all() {
        assert_eq!(fitted("Kale", 40.0).as_deref(), Some("Kale"));
        assert_eq!(fitted("Cabbage", 36.0).as_deref(), Some("Cabb…"));
        assert_eq!(fitted("Cabbage", 15.0), None);
        assert_eq!(fitted("", 40.0), None);
    }
}
