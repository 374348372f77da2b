//! A mix of materials that meets an N-P-K target exactly, or the nearest that covers it.

use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most materials one mix is worked out from.
const MOST: usize = 12;
/// Nutrients, in the order of a grade.
const NAMES: [&str; 3] = ["N", "P2O5", "K2O"];

/// A material by its grade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    pub name: String,
    /// N, P2O5 and K2O, percent of weight
    pub grade: [f64; 3],
}

/// What goes into a mix.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Blend {
    /// lb of each part, in the order given; zero for parts left out
    pub lb: Vec<f64>,
    pub total_lb: f64,
    /// lb of N, P2O5 and K2O beyond the target; zero in an exact mix
    pub over: [f64; 3],
}

/// Why there is no mix.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum BlendError {
    #[error("{0}")]
    BadValue(String),
    #[error("None of the materials brings {0}.")]
    Missing(&'static str),
    #[error(
        "No mix of these materials gives exactly this: {reason}. The lightest mix that brings at least all of it is {nearest}."
    )]
    NotExact {
        reason: String,
        nearest: String,
        /// The lightest mix that covers the target.
        covering: Box<Blend>,
    },
    #[error(
        "The filler would weigh less than nothing: the grade asks for more nutrient than these materials hold in {0} lb."
    )]
    TooRich(String),
}

/// lb of each part whose nutrients add up to `target` (lb of N, P2O5, K2O), none below zero; of several
/// such mixes the lightest.
///
/// Solved exactly: the lightest mix, if there is one, is among those of at most three parts whose amounts
/// solve the three balances, and every such choice is tried.
///
/// # Errors
/// Values that are no weights or percentages, a nutrient that none brings, or no exact mix; the last
/// names the lightest mix that covers the target.
pub fn exact(parts: &[Part], target: [f64; 3]) -> Result<Blend, BlendError> {
    check(parts, target)?;
    if let Some(lb) = lightest(parts, target, false) {
        return Ok(finish(parts, target, lb));
    }
    let covering = lightest(parts, target, true)
        .map(|lb| finish(parts, target, lb))
        .ok_or_else(|| BlendError::BadValue("No mix covers the target.".to_owned()))?;
    let over: Vec<String> = NAMES
        .iter()
        .zip(covering.over)
        .filter(|(_, o)| *o > 1e-6)
        .map(|(n, o)| format!("{} lb too much {n}", plain(o, 3)))
        .collect();
    let nearest = parts
        .iter()
        .zip(&covering.lb)
        .filter(|(_, lb)| **lb > 1e-9)
        .map(|(p, lb)| format!("{} lb of {}", plain(*lb, 3), p.name))
        .collect::<Vec<_>>()
        .join(" and ");
    Err(BlendError::NotExact {
        reason: format!(
            "whatever brings the rest brings {} along",
            over.join(" and ")
        ),
        nearest,
        covering: Box::new(covering),
    })
}

/// A mix of `weight` lb with a grade (percent of N, P2O5, K2O), and the lb of filler that make up the
/// weight.
///
/// # Errors
/// As [`exact`], and a grade richer than the materials can make.
pub fn grade(parts: &[Part], grade: [f64; 3], weight: f64) -> Result<(Blend, f64), BlendError> {
    if !(weight.is_finite() && weight > 0.0) {
        return Err(BlendError::BadValue(format!(
            "{} is not a usable weight in lb.",
            plain(weight, 4)
        )));
    }
    let blend = exact(parts, grade.map(|p| p / 100.0 * weight))?;
    let filler = weight - blend.total_lb;
    if filler < -1e-6 * weight {
        return Err(BlendError::TooRich(plain(weight, 4)));
    }
    Ok((blend, filler.max(0.0)))
}

fn check(parts: &[Part], target: [f64; 3]) -> Result<(), BlendError> {
    if parts.is_empty() || parts.len() > MOST {
        return Err(BlendError::BadValue(format!(
            "A mix takes 1 to {MOST} materials, and {} were given.",
            parts.len()
        )));
    }
    for part in parts {
        let sum: f64 = part.grade.iter().sum();
        if part.grade.iter().any(|p| !(p.is_finite() && *p >= 0.0)) || sum > 100.0 {
            return Err(BlendError::BadValue(format!(
                "The grade of {} is not one: three percentages from zero up, together at most 100.",
                part.name
            )));
        }
    }
    if target.iter().any(|t| !(t.is_finite() && *t >= 0.0)) || target.iter().all(|t| *t <= 0.0) {
        return Err(BlendError::BadValue(
            "The target needs N, P2O5 and K2O from zero up, and one of them above zero.".to_owned(),
        ));
    }
    for (i, name) in NAMES.iter().enumerate() {
        if target[i] > 0.0 && parts.iter().all(|p| p.grade[i] <= 0.0) {
            return Err(BlendError::Missing(name));
        }
    }
    Ok(())
}

/// The lightest amounts, none below zero, whose nutrients equal the target, or with `cover` reach it.
///
/// Each nutrient's surplus is a column of its own that weighs nothing; an optimum uses at most three
/// columns, so all choices of three are solved.
fn lightest(parts: &[Part], target: [f64; 3], cover: bool) -> Option<Vec<f64>> {
    let scale = target.iter().fold(0.0_f64, |a, b| a.max(*b));
    let mut columns: Vec<([f64; 3], f64)> = parts
        .iter()
        .map(|p| (p.grade.map(|g| g / 100.0), 1.0))
        .collect();
    let real = columns.len();
    for i in 0..3 {
        let mut surplus = [0.0; 3];
        surplus[i] = -1.0;
        columns.push((surplus, 0.0));
    }
    let mut best: Option<(f64, Vec<f64>)> = None;
    let n = columns.len();
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                let chosen = [a, b, c];
                let Some(x) = solve(chosen.map(|i| columns[i].0), target) else {
                    continue;
                };
                let usable = chosen
                    .iter()
                    .zip(x)
                    .all(|(i, v)| v >= -1e-9 * scale && (cover || *i < real || v <= 1e-9 * scale));
                if !usable {
                    continue;
                }
                let mut lb = vec![0.0; real];
                let mut weight = 0.0;
                for (i, v) in chosen.into_iter().zip(x) {
                    if i < real {
                        lb[i] = v.max(0.0);
                        weight += lb[i];
                    }
                }
                if best
                    .as_ref()
                    .is_none_or(|(w, _)| weight < *w - 1e-12 * scale)
                {
                    best = Some((weight, lb));
                }
            }
        }
    }
    best.map(|(_, lb)| lb)
}

/// Three equations in three unknowns by Cramer's rule; none where the columns are not independent.
fn solve(columns: [[f64; 3]; 3], target: [f64; 3]) -> Option<[f64; 3]> {
    let det = |m: [[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[2][1] * m[1][2])
            - m[1][0] * (m[0][1] * m[2][2] - m[2][1] * m[0][2])
            + m[2][0] * (m[0][1] * m[1][2] - m[1][1] * m[0][2])
    };
    let whole = det(columns);
    if whole.abs() < 1e-12 {
        return None;
    }
    let mut x = [0.0; 3];
    for (i, value) in x.iter_mut().enumerate() {
        let mut with = columns;
        with[i] = target;
        *value = det(with) / whole;
    }
    Some(x)
}

fn finish(parts: &[Part], target: [f64; 3], lb: Vec<f64>) -> Blend {
    let mut over = [0.0; 3];
    for (i, o) in over.iter_mut().enumerate() {
        let brings: f64 = parts
            .iter()
            .zip(&lb)
            .map(|(p, w)| p.grade[i] / 100.0 * w)
            .sum();
        *o = brings - target[i];
    }
    Blend {
        total_lb: lb.iter().sum(),
        lb,
        over,
    }
}

#[cfg(test)]
mod tests;
