//! What a reading of soluble salts means, by the way it was measured.
//!
//! The same soil gives several numbers: by saturated paste, with one or two parts of water, from a
//! saturated mix or from what drips out of a pot. A number is read with its own method's table only.

use crate::meaning;
use crate::table::{self, TableError};
use crate::texture::Texture;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// How the salts were measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Extract of a saturated paste (ECe)
    SaturatedPaste,
    /// One part of soil to one of water
    OneToOne,
    /// One part of soil to two of water
    OneToTwo,
    /// Saturated media extract, made for soilless mixes
    SaturatedMedia,
    /// What drips out of a pot that water is poured on
    PourThrough,
    /// The irrigation water itself
    Water,
}

impl Method {
    pub const ALL: [Self; 6] = [
        Self::SaturatedPaste,
        Self::OneToOne,
        Self::OneToTwo,
        Self::SaturatedMedia,
        Self::PourThrough,
        Self::Water,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::SaturatedPaste => "saturated_paste",
            Self::OneToOne => "one_to_one",
            Self::OneToTwo => "one_to_two",
            Self::SaturatedMedia => "saturated_media",
            Self::PourThrough => "pour_through",
            Self::Water => "water",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::SaturatedPaste => "saturated paste",
            Self::OneToOne => "one part of soil to one of water",
            Self::OneToTwo => "one part of soil to two of water",
            Self::SaturatedMedia => "saturated media extract",
            Self::PourThrough => "pour-through",
            Self::Water => "irrigation water",
        }
    }
}

/// What the sample was of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Medium {
    Soil,
    PottingMix,
    Water,
}

impl Medium {
    pub const ALL: [Self; 3] = [Self::Soil, Self::PottingMix, Self::Water];

    pub fn key(self) -> &'static str {
        match self {
            Self::Soil => "soil",
            Self::PottingMix => "potting_mix",
            Self::Water => "water",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.key() == key)
    }

    fn name(self) -> &'static str {
        match self {
            Self::Soil => "soil",
            Self::PottingMix => "potting mix",
            Self::Water => "water",
        }
    }
}

/// One class of one method.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Class {
    pub method: Method,
    pub medium: Medium,
    /// `all`, or a kind of ground where the table tells them apart.
    pub ground: String,
    pub category: String,
    /// dS/m
    pub low: f64,
    /// dS/m; none: open above
    pub high: Option<f64>,
    /// The precision printed; with it both ends belong to the class.
    pub step: Option<f64>,
    pub source: Source,
}

impl Class {
    fn holds(&self, value: f64) -> bool {
        match self.step {
            Some(step) => {
                let n = |v: f64| (v / step + 1e-9).round();
                n(value) >= n(self.low) && self.high.is_none_or(|h| n(value) <= n(h))
            }
            None => value >= self.low && self.high.is_none_or(|h| value < h),
        }
    }
}

/// The class of a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    pub category: String,
    /// Every class of the table it was read with.
    pub classes: Vec<Class>,
    /// dS/m, with where it lies
    pub figure: Figure,
}

/// Why there is no class.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SaltError {
    #[error("Salts of {0} dS/m are not possible; give zero or more.")]
    Bad(String),
    #[error(
        "There is no table of salts in {medium} by {method}; a reading is never read with another method’s table. For {medium} there are: {known}."
    )]
    NoTable {
        method: &'static str,
        medium: &'static str,
        known: String,
    },
    #[error("By {0} the classes differ with the ground: give the texture.")]
    WhichGround(&'static str),
    #[error(
        "{value} dS/m is outside what {source_name} prints for this method, and it gives no name to that."
    )]
    Outside { value: String, source_name: String },
}

#[derive(Deserialize)]
struct Row {
    method: String,
    medium: String,
    texture: String,
    category: String,
    low: f64,
    high: Option<f64>,
    step: Option<f64>,
    source: String,
    evidence: String,
}

fn load() -> Result<Vec<Class>, TableError> {
    let name = "soil/salts.csv";
    let text = include_str!("../../../reference/soil/salts.csv");
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
                method: Method::from_key(&r.method).ok_or_else(|| wrong(&r.method))?,
                medium: Medium::from_key(&r.medium).ok_or_else(|| wrong(&r.medium))?,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
                ground: r.texture,
                category: r.category,
                low: r.low,
                high: r.high,
                step: r.step,
            })
        })
        .collect()
}

/// Every class of every method.
pub fn classes() -> &'static [Class] {
    static ALL: OnceLock<Vec<Class>> = OnceLock::new();
    ALL.get_or_init(|| load().unwrap_or_default())
}

/// The group of the one-to-one table that a texture belongs to.
fn ground(texture: Texture) -> &'static str {
    match texture {
        Texture::Sand | Texture::LoamySand => "coarse",
        Texture::SandyLoam | Texture::Loam => "medium",
        Texture::SiltLoam | Texture::Silt | Texture::SandyClayLoam | Texture::ClayLoam => "fine",
        Texture::SiltyClayLoam | Texture::Clay => "very_fine",
    }
}

/// The class of soluble salts in dS/m (the same as mmho/cm) by its own method.
///
/// # Errors
/// An impossible value, a method without a table for the medium, a method that needs the texture, or
/// a value outside a table that prints one range.
pub fn class(
    value: f64,
    method: Method,
    medium: Medium,
    texture: Option<Texture>,
) -> Result<Reading, SaltError> {
    if !value.is_finite() || value < 0.0 {
        return Err(SaltError::Bad(plain(value, 4)));
    }
    let of_method: Vec<&Class> = classes()
        .iter()
        .filter(|c| c.method == method && c.medium == medium)
        .collect();
    if of_method.is_empty() {
        let mut known: Vec<&str> = Vec::new();
        for c in classes().iter().filter(|c| c.medium == medium) {
            if !known.contains(&c.method.key()) {
                known.push(c.method.key());
            }
        }
        return Err(SaltError::NoTable {
            method: method.name(),
            medium: medium.name(),
            known: known.join(", "),
        });
    }
    let wanted = if of_method.iter().any(|c| c.ground == "all") {
        "all"
    } else {
        ground(texture.ok_or(SaltError::WhichGround(method.name()))?)
    };
    let of_ground: Vec<&Class> = of_method
        .into_iter()
        .filter(|c| c.ground == wanted)
        .collect();
    let found = of_ground
        .iter()
        .find(|c| c.holds(value))
        .ok_or_else(|| SaltError::Outside {
            value: plain(value, 4),
            source_name: of_ground
                .first()
                .map_or_else(String::new, |c| c.source.text.clone()),
        })?;
    let mut figure = Figure::new(format!("Soluble salts, {}", method.name()));
    figure.step(
        found.category.clone(),
        value,
        "dS/m",
        match found.high {
            Some(high) => format!(
                "{} lies in {} to {}",
                plain(value, 4),
                plain(found.low, 3),
                plain(high, 3)
            ),
            None => format!("{} is {} or more", plain(value, 4), plain(found.low, 3)),
        },
        found.source.clone(),
    );
    if found.source.evidence == Evidence::Memory {
        figure.caution(
            "The limits of this class are recalled, not read in the source; take it as unconfirmed.",
            found.source.clone(),
        );
    }
    if medium == Medium::PottingMix {
        meaning::caution(&mut figure, &meaning::notes("salts", "media"));
    }
    // The first class of a table is the one without trouble; a potting mix can also be short of feed.
    let position = of_ground.iter().position(|c| c == found).unwrap_or(0);
    let trouble = match medium {
        Medium::PottingMix => 3,
        Medium::Soil | Medium::Water => 1,
    };
    if position >= trouble && medium != Medium::Water {
        meaning::caution(&mut figure, &meaning::notes("salts", "excess"));
    }
    Ok(Reading {
        category: found.category.clone(),
        classes: of_ground.into_iter().cloned().collect(),
        figure,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_table_parses_and_names_its_gaps() {
        assert_eq!(load().unwrap().len(), classes().len());
        let no = class(1.0, Method::PourThrough, Medium::Soil, None).unwrap_err();
        assert!(no.to_string().contains("saturated_paste"), "{no}");
        assert!(matches!(
            class(1.0, Method::OneToOne, Medium::Soil, None),
            Err(SaltError::WhichGround(_))
        ));
        assert!(matches!(
            class(0.6, Method::OneToTwo, Medium::Soil, None),
            Err(SaltError::Outside { .. })
        ));
        assert!(class(-1.0, Method::Water, Medium::Water, None).is_err());
    }

    #[test]
    fn recalled_limits_are_marked_and_trouble_is_told() {
        let r = class(1.15, Method::OneToOne, Medium::Soil, Some(Texture::Sand)).unwrap();
        assert_eq!(r.category, "slightly saline");
        assert!(r.figure.cautions[0].text.contains("unconfirmed"));
        assert!(r.figure.cautions.iter().any(|c| c.text.contains("Wilting")));
        let well = class(1.0, Method::SaturatedPaste, Medium::Soil, None).unwrap();
        assert!(well.figure.cautions.is_empty());
    }

    proptest! {
        #[test]
        fn saltier_never_reads_lower(a in 0.0..20.0f64, b in 0.0..20.0f64) {
            let (low, high) = if a <= b { (a, b) } else { (b, a) };
            for method in Method::ALL {
                for medium in Medium::ALL {
                    let at = |v| {
                        let r = class(v, method, medium, Some(Texture::Loam)).ok()?;
                        r.classes.iter().position(|c| c.category == r.category)
                    };
                    if let (Some(l), Some(h)) = (at(low), at(high)) {
                        prop_assert!(l <= h, "{method:?} {medium:?} {low} {high}");
                    }
                }
            }
        }
    }
}
