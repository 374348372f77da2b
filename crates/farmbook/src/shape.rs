use crate::{Error, Result, valid};
use quantity::{Area, Length};
use serde::{Deserialize, Serialize};

/// How a block lies on the ground.
///
/// Beds lie side by side with one path between each two: `n` beds have `n − 1` paths. The
/// paths at the outer edges belong to no bed and are not counted.
///
/// ```text
///  | bed | path | bed | path | bed |      3 beds, 2 paths
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "as")]
pub enum Shape {
    Rectangle {
        length: Length,
        width: Length,
    },
    Beds {
        beds: u32,
        bed_length: Length,
        bed_width: Length,
        path_width: Length,
        /// Whether material goes on the paths too, as when the whole ground is spread before the
        /// beds are drawn.
        spread_on_paths: bool,
    },
    /// Measured some other way.
    Stated {
        area: Area,
    },
}

impl Shape {
    /// The ground that material goes on: the beds, and the paths between them where they are
    /// spread too.
    pub fn spread_area(&self) -> Area {
        match self {
            Self::Beds {
                beds,
                bed_length,
                bed_width,
                spread_on_paths: false,
                ..
            } => *bed_length * *bed_width * f64::from(*beds),
            _ => self.whole_area(),
        }
    }

    /// The ground the block takes up, with the paths between its beds.
    pub fn whole_area(&self) -> Area {
        match self {
            Self::Rectangle { length, width } => *length * *width,
            Self::Beds {
                beds,
                bed_length,
                bed_width,
                path_width,
                ..
            } => {
                let paths = f64::from(beds.saturating_sub(1));
                *bed_length * (*bed_width * f64::from(*beds) + *path_width * paths)
            }
            Self::Stated { area } => *area,
        }
    }

    pub(crate) fn check(&self) -> Result<()> {
        match self {
            Self::Rectangle { length, width } => {
                valid::length("The length", *length)?;
                valid::length("The width", *width)?;
            }
            Self::Beds {
                beds,
                bed_length,
                bed_width,
                path_width,
                ..
            } => {
                if !(1..=10_000).contains(beds) {
                    return Err(Error::invalid("The number of beds", "from 1 to 10,000"));
                }
                valid::length("The bed length", *bed_length)?;
                valid::length("The bed width", *bed_width)?;
                valid::not_negative("The path width", path_width.to_feet(), 1_000.0, "ft")?;
            }
            Self::Stated { .. } => {}
        }
        valid::area("The area", self.whole_area())
    }
}
