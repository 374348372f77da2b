//! How the ground feels in the hand: the texture class.

use serde::{Deserialize, Serialize};

/// The texture class of the topsoil, from coarse to fine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Texture {
    Sand,
    LoamySand,
    SandyLoam,
    Loam,
    SiltLoam,
    Silt,
    SandyClayLoam,
    ClayLoam,
    SiltyClayLoam,
    Clay,
}

impl Texture {
    pub const ALL: [Self; 10] = [
        Self::Sand,
        Self::LoamySand,
        Self::SandyLoam,
        Self::Loam,
        Self::SiltLoam,
        Self::Silt,
        Self::SandyClayLoam,
        Self::ClayLoam,
        Self::SiltyClayLoam,
        Self::Clay,
    ];

    /// The key used in files and on the command line.
    pub fn key(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::LoamySand => "loamy_sand",
            Self::SandyLoam => "sandy_loam",
            Self::Loam => "loam",
            Self::SiltLoam => "silt_loam",
            Self::Silt => "silt",
            Self::SandyClayLoam => "sandy_clay_loam",
            Self::ClayLoam => "clay_loam",
            Self::SiltyClayLoam => "silty_clay_loam",
            Self::Clay => "clay",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|t| t.key() == key)
    }

    /// The name a grower reads.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::LoamySand => "loamy sand",
            Self::SandyLoam => "sandy loam",
            Self::Loam => "loam",
            Self::SiltLoam => "silt loam",
            Self::Silt => "silt",
            Self::SandyClayLoam => "sandy clay loam",
            Self::ClayLoam => "clay loam",
            Self::SiltyClayLoam => "silty clay loam",
            Self::Clay => "clay",
        }
    }

    /// Whether the soil counts as sandy where a table knows only sandy and clayey ground.
    pub fn sandy(self) -> bool {
        self <= Self::SandyLoam
    }
}
