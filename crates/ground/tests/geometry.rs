//! Areas, doubts, the plane and beds, against published and independent answers.

#![allow(clippy::unwrap_used)]

mod made;
use geo::{Area as _, Contains, Coord};
use geographiclib_rs::{Geodesic, InverseGeodesic};
use ground::*;
use made::*;
use proptest::prelude::*;
use quantity::Length;

fn outline(coordinates: Coordinates, outer: Ring) -> Outline {
    Outline {
        coordinates,
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    }
}

fn degrees(outer: Ring) -> Outline {
    outline(Coordinates::Degrees, outer)
}

fn named(name: &str, outline: Outline) -> Feature {
    Feature {
        name: name.to_owned(),
        outline,
        notes: vec![],
        walked: false,
    }
}

/// The test suite of GeographicLib (MIT), Planimeter0 and Planimeter15: corners as latitude and
/// longitude, area and length around.
#[test]
fn areas_are_those_of_geographiclibs_own_tests() {
    let ring = |corners: &[[f64; 2]]| corners.iter().map(|[lat, lon]| [*lon, *lat]).collect();
    let diamond = degrees(ring(&[[0.0, -1.0], [-1.0, 0.0], [0.0, 1.0], [1.0, 0.0]]));
    assert!((area(&diamond).si() - 24_619_419_146.0).abs() < 1.0);
    assert!((around(&diamond).si() - 627_598.273_1).abs() < 1e-4);
    let triangle = degrees(ring(&[[2.0, 1.0], [1.0, 2.0], [3.0, 3.0]]));
    assert!((area(&triangle).si() - 18_454_562_325.451_19).abs() < 0.5);
    let mut turned = triangle.clone();
    turned.parts[0].outer.reverse();
    assert_eq!(area(&turned), area(&triangle));
}

/// 100 ft by 40 ft by the tape, with a hole of 10 ft by 10 ft.
#[test]
fn a_grid_in_feet_is_measured_flat() {
    let square =
        |x: f64, y: f64, w: f64, h: f64| vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    let mut o = outline(
        Coordinates::Grid(GridUnit::Feet),
        square(1e6, 2e6, 100.0, 40.0),
    );
    o.parts[0]
        .holes
        .push(square(1e6 + 5.0, 2e6 + 5.0, 10.0, 10.0));
    assert!((area(&o).to_square_feet() - 3_900.0).abs() < 1e-6);
    assert!((around(&o).to_feet() - 280.0).abs() < 1e-9);
    let d = distance(o.coordinates, [0.0, 0.0], [3.0, 4.0]);
    assert!((d.to_feet() - 5.0).abs() < 1e-12);
}

#[test]
fn each_slip_is_found_and_has_a_way_out() {
    let ring = field();
    let bow_tie = vec![ring[0], ring[2], ring[1], ring[3]];
    let line = vec![ring[0], [-74.4296, 40.4700], ring[1]];
    let hole_outside = Outline {
        coordinates: Coordinates::Degrees,
        parts: vec![Part {
            outer: ring.clone(),
            holes: vec![moved(&ring, 0.01, 0.0)],
        }],
    };
    let twice = Outline {
        coordinates: Coordinates::Degrees,
        parts: vec![
            Part {
                outer: ring.clone(),
                holes: vec![],
            },
            Part {
                outer: moved(&ring, 0.0004, 0.0),
                holes: vec![],
            },
        ],
    };
    let mut lost_corner = ring.clone();
    lost_corner.push([0.0, 0.0]);
    for (what, o, kind) in [
        (
            "two corners",
            degrees(ring[..2].to_vec()),
            Kind::TooFewCorners,
        ),
        ("bow tie", degrees(bow_tie), Kind::SelfCrossing),
        ("line", degrees(line), Kind::NoArea),
        ("swapped", degrees(ring.clone()).swapped(), Kind::Swapped),
        (
            "north pole",
            degrees(moved(&ring, 0.0, 45.0)),
            Kind::OutOfRange,
        ),
        ("hole", hole_outside, Kind::Holes),
        ("parts", twice, Kind::Holes),
        ("corner at 0, 0", degrees(lost_corner), Kind::TooLarge),
    ] {
        let found = doubts(&[named("A", o)], &[]);
        assert_eq!(found.len(), 1, "{what}: {found:?}");
        assert_eq!(
            (found[0].kind, found[0].weight),
            (kind, Weight::Stops),
            "{what}"
        );
        assert!(
            found[0].sentence.contains("“A”") && found[0].sentence.ends_with('.'),
            "{found:?}"
        );
        assert!(found[0].way_out.ends_with('.'), "{found:?}");
    }
    assert_eq!(doubts(&[named("A", degrees(ring))], &[]), vec![]);
}

#[test]
fn a_crossing_is_told_by_its_sides_and_place() {
    let r = field();
    let found = doubts(&[named("A", degrees(vec![r[0], r[2], r[1], r[3]]))], &[]);
    assert_eq!(
        found[0].sentence,
        "“A” crosses itself: side 1 meets side 3 of 4 at 40.47035° N, 74.42960° W."
    );
}

#[test]
fn a_block_in_another_country_is_asked_about() {
    let r = field();
    let here = |name: &str, east: f64| named(name, degrees(moved(&r, east, 0.0)));
    let mut all = vec![here("A", 0.0), here("B", 0.002), here("C", 0.004)];
    // The same place but for the sign of its longitude.
    let across = r.iter().map(|[x, y]| [-x, *y]).collect();
    all.push(named("D", degrees(across)));
    let found = doubts(&all, &[]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(
        (found[0].feature, found[0].kind, found[0].weight),
        (3, Kind::FarAway, Weight::Asks)
    );
    // In the file's own words the other three are far where the book knows the fourth's farm.
    let held = [all[3].outline.clone()];
    assert_eq!(doubts(&all, &held).len(), 3);
}

/// In the eastern Mediterranean both orders lie on farmed ground; only the others can tell.
#[test]
fn an_exchange_that_no_range_shows_is_found_by_the_other_blocks() {
    let farm = |east: f64| -> Ring { moved(&field(), 74.43 + 23.5 + east, -40.47 + 38.0) };
    let mut all: Vec<Feature> = (0..3)
        .map(|i| named(&format!("B{i}"), degrees(farm(0.002 * f64::from(i)))))
        .collect();
    assert_eq!(doubts(&all, &[]), vec![]);
    all.push(named("X", degrees(farm(0.01)).swapped()));
    let found = doubts(&all, &[]);
    assert_eq!(
        (found.len(), found[0].feature, found[0].kind),
        (1, 3, Kind::Swapped)
    );
}

#[test]
fn two_outlines_of_one_name_and_shared_ground_are_told() {
    let r = field();
    let twice = [
        named("A", degrees(r.clone())),
        named("a", degrees(moved(&r, 0.01, 0.0))),
    ];
    assert_eq!(doubts(&twice, &[])[0].kind, Kind::SameName);
    let half = degrees(moved(&r, 0.0004, 0.0));
    let shared = overlaps(&[
        degrees(r.clone()),
        half.clone(),
        degrees(moved(&r, 0.1, 0.0)),
    ]);
    assert_eq!(shared.len(), 1);
    let (i, j, ground) = shared[0];
    assert_eq!((i, j), (0, 1));
    assert!((ground.si() / area(&half).si() - 0.5).abs() < 1e-4);
    // Neighbours along one fence share nothing.
    assert!(overlaps(&[degrees(r.clone()), degrees(moved(&r, 0.0008, 0.0))]).is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// What [`Frame`] says of its error, held to geodesic distances between any two places of a
    /// block or a farm of up to 10 km.
    #[test]
    fn frame_keeps_lengths(
        lon in -179.9..179.9f64,
        lat in -56.0..72.0f64,
        reach in 10.0..10_000.0f64,
        places in prop::array::uniform4(-1.0..1.0f64),
    ) {
        let frame = Frame::Earth { centre: [lon, lat] };
        let at = |x: f64, y: f64| Coord { x: x * reach / 1.5, y: y * reach / 1.5 };
        let (a, b) = (at(places[0], places[1]), at(places[2], places[3]));
        let (ga, gb) = (frame.from_plane(a), frame.from_plane(b));
        let back = frame.to_plane(ga);
        prop_assert!((back.x - a.x).hypot(back.y - a.y) < 1e-6, "there and back");
        let on_ground: f64 = Geodesic::wgs84().inverse(ga[1], ga[0], gb[1], gb[0]);
        let on_plane = (a.x - b.x).hypot(a.y - b.y);
        let r = reach / 6_371_000.0;
        // 6,371 km is a mean; the ellipsoid's radii differ from it by less than 1 %.
        let most = on_ground * (r * r / 6.0) * 1.05 + 1e-6;
        prop_assert!((on_plane - on_ground).abs() <= most, "{on_plane} {on_ground} {most}");
    }

    #[test]
    fn an_area_on_the_plane_is_that_on_the_ellipsoid(
        lon in -170.0..170.0f64,
        lat in -50.0..65.0f64,
        radii in prop::collection::vec(0.2..1.0f64, 3..30),
    ) {
        let n = radii.len() as f64;
        let ring: Ring = radii.iter().enumerate().map(|(i, r)| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / n).sin_cos();
            [lon + 0.003 * r * cos, lat + 0.003 * r * sin]
        }).collect();
        let o = degrees(ring);
        let frame = Frame::around([&o]).unwrap();
        let plane = frame.shape(&o).unsigned_area();
        let ground = area(&o).si();
        prop_assert!((plane / ground - 1.0).abs() < 2e-8, "{plane} {ground}");
    }

    /// Beds never share ground, never leave the block, and their tops and paths add up.
    #[test]
    fn beds_stay_inside_and_apart(
        radii in prop::collection::vec(0.4..1.0f64, 4..12),
        bearing in prop::option::of(-400.0..400.0f64),
        bed_in in 20.0..60.0f64,
        path_in in 0.0..40.0f64,
    ) {
        let n = radii.len() as f64;
        let ring: Ring = radii.iter().enumerate().map(|(i, r)| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / n).sin_cos();
            [150.0 * r * cos, 150.0 * r * sin]
        }).collect();
        let o = outline(Coordinates::Grid(GridUnit::Feet), ring);
        let plan = BedPlan {
            bed_width: Length::inches(bed_in),
            path_width: Length::inches(path_in),
            bearing,
            beds: None,
        };
        let layout = lay_out(&o, &plan).unwrap();
        let shape = layout.frame.shape(&o);
        prop_assert!((layout.gross.si() - shape.unsigned_area()).abs() < 1e-6);
        let sum: f64 = layout.beds.iter().map(|b| b.shape.unsigned_area()).sum();
        prop_assert!((sum - layout.tops.si()).abs() < 1e-6);
        prop_assert!(layout.tops.si() <= layout.gross.si() * (1.0 + 1e-9));
        // Between two beds lies a path, from side to side across the beds.
        let mut last: Option<f64> = None;
        for (at, bed) in layout.beds.iter().enumerate() {
            prop_assert_eq!(bed.number as usize, at + 1);
            let across: Vec<f64> = bed.shape.0.iter()
                .flat_map(|p| p.exterior().coords().map(|c| layout.lie.turn(*c).x))
                .collect();
            let (low, high) = across.iter().fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)));
            prop_assert!(high - low <= plan.bed_width.si() + 1e-6);
            if let Some(last) = last {
                prop_assert!(low - last >= plan.path_width.si() - 1e-6, "{low} {last}");
            }
            last = Some(high);
            // A little inside each of its corners is inside the block.
            let middle = geo::Centroid::centroid(&bed.shape).unwrap();
            if bed.shape.contains(&middle) {
                prop_assert!(shape.contains(&middle));
            }
        }
    }
}

/// By hand: 12 beds of 30 in and 11 paths of 18 in are 30 + 16.5 = 46.5 ft; 150 ft long they have
/// 12 × 150 × 2.5 = 4,500 ft² of top on 6,975 ft².
#[test]
fn beds_of_a_rectangle_come_out_as_by_hand() {
    let ring = vec![[0.0, 0.0], [46.5, 0.0], [46.5, 150.0], [0.0, 150.0]];
    let o = outline(Coordinates::Grid(GridUnit::Feet), ring);
    let plan = BedPlan {
        bed_width: Length::inches(30.0),
        path_width: Length::inches(18.0),
        bearing: None,
        beds: None,
    };
    let layout = lay_out(&o, &plan).unwrap();
    assert_eq!(layout.beds.len(), 12);
    assert!(
        (layout.tops.to_square_feet() - 4_500.0).abs() < 1e-3,
        "{:?}",
        layout.tops
    );
    assert!((layout.gross.to_square_feet() - 6_975.0).abs() < 1e-6);
    assert_eq!(layout.lie.ends(), ("north", "south"));
    assert_eq!(layout.lie.sides(), ("east", "west"));
    // Outlines are cut on a grid of whole steps, far finer than a tape.
    assert!((layout.beds[0].length.to_feet() - 150.0).abs() < 1e-6);
    // Bed 1 is at the west side.
    let west = geo::Centroid::centroid(&layout.beds[0].shape).unwrap();
    let east = geo::Centroid::centroid(&layout.beds[11].shape).unwrap();
    assert!(west.x() < east.x());
    // The same block turned: beds run east and west, bed 1 at the north.
    let turned = lay_out(
        &o,
        &BedPlan {
            bearing: Some(90.0),
            ..plan
        },
    )
    .unwrap();
    assert_eq!(
        (turned.lie.ends(), turned.lie.sides()),
        (("east", "west"), ("south", "north"))
    );
    let first = geo::Centroid::centroid(&turned.beds[0].shape).unwrap();
    assert!(first.y() > 0.0);
    // Eight short beds beside each other make a block that is longer across them.
    let short = outline(
        Coordinates::Grid(GridUnit::Feet),
        vec![[0.0, 0.0], [46.0, 0.0], [46.0, 24.0], [0.0, 24.0]],
    );
    let eight = BedPlan {
        bed_width: Length::feet(4.0),
        path_width: Length::feet(2.0),
        bearing: None,
        beds: Some(8),
    };
    let layout = lay_out(&short, &eight).unwrap();
    assert_eq!((layout.beds.len(), layout.note), (8, None));
    assert!((layout.beds[0].length.to_feet() - 24.0).abs() < 1e-6);
    // More than fit are not drawn, and it is said.
    let more = lay_out(
        &o,
        &BedPlan {
            beds: Some(14),
            ..plan
        },
    )
    .unwrap();
    assert_eq!(more.beds.len(), 12);
    assert!(
        more.note
            .unwrap()
            .starts_with("14 beds with their paths take 54.5 ft")
    );
    let fewer = lay_out(
        &o,
        &BedPlan {
            beds: Some(10),
            ..plan
        },
    )
    .unwrap();
    assert_eq!(fewer.beds.len(), 10);
    let wide = BedPlan {
        bed_width: Length::feet(60.0),
        ..plan
    };
    assert!(
        lay_out(&o, &wide)
            .unwrap_err()
            .to_string()
            .contains("46.5 ft wide")
    );
    for bad in [f64::NAN, -1.0, 0.0, f64::INFINITY] {
        assert!(
            lay_out(
                &o,
                &BedPlan {
                    bed_width: Length::feet(bad),
                    ..plan
                }
            )
            .is_err()
        );
        if bad != 0.0 {
            assert!(
                lay_out(
                    &o,
                    &BedPlan {
                        path_width: Length::feet(bad),
                        ..plan
                    }
                )
                .is_err()
            );
        }
    }
    assert!(
        lay_out(
            &o,
            &BedPlan {
                bearing: Some(f64::NAN),
                ..plan
            }
        )
        .is_err()
    );
}
