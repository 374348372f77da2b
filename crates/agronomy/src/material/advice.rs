//! When a material goes on, what it can do to people and animals, what it does in damp air and beside
//! roots, and what an inspector will ask to see.

use super::Material;
use super::advice_tables::load_advice;
use super::groups::Groups;
use crate::working::{Caution, Source};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// When a material goes on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Timing {
    pub(super) group: String,
    pub text: String,
    /// Days ahead of planting (or, for raw manure, of harvest), where the source gives any.
    pub days: (Option<f64>, Option<f64>),
    /// Whether what goes on sooner than the first of these days is lost; common practice.
    pub sooner_is_lost: bool,
    /// Whether it does harm later than the last of these days; common practice. Else it only does less.
    pub later_harms: bool,
    pub source: Source,
}

/// What is printed about one material: how soon it works, how long ahead, how it is worked in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Handling {
    pub(super) id: String,
    /// `release`, `lead` or `work in`
    pub what: String,
    pub text: String,
    pub source: Source,
}

/// A hazard with what to do about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hazard {
    pub(super) group: String,
    pub hazard: String,
    pub caution: Caution,
}

impl Hazard {
    /// A key of small letters, digits and dashes, to find its words in another language by.
    pub fn key(&self) -> String {
        let hazard: String = self
            .hazard
            .to_lowercase()
            .chars()
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .collect();
        format!("hazard-{}-{hazard}", self.group)
    }
}

/// One field of a record that an inspector looks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordField {
    pub record: String,
    pub field: String,
    /// The paragraph that asks for it.
    pub required_by: String,
    pub example: String,
    pub source: Source,
}

/// A figure that belongs to one material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OfMaterial {
    pub id: String,
    pub value: f64,
    pub source: Source,
}

/// Strength of a spray on leaves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Foliar {
    pub nutrient: String,
    pub what_for: String,
    pub low: f64,
    pub high: f64,
    pub unit: String,
    pub note: String,
    pub source: Source,
}

/// A published level of a metal in soil or in biosolids.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MetalLevel {
    /// `soil` or `biosolids`
    pub of: String,
    pub metal: String,
    pub basis: String,
    pub value: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub meaning: String,
    pub source: Source,
}

/// Everything that is said about materials beside their analysis.
#[derive(Debug, Clone, Default)]
pub struct Advice {
    pub(super) groups: Groups,
    pub timing: Vec<Timing>,
    pub handling: Vec<Handling>,
    pub hazards: Vec<Hazard>,
    pub records: Vec<RecordField>,
    /// Relative humidity \[%\] from which it draws water out of the air.
    pub humidity: Vec<OfMaterial>,
    /// Salt index, sodium nitrate being 100, weight for weight.
    pub salt_index: Vec<OfMaterial>,
    pub foliar: Vec<Foliar>,
    pub metals: Vec<MetalLevel>,
}

/// Everything said about materials; empty if the tables cannot be parsed, which a test rules out.
pub fn advice() -> &'static Advice {
    static ADVICE: OnceLock<Advice> = OnceLock::new();
    ADVICE.get_or_init(|| load_advice().unwrap_or_default())
}

impl Advice {
    /// When this material goes on, as published.
    pub fn timing_of(&self, material: &Material) -> Vec<&Timing> {
        self.timing
            .iter()
            .filter(|t| self.groups.holds(&t.group, material))
            .collect()
    }

    /// How soon it works, how long ahead it goes on and how it is worked in, as published.
    pub fn handling_of(&self, material: &Material) -> Vec<&Handling> {
        self.handling
            .iter()
            .filter(|h| h.id == material.id)
            .collect()
    }

    /// Hazards of this material, its own before those of every material.
    pub fn hazards_of(&self, material: &Material) -> Vec<&Hazard> {
        let mut own: Vec<&Hazard> = self
            .hazards
            .iter()
            .filter(|h| self.groups.holds(&h.group, material) || material.is_like_manure(&h.group))
            .collect();
        own.sort_by_key(|h| h.group == "all");
        own
    }

    /// Relative humidity \[%\] from which it draws water, lowest source first.
    pub fn humidity_of(&self, material: &Material) -> Vec<&OfMaterial> {
        let mut all: Vec<_> = self
            .humidity
            .iter()
            .filter(|h| h.id == material.id)
            .collect();
        all.sort_by(|a, b| a.value.total_cmp(&b.value));
        all
    }

    /// Salt index, where one was read.
    pub fn salt_index_of(&self, material: &Material) -> Option<&OfMaterial> {
        self.salt_index.iter().find(|s| s.id == material.id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    #[test]
    fn the_advice_parses_and_reaches_materials() {
        let all = load_advice().unwrap();
        for list in [
            all.timing.len(),
            all.hazards.len(),
            all.records.len(),
            all.metals.len(),
        ] {
            assert!(list >= 15, "{list}");
        }
        for m in materials() {
            assert!(all.hazards_of(m).len() >= 2, "{}", m.id);
            assert!(all.hazards_of(m).last().unwrap().group == "all");
            assert!(
                !(all.timing_of(m).is_empty() && all.handling_of(m).is_empty()),
                "{}",
                m.id
            );
        }
        let lime = find("lime_hydrated").unwrap();
        assert!(all.hazards_of(lime)[0].caution.text.contains("burns"));
        assert!(!all.timing_of(lime).is_empty());
        assert!(
            all.hazards_of(find("bone_raw").unwrap())
                .iter()
                .any(|h| h.hazard == "dogs")
        );
    }

    #[test]
    fn two_sources_of_one_figure_are_both_kept() {
        let urea = find("urea").unwrap();
        let values: Vec<f64> = advice().humidity_of(urea).iter().map(|h| h.value).collect();
        assert_eq!(values, [70.0, 72.0]);
        assert!((advice().salt_index_of(urea).unwrap().value - 74.4).abs() < 1e-9);
        assert!(
            advice()
                .salt_index_of(find("feather_meal").unwrap())
                .is_none()
        );
        for index in &advice().salt_index {
            assert!((0.0..=150.0).contains(&index.value), "{}", index.id);
        }
        for h in &advice().humidity {
            assert!((30.0..100.0).contains(&h.value), "{}", h.id);
        }
    }
}
