//! A map drawn to scale: ground as shapes, with a scale bar and an arrow to the north.

use ground::Frame;
use maud::{Markup, html};
use quantity::{Length, plain, round_at_most};

/// Up to so many shapes have their number or value written on them; more would lie on each other.
pub(crate) const MOST_LETTERED: usize = 200;

/// Signs of a viewport this wide stand for the map's width.
const WIDE: f64 = 640.0;
const TALLEST: f64 = 900.0;
const MARGIN: f64 = 26.0;
const FOOT: f64 = 34.0;

/// From metres on a plane to the picture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plot {
    west: f64,
    north: f64,
    /// Picture units to a metre.
    scale: f64,
    wide: f64,
    high: f64,
}

impl Plot {
    /// A picture around some places; none where there is none.
    pub(crate) fn around(places: impl Iterator<Item = geo::Coord>) -> Option<Self> {
        let mut bounds: Option<[f64; 4]> = None;
        for c in places {
            let [w, s, e, n] = bounds.unwrap_or([c.x, c.y, c.x, c.y]);
            bounds = Some([w.min(c.x), s.min(c.y), e.max(c.x), n.max(c.y)]);
        }
        let [w, s, e, n] = bounds?;
        let (across, up) = ((e - w).max(1.0), (n - s).max(1.0));
        let scale = ((WIDE - 2.0 * MARGIN) / across).min((TALLEST - 2.0 * MARGIN) / up);
        Some(Self {
            west: w - ((WIDE - 2.0 * MARGIN) / scale - across) / 2.0,
            north: n,
            scale,
            wide: WIDE,
            high: up * scale + 2.0 * MARGIN + FOOT,
        })
    }

    pub(crate) fn x(&self, at: geo::Coord) -> f64 {
        MARGIN + (at.x - self.west) * self.scale
    }

    pub(crate) fn y(&self, at: geo::Coord) -> f64 {
        MARGIN + (self.north - at.y) * self.scale
    }

    /// How long a length is in the picture.
    pub(crate) fn long(&self, metres: f64) -> f64 {
        metres * self.scale
    }

    /// A shape as the data of a path; holes are cut out by the even-odd rule.
    pub(crate) fn path(&self, shape: &geo::MultiPolygon) -> String {
        let mut out = String::new();
        for ring in shape
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
        {
            for (at, c) in ring.coords().enumerate() {
                let sign = if at == 0 { 'M' } else { 'L' };
                out.push_str(&format!("{sign}{:.1} {:.1}", self.x(*c), self.y(*c)));
            }
            out.push('Z');
        }
        out
    }

    /// Lines through places as points of a polyline.
    pub(crate) fn line(&self, places: impl Iterator<Item = geo::Coord>) -> String {
        places
            .map(|c| format!("{:.1},{:.1}", self.x(c), self.y(c)))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// The picture around what is drawn.
    pub(crate) fn picture(&self, said: &str, drawn: &Markup) -> Markup {
        let (bar, feet) = self.bar();
        let foot = self.high - FOOT + 12.0;
        let north = self.wide - MARGIN;
        html! {
            figure.plot {
                svg viewBox=(format!("0 0 {:.0} {:.0}", self.wide, self.high)) width="100%" role="img" aria-label=(said) {
                    (drawn)
                    path d=(format!("M{MARGIN} {:.1}v6h{bar:.1}v-6", foot)) fill="none" stroke="#22211e" stroke-width="1.5" {}
                    text x=(format!("{:.1}", MARGIN + bar + 8.0)) y=(format!("{:.1}", foot + 8.0)) {
                        (plain(feet, 5)) " ft"
                    }
                    path d=(format!("M{north:.1} {:.1}v-26m-5 9l5 -9l5 9", foot + 8.0)) fill="none" stroke="#22211e" stroke-width="1.5" {}
                    text x=(format!("{:.1}", north - 12.0)) y=(format!("{:.1}", foot + 8.0)) text-anchor="end" { "N" }
                }
            }
        }
    }

    /// The scale bar: as long as the largest round number of feet up to a third of the width.
    fn bar(&self) -> (f64, f64) {
        let feet = round_at_most(Length::metres(self.wide / 3.0 / self.scale).to_feet());
        (self.long(Length::feet(feet).si()), feet)
    }
}

/// Outlines of one farm on one plane: those of the kind of coordinates that most have.
pub(crate) fn one_frame<'a>(
    outlines: impl Iterator<Item = &'a ground::Outline> + Clone,
) -> Option<Frame> {
    let degrees = |o: &&ground::Outline| o.coordinates == ground::Coordinates::Degrees;
    Frame::around(outlines.clone().filter(degrees)).or_else(|| Frame::around(outlines.take(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_drawn_to_scale_and_the_bar_is_round() {
        let at = |x: f64, y: f64| geo::Coord { x, y };
        let plot = Plot::around([at(0.0, 0.0), at(100.0, 50.0)].into_iter());
        let plot = plot.unwrap_or_else(|| unreachable!("two places"));
        let long = plot.x(at(100.0, 0.0)) - plot.x(at(0.0, 0.0));
        assert!((long - (WIDE - 2.0 * MARGIN)).abs() < 1e-9);
        assert!((plot.y(at(0.0, 0.0)) - plot.y(at(0.0, 50.0)) - long / 2.0).abs() < 1e-9);
        let (bar, feet) = plot.bar();
        assert!((feet - 100.0).abs() < 1e-9);
        assert!((bar / plot.scale - 30.48).abs() < 1e-9);
    }
}
