//! Ground cut and laid together keeps its area; distances to what stands beside it are those of a
//! library for geodesics.

#![allow(clippy::unwrap_used)]

use geographiclib_rs::{DirectGeodesic, Geodesic};
use ground::{
    Coordinates, Corner, GridUnit, Mark, Outline, Part, SamplePlan, Spot, Start, apart, area,
    line_from, merge, sample_beside, split,
};
use quantity::Length;

fn block(coordinates: Coordinates, outer: Vec<[f64; 2]>) -> Outline {
    Outline {
        coordinates,
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    }
}

const METRES: Coordinates = Coordinates::Grid(GridUnit::Metres);

fn square(west: f64, side: f64) -> Outline {
    block(
        METRES,
        vec![
            [west, 0.0],
            [west + side, 0.0],
            [west + side, side],
            [west, side],
        ],
    )
}

fn field() -> Outline {
    block(
        Coordinates::Degrees,
        vec![
            [-73.6, 39.9],
            [-73.5988, 39.9],
            [-73.5986, 39.9009],
            [-73.6, 39.901],
        ],
    )
}

#[test]
fn the_left_of_a_line_is_the_left() {
    // Northward through the middle: the west lies to the left.
    let (left, right) = split(&square(0.0, 10.0), &[[4.0, 2.0], [4.0, 8.0]]).unwrap();
    assert!((area(&left).si() - 40.0).abs() < 1e-9);
    assert!((area(&right).si() - 60.0).abs() < 1e-9);
    // Eastward the north does, in whichever stretch the line is drawn.
    let (north, _) = split(&square(0.0, 10.0), &[[-5.0, 7.0], [20.0, 7.0]]).unwrap();
    assert!((area(&north).si() - 30.0).abs() < 1e-9);
    // A bent line: a corner of 5 by 5 is cut out to the left.
    let (corner, _) = split(&square(0.0, 10.0), &[[5.0, 12.0], [5.0, 5.0], [12.0, 5.0]]).unwrap();
    assert!((area(&corner).si() - 25.0).abs() < 1e-9);
}

#[test]
fn a_line_is_told_from_the_edges_of_the_block() {
    // Three times as long from south to north as it is wide.
    let long = block(
        METRES,
        vec![[0.0, 0.0], [20.0, 0.0], [20.0, 60.0], [0.0, 60.0]],
    );
    for (edge, [x0, y0, x1, y1]) in [
        ("south", [0.0, 6.0, 20.0, 6.0]),
        ("north", [0.0, 54.0, 20.0, 54.0]),
        ("west", [6.0, 0.0, 6.0, 60.0]),
        ("east", [14.0, 0.0, 14.0, 60.0]),
    ] {
        let line = line_from(&long, edge, Length::metres(6.0)).unwrap();
        let mut got = line;
        got.sort_by(|a, b| a.partial_cmp(b).unwrap());
        let close = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9;
        assert!(
            close(got[0], [x0, y0]) && close(got[1], [x1, y1]),
            "{edge}: {got:?}"
        );
        assert!(split(&long, &line).is_ok());
    }
    let why = line_from(&long, "top", Length::metres(6.0)).unwrap_err();
    assert!(why.to_string().contains("south"), "{why}");
}

#[test]
fn both_parts_together_are_the_whole_on_the_ellipsoid() {
    let whole = field();
    let (a, b) = split(&whole, &[[-73.5999, 39.8999], [-73.599, 39.902]]).unwrap();
    let both = area(&a).si() + area(&b).si();
    // Areas on the ellipsoid are sums that reach down to the equator, true to some square millimetres.
    assert!((both - area(&whole).si()).abs() < 1e-3, "{both}");
    let again = merge(&[&a, &b]).unwrap();
    assert_eq!(again.parts.len(), 1);
    assert!((area(&again).si() / area(&whole).si() - 1.0).abs() < 1e-7);
}

#[test]
fn what_cannot_be_cut_or_laid_together_is_said() {
    for line in [
        vec![],
        vec![[1.0, 1.0]],
        vec![[1.0, 1.0], [1.0, 1.0]],
        vec![[20.0, 0.0], [20.0, 10.0]],
        vec![[f64::NAN, 0.0], [5.0, 1.0]],
        vec![[1e300, 0.0], [5.0, 1.0]],
        vec![[0.0, 5.0], [10.0, 5.0], [5.0, 9.0], [5.0, 1.0]],
    ] {
        let why = split(&square(0.0, 10.0), &line).unwrap_err().to_string();
        assert!(why.ends_with('.'), "{line:?}: {why}");
    }
    assert!(merge(&[&field()]).is_err());
    assert!(merge(&[&field(), &square(0.0, 5.0)]).is_err());
    // Apart they stay two pieces of one block.
    let apart = merge(&[&square(0.0, 5.0), &square(50.0, 5.0)]).unwrap();
    assert_eq!(apart.parts.len(), 2);
}

fn mark(coordinates: Coordinates, spot: Spot) -> Mark {
    Mark {
        coordinates,
        spot,
        width: None,
    }
}

#[test]
fn a_well_is_as_far_as_the_geodesic_says() {
    let whole = field();
    // Straight south of the southern side, 30.48 m from its middle.
    for metres in [5.0, 30.48, 400.0] {
        let (lat, lon) = Geodesic::wgs84().direct(39.9, -73.5994, 180.0, metres);
        let far = apart(&whole, &mark(Coordinates::Degrees, Spot::Point([lon, lat]))).unwrap();
        assert!((far.si() - metres).abs() < 0.001, "{metres}: {}", far.si());
    }
    let on_a_grid = mark(METRES, Spot::Point([0.0, 0.0]));
    assert_eq!(apart(&whole, &on_a_grid), None);
    let in_it = mark(Coordinates::Degrees, Spot::Point([-73.5994, 39.9004]));
    assert_eq!(apart(&whole, &in_it).unwrap().si(), 0.0);
    // From the edge of a stream, which is 6 ft wide until somebody says otherwise.
    let mut stream = mark(METRES, Spot::Line(vec![[13.0, -50.0], [13.0, 50.0]]));
    for (width, far) in [(None, 3.0 - 0.9144), (Some(4.0), 1.0), (Some(8.0), 0.0)] {
        stream.width = width.map(quantity::Length::metres);
        let found = apart(&square(0.0, 10.0), &stream).unwrap().si();
        assert!((found - far).abs() < 1e-9, "{width:?}: {found}");
    }
    let pond = mark(
        METRES,
        Spot::Area(vec![[-9.0, 0.0], [-4.0, 5.0], [-9.0, 10.0]]),
    );
    assert!((apart(&square(0.0, 10.0), &pond).unwrap().si() - 4.0).abs() < 1e-9);
}

#[test]
fn no_core_is_taken_where_something_stands() {
    let plan = SamplePlan {
        cores: 30,
        margin: Some(Length::metres(0.5)),
        leave_out: vec![],
        beds: None,
        seed: 7,
        start: Start::Corner(Corner::Southwest),
        back: false,
    };
    let barn = vec![[20.0, 20.0], [45.0, 20.0], [45.0, 45.0], [20.0, 45.0]];
    let road = Mark {
        width: Some(Length::metres(6.0)),
        ..mark(METRES, Spot::Line(vec![[-5.0, 8.0], [70.0, 8.0]]))
    };
    let marks = [mark(METRES, Spot::Area(barn)), road];
    for seed in 0..10 {
        let plan = SamplePlan {
            seed,
            ..plan.clone()
        };
        let walk = sample_beside(&square(0.0, 60.0), &plan, &marks).unwrap();
        assert_eq!(walk.cores.len(), 30);
        for core in &walk.cores {
            let [x, y] = core.at;
            let inside = (20.0..45.0).contains(&x) && (20.0..45.0).contains(&y);
            assert!(!inside && (y - 8.0).abs() >= 3.0, "{x} {y}");
        }
    }
}
