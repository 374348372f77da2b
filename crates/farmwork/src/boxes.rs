//! Several boxes of one block in one report: read as their mean.

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured, SoilTest};
use farmbook::StoredTest;
use quantity::plain;

/// The tests of one block and one report as one: the mean of each value, by extractant and buffer, and of
/// each printed rate. A value that one of the boxes lacks is the mean of the rest; one that stands below or
/// above what the lab can tell in any box keeps that sign, since no mean can be had.
///
/// None where there is nothing to bring together.
pub(crate) fn together(tests: &[&StoredTest]) -> Option<StoredTest> {
    let (first, rest) = tests.split_first()?;
    if rest.is_empty() {
        return Some((*first).clone());
    }
    let mut kinds: Vec<(Analyte, Option<Extractant>, Option<Buffer>)> = Vec::new();
    for m in tests.iter().flat_map(|t| &t.test.measured) {
        let kind = (m.analyte, m.extractant, m.buffer);
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let measured = kinds
        .into_iter()
        .filter_map(|kind| {
            let all: Vec<&Measured> = tests
                .iter()
                .flat_map(|t| &t.test.measured)
                .filter(|m| (m.analyte, m.extractant, m.buffer) == kind)
                .collect();
            mean(&all)
        })
        .collect();
    let mut recommended = first.test.recommended.clone();
    for rate in &mut recommended {
        let all: Vec<f64> = tests
            .iter()
            .filter_map(|t| t.test.recommendation(rate.nutrient))
            .map(|r| r.lb_per_acre)
            .collect();
        rate.lb_per_acre = average(&all);
        rate.printed = format!("mean of {} boxes", all.len());
        rate.printed_unit = "lb/acre".to_owned();
    }
    Some(StoredTest {
        sample: format!("{}, {} boxes", first.sample, tests.len()),
        test: SoilTest {
            measured,
            recommended,
            ..first.test.clone()
        },
        ..(*first).clone()
    })
}

fn mean(all: &[&Measured]) -> Option<Measured> {
    let first = *all.first()?;
    if all.len() == 1 || all.iter().any(|m| m.bound != Bound::Exact) {
        return all
            .iter()
            .find(|m| m.bound != Bound::Exact)
            .map_or_else(|| Some(first.clone()), |m| Some((*m).clone()));
    }
    let values: Vec<f64> = all.iter().map(|m| m.value).collect();
    let shown: Vec<String> = values.iter().map(|v| plain(*v, 4)).collect();
    Some(Measured {
        value: average(&values),
        printed: format!("mean of {}", crate::words::and(&shown)),
        printed_unit: first.analyte.unit().to_owned(),
        ..first.clone()
    })
}

fn average(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn test(p: f64, bound: Bound) -> StoredTest {
        StoredTest {
            id: 1,
            report: 1,
            sample: "Barn".into(),
            row: None,
            block: Some(1),
            test: SoilTest {
                sample: "Barn".into(),
                measured: vec![Measured {
                    analyte: Analyte::P,
                    value: p,
                    bound,
                    extractant: Some(Extractant::Mehlich3),
                    buffer: None,
                    printed: p.to_string(),
                    printed_unit: "ppm".into(),
                }],
                ..SoilTest::default()
            },
            sampled_on: None,
        }
    }

    #[test]
    fn boxes_become_their_mean() {
        let (a, b) = (test(40.0, Bound::Exact), test(50.0, Bound::Exact));
        let one = together(&[&a, &b]).unwrap();
        assert_eq!(one.test.value(Analyte::P), Some(45.0));
        assert_eq!(one.test.measured[0].printed, "mean of 40 and 50");
        assert!(one.sample.contains("2 boxes"));
        assert_eq!(together(&[&a]).unwrap(), a);
        assert!(together(&[]).is_none());
    }

    #[test]
    fn a_value_below_detection_is_not_averaged() {
        let (a, b) = (test(40.0, Bound::Exact), test(5.0, Bound::Below));
        let one = together(&[&a, &b]).unwrap();
        assert_eq!(one.test.measured[0].bound, Bound::Below);
    }
}
