//! What a value by one extractant would be about by another, by published equations.
//!
//! An estimate and never a test: it is shown beside the value with its source and what it was made on.
//! No reading, need or plan uses it, and no line joins it to tests of the other extractant. An equation is
//! used in the direction in which it is printed, since turned round it would be another one.

use crate::soil::{Analyte, Bound, Extractant, Measured};
use crate::table::{self, TableError};
use crate::working::{Caution, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

#[derive(Deserialize)]
struct Row {
    id: String,
    analyte: String,
    from: String,
    to: String,
    intercept: f64,
    slope: f64,
    made_on: String,
    source: String,
    evidence: String,
}

/// One published equation: `to = intercept + slope × from`, ppm.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    pub id: String,
    pub analyte: Analyte,
    pub from: Extractant,
    pub to: Extractant,
    pub intercept: f64,
    pub slope: f64,
    /// The soils, and the range where it is printed.
    pub made_on: String,
    pub source: Source,
}

/// What a value would be about by another extractant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate {
    pub to: Extractant,
    /// ppm
    pub value: f64,
    pub made_on: String,
    pub source: Source,
    pub figure: Figure,
}

impl Estimate {
    /// `about 10 ppm by Bray P1, an estimate by …`
    pub fn says(&self) -> String {
        format!(
            "about {} ppm by {}, an estimate by {}; made on {}",
            plain(self.value, 2),
            self.to.name(),
            self.source.text,
            self.made_on
        )
    }
}

/// Why there is no estimate.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum ConversionError {
    #[error(
        "No published equation from {from} to {to} is held for {analyte}; those held are {known}."
    )]
    None {
        analyte: String,
        from: &'static str,
        to: &'static str,
        known: String,
    },
    #[error(
        "{ppm} ppm lies below what the equation can tell: it would give less than nothing. Have the soil tested by {to}."
    )]
    TooLow { ppm: String, to: &'static str },
}

/// Parses the equations that come with the program.
///
/// # Errors
/// A row that does not fit, in one sentence.
pub fn load() -> Result<Vec<Conversion>, TableError> {
    let name = "soil/conversions.csv";
    let text = include_str!("../../../reference/soil/conversions.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |problem: String| table::wrong(name, i, problem);
            let extractant = |key: &str| {
                Extractant::from_key(key)
                    .ok_or_else(|| wrong(format!("“{key}” is not an extractant")))
            };
            let (from, to) = (extractant(&r.from)?, extractant(&r.to)?);
            if from == to || !(r.slope > 0.0 && r.intercept.is_finite()) || r.made_on.is_empty() {
                return Err(wrong(
                    "an equation leads from one extractant to another, rises, and says what it was made on"
                        .to_owned(),
                ));
            }
            Ok(Conversion {
                analyte: Analyte::from_key(&r.analyte)
                    .ok_or_else(|| wrong(format!("“{}” is not an analyte", r.analyte)))?,
                id: r.id,
                from,
                to,
                intercept: r.intercept,
                slope: r.slope,
                made_on: r.made_on,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// Every published equation that is held.
pub fn conversions() -> &'static [Conversion] {
    static HELD: OnceLock<Vec<Conversion>> = OnceLock::new();
    HELD.get_or_init(|| load().unwrap_or_default())
}

/// What a value would be about by each other extractant that an equation leads to. Nothing of a value at
/// the limit of what the lab can tell, or below what an equation can.
pub fn estimates(of: &Measured) -> Vec<Estimate> {
    let Some(from) = of.extractant.filter(|_| of.bound == Bound::Exact) else {
        return Vec::new();
    };
    conversions()
        .iter()
        .filter(|c| c.analyte == of.analyte && c.from == from)
        .filter_map(|c| by(c, of.value).ok())
        .collect()
}

/// What a value, ppm, would be about by another extractant.
///
/// # Errors
/// No equation leads there, or the value lies below what it can tell.
pub fn estimate(
    analyte: Analyte,
    (from, to): (Extractant, Extractant),
    ppm: f64,
) -> Result<Estimate, ConversionError> {
    let of = |c: &&Conversion| c.analyte == analyte && c.from == from && c.to == to;
    let found = conversions().iter().find(of).ok_or_else(|| {
        let known: Vec<String> = conversions()
            .iter()
            .map(|c| {
                format!(
                    "{} from {} to {}",
                    c.analyte.key(),
                    c.from.key(),
                    c.to.key()
                )
            })
            .collect();
        ConversionError::None {
            analyte: analyte.name().to_lowercase(),
            from: from.name(),
            to: to.name(),
            known: known.join("; "),
        }
    })?;
    by(found, ppm)
}

fn by(c: &Conversion, ppm: f64) -> Result<Estimate, ConversionError> {
    let value = c.intercept + c.slope * ppm;
    if value <= 0.0 {
        return Err(ConversionError::TooLow {
            ppm: plain(ppm, 4),
            to: c.to.name(),
        });
    }
    let mut figure = Figure::new(format!(
        "{} by {}, estimated from {}",
        c.analyte.name(),
        c.to.name(),
        c.from.name()
    ));
    let formula = if c.intercept == 0.0 {
        format!("{} × {} ppm", c.slope, plain(ppm, 4))
    } else {
        format!("{} + {} × {} ppm", c.intercept, c.slope, plain(ppm, 4))
    };
    figure.step("an estimate", value, "ppm", formula, c.source.clone());
    figure.cautions.push(Caution {
        text: format!(
            "An estimate and no test: made on {}. On other soil it may be far off.",
            c.made_on
        ),
        source: c.source.clone(),
    });
    Ok(Estimate {
        to: c.to,
        value,
        made_on: c.made_on.clone(),
        source: c.source.clone(),
        figure,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(value: f64, extractant: Extractant, bound: Bound) -> Measured {
        Measured {
            analyte: Analyte::P,
            value,
            bound,
            extractant: Some(extractant),
            buffer: None,
            printed: value.to_string(),
            printed_unit: "ppm".to_owned(),
        }
    }

    #[test]
    fn every_row_is_read_and_was_seen_in_its_source() {
        let all = load().unwrap();
        assert!(all.len() >= 4);
        assert!(all.iter().all(|c| !c.source.evidence.unconfirmed()));
        let mut ways: Vec<_> = all.iter().map(|c| (c.analyte, c.from, c.to)).collect();
        ways.dedup();
        assert_eq!(ways.len(), all.len(), "one equation for each way");
    }

    #[test]
    fn the_printed_ratios_come_out() {
        // Ohio State University Extension ANR-75 (2019): Mehlich-3 P is 35 % higher than Bray P, Mehlich-3
        // K 14 % higher than ammonium acetate K.
        let p = (Extractant::BrayP1, Extractant::Mehlich3);
        let k = (Extractant::AmmoniumAcetate, Extractant::Mehlich3);
        assert!((estimate(Analyte::P, p, 20.0).unwrap().value - 27.0).abs() < 1e-9);
        assert!((estimate(Analyte::K, k, 100.0).unwrap().value - 114.0).abs() < 1e-9);
    }

    #[test]
    fn no_equation_is_turned_round_or_used_for_another_nutrient() {
        let back = (Extractant::Olsen, Extractant::Mehlich3);
        let said = estimate(Analyte::P, back, 20.0).unwrap_err().to_string();
        assert!(said.contains("mehlich3 to olsen"), "{said}");
        let p = (Extractant::Mehlich3, Extractant::BrayP1);
        assert!(estimate(Analyte::K, p, 20.0).is_err());
        assert!(estimates(&measured(20.0, Extractant::Morgan, Bound::Exact)).is_empty());
    }

    #[test]
    fn what_an_equation_cannot_tell_has_no_estimate() {
        let low = measured(9.0, Extractant::Mehlich3, Bound::Exact);
        let to: Vec<Extractant> = estimates(&low).iter().map(|e| e.to).collect();
        assert_eq!(to, [Extractant::Olsen], "Bray P1 would be below nothing");
        let p = (Extractant::Mehlich3, Extractant::BrayP1);
        let said = estimate(Analyte::P, p, 9.0).unwrap_err().to_string();
        assert!(said.contains("less than nothing"), "{said}");
        for bound in [Bound::Below, Bound::Above] {
            assert!(estimates(&measured(30.0, Extractant::Mehlich3, bound)).is_empty());
        }
    }

    #[test]
    fn an_estimate_says_by_whom_and_on_what_it_was_made() {
        let all = estimates(&measured(30.0, Extractant::Mehlich3, Bound::Exact));
        assert_eq!(all.len(), 2);
        for e in all {
            let says = e.says();
            assert!(says.starts_with("about ") && says.contains("an estimate by"));
            assert!(says.contains(&e.made_on) && says.contains(&e.source.text));
            assert!(e.figure.cautions[0].text.contains("no test"));
        }
    }
}
