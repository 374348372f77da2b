//! Where a material goes, how and when: the usual practice of the trade, in a few words.

use super::{Kind, Material};
use serde::{Deserialize, Serialize};

/// What stands on the ground that is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// Field ground between crops
    Open,
    /// Beds and tunnels, made by hand or with a small tiller
    Beds,
    /// Established perennials, whose roots a tool would cut
    Standing,
}

impl Material {
    /// Whether it may go on this ground at all. On standing plants burned and hydrated lime may not,
    /// nor may raw manure, which has to be worked in.
    pub fn suits(&self, ground: Ground) -> bool {
        ground != Ground::Standing || !(self.bare_ground_only || self.raw_manure)
    }

    /// How to spread it on this ground, in words; common practice.
    pub fn how_on(&self, ground: Ground) -> String {
        match ground {
            Ground::Open => self.how(),
            Ground::Beds => self.how_on_beds(),
            Ground::Standing => self.how_on_standing(),
        }
        .to_owned()
    }

    /// When to spread it on this ground, in words; common practice.
    pub fn when_on(&self, ground: Ground) -> String {
        match ground {
            Ground::Standing if self.suits(ground) => "in early spring or after harvest".to_owned(),
            Ground::Standing => "not while the plants stand".to_owned(),
            Ground::Open | Ground::Beds => self.when(),
        }
    }

    fn how_on_beds(&self) -> &'static str {
        match self.kind {
            Kind::Lime => "Spread evenly over the bed and work in to the depth you dig or till",
            Kind::Acid => "Spread evenly over the moist bed and work in",
            Kind::Compost if self.raw_manure => self.how(),
            Kind::Compost => "Spread evenly over the bed and rake in",
            Kind::Meal | Kind::Plant => "Spread evenly over the bed and rake in 2 to 4 inches",
            Kind::Mineral | Kind::Synthetic => "Spread evenly over the bed and rake in or water in",
            Kind::Manure | Kind::Mulch | Kind::Liquid | Kind::Micronutrient => self.how(),
        }
    }

    fn how_on_standing(&self) -> &'static str {
        if self.bare_ground_only {
            return "Keep off standing plants, which it burns: use ground limestone";
        }
        if self.raw_manure {
            return "Keep off standing food crops: what counts as raw manure has to be worked in, which would cut their roots";
        }
        match self.kind {
            Kind::Lime => "Spread evenly on the surface; do not work in",
            Kind::Acid => "Spread evenly on the moist surface and water in; do not work in",
            Kind::Compost | Kind::Manure => {
                "Spread thinly on the surface, clear of stems and crowns; do not work in"
            }
            Kind::Mulch => "Lay on the surface, clear of stems and crowns",
            Kind::Liquid => "Dilute by the label and water in",
            Kind::Micronutrient => "Mix into a carrier or water, spread evenly and water in",
            Kind::Meal | Kind::Plant => {
                "Spread evenly on the surface, rake in lightly at most and water in"
            }
            Kind::Mineral | Kind::Synthetic => {
                "Spread evenly on the surface and water in; do not work in"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    #[test]
    fn standing_plants_are_not_dug_up() {
        for m in materials() {
            let how = m.how_on(Ground::Standing);
            assert!(
                !how.contains("and work in") && !how.contains("inches"),
                "{}: {how}",
                m.id
            );
            let when = m.when_on(Ground::Standing);
            assert!(!when.contains("before planting"), "{}: {when}", m.id);
            assert_eq!(m.suits(Ground::Standing), when.contains("spring"));
            assert!(m.suits(Ground::Open) && m.suits(Ground::Beds));
            assert_eq!(m.how_on(Ground::Open), m.how());
        }
    }

    #[test]
    fn lime_and_sulfur_lie_on_the_surface() {
        for id in ["lime_calcitic", "sulfur", "wood_ash"] {
            let how = find(id).unwrap().how_on(Ground::Standing);
            assert!(
                how.contains("surface") && how.contains("do not work in"),
                "{how}"
            );
        }
        let burned = find("lime_burned").unwrap();
        assert!(!burned.suits(Ground::Standing));
        assert!(burned.how_on(Ground::Standing).contains("Keep off"));
        let manure = find("manure_horse").unwrap();
        assert!(!manure.suits(Ground::Standing));
        assert!(manure.how_on(Ground::Beds).contains("the same day"));
    }
}
