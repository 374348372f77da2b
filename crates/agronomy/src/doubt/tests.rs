use super::*;
use crate::reading::{self, Reading};
use crate::soil::{Bound, Extractant, Measured};
use proptest::prelude::*;
use serde::Deserialize;

fn rows<T: serde::de::DeserializeOwned>(text: &str) -> Vec<T> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .map(|r| r.unwrap())
        .collect()
}

fn p_reading(ppm: f64) -> Option<Reading> {
    let measured = Measured {
        analyte: Analyte::P,
        value: ppm,
        bound: Bound::Exact,
        extractant: Some(Extractant::Mehlich3),
        buffer: None,
        printed: ppm.to_string(),
        printed_unit: "ppm".to_owned(),
    };
    reading::read(reading::systems().by_id("M3_NJ").unwrap(), &measured, None)
}

#[test]
fn cores_come_out_as_another_program_counted_them() {
    #[derive(Deserialize)]
    struct Row {
        confidence_pct: f64,
        cv_pct: f64,
        error_pct: f64,
        n_normal: f64,
        n_t: f64,
    }
    let all: Vec<Row> = rows(include_str!("../../../../reference/checks/cores_table.csv"));
    assert!(all.len() > 200);
    for r in all {
        let confidence = Confidence::percent(r.confidence_pct).unwrap();
        let figure =
            crate::sampling::cores_needed(r.cv_pct, r.error_pct, confidence, None, "%").unwrap();
        let normal = figure.working[0].value;
        assert_eq!(
            (normal - 1e-9).ceil().max(1.0),
            r.n_normal,
            "{} {}",
            r.cv_pct,
            r.error_pct
        );
        assert_eq!(figure.value, r.n_t, "CV {} error {}", r.cv_pct, r.error_pct);
    }
}

#[test]
fn orders_are_counted_as_another_program_counts_them() {
    #[derive(Deserialize)]
    struct Row {
        n: usize,
        abs_s: i64,
        p_two_sided: f64,
    }
    let all: Vec<Row> = rows(include_str!(
        "../../../../reference/checks/mann_kendall.csv"
    ));
    assert!(all.len() > 90);
    for r in all {
        let p = mann_kendall_exact(r.n, r.abs_s);
        assert!(
            (p - r.p_two_sided).abs() < 1e-6,
            "n {} S {}: {p}",
            r.n,
            r.abs_s
        );
    }
}

/// US EPA 530/R-09-007 (2009) examples 17-6 (ties, normal approximation) and 17-7.
#[test]
fn the_epa_series_come_out() {
    let parse = |id: &str| {
        let cases: Vec<std::collections::HashMap<String, String>> =
            rows(include_str!("../../../../reference/checks/doubt.csv"));
        let case = cases.into_iter().find(|c| c["id"] == id).unwrap();
        let list = case["inputs"].split(';').next().unwrap()["tests=".len()..].to_owned();
        list.split(',')
            .map(|p| {
                let (t, v) = p.split_once(':').unwrap();
                (t.parse().unwrap(), v.parse().unwrap())
            })
            .collect::<Vec<(f64, f64)>>()
    };
    let sulfate = trend(&parse("trend-epa-17-6"), "mg/L").unwrap();
    assert_eq!(sulfate.s, 194);
    assert!((sulfate.p - 3.267_574e-7).abs() < 1e-12, "{}", sulfate.p);
    assert!((sulfate.intercept + 1_909.333_333_3).abs() < 1e-6);
    let variance = sulfate
        .figure
        .working
        .iter()
        .find(|s| s.what == "variance of S")
        .unwrap();
    assert_eq!(variance.value, 1_428.0);
    let sodium = trend(&parse("trend-epa-17-7"), "mg/L").unwrap();
    assert_eq!(sodium.s, 25);
    assert!((sodium.intercept + 65.966_666_7).abs() < 1e-6);
    assert!(
        (sodium.p - 0.028_609).abs() < 1e-6,
        "exact for ten tests: {}",
        sodium.p
    );
    // Four tests can never stand out, and the figure says so.
    let four = trend(&[(1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 4.0)], "ppm").unwrap();
    assert!((four.p - 0.083_333).abs() < 1e-6);
    assert!(
        four.figure
            .cautions
            .iter()
            .any(|c| c.text.contains("too few tests"))
    );
}

/// LimeSoDa RP.62 pH: 0.2315 between points, 15 cores, 0.10 in the lab gives 0.1165 (arithmetic on that
/// data, Harvey eq. 7.8).
#[test]
fn variances_add() {
    let doubt = of_test(Analyte::Ph, 15, Some(Spread::Absolute(0.2315))).unwrap();
    assert!(
        (doubt.total.size() - 0.1165).abs() < 1e-4,
        "{:?}",
        doubt.total
    );
    let least = change(6.0, 6.2, &doubt, "pH", Confidence::percent(95.0).unwrap());
    let step = least
        .working
        .iter()
        .find(|s| s.what.contains("least rise"))
        .unwrap();
    assert!((step.value - 0.3229).abs() < 1e-4, "{}", step.value);
    assert!(
        least
            .working
            .last()
            .unwrap()
            .what
            .contains("within the noise")
    );
}

#[test]
fn a_test_without_published_scatter_gets_no_doubt() {
    assert!(of_test(Analyte::Zn, 12, None).is_err());
    assert!(of_test(Analyte::P, 0, None).is_err());
    assert!(of_test(Analyte::P, 12, Some(Spread::Relative(0.0))).is_err());
    assert!(Confidence::percent(100.0).is_err() && Confidence::percent(f64::NAN).is_err());
    assert!(trend(&[(1.0, 1.0), (2.0, 2.0)], "ppm").is_err());
    assert!(trend(&[(1.0, 1.0), (1.0, 2.0), (2.0, 2.0)], "ppm").is_err());
    assert!(trend(&[(1.0, f64::NAN), (3.0, 2.0), (2.0, 2.0)], "ppm").is_err());
}

proptest! {
    #[test]
    fn chances_sum_to_one(ppm in 0.5f64..900.0, cores in 1u32..40, cv in 0.05f64..1.2) {
        let reading = p_reading(ppm).unwrap();
        let doubt = of_test(Analyte::P, cores, Some(Spread::Relative(cv))).unwrap();
        let (all, figure) = chances(&reading, &doubt);
        let sum: f64 = all.iter().map(|c| c.chance).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        prop_assert!(all.iter().all(|c| (0.0..=1.0).contains(&c.chance)));
        prop_assert!((0.0..=100.0).contains(&figure.value));
    }

    /// More cores never widen the interval and never make a wrong class likelier than the doubt allows.
    #[test]
    fn more_cores_never_widen(value in 1.0f64..500.0, cores in 1u32..40) {
        let width = |n: u32| {
            let (low, high) = of_test(Analyte::P, n, None).unwrap().interval(value, Confidence::USUAL);
            prop_assert!(low < value && value < high && low > 0.0);
            Ok(high - low)
        };
        prop_assert!(width(cores + 1)? <= width(cores)?);
    }

    /// In the middle of a class (on the scale of the scatter) the class is likelier than nearer its edge.
    #[test]
    fn further_from_an_edge_is_surer(share in 0.0f64..0.5, step in 0.0f64..0.5, cores in 1u32..40) {
        // New Jersey's medium, 46 to 71 lb/acre, meets its neighbours at 22.75 and 35.75 ppm.
        let (low, high) = (22.75f64.ln(), 35.75f64.ln());
        let near = share * (1.0 - step);
        let at = |share: f64| (low + (high - low) * share).exp();
        let doubt = of_test(Analyte::P, cores, None).unwrap();
        let own = |ppm: f64| {
            let reading = p_reading(ppm).unwrap();
            chances(&reading, &doubt).0.iter().find(|c| c.category == "medium").unwrap().chance
        };
        prop_assert!(own(at(share)) >= own(at(near)) - 1e-12);
    }

    #[test]
    fn ph_doubts_both_ways_alike(ph in 4.0f64..8.5, cores in 1u32..40) {
        let doubt = of_test(Analyte::Ph, cores, None).unwrap();
        let (low, high) = doubt.interval(ph, Confidence::USUAL);
        prop_assert!(((ph - low) - (high - ph)).abs() < 1e-9);
    }

    #[test]
    fn a_trend_turned_round_is_the_same_the_other_way(values in proptest::collection::vec(1.0f64..100.0, 3..14)) {
        let points: Vec<(f64, f64)> = values.iter().enumerate().map(|(i, v)| (i as f64, *v)).collect();
        let turned: Vec<(f64, f64)> = points.iter().map(|(t, v)| (*t, 200.0 - v)).collect();
        let (a, b) = (trend(&points, "ppm").unwrap(), trend(&turned, "ppm").unwrap());
        prop_assert_eq!(a.s, -b.s);
        prop_assert!((a.p - b.p).abs() < 1e-9 && (a.slope + b.slope).abs() < 1e-9);
        prop_assert!((0.0..=1.0).contains(&a.p));
    }
}
