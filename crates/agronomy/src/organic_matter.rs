//! What a percentage of organic matter means for a texture.

use crate::meaning;
use crate::reading::Level;
use crate::soil_number;
use crate::table::{self, TableError};
use crate::texture::Texture;
use crate::working::{Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// Organic matter of one sample.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    pub level: Level,
    /// % of the soil's weight, with where the class lies
    pub figure: Figure,
}

/// Why there is no class.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum OrganicError {
    #[error("Organic matter of {0} % is not possible; give 0 to 100.")]
    Bad(String),
    #[error(
        "No published class of organic matter covers pure sand: compare it with your own ground over the years."
    )]
    Sand,
}

#[derive(Deserialize)]
struct Row {
    texture: String,
    level: String,
    low: f64,
    high: Option<f64>,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone)]
struct Class {
    texture: Texture,
    level: Level,
    low: f64,
    high: Option<f64>,
    source: Source,
}

fn load() -> Result<Vec<Class>, TableError> {
    let name = "soil/organic_matter.csv";
    let text = include_str!("../../../reference/soil/organic_matter.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |what: &str| TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: format!("“{what}” is not known"),
            };
            Ok(Class {
                texture: Texture::from_key(&r.texture).ok_or_else(|| wrong(&r.texture))?,
                level: Level::from_key(&r.level).ok_or_else(|| wrong(&r.level))?,
                low: r.low,
                high: r.high,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

fn classes() -> &'static [Class] {
    static ALL: OnceLock<Vec<Class>> = OnceLock::new();
    ALL.get_or_init(|| load().unwrap_or_default())
}

/// The column of the table: finer ground than silt loam is read as silt loam, as the source says.
fn column(texture: Texture) -> Option<Texture> {
    match texture {
        Texture::Sand => None,
        Texture::LoamySand | Texture::SandyLoam | Texture::Loam => Some(texture),
        _ => Some(Texture::SiltLoam),
    }
}

/// The class of organic matter (% by weight) for a texture. The lower end of a class belongs to it.
/// Source: Rutgers NJAES Soil Testing Laboratory, Organic Matter Levels.
///
/// # Errors
/// A percentage that cannot be; pure sand, which the source does not cover.
pub fn class(percent: f64, texture: Texture) -> Result<Standing, OrganicError> {
    if !(0.0..=100.0).contains(&percent) {
        return Err(OrganicError::Bad(plain(percent, 4)));
    }
    let of = column(texture).ok_or(OrganicError::Sand)?;
    let found = classes()
        .iter()
        .find(|c| c.texture == of && percent >= c.low && c.high.is_none_or(|h| percent < h))
        .ok_or(OrganicError::Sand)?;
    let mut figure = Figure::new("Organic matter");
    figure.step(
        format!("{} for {}", found.level.name(), texture.name()),
        percent,
        "%",
        match found.high {
            Some(high) => format!(
                "{} % lies from {} to {} % ({})",
                plain(percent, 3),
                plain(found.low, 3),
                plain(high, 3),
                of.name()
            ),
            None => format!(
                "{} % is {} % or more ({})",
                plain(percent, 3),
                plain(found.low, 3),
                of.name()
            ),
        },
        found.source.clone(),
    );
    meaning::caution(&mut figure, &meaning::notes("om", "always"));
    if found.level <= Level::Low {
        meaning::caution(&mut figure, &meaning::notes("om", "low"));
    }
    if percent > soil_number("om_most").0 {
        meaning::caution(&mut figure, &meaning::notes("om", "high"));
    }
    Ok(Standing {
        level: found.level,
        figure,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_table_parses_and_covers_every_percentage() {
        assert_eq!(load().unwrap().len(), 20);
        assert_eq!(class(3.0, Texture::Sand), Err(OrganicError::Sand));
        assert!(class(101.0, Texture::Loam).is_err());
        let rich = class(12.0, Texture::Clay).unwrap();
        assert!(
            rich.figure
                .cautions
                .iter()
                .any(|c| c.text.contains("10 percent"))
        );
    }

    proptest! {
        #[test]
        fn more_is_never_a_lower_class_and_finer_ground_never_a_higher(a in 0.0..20.0f64, b in 0.0..20.0f64) {
            let (low, high) = if a <= b { (a, b) } else { (b, a) };
            for texture in Texture::ALL.into_iter().filter(|t| *t != Texture::Sand) {
                prop_assert!(class(low, texture).unwrap().level <= class(high, texture).unwrap().level);
            }
            prop_assert!(class(a, Texture::Clay).unwrap().level <= class(a, Texture::LoamySand).unwrap().level);
        }
    }
}
