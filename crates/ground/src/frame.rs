//! A plane in metres for work inside a block.

use crate::outline::{Coordinates, Outline, Ring, bounds};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};
use serde::{Deserialize, Serialize};

/// A plane in metres, x east and y north of a centre.
///
/// Degrees are laid on it by the azimuthal equidistant projection of the ellipsoid (Snyder, Map
/// Projections: A Working Manual, USGS Professional Paper 1395 (1987) ch. 25; geodesics after
/// Karney 2013): every place lies in its true direction and at its true distance from the centre.
/// Lengths elsewhere are too long by at most (r / R)² / 6 of themselves at the distance r from the
/// centre, R = 6,371 km: 4 parts in a thousand million at 1 km, 4 in ten million at 10 km. Across
/// a block that is far less than the width of a core; `frame_keeps_lengths` in the tests holds it to
/// geodesic distances.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "as")]
pub enum Frame {
    Earth {
        /// Longitude and latitude of the centre, degrees.
        centre: [f64; 2],
    },
    Grid {
        /// In the grid's own unit.
        centre: [f64; 2],
        metres: f64,
    },
}

impl Frame {
    /// A plane around the middle of some outlines, which must all be of one kind of coordinates; none
    /// where they have no corner.
    pub fn around<'a>(outlines: impl IntoIterator<Item = &'a Outline>) -> Option<Self> {
        let mut coordinates = None;
        let corners: Vec<[f64; 2]> = outlines
            .into_iter()
            .inspect(|o| coordinates = Some(o.coordinates))
            .flat_map(Outline::corners)
            .collect();
        let [w, s, e, n] = bounds(corners.into_iter())?;
        let centre = [w + (e - w) / 2.0, s + (n - s) / 2.0];
        Some(match coordinates? {
            Coordinates::Degrees => Self::Earth { centre },
            Coordinates::Grid(unit) => Self::Grid {
                centre,
                metres: unit.metres(),
            },
        })
    }

    /// From an outline's numbers to metres.
    pub fn to_plane(&self, [x, y]: [f64; 2]) -> Coord {
        match self {
            Self::Earth { centre: [lon, lat] } => {
                let (metres, azimuth, _, _): (f64, f64, f64, f64) =
                    Geodesic::wgs84().inverse(*lat, *lon, y, x);
                let (east, north) = azimuth.to_radians().sin_cos();
                Coord {
                    x: metres * east,
                    y: metres * north,
                }
            }
            Self::Grid { centre, metres } => Coord {
                x: (x - centre[0]) * metres,
                y: (y - centre[1]) * metres,
            },
        }
    }

    /// From metres back to the outline's numbers.
    pub fn from_plane(&self, at: Coord) -> [f64; 2] {
        match self {
            Self::Earth { centre: [lon, lat] } => {
                let azimuth = at.x.atan2(at.y).to_degrees();
                let (lat, lon) = Geodesic::wgs84().direct(*lat, *lon, azimuth, at.x.hypot(at.y));
                [lon, lat]
            }
            Self::Grid { centre, metres } => [at.x / metres + centre[0], at.y / metres + centre[1]],
        }
    }

    fn ring(&self, ring: &Ring) -> LineString {
        ring.iter().map(|c| self.to_plane(*c)).collect()
    }

    /// An outline in metres.
    pub fn shape(&self, outline: &Outline) -> MultiPolygon {
        outline
            .parts
            .iter()
            .map(|p| {
                Polygon::new(
                    self.ring(&p.outer),
                    p.holes.iter().map(|h| self.ring(h)).collect(),
                )
            })
            .collect()
    }
}
