//! What fewer or more cores buy.

use super::{SamplingError, Spread, cores_needed, field_variation, lab_precision};
use crate::doubt::{Confidence, z_two_sided};
use crate::soil::Analyte;
use crate::working::{Figure, Source};
use serde::Serialize;

/// The tests whose scatter between cores is held, as a grower asks for them.
pub const SHOWN: [Analyte; 4] = [Analyte::P, Analyte::K, Analyte::OrganicMatter, Analyte::Ph];

/// How near a sample of so many cores comes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct At {
    pub cores: u32,
    /// Half of the interval, in percent of the value, or in the unit of the test for pH: cores alone.
    pub of_cores: f64,
    /// With the lab’s own repeat.
    pub with_lab: f64,
}

/// What cores buy for one test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Buys {
    pub analyte: Analyte,
    /// Between single cores.
    pub scatter: Spread,
    /// The farm’s own, not that of published fields.
    pub own: bool,
    /// `%`, or the unit of the test.
    pub unit: String,
    /// By number of cores, rising.
    pub at: Vec<At>,
    /// What the lab’s repeat alone leaves, whatever the cores.
    pub lab_alone: f64,
    pub source: Source,
}

/// How near the mean of each of `counts` cores lies to that of the ground, in as many of 100 cases as
/// `confidence` says. The scatter is the farm’s own where given, else that of published fields; it is
/// taken as known, so that the normal distribution serves at every count alike.
///
/// # Errors
/// No scatter between cores is held for the test.
pub fn buys(
    analyte: Analyte,
    own: Option<Spread>,
    counts: &[u32],
    confidence: Confidence,
) -> Result<Buys, SamplingError> {
    let published = field_variation(analyte).filter(|v| !v.whole_test);
    let (scatter, source) = match (own, published) {
        (Some(own), _) => (own, Source::stated("your own samples")),
        (None, Some(found)) => (found.spread, found.source.clone()),
        (None, None) => return Err(SamplingError::Table("scatter between cores")),
    };
    let relative = matches!(scatter, Spread::Relative(_));
    let lab = lab_precision(analyte, false)
        .map(|p| p.spread)
        .filter(|s| matches!(s, Spread::Relative(_)) == relative)
        .map_or(0.0, Spread::shown);
    let z = z_two_sided(confidence);
    let at = counts
        .iter()
        .filter(|n| **n > 0)
        .map(|n| {
            let of_cores = scatter.shown() / f64::from(*n).sqrt();
            At {
                cores: *n,
                of_cores: z * of_cores,
                with_lab: z * of_cores.hypot(lab),
            }
        })
        .collect();
    Ok(Buys {
        analyte,
        scatter,
        own: own.is_some(),
        unit: scatter.unit(analyte.unit()),
        at,
        lab_alone: z * lab,
        source,
    })
}

impl Buys {
    /// Cores that a wanted margin takes, with the working.
    ///
    /// # Errors
    /// A margin that is not above zero or takes too many cores.
    pub fn needed(&self, margin: f64, confidence: Confidence) -> Result<Figure, SamplingError> {
        cores_needed(self.scatter.shown(), margin, confidence, None, &self.unit)
    }

    /// The least that a change between two tests must be to stand out from the noise, by number of
    /// cores, in the unit of `at`: √2 times the margin.
    pub fn change(&self, at: &At) -> f64 {
        at.with_lab * std::f64::consts::SQRT_2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn percent(p: f64) -> Confidence {
        Confidence::percent(p).unwrap()
    }

    #[test]
    fn four_times_the_cores_halve_the_margin() {
        for analyte in SHOWN {
            let b = buys(analyte, None, &[5, 20], Confidence::USUAL).unwrap();
            assert!((b.at[0].of_cores / b.at[1].of_cores - 2.0).abs() < 1e-12);
            for at in &b.at {
                assert!(at.with_lab >= at.of_cores && at.with_lab > b.lab_alone - 1e-12);
                assert!(b.change(at) > at.with_lab);
            }
        }
    }

    /// n = (z CV / E)² turned round, against the table of counts in cores_table.csv worked out by another
    /// program: at 80 % a scatter of 30 % and a margin of 10 % take 15 cores.
    #[test]
    fn the_margin_is_the_count_turned_round() {
        let b = buys(
            Analyte::K,
            Some(Spread::Relative(0.3)),
            &[14, 15],
            percent(80.0),
        )
        .unwrap();
        assert!(b.at[0].of_cores > 10.0 && b.at[1].of_cores < 10.0, "{b:?}");
        assert!(b.own);
    }

    /// Vogel, Quantitative Chemical Analysis p. 180: sampling 3 % and analysis 1 % are 3.16 % together.
    #[test]
    fn the_labs_repeat_adds_as_squares() {
        let one = buys(
            Analyte::P,
            Some(Spread::Relative(0.03)),
            &[1],
            percent(80.0),
        )
        .unwrap();
        let z = crate::doubt::z_two_sided(percent(80.0));
        let lab = one.lab_alone / z;
        let together = one.at[0].with_lab / z;
        assert!((together - (9.0 + lab * lab).sqrt()).abs() < 1e-9);
        assert!(((3.0f64).hypot(1.0) - 3.16).abs() < 0.005);
    }
}
