//! The rate alone, for lists of many samples.
//!
//! Tables, rules and sums are those of [`super::need`]; only the words are left out.

use super::tables::{BuildUp, Rule, candidates, reference};
use super::{Basis, NoNeed, Nutrient, Rate};
use crate::reading::{self, Band, Level, ReadingError, System};
use crate::soil::Extractant;
use crate::working::{Evidence, Source};

/// The rates of one nutrient for one crop by one table, made ready. It agrees with [`super::need`] on a
/// reading by [`reading::look_up`], to the last bit.
#[derive(Debug, Clone)]
pub struct Quick<'a> {
    reading: reading::Quick<'a>,
    /// One for each band
    answers: Vec<Answer>,
}

#[derive(Debug, Clone)]
struct Answer {
    level: Level,
    /// Rates that go by the value and stand before any other, in their order
    by_value: Vec<(&'static Rate, Fixed)>,
    otherwise: Otherwise,
}

#[derive(Debug, Clone)]
enum Otherwise {
    Fixed(Fixed),
    Build {
        removal: f64,
        build: &'static BuildUp,
        evidence: Evidence,
    },
    None(NoNeed),
}

#[derive(Debug, Clone)]
struct Fixed {
    lb_per_acre: f64,
    basis: Basis,
    evidence: Evidence,
}

/// A rate without its working.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuickNeed<'a> {
    /// lb of P2O5 or K2O per acre
    pub lb_per_acre: f64,
    pub basis: &'a Basis,
    /// The weakest source it rests on.
    pub evidence: Evidence,
}

/// A value's band and the rate for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found<'a> {
    /// The place among the table's bands, lowest first
    pub band: usize,
    pub need: Result<QuickNeed<'a>, &'a NoNeed>,
}

const REMOVAL: &Basis = &Basis::Removal;

impl<'a> Quick<'a> {
    /// Makes the rates ready. Arguments as for [`reading::look_up`] and [`super::need`].
    pub fn new(
        nutrient: Nutrient,
        system: &'a System,
        extractant: Extractant,
        group: Option<&str>,
        crop_key: &str,
        removal: Option<(f64, &Source)>,
    ) -> Result<Self, ReadingError> {
        let reading = reading::Quick::new(system, nutrient.analyte(), extractant, group)?;
        let answers = reading
            .bands()
            .map(|band| {
                let read = reading.evidence(band);
                answer(nutrient, system, band, read, crop_key, removal)
            })
            .collect();
        Ok(Self { reading, answers })
    }

    /// The bands the values are read with.
    pub fn reading(&self) -> &reading::Quick<'a> {
        &self.reading
    }

    /// The rate of a band, by its place, where it is the same for every value in it; the reason where
    /// there is none.
    pub fn fixed(&self, band: usize) -> Option<Result<QuickNeed<'_>, &NoNeed>> {
        let answer = self.answers.get(band).filter(|a| a.by_value.is_empty())?;
        match &answer.otherwise {
            Otherwise::Fixed(f) => Some(Ok(f.need())),
            Otherwise::Build { .. } => None,
            Otherwise::None(why) => Some(Err(why)),
        }
    }

    /// The band and the rate for a value in ppm; none where [`reading::look_up`] gives no reading.
    pub fn at(&self, ppm: f64) -> Option<Found<'_>> {
        let band = self.reading.at(ppm)?;
        let answer = self.answers.get(band)?;
        let by_value = answer
            .by_value
            .iter()
            .find(|(rate, _)| rate.covers(answer.level, ppm));
        let need = match (by_value, &answer.otherwise) {
            (Some((_, f)), _) | (None, Otherwise::Fixed(f)) => Ok(f.need()),
            (
                None,
                Otherwise::Build {
                    removal,
                    build,
                    evidence,
                },
            ) => Ok(QuickNeed {
                lb_per_acre: removal + build.yearly(ppm, build.lb_per_ppm),
                basis: REMOVAL,
                evidence: *evidence,
            }),
            (None, Otherwise::None(why)) => Err(why),
        };
        Some(Found { band, need })
    }
}

impl Fixed {
    fn need(&self) -> QuickNeed<'_> {
        QuickNeed {
            lb_per_acre: self.lb_per_acre,
            basis: &self.basis,
            evidence: self.evidence,
        }
    }
}

fn answer(
    nutrient: Nutrient,
    system: &System,
    band: &Band,
    read: Evidence,
    crop_key: &str,
    removal: Option<(f64, &Source)>,
) -> Answer {
    let mut by_value = Vec::new();
    for (table, rate) in candidates(nutrient, &system.id, band.extractant, crop_key) {
        let converted = if rate.unit == "lb/acre" {
            Evidence::Seen
        } else {
            Source::arithmetic().evidence
        };
        let fixed = Fixed {
            lb_per_acre: rate.lb_per_acre,
            basis: Basis::Table(table.id.clone()),
            evidence: read.max(rate.source.evidence).max(converted),
        };
        if !rate.by_level() {
            by_value.push((rate, fixed));
        } else if rate.covers(band.level, 0.0) {
            return Answer {
                level: band.level,
                by_value,
                otherwise: Otherwise::Fixed(fixed),
            };
        }
    }
    Answer {
        level: band.level,
        by_value,
        otherwise: by_removal(nutrient, system, band, read, crop_key, removal),
    }
}

fn by_removal(
    nutrient: Nutrient,
    system: &System,
    band: &Band,
    read: Evidence,
    crop_key: &str,
    removal: Option<(f64, &Source)>,
) -> Otherwise {
    let Some((rule, rule_source)) = reference().rule(&system.id, band.level) else {
        return Otherwise::None(NoNeed::Table("removal rules"));
    };
    let evidence = read.max(rule_source.evidence);
    let fixed = |lb_per_acre, evidence| {
        Otherwise::Fixed(Fixed {
            lb_per_acre,
            basis: Basis::Removal,
            evidence,
        })
    };
    if rule == Rule::Nothing {
        return fixed(0.0, evidence);
    }
    let Some((removal, source)) = removal else {
        return Otherwise::None(NoNeed::NoTable {
            nutrient: nutrient.name(),
            crop: crop_key.replace('_', " "),
        });
    };
    if !(removal.is_finite() && removal >= 0.0) {
        return Otherwise::None(NoNeed::BadValue(removal.to_string(), nutrient.name()));
    }
    let evidence = evidence.max(source.evidence);
    match (rule == Rule::RemovalAndBuild)
        .then(|| reference().build_up(&system.id, nutrient, &band.group))
        .flatten()
    {
        None => fixed(removal, evidence),
        Some(build) => Otherwise::Build {
            removal,
            build,
            evidence: evidence.max(build.source.evidence),
        },
    }
}
