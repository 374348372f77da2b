//! GPX 1.0 and 1.1: a track or a route walked round a block. The form knows no areas.

use crate::error::GroundError;
use crate::outline::{Feature, Ring, tidy_name};
use crate::read::{Counted, Found};
use crate::walked;
use crate::xml::{Step, attribute, ends, walk};

const FORM: &str = "GPX";

#[derive(Default)]
struct Walk {
    name: String,
    places: Ring,
    pieces: usize,
}

pub(crate) fn read(text: &str) -> Result<Found, GroundError> {
    let mut found = Found::default();
    let mut count = Counted::default();
    let mut open: Option<Walk> = None;
    walk(FORM, text, |path, step| {
        match step {
            Step::Open(_) if ends(path, &["trk"]) || ends(path, &["rte"]) => {
                open = Some(Walk::default());
            }
            Step::Open(start) if ends(path, &["trkpt"]) || ends(path, &["rtept"]) => {
                let degrees =
                    |name: &str| attribute(start, name).and_then(|t| t.trim().parse::<f64>().ok());
                let (Some(lat), Some(lon)) = (degrees("lat"), degrees("lon")) else {
                    return Err(GroundError::broken(
                        FORM,
                        "a point has no lat and lon in degrees",
                    ));
                };
                if let Some(walk) = open.as_mut() {
                    count.corner(walk.places.len())?;
                    walk.places.push([lon, lat]);
                }
            }
            Step::Open(_) => {}
            Step::Close(text) => {
                if ends(path, &["wpt"]) {
                    found.pass_over("a point");
                } else if let Some(walk) = open.as_mut() {
                    if ends(path, &["trk", "name"]) || ends(path, &["rte", "name"]) {
                        walk.name = tidy_name(text);
                    } else if ends(path, &["trkseg"]) {
                        walk.pieces += 1;
                    }
                }
                if (ends(path, &["trk"]) || ends(path, &["rte"]))
                    && let Some(walk) = open.take()
                {
                    if walk.places.is_empty() {
                        found.pass_over("a walk without points");
                    } else {
                        count.feature()?;
                        found.features.push(feature(walk));
                    }
                }
            }
        }
        Ok(())
    })?;
    Ok(found)
}

fn feature(walk: Walk) -> Feature {
    let mut notes = Vec::new();
    if walk.pieces > 1 {
        notes.push(format!(
            "The walk was recorded in {} pieces, which were joined in their order.",
            walk.pieces
        ));
    }
    let outline = walked::outline(walk.places, &mut notes);
    Feature {
        name: walk.name,
        outline,
        notes,
        walked: true,
    }
}
