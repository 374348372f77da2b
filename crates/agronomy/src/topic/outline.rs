//! The area inside corners on the ground.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::working::{Evidence, Figure, Source};
use geographiclib_rs::{Geodesic, PolygonArea, Winding};
use quantity::{Area, plain};

/// The most corners that are read.
const MOST: usize = 10_000;

pub(super) const TOPICS: &[Topic] = &[Topic {
    name: "outline",
    about: "The area inside corners given as latitude and longitude (WGS 84).",
    keys: &[Key::needed(
        "corners",
        "three or more corners in walking order, each latitude and longitude in degrees parted by a comma, corners parted by semicolons",
    )],
    example: "corners=\"40.4700,-74.4300; 40.4700,-74.4292; 40.4707,-74.4292; 40.4707,-74.4300\"",
    run: outline,
}];

fn corners(i: &Inputs<'_>) -> Result<Vec<(f64, f64)>, TopicError> {
    let expected = "latitude and longitude in degrees, e.g. 40.4700,-74.4300";
    let mut all = Vec::new();
    for corner in i
        .text("corners")?
        .split(';')
        .filter(|c| !c.trim().is_empty())
    {
        let bad = || TopicError::BadValue {
            key: "corners".to_owned(),
            found: corner.trim().chars().take(60).collect(),
            expected: expected.to_owned(),
        };
        let (lat, lon) = corner.split_once(',').ok_or_else(bad)?;
        let degrees = |text: &str, most: f64| {
            text.trim()
                .parse::<f64>()
                .ok()
                .filter(|d| d.abs() <= most)
                .ok_or_else(bad)
        };
        all.push((degrees(lat, 90.0)?, degrees(lon, 180.0)?));
    }
    if !(3..=MOST).contains(&all.len()) {
        return Err(TopicError::Together(format!(
            "An outline takes 3 to {} corners, and {} were given.",
            plain(MOST as f64, 5),
            all.len()
        )));
    }
    Ok(all)
}

/// Area of a polygon of geodesics on the WGS 84 ellipsoid, after Karney, Algorithms for geodesics,
/// Journal of Geodesy 87 (2013), 43-55. The direction of walking does not matter.
fn outline(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let corners = corners(i)?;
    let earth = Geodesic::wgs84();
    let mut polygon = PolygonArea::new(&earth, Winding::CounterClockwise);
    for (lat, lon) in &corners {
        polygon.add_point(*lat, *lon);
    }
    let (perimeter_m, area_m2, _) = polygon.compute(true);
    let area_m2 = area_m2.abs();
    let karney = || {
        Source::new(
            "C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013) 43-55, WGS 84 ellipsoid",
            Evidence::Derived,
        )
    };
    let mut figure = Figure::new("Area inside the outline");
    figure.step(
        "around it",
        perimeter_m,
        "m",
        format!("{} corners", corners.len()),
        karney(),
    );
    figure.step("inside it", area_m2, "m²", "polygon of geodesics", karney());
    let area = Area::square_metres(area_m2);
    figure.step(
        "in acres",
        area.to_acres(),
        "acre",
        format!("{} m² ÷ 4,046.8564224", plain(area_m2, 6)),
        Source::arithmetic(),
    );
    figure.step(
        "in square feet",
        area.to_square_feet(),
        "ft²",
        format!("{} acre × 43,560", plain(area.to_acres(), 6)),
        Source::arithmetic(),
    );
    Ok(figure)
}
