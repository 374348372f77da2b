//! KML 2.2: polygons of placemarks, coordinates as lon,lat or lon,lat,altitude between blanks.

use crate::error::GroundError;
use crate::outline::{Coordinates, Feature, Outline, Part, Ring, tidy_name, tidy_ring};
use crate::read::{Counted, Found};
use crate::xml::{Step, ends, walk};

const FORM: &str = "KML";

#[derive(Default)]
struct Placemark {
    name: String,
    parts: Vec<Part>,
    notes: Vec<String>,
}

pub(crate) fn read(text: &str) -> Result<Found, GroundError> {
    let mut found = Found::default();
    let mut count = Counted::default();
    let mut open: Option<Placemark> = None;
    let mut part: Option<Part> = None;
    walk(FORM, text, |path, step| {
        match step {
            Step::Open(_) if ends(path, &["Placemark"]) => open = Some(Placemark::default()),
            Step::Open(_) if ends(path, &["Polygon"]) => {
                part = Some(Part {
                    outer: Ring::new(),
                    holes: Vec::new(),
                });
            }
            Step::Open(_) => {}
            Step::Close(text) => {
                let Some(mark) = open.as_mut() else {
                    return Ok(());
                };
                if ends(path, &["Placemark", "name"]) {
                    mark.name = tidy_name(text);
                } else if ends(path, &["outerBoundaryIs", "LinearRing", "coordinates"]) {
                    if let Some(part) = part.as_mut() {
                        part.outer = tidy_ring(coordinates(text, &mut count)?);
                    }
                } else if ends(path, &["innerBoundaryIs", "LinearRing", "coordinates"]) {
                    if let Some(part) = part.as_mut() {
                        part.holes.push(tidy_ring(coordinates(text, &mut count)?));
                    }
                } else if ends(path, &["LineString", "coordinates"])
                    || ends(path, &["LinearRing", "coordinates"])
                {
                    let ring = coordinates(text, &mut count)?;
                    if ring.len() > 3 && ring.first() == ring.last() {
                        mark.notes.push("It was drawn as a line that ends where it begins, and is taken as an outline.".to_owned());
                        mark.parts.push(Part {
                            outer: tidy_ring(ring),
                            holes: Vec::new(),
                        });
                    } else {
                        found.pass_over("a line");
                    }
                } else if ends(path, &["Point"]) {
                    found.pass_over("a point");
                } else if ends(path, &["Polygon"]) {
                    mark.parts.extend(part.take());
                } else if ends(path, &["Placemark"])
                    && let Some(mark) = open.take()
                    && !mark.parts.is_empty()
                {
                    count.feature()?;
                    found.features.push(Feature {
                        name: mark.name,
                        outline: Outline {
                            coordinates: Coordinates::Degrees,
                            parts: mark.parts,
                        },
                        notes: mark.notes,
                        walked: false,
                    });
                }
            }
        }
        Ok(())
    })?;
    Ok(found)
}

fn coordinates(text: &str, count: &mut Counted) -> Result<Ring, GroundError> {
    let mut ring = Ring::new();
    for place in text.split_whitespace() {
        let mut numbers = place.split(',').map(str::parse::<f64>);
        let (Some(Ok(x)), Some(Ok(y))) = (numbers.next(), numbers.next()) else {
            let shown: String = place.chars().take(40).collect();
            return Err(GroundError::broken(
                FORM,
                format!("“{shown}” is no place such as -72.6,44.1"),
            ));
        };
        count.corner(ring.len())?;
        ring.push([x, y]);
    }
    Ok(ring)
}
