//! The class alone, for lists of many samples.

use super::system::{count, steps};
use super::unit::find as table_unit;
use super::{Band, ReadingError, System};
use crate::soil::{Analyte, Extractant};
use crate::texture::Texture;
use crate::working::Evidence;

/// A table's bands for one analyte, extractant and group, made ready. It agrees with
/// [`super::look_up`].
#[derive(Debug, Clone)]
pub struct Quick<'a> {
    per_ppm: f64,
    /// The mark of the unit's conversion, where there is one.
    unit_evidence: Option<Evidence>,
    bands: Vec<&'a Band>,
    ladder: Option<Ladder>,
}

/// The ends of bands that share a step, as numbers that a value is set beside.
///
/// A value rounded to whole steps is at least `low` when the value itself is at least `low − ½` steps,
/// and at most `high` when it is below `high + ½`: halves round up.
#[derive(Debug, Clone)]
struct Ladder {
    step: Option<f64>,
    /// Lowest first; rungs without a band stand above every value
    lows: [f64; RUNGS],
    highs: [f64; RUNGS],
}

const RUNGS: usize = 8;

impl Ladder {
    /// None for bands that cannot be put in one: too many, or of several steps.
    fn new(bands: &[&Band]) -> Option<Self> {
        let step = bands.first()?.step;
        if bands.len() > RUNGS || bands.iter().any(|b| b.step != step) {
            return None;
        }
        let mut ladder = Self {
            step,
            lows: [f64::INFINITY; RUNGS],
            highs: [f64::INFINITY; RUNGS],
        };
        let half = if step.is_some() { 0.5 } else { 0.0 };
        let end = |v: f64| step.map_or(v, |step| count(v, step));
        for (at, band) in bands.iter().enumerate() {
            ladder.lows[at] = band.low.map_or(f64::NEG_INFINITY, |low| end(low) - half);
            ladder.highs[at] = band.high.map_or(f64::INFINITY, |high| end(high) + half);
        }
        ladder.lows.is_sorted().then_some(ladder)
    }

    /// The place of the band that holds a value in the table's unit.
    #[inline]
    fn at(&self, value: f64) -> Option<usize> {
        let value = match self.step {
            None => value,
            Some(step) => steps(value, step),
        };
        // Counted without a branch: among random values every branch would be a wrong guess.
        let climbed: usize = self.lows.iter().map(|low| usize::from(*low <= value)).sum();
        let at = climbed.checked_sub(1)?;
        (value < self.highs[at]).then_some(at)
    }
}

impl<'a> Quick<'a> {
    /// The bands that [`super::look_up`] would read a value with.
    ///
    /// `group` is a crop key or a word for the ground; see [`System::group_for`].
    pub fn new(
        system: &'a System,
        analyte: Analyte,
        extractant: Extractant,
        group: Option<&str>,
    ) -> Result<Self, ReadingError> {
        let bands = system.bands_for(analyte, extractant, group)?;
        let Some(first) = bands.first() else {
            return Err(ReadingError::OtherExtractant {
                table: system.name.clone(),
                analyte: analyte.name(),
                extractant: extractant.name(),
            });
        };
        let unit = table_unit(&first.unit).filter(|u| u.per_ppm != 1.0);
        Ok(Self {
            per_ppm: unit.map_or(1.0, |u| u.per_ppm),
            unit_evidence: unit.map(|u| u.source.evidence),
            ladder: Ladder::new(&bands),
            bands,
        })
    }

    /// Every band, lowest first.
    pub fn bands(&self) -> impl Iterator<Item = &'a Band> {
        self.bands.iter().copied()
    }

    /// The weakest source that the reading of a value in this band rests on, the lab's report included.
    pub fn evidence(&self, band: &Band) -> Evidence {
        self.unit_evidence
            .unwrap_or(Evidence::Seen)
            .max(band.source.evidence)
            .max(Evidence::Local)
    }

    /// The place among [`Quick::bands`] of the one that holds a value in ppm; none outside the range
    /// printed and for what is not a usable number.
    #[inline]
    pub fn at(&self, ppm: f64) -> Option<usize> {
        if !ppm.is_finite() || ppm < 0.0 {
            return None;
        }
        let value = ppm * self.per_ppm;
        match &self.ladder {
            Some(ladder) => ladder.at(value),
            None => self.bands.iter().position(|band| band.holds(value)),
        }
    }
}

impl System {
    /// The group of rows for a crop and a texture, where the table has one: the crop's own, else the
    /// kind of ground.
    pub fn group_for<'a>(
        &self,
        analyte: Analyte,
        crop: Option<&'a str>,
        texture: Option<Texture>,
    ) -> Option<&'a str> {
        let groups = self.groups(analyte);
        if let Some(crop) = crop.filter(|c| groups.contains(c)) {
            return Some(crop);
        }
        let ground = if texture?.sandy() { "sandy" } else { "clayey" };
        groups.contains(&ground).then_some(ground)
    }
}
