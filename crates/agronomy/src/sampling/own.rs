//! The farm’s own scatter between cores, from several samples of the same ground.

use super::{Shape, Spread, formula_source, lab_precision, shape};
use crate::soil::Analyte;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::BTreeMap;

/// Fewest degrees of freedom that a farm’s own scatter may rest on: below this it would say more about
/// luck than about the ground.
pub const LEAST_FREEDOM: usize = 5;

/// Samples of one piece of ground, taken at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// Cores mixed into each sample; one where cores were tested one by one.
    pub cores: u32,
    /// The values, in the unit of the test.
    pub values: Vec<f64>,
}

/// What a farm’s own samples say of the scatter between single cores.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnScatter {
    pub spread: Spread,
    /// Degrees of freedom behind it.
    pub freedom: usize,
    pub figure: Figure,
}

/// Scatter between single cores (one standard deviation: percent of the value, for pH in pH units) from
/// several samples each of one piece of ground: the variance within each piece less the lab’s own, times
/// the cores in a sample, weighted by degrees of freedom.
///
/// The careful end of the estimate is given: its upper 80 % limit by the chi-square distribution, which
/// comes down to the estimate as samples grow in number.
///
/// None where fewer than [`LEAST_FREEDOM`] degrees of freedom stand behind it, where the samples lie closer
/// than the lab repeats itself, or where no shape of scatter is held for the test.
pub fn own_scatter(analyte: Analyte, groups: &[Alike]) -> Option<OwnScatter> {
    let (shape, _) = shape(analyte)?;
    let relative = shape == Shape::Lognormal;
    let lab = lab_precision(analyte, false)
        .map(|p| p.spread)
        .filter(|s| matches!(s, Spread::Relative(_)) == relative);
    let lab_variance = lab.map_or(0.0, |s| variance_of(s, relative));
    // Sum of squares and degrees of freedom by the number of cores in a sample.
    let mut by_cores: BTreeMap<u32, (f64, f64)> = BTreeMap::new();
    let (mut freedom, mut samples, mut grounds) = (0, 0, 0);
    for group in groups {
        let values: Vec<f64> = group
            .values
            .iter()
            .filter(|v| v.is_finite() && (!relative || **v > 0.0))
            .map(|v| if relative { v.ln() } else { *v })
            .collect();
        if values.len() < 2 || group.cores == 0 {
            continue;
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        let of = by_cores.entry(group.cores).or_default();
        of.0 += squares;
        of.1 += n - 1.0;
        freedom += values.len() - 1;
        samples += values.len();
        grounds += 1;
    }
    if freedom < LEAST_FREEDOM {
        return None;
    }
    // Of the mean of n cores the square of the CV is an n-th of that of single cores.
    let of_cores = |cores: u32, squares: f64, of: f64| {
        let variance = squares / of - lab_variance;
        let of_mean = if relative {
            variance.exp_m1()
        } else {
            variance
        };
        f64::from(cores) * of_mean * of
    };
    let sum: f64 = by_cores
        .iter()
        .map(|(cores, (squares, of))| of_cores(*cores, *squares, *of))
        .sum();
    let size = (sum / freedom as f64).max(0.0).sqrt();
    let found = if relative {
        Spread::Relative(size)
    } else {
        Spread::Absolute(size)
    };
    // So few samples may lie close by luck: the end that four of five such estimates stay below is used.
    let chi = ChiSquared::new(freedom as f64).ok()?.inverse_cdf(0.2);
    let spread = found.resized(found.size() * (freedom as f64 / chi).sqrt());
    if !(spread.size() > 0.0 && spread.size().is_finite()) {
        return None;
    }
    let mut figure = Figure::new(format!("Your own ground’s scatter of {}", analyte.name()));
    let unit = spread.unit(analyte.unit());
    figure.step(
        "between single cores, one standard deviation",
        found.shown(),
        unit.clone(),
        format!(
            "{samples} samples of {grounds} pieces of ground: variance within each{} × cores in a sample, over {freedom} degrees of freedom",
            match lab {
                Some(lab) => format!(" less the lab’s own ({} {unit})²", plain(lab.shown(), 3)),
                None => String::new(),
            }
        ),
        formula_source(),
    );
    figure.step(
        "the careful end of that, four of five",
        spread.shown(),
        unit,
        format!(
            "{} × √({freedom} / {})",
            plain(found.shown(), 3),
            plain(chi, 3)
        ),
        Source::new(
            "upper limit of a standard deviation by the chi-square distribution",
            Evidence::Derived,
        ),
    );
    Some(OwnScatter {
        spread,
        freedom,
        figure,
    })
}

/// Variance on the scale of the sums: of logarithms where the scatter is relative.
fn variance_of(spread: Spread, relative: bool) -> f64 {
    let size = spread.size();
    if relative {
        size.mul_add(size, 1.0).ln()
    } else {
        size * size
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values around a mean with a known scatter between cores, by a small seeded generator.
    fn drawn(groups: usize, each: usize, cores: u32, cv: f64) -> Vec<Alike> {
        let mut seed = 7_u64;
        let mut unit = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((seed >> 11) as f64 / (1_u64 << 53) as f64).clamp(1e-12, 1.0)
        };
        let mut normal =
            move || (-2.0 * unit().ln()).sqrt() * (std::f64::consts::TAU * unit()).cos();
        let sigma = cv.mul_add(cv, 1.0).ln().sqrt();
        let lab = lab_precision(Analyte::P, false).unwrap().spread.size();
        let repeat = lab.mul_add(lab, 1.0).ln().sqrt();
        (0..groups)
            .map(|_| Alike {
                cores,
                values: (0..each)
                    .map(|_| {
                        let sum: f64 = (0..cores).map(|_| 50.0 * (sigma * normal()).exp()).sum();
                        sum / f64::from(cores) * (repeat * normal()).exp()
                    })
                    .collect(),
            })
            .collect()
    }

    #[test]
    fn a_known_scatter_is_found_again() {
        for (cores, cv) in [(1, 0.6), (1, 0.4), (6, 0.6), (12, 0.5)] {
            let found = own_scatter(Analyte::P, &drawn(200, 5, cores, cv)).unwrap();
            let off = (found.spread.size() - cv).abs() / cv;
            assert!(off < 0.12, "{cores} cores, {cv}: {:?}", found.spread);
            assert_eq!(found.freedom, 800);
        }
    }

    #[test]
    fn too_few_samples_give_none() {
        assert!(own_scatter(Analyte::P, &drawn(2, 3, 12, 0.4)).is_none());
        assert!(own_scatter(Analyte::P, &drawn(5, 2, 12, 0.4)).is_some());
        assert!(own_scatter(Analyte::P, &[]).is_none());
    }

    #[test]
    fn values_closer_than_the_lab_repeats_itself_tell_nothing() {
        let same = vec![
            Alike {
                cores: 12,
                values: vec![40.0; 7],
            };
            2
        ];
        assert!(own_scatter(Analyte::P, &same).is_none());
    }

    #[test]
    fn fewer_samples_are_taken_more_carefully() {
        let ground = |each| {
            own_scatter(Analyte::P, &drawn(1, each, 1, 0.5))
                .unwrap()
                .figure
        };
        let ratio = |f: &Figure| f.working[1].value / f.working[0].value;
        assert!(ratio(&ground(6)) > 1.3 && ratio(&ground(300)) < 1.06);
    }

    #[test]
    fn ph_scatters_in_ph_units() {
        let ground = vec![
            Alike {
                cores: 1,
                values: vec![6.0, 6.4, 5.9, 6.6, 6.1, 6.3, 5.8],
            };
            1
        ];
        let found = own_scatter(Analyte::Ph, &ground).unwrap();
        assert!(matches!(found.spread, Spread::Absolute(s) if s > 0.2 && s < 0.55));
    }
}
