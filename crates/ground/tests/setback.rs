//! The strip beside water and wells: how wide it is, to the foot, and that more room never leaves more
//! ground.

#![allow(clippy::unwrap_used)]

use geographiclib_rs::{DirectGeodesic, Geodesic};
use ground::{
    BedPlan, Coordinates, GridUnit, Mark, Outline, Part, Spot, apart, area, keep_away, lay_out,
    may_reach,
};
use proptest::prelude::*;
use quantity::Length;

const FEET: Coordinates = Coordinates::Grid(GridUnit::Feet);

fn outline(coordinates: Coordinates, outer: Vec<[f64; 2]>) -> Outline {
    Outline {
        coordinates,
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    }
}

/// 200 ft wide and 400 ft high, its west side so many feet east of the line x = 0.
fn field(west: f64) -> Outline {
    outline(
        FEET,
        vec![
            [west, 0.0],
            [west + 200.0, 0.0],
            [west + 200.0, 400.0],
            [west, 400.0],
        ],
    )
}

fn stream(width: Option<f64>) -> Mark {
    Mark {
        coordinates: FEET,
        spot: Spot::Line(vec![[0.0, -1_000.0], [0.0, 1_400.0]]),
        width: width.map(Length::feet),
    }
}

fn left_out(field: &Outline, mark: &Mark, feet: f64) -> f64 {
    keep_away(field, None, None, &[(mark, Length::feet(feet))])
        .map_or(0.0, |s| s.area.to_square_feet())
}

#[test]
fn a_hundred_feet_are_a_hundred_feet() {
    // The field's side lies so far from the edge of a stream of no width.
    for (away, wanted) in [(99.0, 400.0), (100.0, 0.0), (101.0, 0.0), (0.0, 40_000.0)] {
        let found = left_out(&field(away), &stream(Some(0.0)), 100.0);
        assert!((found - wanted).abs() < 0.1, "{away}: {found}");
    }
    // A stream 20 ft wide reaches 10 ft nearer, and one of which nobody said so, 3 ft.
    for (width, wanted) in [(Some(20.0), 4_000.0), (None, 1_200.0)] {
        let found = left_out(&field(100.0), &stream(width), 100.0);
        assert!((found - wanted).abs() < 0.1, "{width:?}: {found}");
    }
    for (width, away) in [(Some(0.0), 99.0), (Some(20.0), 89.0), (None, 96.0)] {
        let found = apart(&field(99.0), &stream(width)).unwrap().to_feet();
        assert!((found - away).abs() < 1e-6, "{width:?}: {found}");
    }
}

#[test]
fn a_well_takes_a_circle_and_a_pond_what_is_around_it() {
    let well = Mark {
        coordinates: FEET,
        spot: Spot::Point([100.0, 200.0]),
        width: None,
    };
    // Wholly in the field: a circle.
    let circle = std::f64::consts::PI * 50.0 * 50.0;
    let found = left_out(&field(0.0), &well, 50.0);
    assert!((found / circle - 1.0).abs() < 5e-5, "{found} {circle}");
    // A pond 20 by 20 ft whichever way its corners are walked, with 10 ft around it: its own ground,
    // four sides and a circle in quarters.
    let ring = [[90.0, 190.0], [110.0, 190.0], [110.0, 210.0], [90.0, 210.0]];
    let wanted = 400.0 + 4.0 * 200.0 + std::f64::consts::PI * 100.0;
    for backward in [false, true] {
        let mut corners = ring.to_vec();
        if backward {
            corners.reverse();
        }
        let pond = Mark {
            coordinates: FEET,
            spot: Spot::Area(corners),
            width: None,
        };
        let found = left_out(&field(0.0), &pond, 10.0);
        assert!((found / wanted - 1.0).abs() < 3e-4, "{found} {wanted}");
    }
}

#[test]
fn on_the_earth_it_is_as_wide() {
    // A square of 100 m at 45° N and a stream along the meridian 20 m west of it.
    let earth = Geodesic::wgs84();
    let to = |lat: f64, lon: f64, bearing: f64, m: f64| -> [f64; 2] {
        let (lat, lon) = earth.direct(lat, lon, bearing, m);
        [lon, lat]
    };
    let [west, south] = [-72.0, 45.0];
    let [east, _] = to(south, west, 90.0, 100.0);
    let [_, north] = to(south, west, 0.0, 100.0);
    let square = outline(
        Coordinates::Degrees,
        vec![[west, south], [east, south], [east, north], [west, north]],
    );
    let [beside, _] = to(south, west, 270.0, 20.0);
    let stream = Mark {
        coordinates: Coordinates::Degrees,
        spot: Spot::Line(vec![[beside, south - 0.01], [beside, north + 0.01]]),
        width: Some(Length::ZERO),
    };
    let strip = keep_away(&square, None, None, &[(&stream, Length::metres(30.0))]).unwrap();
    assert!((strip.area.si() - 1_000.0).abs() < 1.0, "{:?}", strip.area);
    assert!((strip.share - 0.1).abs() < 1e-4);
    assert!(!may_reach(&square, &stream, Length::metres(15.0)));
    // What lies in other coordinates is not seen.
    assert!(keep_away(&field(0.0), None, None, &[(&stream, Length::feet(1e4))]).is_none());
}

#[test]
fn beds_are_told_and_counted_by_their_tops() {
    let field = field(10.0);
    let plan = BedPlan {
        bed_width: Length::feet(4.0),
        path_width: Length::feet(1.0),
        bearing: Some(0.0),
        beds: Some(40),
    };
    let layout = lay_out(&field, &plan).unwrap();
    let mark = stream(Some(0.0));
    let from = [(&mark, Length::feet(17.0))];
    let all = keep_away(&field, None, Some(&layout), &from).unwrap();
    let tops = keep_away(&field, Some(&layout), Some(&layout), &from).unwrap();
    assert!((all.area.to_square_feet() - 2_800.0).abs() < 0.1);
    assert_eq!(all.beds, tops.beds);
    assert_eq!(tops.beds.first(), Some(&1));
    let share: f64 = tops.area.to_square_feet() / layout.tops.to_square_feet();
    assert!((tops.share - share).abs() < 1e-9);
    assert!(tops.area < all.area);
}

proptest! {
    #[test]
    fn more_room_never_leaves_more_ground(
        corners in proptest::collection::vec((-300.0..300.0_f64, -300.0..300.0_f64), 2..7),
        width in 0.0..40.0_f64,
        distance in 0.0..300.0_f64,
        more in 0.0..200.0_f64,
        form in 0..3_u8,
    ) {
        let places: Vec<[f64; 2]> = corners.iter().map(|(x, y)| [*x, *y]).collect();
        let spot = match form {
            0 => Spot::Point(places[0]),
            1 => Spot::Line(places),
            // A triangle, whichever way round.
            _ => Spot::Area(vec![places[0], places[1], [places[0][1], places[1][0]]]),
        };
        let mark = Mark { coordinates: FEET, spot, width: Some(Length::feet(width)) };
        let field = field(-100.0);
        let whole = area(&field).to_square_feet();
        let (less, larger) = (left_out(&field, &mark, distance), left_out(&field, &mark, distance + more));
        prop_assert!(larger >= less - 0.11, "{less} {larger}");
        prop_assert!(larger <= whole * (1.0 + 1e-9));
        // What is left lies as far away as is asked, told by another measure.
        let away = apart(&field, &mark).unwrap().to_feet();
        if away > distance + 1e-6 {
            prop_assert!(less == 0.0, "{away} {distance} {less}");
        } else if away < distance - 0.5 {
            prop_assert!(less > 0.0, "{away} {distance}");
        }
    }
}
