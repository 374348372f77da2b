//! One value beside every table: what those for its own extractant call it, and why the others say
//! nothing about it.

use super::common::{CommonRange, Standing, common_practice};
use super::{Level, ReadingError, System, Systems, look_up};
use crate::meaning::{self, Note};
use crate::soil::{Analyte, Extractant, Measured};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Serialize;

/// The next edge on one side of a value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Edge {
    /// Where the reading changes, ppm.
    pub ppm: f64,
    /// How far the value is from it, ppm.
    pub away: f64,
    /// The class beyond it; none where the table names none.
    pub beyond: Option<String>,
}

/// What one table of the value's own extractant says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    pub system: String,
    pub name: String,
    pub region: String,
    pub scope: String,
    /// `all`, a crop or a kind of ground.
    pub group: String,
    pub category: String,
    pub level: Level,
    /// The class as printed, e.g. `46–71 lb/acre`.
    pub span: String,
    /// The table's unit.
    pub unit: String,
    pub depth_in: Option<String>,
    pub aim: String,
    /// The next class down and up; none where the class is open on that side.
    pub below: Option<Edge>,
    pub above: Option<Edge>,
    pub source: Source,
    /// Recalled, not read: shown as unconfirmed.
    pub unconfirmed: bool,
    pub figure: Figure,
}

/// A table of the value's own extractant that names no class for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Silent {
    pub system: String,
    pub name: String,
    pub group: String,
    pub why: String,
}

/// A table of other extractants. It is never a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Elsewhere {
    pub system: String,
    pub name: String,
    pub region: String,
    /// The extractants it reads this nutrient with.
    pub extractants: Vec<Extractant>,
    pub unit: String,
    pub aim: String,
    pub why: String,
}

/// All of it for one value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    pub analyte: Analyte,
    pub extractant: Extractant,
    pub ppm: f64,
    /// The tables of the same extractant, best evidence first.
    pub verdicts: Vec<Verdict>,
    pub silent: Vec<Silent>,
    /// The tables of other extractants, which do not apply.
    pub elsewhere: Vec<Elsewhere>,
    /// Why tables differ, each with its source.
    pub differences: Vec<&'static Note>,
    /// Common practice, which names no extractant: for a glance, never for an amount.
    pub common: Option<(&'static CommonRange, Standing)>,
}

impl Comparison {
    /// The lowest and the highest level that the tables of the extractant give.
    pub fn spread(&self) -> Option<(Level, Level)> {
        let levels = || self.verdicts.iter().map(|v| v.level);
        levels().min().zip(levels().max())
    }

    /// As a figure: a step for each table that reads the value; the last one counts them.
    pub fn figure(&self) -> Figure {
        let mut figure = Figure::new(format!(
            "{} {} ppm by {}, side by side",
            self.analyte.name(),
            plain(self.ppm, 4),
            self.extractant.name()
        ));
        for v in &self.verdicts {
            let group = if v.group == "all" {
                String::new()
            } else {
                format!(" ({})", v.group.replace('_', " "))
            };
            figure.step(
                format!("{}{group}: {}", v.name, v.category),
                self.ppm,
                "ppm",
                format!(
                    "lies in {}{}{}",
                    v.span,
                    side(&v.below, "down"),
                    side(&v.above, "up")
                ),
                v.source.clone(),
            );
            if v.unconfirmed {
                figure.caution(
                    format!(
                        "{}: the limits are recalled, not read; unconfirmed.",
                        v.name
                    ),
                    v.source.clone(),
                );
            }
        }
        figure.step(
            "tables for this extractant that name a class",
            self.verdicts.len() as f64,
            "tables",
            format!(
                "{} say nothing of this value; {} belong to other extractants and are not read",
                self.silent.len(),
                self.elsewhere.len()
            ),
            Source::arithmetic(),
        );
        for e in &self.elsewhere {
            figure.caution(format!("Not read: {}", e.why), Source::arithmetic());
        }
        meaning::caution(&mut figure, &self.differences);
        if let Some((range, standing)) = self.common {
            figure.caution(
                format!(
                    "By common practice, whatever the extractant, {}: this value is {} it. It decides nothing.",
                    span(range),
                    standing.word()
                ),
                range.source.clone(),
            );
        }
        figure
    }
}

fn span(range: &CommonRange) -> String {
    match range.high {
        Some(high) => format!(
            "{} to {} {} is healthy",
            plain(range.low, 3),
            plain(high, 3),
            range.unit
        ),
        None => format!("above {} {} is enough", plain(range.low, 3), range.unit),
    }
}

fn side(edge: &Option<Edge>, way: &str) -> String {
    edge.as_ref().map_or_else(String::new, |e| {
        format!(
            "; {} ppm {way} to {}",
            plain(e.away, 3),
            e.beyond.as_deref().unwrap_or("no class")
        )
    })
}

/// Sets a value beside every table of a set. With `group` (a crop's key or a kind of ground) a table
/// that has such rows is read with them alone; otherwise each of its groups is shown.
///
/// # Errors
/// A value that is no number, or one whose extractant is not named.
pub fn compare(
    systems: &Systems,
    measured: &Measured,
    group: Option<&str>,
) -> Result<Comparison, ReadingError> {
    let analyte = measured.analyte;
    if !measured.value.is_finite() || measured.value < 0.0 {
        return Err(ReadingError::BadValue(
            measured.value.to_string(),
            analyte.name(),
        ));
    }
    let extractant = measured
        .extractant
        .ok_or(ReadingError::NoExtractant(analyte.name()))?;
    let mut verdicts = Vec::new();
    let mut silent = Vec::new();
    let mut elsewhere = Vec::new();
    for system in systems.iter() {
        let of_it: Vec<_> = system
            .bands
            .iter()
            .filter(|b| b.nutrient == analyte)
            .collect();
        if of_it.is_empty() {
            continue;
        }
        if of_it.iter().all(|b| b.extractant != extractant) {
            elsewhere.push(other(system, analyte, extractant));
            continue;
        }
        for name in groups(system, analyte, extractant, group) {
            match look_up(system, measured, Some(name)) {
                Ok(reading) => {
                    let span = of_it
                        .iter()
                        .find(|b| {
                            b.extractant == extractant
                                && b.group == reading.group
                                && b.category == reading.category
                        })
                        .map_or_else(String::new, |b| b.span());
                    verdicts.push(verdict(system, reading, span));
                }
                Err(why) => silent.push(Silent {
                    system: system.id.clone(),
                    name: system.name.clone(),
                    group: name.to_owned(),
                    why: why.to_string(),
                }),
            }
        }
    }
    verdicts.sort_by(|a, b| {
        let key = |v: &Verdict| {
            (
                v.unconfirmed,
                v.source.evidence,
                v.name.clone(),
                v.group.clone(),
            )
        };
        key(a).cmp(&key(b))
    });
    let differences = ["extractants", "philosophy", "depth", "volume"]
        .iter()
        .flat_map(|about| meaning::notes(about, "always"))
        .collect();
    Ok(Comparison {
        analyte,
        extractant,
        ppm: measured.value,
        verdicts,
        silent,
        elsewhere,
        differences,
        common: common_practice()
            .iter()
            .find(|r| r.analyte == analyte)
            .map(|r| (r, r.standing(measured.value))),
    })
}

/// The groups to show: the one asked for where the table has it, else all.
fn groups<'a>(
    system: &'a System,
    analyte: Analyte,
    extractant: Extractant,
    wanted: Option<&str>,
) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    for band in &system.bands {
        if band.nutrient == analyte
            && band.extractant == extractant
            && !found.contains(&band.group.as_str())
        {
            found.push(&band.group);
        }
    }
    match found.iter().find(|g| Some(**g) == wanted) {
        Some(one) => vec![*one],
        None => found,
    }
}

fn verdict(system: &System, reading: super::Reading, span: String) -> Verdict {
    let at = reading
        .bands
        .iter()
        .position(|b| b.category == reading.category);
    let here = at.map(|i| &reading.bands[i]);
    let edge = |ppm: f64, beyond: Option<&super::Band>| Edge {
        ppm,
        away: (ppm - reading.value).abs(),
        beyond: beyond.map(|b| b.category.clone()),
    };
    let below = here
        .and_then(|b| b.low)
        .filter(|low| *low > 0.0)
        .map(|low| {
            edge(
                low,
                at.and_then(|i| i.checked_sub(1))
                    .and_then(|i| reading.bands.get(i)),
            )
        });
    let above = here
        .and_then(|b| b.high)
        .map(|high| edge(high, at.and_then(|i| reading.bands.get(i + 1))));
    let unit = reading
        .figure
        .working
        .last()
        .map_or_else(|| reading.unit.clone(), |s| s.unit.clone());
    Verdict {
        system: system.id.clone(),
        name: system.name.clone(),
        region: system.region.clone(),
        scope: system.scope.clone(),
        depth_in: system.depth_in.clone(),
        aim: system.aim.clone(),
        below,
        above,
        span,
        unit,
        group: reading.group,
        category: reading.category,
        level: reading.level,
        unconfirmed: reading.figure.weakest().is_some_and(|e| e.unconfirmed()),
        source: reading.source,
        figure: reading.figure,
    }
}

fn other(system: &System, analyte: Analyte, extractant: Extractant) -> Elsewhere {
    let rows = || system.bands.iter().filter(|b| b.nutrient == analyte);
    let mut extractants: Vec<_> = rows().map(|b| b.extractant).collect();
    extractants.sort_unstable();
    extractants.dedup();
    let names: Vec<&str> = extractants.iter().map(|e| e.name()).collect();
    let unit = rows().next().map_or_else(String::new, |b| b.unit.clone());
    let why = format!(
        "{} reads {} by {} in {unit}; {} pulls another share out of the same soil, so its numbers have no place there.",
        system.name,
        analyte.name().to_lowercase(),
        names.join(" or "),
        extractant.name()
    );
    Elsewhere {
        system: system.id.clone(),
        name: system.name.clone(),
        region: system.region.clone(),
        extractants,
        unit,
        aim: system.aim.clone(),
        why,
    }
}

#[cfg(test)]
mod tests;
