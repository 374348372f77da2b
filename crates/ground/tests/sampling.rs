//! Cores lie where they may, evenly, again from the same seed; walks are short; places are told right.

#![allow(clippy::unwrap_used)]

mod made;
use geo::{Contains, Coord, Distance, Euclidean, MapCoords};
use ground::*;
use made::*;
use proptest::prelude::*;
use quantity::Length;

fn grid(outer: Ring) -> Outline {
    Outline {
        coordinates: Coordinates::Grid(GridUnit::Feet),
        parts: vec![Part {
            outer,
            holes: vec![],
        }],
    }
}

fn rectangle(w: f64, h: f64) -> Outline {
    grid(vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])
}

fn plan(cores: u32, seed: u64) -> SamplePlan {
    SamplePlan {
        cores,
        margin: None,
        leave_out: vec![],
        beds: None,
        seed,
        start: Start::Corner(Corner::Southwest),
        back: false,
    }
}

fn beds() -> BedPlan {
    BedPlan {
        bed_width: Length::inches(30.0),
        path_width: Length::inches(18.0),
        bearing: None,
        beds: None,
    }
}

/// An L with a hole in its foot.
fn ell() -> Outline {
    let mut o = grid(vec![
        [0.0, 0.0],
        [200.0, 0.0],
        [200.0, 80.0],
        [80.0, 80.0],
        [80.0, 240.0],
        [0.0, 240.0],
    ]);
    o.parts[0].holes.push(vec![
        [120.0, 30.0],
        [150.0, 30.0],
        [150.0, 50.0],
        [120.0, 50.0],
    ]);
    o
}

#[test]
fn the_same_seed_gives_the_same_cores() {
    let a = sample(&ell(), &plan(15, 7)).unwrap();
    let b = sample(&ell(), &plan(15, 7)).unwrap();
    assert_eq!(a, b);
    let c = sample(&ell(), &plan(15, 8)).unwrap();
    assert_ne!(a.cores, c.cores);
    // The sequence itself is kept: splitmix64 from 1234567, first values of the published program.
    let mut chance = Chance::new(1_234_567);
    let first = [6_457_827_717_110_365_317u64, 3_203_168_211_198_807_973];
    for wanted in first {
        let unit = (wanted >> 11) as f64 / (1u64 << 53) as f64;
        assert_eq!(chance.unit(), unit);
    }
}

#[test]
fn cores_keep_off_edges_holes_and_spots() {
    let o = ell();
    let spot = LeaveOut {
        at: [40.0, 120.0],
        radius: Length::feet(25.0),
    };
    for seed in 0..20 {
        let mut p = plan(20, seed);
        p.leave_out = vec![spot];
        p.margin = Some(Length::feet(12.0));
        let walk = sample(&o, &p).unwrap();
        assert_eq!(walk.cores.len(), 20);
        let shape = walk.site.frame.shape(&o);
        let spot_at = walk.site.frame.to_plane(spot.at);
        for core in &walk.cores {
            assert!(shape.contains(&core.plane));
            let edges: Vec<geo::LineString> = shape
                .0
                .iter()
                .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
                .cloned()
                .collect();
            let away = edges
                .iter()
                .map(|e| Euclidean.distance(&geo::Point(core.plane), e))
                .fold(f64::INFINITY, f64::min);
            assert!(away >= Length::feet(12.0).si() - 1e-9, "{away}");
            let from_spot = (core.plane.x - spot_at.x).hypot(core.plane.y - spot_at.y);
            assert!(from_spot >= Length::feet(25.0).si());
            let back = walk.site.frame.to_plane(core.at);
            assert!((back.x - core.plane.x).hypot(back.y - core.plane.y) < 1e-9);
        }
    }
}

#[test]
fn cores_of_beds_are_on_bed_tops_and_told_by_bed_and_end() {
    let o = rectangle(46.5, 150.0);
    let mut p = plan(15, 3);
    p.beds = Some(beds());
    let walk = sample(&o, &p).unwrap();
    let layout = walk.site.beds.clone().unwrap();
    assert_eq!(layout.beds.len(), 12);
    let mut seen = std::collections::BTreeSet::new();
    for core in &walk.cores {
        // By hand from the plan's numbers: beds every 4 ft from the west edge.
        let (x, y) = (core.at[0], core.at[1]);
        let bed = (x / 4.0).floor() as usize + 1;
        assert!(x - (x / 4.0).floor() * 4.0 <= 2.5, "on a path: {x}");
        let (feet, end) = if y > 75.0 {
            (150.0 - y, "north")
        } else {
            (y, "south")
        };
        assert!(feet >= 3.0 - 1e-6, "3 ft from the ends");
        assert_eq!(
            core.told,
            format!("bed {bed}, {feet:.0} ft from the {end} end")
        );
        seen.insert(bed);
    }
    assert!(
        seen.len() >= 8,
        "15 cores of one sample lie on many of 12 beds: {seen:?}"
    );
}

#[test]
fn places_in_a_field_are_told_from_two_edges() {
    // A hole in the middle is no edge to measure from.
    let mut o = rectangle(300.0, 100.0);
    o.parts[0].holes.push(vec![
        [130.0, 30.0],
        [170.0, 30.0],
        [170.0, 70.0],
        [130.0, 70.0],
    ]);
    let walk = sample(&o, &plan(25, 1)).unwrap();
    for core in &walk.cores {
        let (x, y) = (core.at[0], core.at[1]);
        let (a, end) = if x > 150.0 {
            (300.0 - x, "east")
        } else {
            (x, "west")
        };
        let (b, side) = if y > 50.0 {
            (100.0 - y, "north")
        } else {
            (y, "south")
        };
        assert_eq!(
            core.told,
            format!("{a:.0} ft in from the {end} edge, {b:.0} ft from the {side} edge")
        );
    }
}

#[test]
fn what_cannot_be_sampled_is_told() {
    let says = |p: &SamplePlan, wanted: &str| {
        let text = sample(&rectangle(40.0, 40.0), p).unwrap_err().to_string();
        assert!(text.contains(wanted) && text.ends_with('.'), "{text}");
    };
    says(&plan(0, 1), "from 1 to 200");
    says(&plan(201, 1), "from 1 to 200");
    let mut p = plan(10, 1);
    p.margin = Some(Length::feet(25.0));
    says(&p, "25 ft are kept from the edges");
    p.margin = Some(Length::feet(f64::NAN));
    says(&p, "cannot be kept");
    p.margin = None;
    p.leave_out = vec![LeaveOut {
        at: [20.0, 20.0],
        radius: Length::feet(100.0),
    }];
    says(&p, "spots are left out");
}

/// Every part of the ground is as likely as any other: the block's quarters get their share over many
/// seeds (chi-squared with 15 degrees of freedom, 99.9 % point 37.70).
#[test]
fn no_ground_is_likelier_than_other_ground() {
    let o = rectangle(160.0, 80.0);
    let site = Site::new(&o, None, Some(Length::ZERO), &[]).unwrap();
    let mut counts = [0.0f64; 16];
    let (runs, cores) = (400u64, 8);
    for seed in 0..runs {
        for at in even(&site, cores, seed * 7_919).unwrap() {
            let plane = site.lie.turn_back(at);
            let [x, y] = site.frame.from_plane(plane);
            let cell = (x / 20.0).floor() as usize + 8 * ((y / 40.0).floor() as usize);
            counts[cell] += 1.0;
        }
    }
    let wanted = runs as f64 * f64::from(cores) / 16.0;
    let chi: f64 = counts.iter().map(|c| (c - wanted).powi(2) / wanted).sum();
    assert!(chi < 37.70, "{chi} {counts:?}");
}

/// Stevens and Olsen's measure over many seeds: the even spread against chance and the zigzag.
#[test]
fn cores_lie_more_evenly_than_by_chance() {
    for (name, o) in [
        ("field", rectangle(300.0, 120.0)),
        ("square", rectangle(150.0, 150.0)),
        ("ell", ell()),
    ] {
        let site = Site::new(&o, None, None, &[]).unwrap();
        let ground = by_chance(&site, 200, 99)
            .unwrap()
            .into_iter()
            .chain((0..19).flat_map(|s| by_chance(&site, 200, 1_000 + s).unwrap()))
            .collect::<Vec<Coord>>();
        let mean = |f: fn(&Site, u32, u64) -> Result<Vec<Coord>, GroundError>| {
            let runs = 60;
            (0..runs)
                .map(|seed| unevenness(&f(&site, 15, seed).unwrap(), &ground))
                .sum::<f64>()
                / runs as f64
        };
        let (e, c, z) = (mean(even), mean(by_chance), mean(zigzag));
        println!("{name}: even {e:.3}, zigzag {z:.3}, by chance {c:.3}");
        assert!(e < 0.5 * c, "{name}: {e} {c}");
        // On a square a zigzag lies evenly too; on a long field or one with a corner it does not.
        if name != "square" {
            assert!(e < z, "{name}: {e} {z}");
        }
    }
}

/// Perfectly even by construction: one core in the middle of each quarter.
#[test]
fn the_measure_is_zero_where_each_core_has_its_own_quarter() {
    let ground: Vec<Coord> = (0..100)
        .flat_map(|i| {
            (0..100).map(move |j| Coord {
                x: f64::from(i) + 0.5,
                y: f64::from(j) + 0.5,
            })
        })
        .collect();
    let quarter: Vec<Coord> = [(25.0, 25.0), (75.0, 25.0), (25.0, 75.0), (75.0, 75.0)]
        .map(|(x, y)| Coord { x, y })
        .to_vec();
    assert!(unevenness(&quarter, &ground) < 1e-12);
    // Two in one place share its ground: sums 1 and 0 on each half, by hand (0² + 2·... )/n.
    let two = [Coord { x: 25.0, y: 50.0 }, Coord { x: 95.0, y: 50.0 }];
    // The border lies at x = 60: sums 1.2 and 0.8, so (0.04 + 0.04) / 2.
    assert!((unevenness(&two, &ground) - 0.04).abs() < 1e-9);
}

fn length(start: Coord, places: &[Coord], order: &[usize], back: bool) -> f64 {
    let mut here = start;
    let mut sum = 0.0;
    for at in order {
        sum += (places[*at].x - here.x).hypot(places[*at].y - here.y);
        here = places[*at];
    }
    if back {
        sum += (start.x - here.x).hypot(start.y - here.y);
    }
    sum
}

/// Every order tried one by one.
fn by_all_orders(start: Coord, places: &[Coord], back: bool) -> f64 {
    fn go(start: Coord, places: &[Coord], order: &mut Vec<usize>, left: u32, back: bool) -> f64 {
        if left == 0 {
            return length(start, places, order, back);
        }
        let mut best = f64::INFINITY;
        for i in (0..places.len()).filter(|i| left >> i & 1 == 1) {
            order.push(i);
            best = best.min(go(start, places, order, left & !(1 << i), back));
            order.pop();
        }
        best
    }
    go(
        start,
        places,
        &mut Vec::new(),
        (1 << places.len()) - 1,
        back,
    )
}

fn places(most: usize) -> impl Strategy<Value = Vec<Coord>> {
    prop::collection::vec((0.0..100.0f64, 0.0..60.0f64), 0..most)
        .prop_map(|list| list.into_iter().map(|(x, y)| Coord { x, y }).collect())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn short_walks_are_the_shortest_of_all_orders(places in places(8), back in any::<bool>()) {
        let start = Coord { x: 0.0, y: 0.0 };
        let walk = shortest_walk(start, &places, back);
        prop_assert!(walk.certain);
        let best = by_all_orders(start, &places, back);
        prop_assert!((walk.length - best).abs() < 1e-9, "{} {best}", walk.length);
    }

    #[test]
    fn every_place_is_walked_to_once(places in places(60), back in any::<bool>()) {
        let start = Coord { x: -5.0, y: 3.0 };
        let walk = shortest_walk(start, &places, back);
        let mut order = walk.order.clone();
        order.sort_unstable();
        prop_assert_eq!(order, (0..places.len()).collect::<Vec<_>>());
        prop_assert!((walk.length - length(start, &places, &walk.order, back)).abs() < 1e-6);
        // No two straight stretches of a shortest walk cross; turning one around would be shorter.
        prop_assert_eq!(shortest_walk(start, &places, back), walk);
    }

    #[test]
    fn any_block_gives_cores_or_a_sentence(
        ring in prop::collection::vec((0.0..200.0f64, 0.0..200.0f64), 3..7),
        cores in 0..40u32,
        seed in any::<u64>(),
        bedded in any::<bool>(),
        margin in prop::option::of(-5.0..60.0f64),
        spot in (0.0..200.0f64, 0.0..200.0f64, -10.0..100.0f64),
    ) {
        let o = grid(ring.into_iter().map(|(x, y)| [x, y]).collect());
        let mut p = plan(cores, seed);
        p.beds = bedded.then(beds);
        p.margin = margin.map(Length::feet);
        p.leave_out = vec![LeaveOut { at: [spot.0, spot.1], radius: Length::feet(spot.2) }];
        match sample(&o, &p) {
            Ok(walk) => {
                prop_assert_eq!(walk.cores.len(), cores as usize);
                prop_assert!(walk.cores.iter().all(|c| !c.told.is_empty()));
            }
            Err(why) => prop_assert!(why.to_string().ends_with('.')),
        }
    }
}

/// Points on a circle have one shortest round: around it.
#[test]
fn a_round_of_forty_places_on_a_circle_goes_around() {
    let ring: Vec<Coord> = (0..40)
        .map(|i| {
            // Not in order, so that the search has to find it.
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i * 17 % 41) / 41.0).sin_cos();
            Coord {
                x: 100.0 * cos,
                y: 100.0 * sin,
            }
        })
        .collect();
    let at = |i: f64| Coord {
        x: 100.0 * (std::f64::consts::TAU * i / 41.0).cos(),
        y: 100.0 * (std::f64::consts::TAU * i / 41.0).sin(),
    };
    // 17 is prime to 41: places 0..39 leave one gap of the circle, where the start stands.
    let missing = (0..41)
        .find(|k| (0..40).all(|i| i * 17 % 41 != *k))
        .unwrap();
    let walk = shortest_walk(at(f64::from(missing)), &ring, true);
    let chord = 200.0 * (std::f64::consts::PI / 41.0).sin();
    assert!((walk.length - 41.0 * chord).abs() < 1e-6, "{}", walk.length);
}

#[test]
fn the_walk_comes_back_as_gpx_by_an_independent_reader() {
    let o = Outline {
        coordinates: Coordinates::Degrees,
        parts: vec![Part {
            outer: field(),
            holes: vec![],
        }],
    };
    let walk = sample(&o, &plan(15, 2)).unwrap();
    let text = waypoints("Barn & <Field> “1”", o.coordinates, &walk).unwrap();
    let file = gpx::read(text.as_bytes()).unwrap();
    assert_eq!(file.waypoints.len(), 15);
    for (point, core) in file.waypoints.iter().zip(&walk.cores) {
        assert_eq!(
            point.name.as_deref(),
            Some(format!("{} Barn & <Field> “1”", core.number).as_str())
        );
        assert_eq!(point.description.as_deref(), Some(core.told.as_str()));
        let away = distance(
            o.coordinates,
            [point.point().x(), point.point().y()],
            core.at,
        );
        assert!(away.si() < 0.02, "{away:?}");
    }
    assert_eq!(file.routes[0].points.len(), 16);
    // The product's own reader takes the route for a walk around a block; points are passed over.
    let own = read(text.as_bytes(), None).unwrap();
    assert_eq!(own.passed_over, ["15 points"]);
    assert!(waypoints("A", Coordinates::Grid(GridUnit::Feet), &walk).is_none());
}

#[test]
fn the_start_is_the_corner_that_was_named() {
    let o = rectangle(300.0, 40.0);
    for (corner, at) in [
        (Corner::Southwest, [0.0, 0.0]),
        (Corner::Northwest, [0.0, 40.0]),
        (Corner::Northeast, [300.0, 40.0]),
        (Corner::Southeast, [300.0, 0.0]),
    ] {
        let walk = sample(
            &o,
            &SamplePlan {
                start: Start::Corner(corner),
                ..plan(5, 1)
            },
        )
        .unwrap();
        assert!((walk.start[0] - at[0]).abs() < 1e-6 && (walk.start[1] - at[1]).abs() < 1e-6);
        assert_eq!(walk.from, format!("the {} corner", corner.name()));
        let shape = walk.site.frame.shape(&o).map_coords(|c| c);
        assert!(walk.cores.iter().all(|c| shape.contains(&c.plane)));
    }
}
