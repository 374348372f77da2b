//! The class alone, for lists of many samples.

use super::system::count;
use super::{Band, ReadingError, System, table_unit};
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
    rungs: Vec<Rung<'a>>,
}

/// A band with its ends counted in steps where the table rounds.
#[derive(Debug, Clone)]
struct Rung<'a> {
    band: &'a Band,
    low: Option<f64>,
    high: Option<f64>,
}

impl Rung<'_> {
    /// As [`Band::holds`]; `counted` is the value in this band's steps.
    fn holds(&self, value: f64, counted: f64) -> bool {
        if self.band.step.is_some() {
            self.low.is_none_or(|low| counted >= low) && self.high.is_none_or(|h| counted <= h)
        } else {
            self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|h| value < h)
        }
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
            rungs: bands
                .into_iter()
                .map(|band| {
                    let end = |v: f64| band.step.map_or(v, |step| count(v, step));
                    Rung {
                        band,
                        low: band.low.map(end),
                        high: band.high.map(end),
                    }
                })
                .collect(),
        })
    }

    /// Every band, lowest first.
    pub fn bands(&self) -> impl Iterator<Item = &'a Band> {
        self.rungs.iter().map(|r| r.band)
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
    pub fn at(&self, ppm: f64) -> Option<usize> {
        if !ppm.is_finite() || ppm < 0.0 {
            return None;
        }
        let value = ppm * self.per_ppm;
        let mut counted = (0.0, 0.0);
        self.rungs.iter().position(|rung| {
            if let Some(step) = rung.band.step
                && step != counted.0
            {
                counted = (step, count(value, step));
            }
            rung.holds(value, counted.1)
        })
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
