use crate::limits::LONGEST_NAME;
use serde::{Deserialize, Serialize};

/// Corners in walking order as `[x, y]`: longitude and latitude in degrees, or east and north on a
/// plain grid. The first corner is not said again at the end.
pub type Ring = Vec<[f64; 2]>;

/// The unit of a plain grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GridUnit {
    /// International feet.
    Feet,
    /// US survey feet, 1200/3937 m.
    SurveyFeet,
    Metres,
}

impl GridUnit {
    /// Metres in one.
    pub fn metres(self) -> f64 {
        match self {
            Self::Feet => quantity::METRES_PER_FOOT,
            Self::SurveyFeet => 1_200.0 / 3_937.0,
            Self::Metres => 1.0,
        }
    }
}

/// What the numbers of an outline are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "as", content = "unit")]
pub enum Coordinates {
    /// Degrees on the WGS 84 ellipsoid.
    Degrees,
    /// East and north on a flat sheet, as a tape measures them.
    Grid(GridUnit),
}

/// One piece of ground and what is left out inside it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    pub outer: Ring,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Ring>,
}

/// The outline of a block; mostly of one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outline {
    pub coordinates: Coordinates,
    pub parts: Vec<Part>,
}

impl Outline {
    /// Every corner, those of holes too.
    pub fn corners(&self) -> impl Iterator<Item = [f64; 2]> {
        self.rings().flatten().copied()
    }

    pub fn rings(&self) -> impl Iterator<Item = &Ring> {
        self.parts
            .iter()
            .flat_map(|p| std::iter::once(&p.outer).chain(&p.holes))
    }

    /// West, south, east, north of its corners; none where it has no corner.
    pub fn bounds(&self) -> Option<[f64; 4]> {
        bounds(self.corners())
    }

    /// With latitude and longitude exchanged.
    #[must_use]
    pub fn swapped(&self) -> Self {
        let turn = |ring: &Ring| ring.iter().map(|[x, y]| [*y, *x]).collect();
        Self {
            coordinates: self.coordinates,
            parts: self
                .parts
                .iter()
                .map(|p| Part {
                    outer: turn(&p.outer),
                    holes: p.holes.iter().map(turn).collect(),
                })
                .collect(),
        }
    }
}

pub(crate) fn bounds(corners: impl Iterator<Item = [f64; 2]>) -> Option<[f64; 4]> {
    corners.fold(None, |so_far, [x, y]| {
        let [w, s, e, n] = so_far.unwrap_or([x, y, x, y]);
        Some([w.min(x), s.min(y), e.max(x), n.max(y)])
    })
}

/// An outline as a file names it.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Empty where the file gives none.
    pub name: String,
    pub outline: Outline,
    /// What was done to it on the way in, each a sentence.
    pub notes: Vec<String>,
    /// Whether it was walked with a receiver rather than drawn.
    pub walked: bool,
}

/// A name on one line, without control signs, no longer than a block's.
pub(crate) fn tidy_name(text: &str) -> String {
    let words: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    words
        .chars()
        .take(LONGEST_NAME)
        .collect::<String>()
        .trim()
        .to_owned()
}

/// A ring as kept: without the first corner at the end and without the same corner twice running.
pub(crate) fn tidy_ring(mut ring: Ring) -> Ring {
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    ring
}
