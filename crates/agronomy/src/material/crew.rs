//! What the people who spread a material have to know and wear.

use super::Material;
use super::advice::advice;
use super::groups::Groups;
use crate::table::{self, TableError};
use crate::working::{Caution, Source};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// One thing to wear.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gear {
    /// `gloves`, `sleeves`, `goggles`, `mask` or `respirator`
    pub key: &'static str,
    /// The best known of those that ask for it.
    pub source: Source,
}

/// In the order in which a sheet names them.
const GEAR: [&str; 5] = ["gloves", "sleeves", "goggles", "mask", "respirator"];

#[derive(Deserialize)]
struct Row {
    group: String,
    gear: String,
    source: String,
    evidence: String,
}

type Rows = (Groups, Vec<(String, Gear)>);

fn parse() -> Result<Rows, TableError> {
    let groups = Groups::parse()?;
    let name = "materials/gear.csv";
    let text = include_str!("../../../../reference/materials/gear.csv");
    let mut rows = Vec::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        groups.known(&r.group, name, i + 2)?;
        for word in r.gear.split(';') {
            let key = GEAR
                .into_iter()
                .find(|g| *g == word)
                .ok_or_else(|| TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{word}” is nothing to wear"),
                })?;
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            rows.push((r.group.clone(), Gear { key, source }));
        }
    }
    Ok((groups, rows))
}

/// What to wear for a material, each thing once; a respirator stands in for a mask.
pub fn gear(material: &Material) -> Vec<Gear> {
    static ALL: OnceLock<Rows> = OnceLock::new();
    let (groups, rows) = ALL.get_or_init(|| parse().unwrap_or_default());
    let asked = |key: &str| {
        rows.iter()
            .filter(|(group, gear)| {
                gear.key == key && (groups.holds(group, material) || material.is_like_manure(group))
            })
            .map(|(_, gear)| gear)
            .min_by_key(|gear| gear.source.evidence)
            .cloned()
    };
    let mut all: Vec<Gear> = GEAR.into_iter().filter_map(asked).collect();
    if all.iter().any(|g| g.key == "respirator") {
        all.retain(|g| g.key != "mask");
    }
    all
}

/// What to beware of while spreading, each with a key: the hazards, then the cautions of handling. How to
/// store it is not among them.
pub fn crew_cautions(material: &Material) -> Vec<(String, Caution)> {
    let hazards = advice()
        .hazards_of(material)
        .into_iter()
        .filter(|h| h.hazard != "storage")
        .map(|h| (h.key(), h.caution.clone()));
    let handling = material
        .crew_cautions
        .iter()
        .map(|(key, caution)| (format!("caution-{key}"), caution.clone()));
    hazards.chain(handling).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    fn worn(id: &str) -> Vec<&'static str> {
        gear(find(id).unwrap()).iter().map(|g| g.key).collect()
    }

    #[test]
    fn gear_follows_the_hazard() {
        parse().unwrap();
        assert_eq!(
            worn("lime_hydrated"),
            ["gloves", "sleeves", "goggles", "mask"]
        );
        assert_eq!(worn("guano_bat"), ["gloves", "sleeves", "respirator"]);
        assert_eq!(worn("feather_meal"), ["gloves", "sleeves"]);
        assert!(materials().iter().all(|m| gear(m).len() >= 2));
    }

    #[test]
    fn the_crew_is_told_what_burns_and_what_to_weigh() {
        let told = |id: &str| -> Vec<String> {
            crew_cautions(find(id).unwrap())
                .into_iter()
                .map(|c| c.0)
                .collect()
        };
        assert!(told("lime_hydrated").contains(&"hazard-caustic_lime-caustic-burn".to_owned()));
        assert!(told("borax").contains(&"caution-boron".to_owned()));
        for m in materials() {
            let keys = told(&m.id);
            assert!(keys.contains(&"hazard-all-drift-and-runoff".to_owned()));
            let mut once = keys.clone();
            once.sort();
            once.dedup();
            assert_eq!(once.len(), keys.len(), "{}", m.id);
        }
    }
}
