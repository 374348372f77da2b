//! How far published rules and advice keep what is spread from water, wells and whatever else stands on
//! a farm.

use crate::material::{Kind, Material};
use crate::table::{self, TableError};
use crate::working::Source;
use quantity::Length;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Materials that are kept away alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Manure and litter, fresh or dried.
    Manure,
    Compost,
    /// Meals, minerals, salts and whatever else feeds.
    Fertilizer,
    Lime,
    Ash,
}

impl Class {
    pub const ALL: [Self; 5] = [
        Self::Manure,
        Self::Compost,
        Self::Fertilizer,
        Self::Lime,
        Self::Ash,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Manure => "manure",
            Self::Compost => "compost",
            Self::Fertilizer => "fertilizer",
            Self::Lime => "lime",
            Self::Ash => "ash",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Fertilizer => "fertilizer and meals",
            Self::Ash => "wood ash",
            _ => self.key(),
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.key() == key)
    }

    /// The class of a material; none for a mulch, which lies where it is put.
    pub fn of(material: &Material) -> Option<Self> {
        match material.kind {
            _ if material.id == "wood_ash" => Some(Self::Ash),
            _ if material.raw_manure => Some(Self::Manure),
            Kind::Manure => Some(Self::Manure),
            // Dried and pelleted it is litter still.
            _ if material.release.class == "litter" => Some(Self::Manure),
            Kind::Compost => Some(Self::Compost),
            Kind::Lime => Some(Self::Lime),
            Kind::Mulch => None,
            _ => Some(Self::Fertilizer),
        }
    }
}

/// Where less room will do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Where {
    /// Grass or other lasting growth stands between.
    Strip,
    /// It is placed: injected, banded, sprayed at the ground.
    Placed,
    /// The ground is level.
    Level,
}

impl Where {
    pub fn words(self) -> &'static str {
        match self {
            Self::Strip => "where a strip of lasting growth, such as grass, stands between",
            Self::Placed => "where it is placed exactly: injected, banded, sprayed at the ground",
            Self::Level => "on level ground",
        }
    }
}

/// One printed distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Published {
    /// `water`, `well`, `sinkhole` or `building`
    pub thing: String,
    pub class: Class,
    pub distance: Length,
    /// What is enough, and where.
    pub nearer: Option<(Length, Where)>,
    /// Whether it serves where the farm's region has none of its own.
    pub usual: bool,
    /// Names and letters of the region that printed it; empty for a federal rule.
    pub regions: Vec<String>,
    /// Whom it binds, in words.
    pub binds: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    thing: String,
    class: String,
    distance: f64,
    unit: String,
    nearer: Option<f64>,
    nearer_where: String,
    usual: String,
    region: String,
    binds: String,
    source: String,
    evidence: String,
}

fn parse() -> Result<Vec<Published>, TableError> {
    let name = "materials/setbacks.csv";
    let text = include_str!("../../../reference/materials/setbacks.csv");
    let rows = table::rows::<Row>(name, text)?.into_iter().enumerate();
    rows.map(|(i, r)| {
        let wrong = |word: &str| TableError {
            table: name.to_owned(),
            row: i + 2,
            problem: format!("“{word}” is no word of this table"),
        };
        let unit = match r.unit.as_str() {
            "ft" => Length::feet,
            "m" => Length::metres,
            other => return Err(wrong(other)),
        };
        let place = match r.nearer_where.as_str() {
            "" => None,
            "strip" => Some(Where::Strip),
            "placed" => Some(Where::Placed),
            "level" => Some(Where::Level),
            other => return Err(wrong(other)),
        };
        Ok(Published {
            class: Class::from_key(&r.class).ok_or_else(|| wrong(&r.class))?,
            thing: r.thing,
            distance: unit(r.distance),
            nearer: r.nearer.map(unit).zip(place),
            usual: r.usual == "yes",
            regions: r
                .region
                .split(';')
                .filter(|n| !n.is_empty())
                .map(str::to_owned)
                .collect(),
            binds: r.binds,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        })
    })
    .collect()
}

/// Every distance that is held.
pub fn published() -> &'static [Published] {
    static ROWS: OnceLock<Vec<Published>> = OnceLock::new();
    ROWS.get_or_init(|| parse().unwrap_or_default())
}

/// The distance that holds in a region: its own, else the usual one; none where none was read.
pub fn held(thing: &str, class: Class, region: &str) -> Option<&'static Published> {
    let all = || {
        published()
            .iter()
            .filter(move |p| p.thing == thing && p.class == class)
    };
    let home = |p: &&Published| {
        let region = region.trim();
        p.regions
            .iter()
            .any(|name| name.eq_ignore_ascii_case(region))
    };
    all().find(home).or_else(|| all().find(|p| p.usual))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material;
    use std::collections::HashSet;

    #[test]
    fn the_table_is_whole_and_says_each_thing_once() {
        let rows = parse().unwrap();
        assert!(rows.len() >= 30);
        let mut usual = HashSet::new();
        let mut at_home = HashSet::new();
        for r in &rows {
            let key = (r.thing.clone(), r.class);
            assert!(["water", "well", "sinkhole", "building"].contains(&r.thing.as_str()));
            assert!(r.distance > Length::ZERO && !r.binds.is_empty(), "{r:?}");
            assert!(r.nearer.is_none_or(|(n, _)| n < r.distance), "{r:?}");
            assert!(r.usual || !r.regions.is_empty(), "{r:?}");
            assert!(!r.source.evidence.unconfirmed(), "{r:?}");
            assert!(!r.usual || usual.insert(key.clone()), "{r:?}");
            for region in &r.regions {
                assert!(at_home.insert((key.clone(), region.clone())), "{r:?}");
            }
        }
    }

    #[test]
    fn a_region_stands_above_the_usual_distance() {
        let feet = |thing, class, region| held(thing, class, region).map(|p| p.distance.to_feet());
        let near =
            |found: Option<f64>, wanted: f64| found.is_some_and(|f| (f - wanted).abs() < 1e-9);
        assert!(near(feet("water", Class::Manure, ""), 100.0));
        // University of Missouri Extension G9219, Table 1.
        assert!(near(feet("well", Class::Manure, "missouri"), 300.0));
        assert!(near(feet("water", Class::Manure, "MO"), 100.0));
        assert!(near(feet("building", Class::Manure, "Missouri"), 150.0));
        assert!(feet("building", Class::Manure, "Vermont").is_none());
        // Two letters of another state are no part of a name.
        assert!(near(feet("well", Class::Manure, "mi"), 100.0));
        assert!(near(feet("water", Class::Fertilizer, "Michigan"), 25.0));
        assert!(near(feet("water", Class::Fertilizer, "Ohio"), 35.0));
    }

    #[test]
    fn every_material_has_its_class() {
        let of = |id: &str| Class::of(material::find(id).unwrap());
        assert_eq!(of("manure_dairy"), Some(Class::Manure));
        assert_eq!(of("litter_pellet"), Some(Class::Manure));
        assert_eq!(of("compost_dairy"), Some(Class::Compost));
        assert_eq!(of("wood_ash"), Some(Class::Ash));
        assert_eq!(of("lime_calcitic"), Some(Class::Lime));
        assert_eq!(of("feather_meal"), Some(Class::Fertilizer));
        assert_eq!(of("straw_wheat"), None);
        for m in material::materials().iter().filter(|m| m.raw_manure) {
            assert_eq!(Class::of(m), Some(Class::Manure), "{}", m.id);
        }
    }
}
