//! Splitting a large rate into doses the ground can take.

use crate::table::{self, TableError};
use crate::working::Source;
use quantity::Rate;
use serde::{Deserialize, Serialize};

/// One dose out of a rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Dose {
    /// lb of material per acre
    pub lb_per_acre: f64,
    /// Months after the first dose, earliest; none when the source gives no wait.
    pub after_months: Option<f64>,
    /// What to do, in a few words.
    pub how: String,
    /// None when the rate is within every limit and goes on at once.
    pub source: Option<Source>,
}

/// The units of [`lb_per_acre`], for a person.
pub const UNITS: &str = "lb/acre, ton/acre, lb/1000 ft2, lb/100 ft2, kg/ha, t/ha or g/m2";

/// A rate in one of the units the tables use, as lb per acre.
pub fn lb_per_acre(value: f64, unit: &str) -> Option<f64> {
    let rate = match unit {
        "lb/acre" => return Some(value),
        "ton/acre" | "short ton/acre" => Rate::short_tons_per_acre(value),
        "lb/100 ft2" => Rate::lb_per_100_ft2(value),
        "lb/1000 ft2" => Rate::lb_per_1000_ft2(value),
        "kg/ha" => Rate::kg_per_ha(value),
        "t/ha" => Rate::kg_per_ha(value * 1_000.0),
        // A dekar, 1,000 m2
        "kg/daa" => Rate::kg_per_ha(value * 10.0),
        "g/m2" => Rate::grams_per_m2(value),
        _ => return None,
    };
    Some(rate.to_lb_per_acre())
}

#[derive(Deserialize)]
struct Row {
    situation: String,
    rule: String,
    amount: f64,
    unit: String,
    doses: Option<u32>,
    gap_months_low: Option<f64>,
    // Kept in the table for the reader; the earliest date decides.
    #[serde(rename = "gap_months_high")]
    _gap_months_high: Option<f64>,
    how: String,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    /// From this rate, rounded to a whole unit, in so many equal doses.
    From,
    /// Above this rate, in so many doses.
    Above,
    /// At most this in one dose.
    Most,
}

#[derive(Debug, Clone)]
struct Rule {
    situation: String,
    kind: Kind,
    amount: f64,
    unit: String,
    doses: u32,
    gap: Option<f64>,
    how: String,
    source: Source,
}

/// The dose limits of one table.
#[derive(Debug, Clone, Default)]
pub struct Limits(Vec<Rule>);

/// How the doses of an `above` rule share the rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Share {
    Equal,
    TwoThirdsFirst,
}

impl Limits {
    pub fn parse(name: &str, text: &str) -> Result<Self, TableError> {
        let mut rules = Vec::new();
        for (i, row) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
            let bad = |problem: String| table::wrong(name, i, problem);
            let kind = match row.rule.as_str() {
                "from" => Kind::From,
                "above" => Kind::Above,
                "most" => Kind::Most,
                other => return Err(bad(format!("“{other}” is not a dose rule"))),
            };
            if lb_per_acre(1.0, &row.unit).is_none() {
                return Err(bad(format!("“{}” is not a unit of rate", row.unit)));
            }
            if row.amount.is_nan() || row.amount <= 0.0 {
                return Err(bad("the amount must be above zero".to_owned()));
            }
            rules.push(Rule {
                situation: row.situation,
                kind,
                amount: row.amount,
                unit: row.unit,
                doses: row.doses.unwrap_or(1).max(1),
                gap: row.gap_months_low,
                how: row.how,
                source: table::source(name, i + 2, &row.source, &row.evidence)?,
            });
        }
        Ok(Self(rules))
    }

    /// Splits `rate` (lb of material per acre). The doses always add up to the rate.
    pub fn split(&self, situation: &str, rate: f64, share: Share) -> Vec<Dose> {
        if !rate.is_finite() || rate <= 0.0 {
            return Vec::new();
        }
        let mut best: Option<(u32, &Rule)> = None;
        for rule in self.0.iter().filter(|r| r.situation == situation) {
            let Some(unit) = lb_per_acre(1.0, &rule.unit) else {
                continue;
            };
            let in_unit = rate / unit;
            let doses = match rule.kind {
                Kind::From if in_unit.round() >= rule.amount => rule.doses,
                Kind::Above if in_unit > rule.amount + 1e-9 => rule.doses,
                // The small allowance keeps a rate that equals the limit in one dose.
                Kind::Most => (in_unit / rule.amount - 1e-9).ceil().clamp(1.0, 1000.0) as u32,
                _ => 1,
            };
            if doses > best.map_or(1, |(d, _)| d) {
                best = Some((doses, rule));
            }
        }
        let Some((count, rule)) = best else {
            return vec![Dose {
                lb_per_acre: rate,
                after_months: Some(0.0),
                how: "all at once".to_owned(),
                source: None,
            }];
        };
        let cap = lb_per_acre(rule.amount, &rule.unit).unwrap_or(rate);
        let mut left = rate;
        (0..count)
            .map(|n| {
                let part = if n + 1 == count {
                    left
                } else if rule.kind == Kind::Most {
                    cap.min(left)
                } else if share == Share::TwoThirdsFirst && n == 0 {
                    rate * 2.0 / 3.0
                } else {
                    rate / f64::from(count)
                };
                left -= part;
                Dose {
                    lb_per_acre: part,
                    after_months: if n == 0 {
                        Some(0.0)
                    } else {
                        rule.gap.map(|g| g * f64::from(n))
                    },
                    how: rule.how.clone(),
                    source: Some(rule.source.clone()),
                }
            })
            .collect()
    }
}
