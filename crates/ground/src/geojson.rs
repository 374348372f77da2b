//! GeoJSON (RFC 7946): polygons of features, longitude before latitude.

use crate::error::GroundError;
use crate::limits::MOST_DEPTH;
use crate::mark::{Mark, Spot};
use crate::outline::{Coordinates, Feature, Outline, Part, Ring, tidy_name, tidy_ring};
use crate::read::{Counted, FileMark, Found, MARK_KINDS};
use quantity::Length;
use serde_json::{Map, Value};

const FORM: &str = "GeoJSON";
/// What a feature's name may be called, first the likeliest.
pub(crate) const NAMES: [&str; 7] = ["name", "block", "field", "label", "title", "plot", "id"];

pub(crate) fn read(text: &str) -> Result<Found, GroundError> {
    let whole: Value = serde_json::from_str(text).map_err(|e| {
        GroundError::broken(FORM, format!("line {} is not well-formed JSON", e.line()))
    })?;
    let mut found = Found::default();
    if let Some(projection) = told_projection(&whole) {
        found.projection = Some(projection);
    }
    let mut count = Counted::default();
    take(&whole, &mut found, &mut count, 0)?;
    Ok(found)
}

/// Before RFC 7946 a file could name another system than degrees.
fn told_projection(whole: &Value) -> Option<String> {
    let name = whole.pointer("/crs/properties/name")?.as_str()?;
    let degrees = ["CRS84", "EPSG::4326", "EPSG:4326"];
    (!degrees.iter().any(|d| name.ends_with(d))).then(|| tidy_name(name))
}

fn kind(value: &Value) -> &str {
    value.get("type").and_then(Value::as_str).unwrap_or("")
}

fn take(
    value: &Value,
    found: &mut Found,
    count: &mut Counted,
    depth: usize,
) -> Result<(), GroundError> {
    match kind(value) {
        "FeatureCollection" => {
            if depth > MOST_DEPTH {
                return Err(GroundError::broken(FORM, "collections lie too deep"));
            }
            let Some(features) = value.get("features").and_then(Value::as_array) else {
                return Err(GroundError::broken(
                    FORM,
                    "the collection has no list of features",
                ));
            };
            for feature in features {
                take(feature, found, count, depth + 1)?;
            }
        }
        "Feature" => {
            let name = name_of(value);
            match value.get("geometry") {
                Some(geometry) if !geometry.is_null() => match mark_kind(value) {
                    Some(kind) => mark(value, geometry, kind, found, count)?,
                    None => feature(geometry, name, found, count)?,
                },
                _ => found.pass_over("a feature without a place"),
            }
        }
        "" => {
            return Err(GroundError::broken(
                FORM,
                "it is JSON, but nothing in it says that it is a feature or a collection of features",
            ));
        }
        // A geometry alone, without a name.
        _ => feature(value, String::new(), found, count)?,
    }
    Ok(())
}

fn name_of(feature: &Value) -> String {
    let text = |value: &Value| match value {
        Value::String(text) => tidy_name(text),
        Value::Number(number) => number.to_string(),
        _ => String::new(),
    };
    let none = Map::new();
    let properties = feature
        .get("properties")
        .and_then(Value::as_object)
        .unwrap_or(&none);
    NAMES
        .iter()
        .filter_map(|wanted| {
            properties
                .iter()
                .find(|(key, _)| key.eq_ignore_ascii_case(wanted))
                .map(|(_, value)| text(value))
        })
        .chain(feature.get("id").map(text))
        .find(|name| !name.is_empty())
        .unwrap_or_default()
}

/// What a feature says it is, where that is nothing to spread on.
fn mark_kind(feature: &Value) -> Option<&'static str> {
    let told = feature.get("properties")?.get("kind")?.as_str()?;
    MARK_KINDS
        .into_iter()
        .find(|k| k.eq_ignore_ascii_case(told.trim()))
}

/// Something beside the blocks, with `width_m` or `width_ft` across its line.
fn mark(
    feature: &Value,
    geometry: &Value,
    of: &'static str,
    found: &mut Found,
    count: &mut Counted,
) -> Result<(), GroundError> {
    let list = || geometry.get("coordinates").and_then(Value::as_array);
    let spot = match kind(geometry) {
        "Point" => {
            let one = list().map(|at| vec![Value::Array(at.clone())]);
            positions(one.as_ref(), count)?
                .first()
                .copied()
                .map(Spot::Point)
        }
        "LineString" => Some(Spot::Line(positions(list(), count)?)),
        "Polygon" => polygon(list(), count)?.map(|part| Spot::Area(part.outer)),
        _ => None,
    };
    let Some(spot) = spot else {
        found.pass_over("a thing of many pieces");
        return Ok(());
    };
    let number = |key: &str| feature.get("properties")?.get(key)?.as_f64();
    let width = number("width_m")
        .map(Length::metres)
        .or_else(|| number("width_ft").map(Length::feet));
    count.feature()?;
    // Its own name alone: that it is a well is no name.
    let name = feature.pointer("/properties/name").and_then(Value::as_str);
    found.marks.push(FileMark {
        kind: of.to_owned(),
        name: name.map(tidy_name).unwrap_or_default(),
        mark: Mark {
            coordinates: Coordinates::Degrees,
            spot,
            width,
        },
    });
    Ok(())
}

fn feature(
    geometry: &Value,
    name: String,
    found: &mut Found,
    count: &mut Counted,
) -> Result<(), GroundError> {
    let mut parts = Vec::new();
    let mut notes = Vec::new();
    geometries(geometry, &mut parts, &mut notes, found, count, 0)?;
    if parts.is_empty() {
        return Ok(());
    }
    count.feature()?;
    found.features.push(Feature {
        name,
        outline: Outline {
            coordinates: Coordinates::Degrees,
            parts,
        },
        notes,
        walked: false,
    });
    Ok(())
}

fn geometries(
    geometry: &Value,
    parts: &mut Vec<Part>,
    notes: &mut Vec<String>,
    found: &mut Found,
    count: &mut Counted,
    depth: usize,
) -> Result<(), GroundError> {
    let list = |key: &str| geometry.get(key).and_then(Value::as_array);
    match kind(geometry) {
        "Polygon" => parts.extend(polygon(list("coordinates"), count)?),
        "MultiPolygon" => {
            for one in list("coordinates").into_iter().flatten() {
                parts.extend(polygon(one.as_array(), count)?);
            }
        }
        "LineString" => {
            let ring = positions(list("coordinates"), count)?;
            // A line that comes back to its start is an outline drawn with the wrong tool.
            if ring.len() > 3 && ring.first() == ring.last() {
                notes.push(
                    "It was drawn as a line that ends where it begins, and is taken as an outline."
                        .to_owned(),
                );
                parts.push(Part {
                    outer: tidy_ring(ring),
                    holes: Vec::new(),
                });
            } else {
                found.pass_over("a line");
            }
        }
        "GeometryCollection" => {
            if depth > MOST_DEPTH {
                return Err(GroundError::broken(FORM, "collections lie too deep"));
            }
            for one in list("geometries").into_iter().flatten() {
                geometries(one, parts, notes, found, count, depth + 1)?;
            }
        }
        "Point" | "MultiPoint" => found.pass_over("a point"),
        "MultiLineString" => found.pass_over("a line"),
        other => {
            return Err(GroundError::broken(
                FORM,
                format!("“{}” is no kind of geometry", tidy_name(other)),
            ));
        }
    }
    Ok(())
}

fn polygon(rings: Option<&Vec<Value>>, count: &mut Counted) -> Result<Option<Part>, GroundError> {
    let mut rings = rings.into_iter().flatten();
    let Some(outer) = rings.next() else {
        return Ok(None);
    };
    let outer = tidy_ring(positions(outer.as_array(), count)?);
    let holes = rings
        .map(|ring| positions(ring.as_array(), count).map(tidy_ring))
        .collect::<Result<_, _>>()?;
    Ok(Some(Part { outer, holes }))
}

fn positions(list: Option<&Vec<Value>>, count: &mut Counted) -> Result<Ring, GroundError> {
    let list = list.ok_or_else(|| GroundError::broken(FORM, "an outline has no corners"))?;
    let mut ring = Ring::new();
    for position in list {
        let number = |at: usize| position.get(at).and_then(Value::as_f64);
        let (Some(x), Some(y)) = (number(0), number(1)) else {
            let shown: String = position.to_string().chars().take(40).collect();
            return Err(GroundError::broken(
                FORM,
                format!("“{shown}” is no position such as [-72.6, 44.1]"),
            ));
        };
        count.corner(ring.len())?;
        ring.push([x, y]);
    }
    Ok(ring)
}
