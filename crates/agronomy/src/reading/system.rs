//! One published table of categories.

use super::unit::find as table_unit;
use super::{Level, ReadingError};
use crate::soil::{Analyte, Extractant};
use crate::table::{self, TableError};
use crate::working::Source;
use quantity::plain;
use serde::{Deserialize, Serialize};

/// The group of rows that hold for every crop and soil.
const ALL: &str = "all";

/// One category of one nutrient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Band {
    pub nutrient: Analyte,
    pub extractant: Extractant,
    /// `all`, a crop or a kind of soil.
    pub group: String,
    /// The source's own word.
    pub category: String,
    /// The common scale beside it.
    pub level: Level,
    /// None: open below.
    pub low: Option<f64>,
    /// None: open above.
    pub high: Option<f64>,
    pub unit: String,
    /// The precision the source prints. With it both ends belong to the band and a value is rounded
    /// first; without it the lower end belongs to the band and the upper end to the next.
    pub step: Option<f64>,
    pub source: Source,
}

impl Band {
    /// Whether a value in the band's own unit falls in it.
    pub fn holds(&self, value: f64) -> bool {
        match self.step {
            Some(step) => {
                let n = count(value, step);
                self.low.is_none_or(|low| n >= count(low, step))
                    && self.high.is_none_or(|high| n <= count(high, step))
            }
            None => {
                self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value < high)
            }
        }
    }

    /// The ends as printed, e.g. `25–45 lb/acre`.
    pub fn span(&self) -> String {
        let unit = &self.unit;
        match (self.low, self.high) {
            (Some(l), Some(h)) => format!("{}–{} {unit}", plain(l, 4), plain(h, 4)),
            (Some(l), None) => format!("{} {unit} and above", plain(l, 4)),
            (None, Some(h)) => format!("up to {} {unit}", plain(h, 4)),
            (None, None) => "any value".to_owned(),
        }
    }

    /// The same band in ppm, its ends where the rounded reading changes.
    pub fn in_ppm(&self) -> Self {
        let per_ppm = table_unit(&self.unit).map_or(1.0, |u| u.per_ppm);
        let half = self.step.map_or(0.0, |s| s / 2.0);
        Self {
            low: self.low.map(|l| ((l - half) / per_ppm).max(0.0)),
            high: self.high.map(|h| (h + half) / per_ppm),
            unit: "ppm".to_owned(),
            step: None,
            ..self.clone()
        }
    }
}

/// A value in whole steps.
pub(super) fn count(value: f64, step: f64) -> f64 {
    steps(value, step).round()
}

/// A value in steps, before it is rounded. The small allowance takes a half that binary fractions made
/// too small.
#[inline]
pub(super) fn steps(value: f64, step: f64) -> f64 {
    // Most tables print whole numbers, and a division takes its time.
    let steps = if step == 1.0 { value } else { value / step };
    steps + 1e-9
}

/// One published table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct System {
    pub id: String,
    pub name: String,
    pub region: String,
    /// The crops or pages it was printed for.
    pub scope: String,
    /// The extractant of its phosphorus rows; single rows may name another.
    pub extractant: Extractant,
    /// The group taken when the caller names none.
    pub default_group: Option<String>,
    /// The depth it samples, inches as printed (`6`, `4-6`); none where the source does not say.
    #[serde(default)]
    pub depth_in: Option<String>,
    /// What its classes stand for, in a sentence.
    #[serde(default)]
    pub aim: String,
    pub bands: Vec<Band>,
}

#[derive(Deserialize)]
struct AboutRow {
    id: String,
    name: String,
    region: String,
    scope: String,
    extractant: String,
    default_group: Option<String>,
    #[serde(default)]
    depth_in: Option<String>,
    #[serde(default)]
    aim: Option<String>,
}

#[derive(Deserialize)]
struct BandRow {
    nutrient: String,
    extractant: String,
    group: String,
    category: String,
    level: String,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    step: Option<f64>,
    source: String,
    evidence: String,
}

impl System {
    /// Parses a table's two files: `system.csv` (one row) and `bands.csv`.
    pub fn parse(folder: &str, about: &str, bands: &str) -> Result<Self, TableError> {
        let about_name = format!("readings/{folder}/system.csv");
        let mut rows = table::rows::<AboutRow>(&about_name, about)?;
        let (Some(about), true) = (rows.pop(), rows.is_empty()) else {
            return Err(TableError {
                table: about_name,
                row: 2,
                problem: "this file holds exactly one row".to_owned(),
            });
        };
        let extractant = Extractant::from_key(&about.extractant).ok_or_else(|| TableError {
            table: about_name,
            row: 2,
            problem: format!("“{}” is not an extractant", about.extractant),
        })?;
        let name = format!("readings/{folder}/bands.csv");
        let mut parsed = Vec::new();
        for (i, row) in table::rows::<BandRow>(&name, bands)?
            .into_iter()
            .enumerate()
        {
            parsed.push(band(&name, i + 2, row)?);
        }
        let system = Self {
            id: about.id,
            name: about.name,
            region: about.region,
            scope: about.scope,
            extractant,
            default_group: about.default_group.filter(|g| !g.is_empty()),
            depth_in: about.depth_in.filter(|d| !d.is_empty()),
            aim: about.aim.unwrap_or_default(),
            bands: parsed,
        };
        system.check(&name)?;
        Ok(system)
    }

    /// Bands of one nutrient must climb without overlap, and so must their levels.
    fn check(&self, name: &str) -> Result<(), TableError> {
        for (i, band) in self.bands.iter().enumerate() {
            let wrong = |problem: String| table::wrong(name, i, problem);
            if let (Some(low), Some(high)) = (band.low, band.high)
                && low > high
            {
                return Err(wrong("low is above high".to_owned()));
            }
            for other in self.bands.iter().skip(i + 1) {
                if other.nutrient != band.nutrient
                    || other.extractant != band.extractant
                    || other.group != band.group
                {
                    continue;
                }
                let (lower, upper) = if band.low.unwrap_or(f64::NEG_INFINITY)
                    <= other.low.unwrap_or(f64::NEG_INFINITY)
                {
                    (band, other)
                } else {
                    (other, band)
                };
                let end = lower.high.unwrap_or(f64::INFINITY);
                let start = upper.low.unwrap_or(f64::NEG_INFINITY);
                let apart = if lower.step.is_some() {
                    start > end
                } else {
                    start >= end
                };
                if !apart {
                    return Err(wrong(format!(
                        "“{}” and “{}” overlap",
                        lower.category, upper.category
                    )));
                }
                if lower.level > upper.level {
                    return Err(wrong(format!(
                        "“{}” stands for more than “{}” and lies below it",
                        lower.category, upper.category
                    )));
                }
            }
        }
        Ok(())
    }

    /// Every extractant the table has rows for.
    pub fn extractants(&self) -> Vec<Extractant> {
        let mut found: Vec<_> = self.bands.iter().map(|b| b.extractant).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Whether every class that a value would be read with was only recalled, or its unit was: such a
    /// table gives way to one that was read in its source.
    pub fn only_recalled(
        &self,
        analyte: Analyte,
        extractant: Extractant,
        group: Option<&str>,
    ) -> bool {
        let recalled = |b: &Band| {
            b.source.evidence.unconfirmed()
                || table_unit(&b.unit).is_some_and(|u| u.source.evidence.unconfirmed())
        };
        match self.bands_for(analyte, extractant, group) {
            Ok(bands) => bands.into_iter().all(recalled),
            Err(_) => self
                .bands
                .iter()
                .filter(|b| b.nutrient == analyte && b.extractant == extractant)
                .all(recalled),
        }
    }

    /// The groups of rows for one nutrient, in the table's order.
    pub fn groups(&self, analyte: Analyte) -> Vec<&str> {
        let mut found = Vec::new();
        for band in self.bands.iter().filter(|b| b.nutrient == analyte) {
            if !found.contains(&band.group.as_str()) {
                found.push(band.group.as_str());
            }
        }
        found
    }

    /// The band that holds a value in ppm, found without building a list.
    pub(super) fn band_at(
        &self,
        analyte: Analyte,
        extractant: Extractant,
        ppm: f64,
        wanted: Option<&str>,
    ) -> Option<&Band> {
        for group in [wanted, Some(ALL), self.default_group.as_deref()]
            .into_iter()
            .flatten()
        {
            let mut any = false;
            for band in &self.bands {
                if band.nutrient != analyte || band.extractant != extractant || band.group != group
                {
                    continue;
                }
                any = true;
                let per_ppm = table_unit(&band.unit).map_or(1.0, |u| u.per_ppm);
                if band.holds(ppm * per_ppm) {
                    return Some(band);
                }
            }
            if any {
                return None;
            }
        }
        None
    }

    /// The bands to read a value with, lowest first; empty when the table has none for the extractant.
    pub(super) fn bands_for(
        &self,
        analyte: Analyte,
        extractant: Extractant,
        wanted: Option<&str>,
    ) -> Result<Vec<&Band>, ReadingError> {
        let of_group = |group: &str| -> Vec<&Band> {
            let mut bands: Vec<&Band> = self
                .bands
                .iter()
                .filter(|b| b.nutrient == analyte && b.extractant == extractant && b.group == group)
                .collect();
            bands.sort_by(|a, b| a.low.unwrap_or(0.0).total_cmp(&b.low.unwrap_or(0.0)));
            bands
        };
        for group in [wanted, Some(ALL), self.default_group.as_deref()]
            .into_iter()
            .flatten()
        {
            let bands = of_group(group);
            if !bands.is_empty() {
                return Ok(bands);
            }
        }
        let mut groups: Vec<&str> = self
            .bands
            .iter()
            .filter(|b| b.nutrient == analyte && b.extractant == extractant)
            .map(|b| b.group.as_str())
            .collect();
        groups.dedup();
        if groups.is_empty() {
            return Ok(Vec::new());
        }
        Err(ReadingError::WhichGroup {
            table: self.name.clone(),
            analyte: analyte.name(),
            groups: groups.join(", "),
        })
    }
}

fn band(name: &str, row: usize, r: BandRow) -> Result<Band, TableError> {
    let wrong = |problem: String| TableError {
        table: name.to_owned(),
        row,
        problem,
    };
    if table_unit(&r.unit).is_none() {
        return Err(wrong(format!("“{}” is not a unit of a soil table", r.unit)));
    }
    if r.step.is_some_and(|s| !s.is_finite() || s <= 0.0)
        || r.low.is_some_and(|v| !v.is_finite())
        || r.high.is_some_and(|v| !v.is_finite())
    {
        return Err(wrong(
            "low, high and step must be numbers, the step above zero".to_owned(),
        ));
    }
    Ok(Band {
        nutrient: Analyte::from_key(&r.nutrient)
            .ok_or_else(|| wrong(format!("“{}” is not a nutrient", r.nutrient)))?,
        extractant: Extractant::from_key(&r.extractant)
            .ok_or_else(|| wrong(format!("“{}” is not an extractant", r.extractant)))?,
        level: Level::from_key(&r.level)
            .ok_or_else(|| wrong(format!("“{}” is not a level", r.level)))?,
        group: r.group,
        category: r.category,
        low: r.low,
        high: r.high,
        unit: r.unit,
        step: r.step,
        source: table::source(name, row, &r.source, &r.evidence)?,
    })
}
