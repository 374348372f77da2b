//! Other acidifiers by the weight of sulfur they stand for, and a texture from the CEC.

use super::SulfurError;
use super::tables::tables;
use crate::table::{self, TableError};
use crate::texture::Texture;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};

/// A material that brings pH down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Acidifier {
    pub key: String,
    pub name: String,
    pub formula: String,
    pub g_per_mol: f64,
    /// Acid given off by one formula weight.
    pub acid_given: f64,
    /// Other printed weights per lb of S, where there are some.
    pub low: Option<f64>,
    pub high: Option<f64>,
    /// The caution that belongs to it; empty for none.
    pub caution: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    key: String,
    name: String,
    formula: String,
    g_per_mol: f64,
    acid_given: f64,
    low: Option<f64>,
    high: Option<f64>,
    note: String,
    source: String,
    evidence: String,
}

pub(super) fn parse(name: &str, text: &str) -> Result<Vec<Acidifier>, TableError> {
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if !(r.g_per_mol > 0.0 && r.acid_given > 0.0) {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: "the molar mass and the acid must be above zero".to_owned(),
                });
            }
            Ok(Acidifier {
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                key: r.key,
                name: r.name,
                formula: r.formula,
                g_per_mol: r.g_per_mol,
                acid_given: r.acid_given,
                low: r.low,
                high: r.high,
                caution: r.note,
            })
        })
        .collect()
}

/// The acidifiers held; the first is elemental sulfur.
pub fn acidifiers() -> &'static [Acidifier] {
    &tables().acidifiers
}

/// An acidifier by its key.
pub fn acidifier(key: &str) -> Option<&'static Acidifier> {
    acidifiers().iter().find(|a| a.key == key)
}

/// lb of an acidifier that gives the acid of `s_lb` lb of elemental sulfur, by chemistry: S × (M / n)
/// / (M / n of sulfur), with M the molar mass in g/mol and n the acid per formula weight. `pure_pct`
/// is what the bag holds of it, percent. Any unit of weight, or weight on an area, comes back as it
/// went in.
///
/// # Errors
/// A key that is not held, an amount or a purity that cannot be.
pub fn equivalent(key: &str, s_lb: f64, pure_pct: f64) -> Result<Figure, SulfurError> {
    if !(s_lb.is_finite() && s_lb >= 0.0) {
        return Err(SulfurError::BadValue(s_lb.to_string(), "amount of sulfur"));
    }
    if !(pure_pct > 0.0 && pure_pct <= 100.0) {
        return Err(SulfurError::BadValue(
            pure_pct.to_string(),
            "purity in percent",
        ));
    }
    let all = acidifiers();
    let (Some(sulfur), Some(other)) = (all.first(), acidifier(key)) else {
        return Err(SulfurError::Unknown(format!(
            "“{key}” is not an acidifier held here; use one of {}.",
            all.iter()
                .map(|a| a.key.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        )));
    };
    let mut figure = Figure::new(format!("{} in place of sulfur", other.name));
    let per_lb = figure.step(
        format!("{} for the acid of 1 lb S", other.formula),
        (other.g_per_mol / other.acid_given) / (sulfur.g_per_mol / sulfur.acid_given),
        "lb/lb S",
        format!(
            "({} / {}) / ({} / {})",
            other.g_per_mol, other.acid_given, sulfur.g_per_mol, sulfur.acid_given
        ),
        other.source.clone(),
    );
    let bag = |each: f64| s_lb * each * 100.0 / pure_pct;
    figure.step(
        other.name.clone(),
        bag(per_lb),
        "lb",
        format!(
            "{} lb S × {} × 100 / {}",
            plain(s_lb, 4),
            plain(per_lb, 4),
            plain(pure_pct, 4)
        ),
        Source::arithmetic(),
    );
    if other.low.is_some() || other.high.is_some() {
        figure.low = Some(bag(other.low.unwrap_or(per_lb)));
        figure.high = Some(bag(other.high.unwrap_or(per_lb)));
    }
    let when = [other.caution.as_str(), "always"];
    for (text, source) in when.iter().flat_map(|w| tables().cautions.when(w)) {
        // The dust of sulfur is not theirs.
        if other.key != sulfur.key && text.contains("Sulfur dust") {
            continue;
        }
        figure.caution(text, source.clone());
    }
    Ok(figure)
}

/// One class of the table of textures by CEC.
#[derive(Debug, Clone)]
pub(super) struct CecClass {
    up_to: f64,
    texture: Texture,
    printed: String,
    source: Source,
}

#[derive(Deserialize)]
struct CecRow {
    cec_up_to: f64,
    texture: String,
    printed: String,
    source: String,
    evidence: String,
}

pub(super) fn parse_cec(name: &str, text: &str) -> Result<Vec<CecClass>, TableError> {
    table::rows::<CecRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(CecClass {
                up_to: r.cec_up_to,
                texture: Texture::from_key(&r.texture).ok_or_else(|| TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not a texture", r.texture),
                })?,
                printed: r.printed,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// The texture that a CEC (meq/100 g) stands for where only the CEC is known; between two printed
/// classes the coarser, which takes less sulfur. The figure’s value is the CEC.
///
/// # Errors
/// A CEC that cannot be, or past the table.
pub fn texture_from_cec(cec: f64) -> Result<(Texture, Figure), SulfurError> {
    if !(cec.is_finite() && cec >= 0.0) {
        return Err(SulfurError::BadValue(cec.to_string(), "CEC"));
    }
    let classes = &tables().cec;
    let class = classes
        .iter()
        .find(|c| cec <= c.up_to)
        .ok_or_else(|| SulfurError::Cec {
            cec: plain(cec, 3),
            most: classes
                .last()
                .map_or_else(String::new, |c| plain(c.up_to, 3)),
        })?;
    let mut figure = Figure::new(format!("Texture from the CEC: {}", class.texture.name()));
    figure.step(
        format!("taken as {}", class.texture.name()),
        cec,
        "meq/100 g",
        class.printed.clone(),
        class.source.clone(),
    );
    figure.caution(
        "A texture guessed from the CEC is rough, as organic matter raises CEC too: feel the soil, or have its texture measured.",
        Source::new("common practice", Evidence::CommonPractice),
    );
    Ok((class.texture, figure))
}
