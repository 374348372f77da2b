use serde::{Deserialize, Serialize};

/// What a block can need and a material can bring. Masses are lb of the form that is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Nutrient {
    /// Plant-available nitrogen, lb N.
    N,
    /// Phosphate, lb P2O5.
    P2o5,
    /// Potash, lb K2O.
    K2o,
    /// Liming, lb of calcium carbonate equivalent.
    Lime,
    /// Acidifier, lb of elemental sulfur or its equal in lowering pH.
    Sulfur,
    /// Calcium, lb Ca.
    Ca,
    /// Magnesium, lb Mg.
    Mg,
    /// Sulfur as a nutrient, lb S.
    S,
    /// Boron, lb B.
    B,
    /// Zinc, lb Zn.
    Zn,
    /// Manganese, lb Mn.
    Mn,
    /// Copper, lb Cu.
    Cu,
    /// Iron, lb Fe.
    Fe,
    /// Soluble salts, lb in whatever measure the caller keeps to.
    Salt,
}

impl Nutrient {
    /// Every one, in the order in which plans list them.
    pub const ALL: [Self; 14] = [
        Self::N,
        Self::P2o5,
        Self::K2o,
        Self::Lime,
        Self::Sulfur,
        Self::Ca,
        Self::Mg,
        Self::S,
        Self::B,
        Self::Zn,
        Self::Mn,
        Self::Cu,
        Self::Fe,
        Self::Salt,
    ];

    /// The word that stands for it in files.
    pub fn key(self) -> &'static str {
        match self {
            Self::N => "n",
            Self::P2o5 => "p2o5",
            Self::K2o => "k2o",
            Self::Lime => "lime",
            Self::Sulfur => "sulfur",
            Self::Ca => "ca",
            Self::Mg => "mg",
            Self::S => "s",
            Self::B => "b",
            Self::Zn => "zn",
            Self::Mn => "mn",
            Self::Cu => "cu",
            Self::Fe => "fe",
            Self::Salt => "salt",
        }
    }

    /// Its name for a person.
    pub fn name(self) -> &'static str {
        match self {
            Self::N => "nitrogen",
            Self::P2o5 => "phosphate (P2O5)",
            Self::K2o => "potash (K2O)",
            Self::Lime => "lime (calcium carbonate equivalent)",
            Self::Sulfur => "acidifying sulfur",
            Self::Ca => "calcium",
            Self::Mg => "magnesium",
            Self::S => "sulfur (nutrient)",
            Self::B => "boron",
            Self::Zn => "zinc",
            Self::Mn => "manganese",
            Self::Cu => "copper",
            Self::Fe => "iron",
            Self::Salt => "soluble salts",
        }
    }

    /// The nutrient of a [`key`](Self::key), if there is one.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|n| n.key() == key)
    }

    pub(crate) fn at(self) -> usize {
        self as usize
    }
}

/// One number for each nutrient, by [`Nutrient::at`].
pub(crate) type PerNutrient<T> = [T; Nutrient::ALL.len()];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_lead_back_and_match_the_stored_form() {
        for (i, nutrient) in Nutrient::ALL.into_iter().enumerate() {
            assert_eq!(nutrient.at(), i);
            assert_eq!(Nutrient::from_key(nutrient.key()), Some(nutrient));
            let stored = serde_json::to_string(&nutrient).unwrap();
            assert_eq!(stored, format!("\"{}\"", nutrient.key()));
        }
        assert_eq!(Nutrient::from_key("phosphor"), None);
    }
}
