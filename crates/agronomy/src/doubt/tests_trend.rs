//! Trends: published examples, counting by hand, and what they promise.

use super::*;
use proptest::prelude::*;
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct Case {
    id: String,
    inputs: String,
    what: String,
    expected: f64,
    tolerance: f64,
}

fn numbers(inputs: &str) -> Vec<Vec<f64>> {
    inputs
        .split(';')
        .map(|p| p.split(':').map(|v| v.parse().unwrap()).collect())
        .collect()
}

fn variance_of(figure: &Figure, groups: usize) -> f64 {
    let said = figure.working.iter().find(|s| s.what == "variance of S");
    // An exact count has no variance to show; that of values without ties is.
    said.map_or_else(|| rank::variance(&vec![1; groups]), |s| s.value)
}

#[test]
fn published_trends_come_out_as_printed() {
    let mut reader = csv::Reader::from_reader(
        include_str!("../../../../reference/checks/trends.csv").as_bytes(),
    );
    let cases: Vec<Case> = reader.deserialize().map(|c| c.unwrap()).collect();
    assert!(cases.len() >= 17);
    for case in cases {
        let points = numbers(&case.inputs);
        let found = if let Some(what) = case.what.strip_prefix("seasonal ") {
            let points: Vec<_> = points.iter().map(|p| (p[0], p[1] as u32, p[2])).collect();
            let t = seasonal_trend(&points, "mg/L").unwrap();
            match what {
                "s" => t.s as f64,
                "p" => t.p,
                "slope" => t.slope,
                _ => variance_of(&t.figure, 0),
            }
        } else {
            let points: Vec<_> = points.iter().map(|p| (p[0], p[1])).collect();
            let t = trend(&points, "mg/L").unwrap();
            let interval = || t.interval(Confidence::percent(95.0).unwrap()).unwrap();
            match case.what.as_str() {
                "s" => t.s as f64,
                "p" => t.p,
                "slope" => t.slope,
                "intercept" => t.intercept,
                "low 95" => interval().0,
                "high 95" => interval().1,
                _ => variance_of(&t.figure, points.len()),
            }
        };
        assert!(
            (found - case.expected).abs() <= case.tolerance,
            "{}: {found}, not {}",
            case.id,
            case.expected
        );
    }
}

/// Every order of a handful of values, some alike, one by one.
#[test]
fn tied_orders_are_counted_one_by_one() {
    fn orders(left: &mut BTreeMap<i32, usize>, so_far: &mut Vec<i32>, seen: &mut Vec<i64>) {
        if left.values().all(|n| *n == 0) {
            let s = (0..so_far.len())
                .flat_map(|i| (i + 1..so_far.len()).map(move |j| (i, j)))
                .map(|(i, j)| i64::from((so_far[j] - so_far[i]).signum()))
                .sum();
            seen.push(s);
            return;
        }
        let keys: Vec<i32> = left
            .iter()
            .filter(|(_, n)| **n > 0)
            .map(|(k, _)| *k)
            .collect();
        for k in keys {
            *left.get_mut(&k).unwrap() -= 1;
            so_far.push(k);
            orders(left, so_far, seen);
            so_far.pop();
            *left.get_mut(&k).unwrap() += 1;
        }
    }
    for groups in [
        vec![2, 1, 1],
        vec![3, 2],
        vec![1, 2, 2, 1],
        vec![4],
        vec![1, 1, 1, 1, 1],
        vec![2, 2, 2, 2],
    ] {
        let mut left = groups
            .iter()
            .enumerate()
            .map(|(i, n)| (i as i32, *n))
            .collect();
        let mut seen = Vec::new();
        orders(&mut left, &mut Vec::new(), &mut seen);
        for s in 0..=28i64 {
            let by_hand = seen.iter().filter(|x| x.abs() >= s).count() as f64 / seen.len() as f64;
            let counted = rank::exact(&groups, s);
            assert!(
                (by_hand - counted).abs() < 1e-12,
                "{groups:?} S {s}: {counted}, not {by_hand}"
            );
        }
    }
}

#[test]
fn a_row_that_never_moves_has_no_trend() {
    let flat = trend(&[(1.0, 5.0), (2.0, 5.0), (3.0, 5.0), (4.0, 5.0)], "ppm").unwrap();
    assert_eq!((flat.s, flat.p, flat.slope), (0, 1.0, 0.0));
    let long: Vec<(f64, f64)> = (0..14).map(|i| (f64::from(i), 3.0)).collect();
    assert_eq!(trend(&long, "ppm").unwrap().p, 1.0);
    assert!(trend(&[(1.0, 5.0)], "ppm").is_err());
}

/// Three or four tests bound a slope on no side at 95 of 100.
#[test]
fn too_few_tests_bound_no_slope() {
    let of = |n: i32| {
        trend(
            &(0..n)
                .map(|i| (f64::from(i), f64::from(i * i)))
                .collect::<Vec<_>>(),
            "ppm",
        )
        .unwrap()
    };
    let sure = Confidence::percent(95.0).unwrap();
    assert_eq!(of(4).interval(sure), None);
    assert_eq!(of(3).interval(Confidence::USUAL), None);
    let (low, high) = of(6).interval(sure).unwrap();
    assert!(low < of(6).slope && of(6).slope < high);
}

struct Draw(u64);
impl Draw {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        statrs::distribution::Normal::standard().inverse_cdf(self.unit())
    }
}

/// Of 2,000 made rows with a known slope: how often the interval holds it, for few tests and many.
#[test]
fn intervals_hold_the_true_slope_as_often_as_they_say() {
    let mut draw = Draw(7);
    for (tests, most) in [(5, 1.0), (8, 0.97), (10, 0.93), (16, 0.93)] {
        let held = (0..2_000)
            .filter(|_| {
                let points: Vec<(f64, f64)> = (0..tests)
                    .map(|i| (f64::from(i), 0.3 * f64::from(i) + draw.normal()))
                    .collect();
                let t = trend(&points, "").unwrap();
                t.interval(Confidence::percent(90.0).unwrap())
                    .is_none_or(|(l, h)| l <= 0.3 && 0.3 <= h)
            })
            .count() as f64
            / 2_000.0;
        assert!((0.88..=most).contains(&held), "{tests} tests: {held}");
    }
}

/// As many yearly tests as asked for find the slope about as often as promised.
#[test]
fn a_settled_trend_is_found_as_often_as_promised() {
    let (confidence, power) = (Confidence::USUAL, Confidence::USUAL);
    let mut draw = Draw(11);
    for slope in [0.02, 0.05, 0.1, 0.3] {
        let tests = tests_to_settle(slope, 0.25, confidence, power)
            .unwrap()
            .value as i32;
        let found = (0..2_000)
            .filter(|_| {
                let points: Vec<(f64, f64)> = (0..tests)
                    .map(|i| (f64::from(i), slope * f64::from(i) + 0.25 * draw.normal()))
                    .collect();
                trend(&points, "%").unwrap().stands_out(confidence)
            })
            .count() as f64
            / 2_000.0;
        assert!(found > 0.70, "slope {slope}, {tests} tests: {found}");
        let fewer = tests_to_settle(2.0 * slope, 0.25, confidence, power)
            .unwrap()
            .value as i32;
        assert!(fewer <= tests);
    }
    assert!(tests_to_settle(0.0, 1.0, confidence, power).is_err());
    assert!(tests_to_settle(1e-9, 1.0, confidence, power).is_err());
    assert!(tests_to_settle(0.1, 0.0, confidence, power).is_err());
}

#[test]
fn the_season_is_named_only_where_it_differs() {
    assert!(other_season(Analyte::Ph, &[10, 11, 10]).is_empty());
    assert!(other_season(Analyte::Ph, &[12, 1]).is_empty());
    let said = other_season(Analyte::Ph, &[4, 10]);
    assert!(
        said.iter().any(|c| c.text.contains("pH fall vs spring")),
        "{said:?}"
    );
    assert_eq!(other_season(Analyte::Zn, &[4, 10]).len(), 1);
}

/// Both tests' doubts count: a test of few cores cannot show what one of many shows.
#[test]
fn a_change_carries_both_doubts() {
    let (few, many) = (
        of_test(Analyte::Ph, 3, None).unwrap(),
        of_test(Analyte::Ph, 30, None).unwrap(),
    );
    let sure = Confidence::percent(90.0).unwrap();
    let of = |a, b| change_between((6.0, a), (6.4, b), "pH", sure);
    assert!(of(&many, &many).z > of(&few, &many).z && of(&few, &many).z > of(&few, &few).z);
    assert!((of(&few, &few).figure.value - 0.4).abs() < 1e-12);
    assert_eq!(of(&few, &few).figure, change(6.0, 6.4, &few, "pH", sure));
}

/// No change at all is called one no more often than stated.
#[test]
fn noise_alone_is_called_a_change_no_more_often_than_stated() {
    let doubt = of_test(Analyte::P, 12, None).unwrap();
    let mut draw = Draw(3);
    let called = (0..4_000)
        .filter(|_| {
            let (a, b) = (doubt.at(40.0, draw.normal()), doubt.at(40.0, draw.normal()));
            change_between(
                (a, &doubt),
                (b, &doubt),
                "ppm",
                Confidence::percent(90.0).unwrap(),
            )
            .larger
        })
        .count() as f64
        / 4_000.0;
    assert!((0.085..=0.115).contains(&called), "{called}");
}

proptest! {
    #[test]
    fn wider_sureness_never_narrows_the_interval(values in proptest::collection::vec(0i32..30, 5..16)) {
        let points: Vec<(f64, f64)> = values.iter().enumerate().map(|(i, v)| (i as f64, f64::from(*v))).collect();
        let t = trend(&points, "ppm").unwrap();
        prop_assert!((0.0..=1.0).contains(&t.p));
        if let (Some(a), Some(b)) = (t.interval(Confidence::USUAL), t.interval(Confidence::percent(95.0).unwrap())) {
            prop_assert!(b.0 <= a.0 && a.0 <= t.slope + 1e-12 && t.slope <= a.1 + 1e-12 && a.1 <= b.1);
        }
    }
}
