//! Which pieces of ground may share a sample.

use super::{Reason, SamplingError, Shape, Spread, advice};
use crate::doubt::{self, Confidence};
use crate::soil::{Analyte, Bound, SoilTest};
use crate::texture::Texture;
use quantity::{Area, plain};
use std::cell::RefCell;
use std::collections::HashMap;

/// What is known of a piece of ground before it is sampled.
#[derive(Debug, Clone)]
pub struct Ground<'a> {
    /// Under cover, as in a high tunnel.
    pub tunnel: bool,
    /// In plants that stay for years.
    pub perennial: bool,
    pub texture: Option<Texture>,
    /// What the soil is called here; empty where nobody said.
    pub soil: &'a str,
    /// Worked to this depth, inches.
    pub depth_in: f64,
    pub free_lime: Option<bool>,
    /// The last lime and the last manure or compost, in whatever writing is the same for the same day.
    pub limed: Option<&'a str>,
    pub manured: Option<&'a str>,
    pub area: Area,
    pub last: Option<LastTest<'a>>,
}

/// A test with the number of cores behind it.
#[derive(Debug, Clone, Copy)]
pub struct LastTest<'a> {
    pub test: &'a SoilTest,
    pub cores: u32,
}

/// What most plainly tells two pieces of ground apart, first of all; empty where they may share a sample.
///
/// # Errors
/// The table of advice lacks a row.
pub fn apart(a: &Ground, b: &Ground) -> Result<Vec<Reason>, SamplingError> {
    let mut why = Vec::new();
    if a.tunnel != b.tunnel {
        why.push(Reason::of("apart_cover", "")?);
    }
    if a.perennial != b.perennial {
        why.push(Reason::of(
            "apart_history",
            "One is in plants that stay, one is not.",
        )?);
    }
    if let (Some(x), Some(y)) = (a.texture, b.texture)
        && x != y
    {
        let here = format!("{} and {}.", capital(x.name()), y.name());
        why.push(Reason::of("apart_soil", &here)?);
    }
    if !same(a.soil, b.soil) {
        let name = |s: &str| {
            if s.trim().is_empty() {
                "not named".to_owned()
            } else {
                format!("“{}”", s.trim())
            }
        };
        let here = format!("The soil is {} and {}.", name(a.soil), name(b.soil));
        why.push(Reason::of("apart_soil", &here)?);
    }
    if let (Some(x), Some(y)) = (a.free_lime, b.free_lime)
        && x != y
    {
        why.push(Reason::of(
            "apart_soil",
            "One fizzes with vinegar, one does not.",
        )?);
    }
    if (a.depth_in - b.depth_in).abs() > 0.5 {
        let here = format!("{} and {} in.", plain(a.depth_in, 2), plain(b.depth_in, 2));
        why.push(Reason::of("apart_depth", &here)?);
    }
    for (what, x, y) in [
        ("lime", a.limed, b.limed),
        ("manure or compost", a.manured, b.manured),
    ] {
        if x != y {
            let day = |d: Option<&str>| d.map_or("none known".to_owned(), str::to_owned);
            let here = format!("Last {what}: {} and {}.", day(x), day(y));
            why.push(Reason::of("apart_history", &here)?);
        }
    }
    if let (Some(x), Some(y)) = (a.last, b.last) {
        why.extend(by_tests(x, y)?);
    }
    Ok(why)
}

/// Where ground that would share a sample is more than one sample should stand for.
///
/// # Errors
/// The table of advice lacks a row.
pub fn too_large(together: Area) -> Result<Option<Reason>, SamplingError> {
    let most = advice("apart_size")?
        .high
        .ok_or(SamplingError::Table("ground to a sample"))?;
    let acres = together.to_acres();
    if acres <= most {
        return Ok(None);
    }
    let here = format!("{} acres, of at most {}.", plain(acres, 2), plain(most, 2));
    Reason::of("apart_size", &here).map(Some)
}

/// pH, phosphorus and potassium of the last tests, where they differ by more than chance gives in four of
/// five cases.
fn by_tests(a: LastTest, b: LastTest) -> Result<Vec<Reason>, SamplingError> {
    let mut why = Vec::new();
    for analyte in [Analyte::Ph, Analyte::P, Analyte::K] {
        let (Some(x), Some(y)) = (a.test.get(analyte), b.test.get(analyte)) else {
            continue;
        };
        let exact = x.bound == Bound::Exact && y.bound == Bound::Exact;
        if !exact || x.extractant != y.extractant || x.value <= 0.0 || y.value <= 0.0 {
            continue;
        }
        let Some((shape, least)) = least(analyte, a.cores.min(b.cores).max(1)) else {
            continue;
        };
        let between = match shape {
            Shape::Lognormal => (x.value / y.value).ln().abs(),
            Shape::Normal => (x.value - y.value).abs(),
        };
        let stands_out = between > least;
        if stands_out {
            let here = format!(
                "{} {} and {}{}.",
                analyte.name(),
                plain(x.value, 3),
                plain(y.value, 3),
                match analyte.unit() {
                    "" | "pH" => String::new(),
                    unit => format!(" {unit}"),
                }
            );
            why.push(Reason::of("apart_test", &here)?);
        }
    }
    Ok(why)
}

/// The least difference of two tests that stands out from their doubt, in four of five cases: z √2 σ, of the
/// logarithms for amounts. Kept for the next pair, since a farm asks it of very many.
fn least(analyte: Analyte, cores: u32) -> Option<(Shape, f64)> {
    type Kept = HashMap<(Analyte, u32), Option<(Shape, f64)>>;
    thread_local! {
        static KEPT: RefCell<Kept> = RefCell::default();
    }
    KEPT.with_borrow_mut(|kept| {
        *kept.entry((analyte, cores)).or_insert_with(|| {
            let doubt = doubt::of_test(analyte, cores, None).ok()?;
            let z = doubt::z_two_sided(Confidence::USUAL);
            let sigma = match (doubt.shape, doubt.total) {
                (Shape::Lognormal, Spread::Relative(cv)) => (cv * cv).ln_1p().sqrt(),
                (Shape::Normal, Spread::Absolute(sd)) => sd,
                _ => return None,
            };
            Some((doubt.shape, z * std::f64::consts::SQRT_2 * sigma))
        })
    })
}

fn same(a: &str, b: &str) -> bool {
    a.split_whitespace()
        .map(str::to_lowercase)
        .eq(b.split_whitespace().map(str::to_lowercase))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::soil::{Extractant, Measured};

    fn ground() -> Ground<'static> {
        Ground {
            tunnel: false,
            perennial: false,
            texture: Some(Texture::Loam),
            soil: "Creek bottom",
            depth_in: 20.0 / 3.0,
            free_lime: None,
            limed: None,
            manured: None,
            area: Area::acres(0.5),
            last: None,
        }
    }

    fn test(ph: f64, p: f64) -> SoilTest {
        let of = |analyte, value, extractant| Measured {
            analyte,
            value,
            bound: Bound::Exact,
            extractant,
            buffer: None,
            printed: value.to_string(),
            printed_unit: String::new(),
        };
        SoilTest {
            measured: vec![
                of(Analyte::Ph, ph, None),
                of(Analyte::P, p, Some(Extractant::Mehlich3)),
            ],
            ..SoilTest::default()
        }
    }

    fn tells(a: &Ground, b: &Ground) -> String {
        let there = apart(a, b).unwrap();
        // It does not matter who is asked first.
        assert_eq!(there.len(), apart(b, a).unwrap().len());
        there
            .iter()
            .map(|r| r.text.as_str())
            .collect::<Vec<_>>()
            .join(" | ")
    }

    #[test]
    fn ground_of_one_kind_may_share() {
        let other = Ground {
            soil: "creek  BOTTOM ",
            ..ground()
        };
        assert_eq!(tells(&ground(), &other), "");
    }

    #[test]
    fn each_difference_is_told_by_itself() {
        let a = ground();
        for (b, said) in [
            (
                Ground {
                    tunnel: true,
                    ..a.clone()
                },
                "under cover",
            ),
            (
                Ground {
                    perennial: true,
                    ..a.clone()
                },
                "plants that stay",
            ),
            (
                Ground {
                    texture: Some(Texture::Sand),
                    ..a.clone()
                },
                "Loam and sand.",
            ),
            (
                Ground {
                    soil: "",
                    ..a.clone()
                },
                "“Creek bottom” and not named",
            ),
            (
                Ground {
                    depth_in: 8.0,
                    ..a.clone()
                },
                "6.7 and 8 in.",
            ),
            (
                Ground {
                    limed: Some("2026-10-01"),
                    ..a.clone()
                },
                "Last lime: none known and 2026-10-01",
            ),
            (
                Ground {
                    manured: Some("2026-04-01"),
                    ..a.clone()
                },
                "Last manure or compost",
            ),
        ] {
            let told = tells(&a, &b);
            assert!(told.contains(said), "{told}");
            assert!(!told.contains(" | "), "{told}");
        }
    }

    #[test]
    fn tests_tell_ground_apart_only_beyond_their_doubt() {
        let (near, far) = (test(6.5, 40.0), test(5.9, 90.0));
        let beside = test(6.55, 46.0);
        let with = |test| Ground {
            last: Some(LastTest { test, cores: 15 }),
            ..ground()
        };
        assert_eq!(tells(&with(&near), &with(&beside)), "");
        let told = tells(&with(&near), &with(&far));
        assert!(
            told.contains("6.5 and 5.9") && told.contains("40 and 90"),
            "{told}"
        );
    }

    /// The quick way gives what the whole sum gives.
    #[test]
    fn the_least_difference_is_that_of_the_sum_with_its_working() {
        for (analyte, value) in [(Analyte::Ph, 6.4), (Analyte::P, 40.0), (Analyte::K, 150.0)] {
            let (shape, least) = least(analyte, 15).unwrap();
            let doubt = doubt::of_test(analyte, 15, None).unwrap();
            let at = |by: f64| {
                let other = match shape {
                    Shape::Lognormal => value * by.exp(),
                    Shape::Normal => value + by,
                };
                let f = doubt::change(value, other, &doubt, "", Confidence::USUAL);
                f.low.unwrap() > 0.0
            };
            assert!(at(least * 1.001) && !at(least * 0.999), "{analyte:?}");
        }
    }

    #[test]
    fn ten_acres_is_the_most_for_one_sample() {
        // Clemson: 10 acres or less.
        assert!(too_large(Area::acres(10.0)).unwrap().is_none());
        assert!(too_large(Area::acres(10.1)).unwrap().is_some());
    }
}
