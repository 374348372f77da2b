//! Areas and lengths as they lie on the ground.

use crate::outline::{Coordinates, Outline, Ring};
use geographiclib_rs::{Geodesic, InverseGeodesic, PolygonArea, Winding};
use quantity::{Area, Length};

/// Signed area (counter-clockwise above zero) and length around, m² and m.
///
/// Degrees: a polygon of geodesics on the WGS 84 ellipsoid, after Karney, Algorithms for geodesics,
/// J. Geodesy 87 (2013) 43-55. A plain grid: the surveyor's formula.
fn ring(coordinates: Coordinates, ring: &Ring) -> (f64, f64) {
    match coordinates {
        Coordinates::Degrees => {
            let earth = Geodesic::wgs84();
            let mut polygon = PolygonArea::new(&earth, Winding::CounterClockwise);
            for [lon, lat] in ring {
                polygon.add_point(*lat, *lon);
            }
            let (around, inside, _) = polygon.compute(true);
            (inside, around)
        }
        Coordinates::Grid(unit) => {
            let m = unit.metres();
            // From the first corner, so that a grid's large numbers do not eat the small ones.
            let [x0, y0] = ring.first().copied().unwrap_or_default();
            let mut twice = 0.0;
            let mut around = 0.0;
            for (at, [x, y]) in ring.iter().enumerate() {
                let [xn, yn] = ring.get(at + 1).copied().unwrap_or([x0, y0]);
                twice += (x - x0) * (yn - y0) - (xn - x0) * (y - y0);
                around += (xn - x).hypot(yn - y);
            }
            (twice / 2.0 * m * m, around * m)
        }
    }
}

pub(crate) fn ring_area(coordinates: Coordinates, corners: &Ring) -> Area {
    Area::square_metres(ring(coordinates, corners).0.abs())
}

pub(crate) fn ring_around(coordinates: Coordinates, corners: &Ring) -> Length {
    Length::metres(ring(coordinates, corners).1)
}

/// The ground inside an outline without its holes. The direction of walking does not matter.
pub fn area(outline: &Outline) -> Area {
    let of = |r: &Ring| ring_area(outline.coordinates, r).si();
    let whole: f64 = outline
        .parts
        .iter()
        .map(|p| of(&p.outer) - p.holes.iter().map(of).sum::<f64>())
        .sum();
    Area::square_metres(whole.max(0.0))
}

/// The length of the fence around an outline, holes not counted.
pub fn around(outline: &Outline) -> Length {
    outline
        .parts
        .iter()
        .map(|p| ring_around(outline.coordinates, &p.outer))
        .sum()
}

/// How far two places lie apart, along a geodesic where they are degrees.
pub fn distance(coordinates: Coordinates, a: [f64; 2], b: [f64; 2]) -> Length {
    Length::metres(match coordinates {
        Coordinates::Degrees => Geodesic::wgs84().inverse(a[1], a[0], b[1], b[0]),
        Coordinates::Grid(unit) => (a[0] - b[0]).hypot(a[1] - b[1]) * unit.metres(),
    })
}
