//! Where the blocks lie: their outlines from a file, what is wrong with them, their areas and beds,
//! and where in them to take cores.
//!
//! Pure: bytes and values in, values out. Places on the earth are WGS 84 degrees; work inside a
//! block is done on a plane in metres ([`Frame`]) whose error is told there.

mod beds;
mod check;
mod earth;
mod error;
mod form;
mod frame;
mod geojson;
mod gpx;
mod keep_away;
mod kml;
mod limits;
mod mark;
mod outline;
mod parcel;
mod random;
mod read;
mod sample;
mod shapefile;
mod site;
mod strata;
mod walk;
mod walked;
mod waypoints;
mod xml;

pub use beds::{Bed, BedLayout, BedPlan, Lie, compass, lay_out};
pub use check::{Doubt, Kind, Weight, doubts, overlaps};
pub use earth::{area, around, distance};
pub use error::GroundError;
pub use form::FileForm;
pub use frame::Frame;
pub use keep_away::{Strip, keep_away, may_reach};
pub use mark::{Mark, Spot, USUAL_WIDTH, apart};
pub use outline::{Coordinates, Feature, GridUnit, Outline, Part, Ring};
pub use parcel::{edges, line_from, merge, split};
pub use random::Chance;
pub use read::{FileMark, MARK_KINDS, OutlineFile, read};
pub use sample::{
    Core, Corner, MOST_CORES, Place, SamplePlan, SampleWalk, Start, by_chance, even, sample,
    sample_beside, unevenness, zigzag,
};
pub use site::{LeaveOut, Site};
pub use walk::{Walk, shortest_walk};
pub use waypoints::waypoints;
