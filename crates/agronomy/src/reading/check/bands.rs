//! The classes: each row by itself, then the rows of one nutrient together.

use super::sheet::{Cells, Sheet};
use super::{Fault, extractants};
use crate::reading::{Level, unit};
use crate::soil::{Analyte, Extractant};
use crate::working::Evidence;
use quantity::plain;

/// What could be understood of a row.
#[derive(Debug, Clone)]
pub(super) struct Row {
    cells: Cells,
    nutrient: Option<Analyte>,
    pub(super) extractant: Option<Extractant>,
    pub(super) group: String,
    level: Option<Level>,
    low: Option<f64>,
    high: Option<f64>,
    step: Option<f64>,
    unit: String,
    /// Both ends are numbers or blank, and not crossed.
    sound: bool,
}

/// A number of zero or more, or a blank.
fn number(
    sheet: &Sheet,
    cells: &Cells,
    column: &str,
    sound: &mut bool,
    faults: &mut Vec<Fault>,
) -> Option<f64> {
    let text = cells.get(column);
    if text.is_empty() {
        return None;
    }
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Some(value),
        _ => {
            *sound = false;
            faults.push(sheet.at(cells, column, "a number of zero or more, or blank for open"));
            None
        }
    }
}

impl Row {
    pub(super) fn read(sheet: &Sheet, cells: &Cells, faults: &mut Vec<Fault>) -> Self {
        let nutrient = Analyte::from_key(cells.get("nutrient"));
        if nutrient.is_none_or(|n| n.unit() != "ppm") {
            let known: Vec<&str> = Analyte::ALL
                .iter()
                .filter(|a| a.unit() == "ppm")
                .map(|a| a.key())
                .collect();
            faults.push(sheet.at(cells, "nutrient", format!("one of {}", known.join(", "))));
        }
        let extractant = Extractant::from_key(cells.get("extractant"));
        if extractant.is_none() {
            faults.push(sheet.at(cells, "extractant", extractants()));
        }
        let level = Level::from_key(cells.get("level"));
        if level.is_none() {
            faults.push(sheet.at(
                cells,
                "level",
                format!("one of {}", Level::ALL.map(Level::key).join(", ")),
            ));
        }
        if cells.get("group").is_empty() {
            faults.push(sheet.at(cells, "group", "all, a crop’s key, or a kind of ground"));
        }
        if cells.get("category").is_empty() {
            faults.push(sheet.at(cells, "category", "the source’s own word for the class"));
        }
        if cells.get("source").is_empty() {
            faults.push(sheet.at(cells, "source", "where the numbers were read, in words"));
        }
        if Evidence::from_word(cells.get("evidence")).is_none() {
            faults.push(sheet.at(
                cells,
                "evidence",
                "one of seen, secondary, derived, local, common-practice, memory",
            ));
        }
        check_unit(sheet, cells, nutrient, faults);

        let mut sound = true;
        let low = number(sheet, cells, "low", &mut sound, faults);
        let high = number(sheet, cells, "high", &mut sound, faults);
        let step = match number(sheet, cells, "step", &mut sound, faults) {
            Some(step) if step <= 0.0 => {
                sound = false;
                faults.push(sheet.at(
                    cells,
                    "step",
                    "the precision printed, above zero, or blank where classes share an edge",
                ));
                None
            }
            step => step,
        };
        if sound {
            match (low, high) {
                (None, None) => {
                    sound = false;
                    faults.push(sheet.at(cells, "low", "a number in low, in high or in both"));
                }
                (Some(l), Some(h)) if l > h => {
                    sound = false;
                    faults.push(sheet.at(
                        cells,
                        "low",
                        format!("no more than high, {}", plain(h, 5)),
                    ));
                }
                (Some(l), Some(h)) if l >= h && step.is_none() => {
                    sound = false;
                    faults.push(sheet.at(
                        cells,
                        "high",
                        format!(
                            "more than low, {}: without a step the upper end is not in the class, so that nothing is",
                            plain(l, 5)
                        ),
                    ));
                }
                _ => {}
            }
        }
        Self {
            cells: cells.clone(),
            nutrient,
            extractant,
            group: cells.get("group").to_owned(),
            level,
            low,
            high,
            step,
            unit: cells.get("unit").to_owned(),
            sound,
        }
    }

    fn start(&self) -> f64 {
        self.low.unwrap_or(f64::NEG_INFINITY)
    }

    fn word(&self) -> String {
        format!("“{}” in row {}", self.cells.get("category"), self.cells.row)
    }
}

fn check_unit(sheet: &Sheet, cells: &Cells, nutrient: Option<Analyte>, faults: &mut Vec<Fault>) {
    let known: Vec<&str> = unit::all().iter().map(|u| u.unit.as_str()).collect();
    match unit::find(cells.get("unit")) {
        None => faults.push(sheet.at(cells, "unit", format!("one of {}", known.join(", ")))),
        Some(found) => {
            if let (Some(only), Some(nutrient)) = (found.only_for, nutrient)
                && only != nutrient
            {
                faults.push(sheet.at(
                    cells,
                    "unit",
                    format!("another unit: that index belongs to {}", only.key()),
                ));
            }
        }
    }
}

/// The rows of one nutrient, extractant and group against each other.
pub(super) fn together(sheet: &Sheet, rows: &[Row], faults: &mut Vec<Fault>) {
    let mut done: Vec<(Analyte, Extractant, &str)> = Vec::new();
    for row in rows {
        let (Some(nutrient), Some(extractant)) = (row.nutrient, row.extractant) else {
            continue;
        };
        let key = (nutrient, extractant, row.group.as_str());
        if done.contains(&key) {
            continue;
        }
        done.push(key);
        let mut of_one: Vec<&Row> = rows
            .iter()
            .filter(|r| {
                (r.nutrient, r.extractant) == (Some(nutrient), Some(extractant))
                    && r.group == row.group
                    && r.sound
            })
            .collect();
        of_one.sort_by(|a, b| a.start().total_cmp(&b.start()));
        for pair in of_one.windows(2) {
            if let [lower, upper] = pair {
                neighbours(sheet, lower, upper, faults);
            }
        }
    }
}

fn neighbours(sheet: &Sheet, lower: &Row, upper: &Row, faults: &mut Vec<Fault>) {
    if lower.unit != upper.unit {
        faults.push(sheet.at(
            &upper.cells,
            "unit",
            format!("the unit of {}, “{}”", lower.word(), lower.unit),
        ));
        return;
    }
    if lower.cells.get("category") == upper.cells.get("category") {
        faults.push(sheet.doubt(
            &upper.cells,
            "category",
            format!("another word than {}", lower.word()),
        ));
    }
    let (end, start) = (lower.high.unwrap_or(f64::INFINITY), upper.start());
    let close = 1e-9 * end.abs().max(1.0);
    let apart = match lower.step {
        Some(_) => start > end + close,
        None => start >= end - close,
    };
    if apart {
        let touches = end + lower.step.unwrap_or(0.0);
        if start > touches + close.max(1e-6 * touches.abs()) {
            faults.push(sheet.doubt(
                &upper.cells,
                "low",
                format!(
                    "{}, since {} ends at {}: a value between them gets no class",
                    plain(touches, 5),
                    lower.word(),
                    plain(end, 5)
                ),
            ));
        }
    } else {
        let expected = if lower.high.is_none() {
            format!("no class above {}, which is open at the top", lower.word())
        } else {
            format!(
                "a start beyond {}, where {} ends: the two overlap",
                plain(end, 5),
                lower.word()
            )
        };
        faults.push(sheet.at(&upper.cells, "low", expected));
    }
    if let (Some(l), Some(u)) = (lower.level, upper.level)
        && l > u
    {
        faults.push(sheet.at(
            &upper.cells,
            "level",
            format!(
                "{} or more, the level of {} below it: levels must not fall as the test climbs",
                l.key(),
                lower.word()
            ),
        ));
    }
}
