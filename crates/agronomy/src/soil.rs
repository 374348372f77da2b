//! What a lab measured, in one internal unit, and how it was printed.

use serde::{Deserialize, Serialize};

/// What was measured. The unit in brackets is the internal one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Analyte {
    /// pH in water [pH]
    Ph,
    /// pH in 0.01 M calcium chloride [pH]
    PhSalt,
    /// pH after the lab's buffer [pH]; useless without the buffer's name
    BufferPh,
    /// exchangeable acidity [meq/100 g]
    Acidity,
    /// lime buffer capacity from a 30-minute Ca(OH)2 reading [mg CaCO3/kg per pH unit]
    LimeBufferCapacity,
    /// organic matter by ignition or oxidation [%]
    OrganicMatter,
    /// cation exchange capacity [meq/100 g]
    Cec,
    P,
    K,
    Ca,
    Mg,
    S,
    Na,
    B,
    Zn,
    Mn,
    Cu,
    Fe,
    Al,
    /// nitrate nitrogen [ppm]
    NitrateN,
    /// ammonium nitrogen [ppm]
    AmmoniumN,
    /// soluble salts [dS/m], by the method stated
    Salts,
}

impl Analyte {
    pub const ALL: [Self; 22] = [
        Self::Ph,
        Self::PhSalt,
        Self::BufferPh,
        Self::Acidity,
        Self::LimeBufferCapacity,
        Self::OrganicMatter,
        Self::Cec,
        Self::P,
        Self::K,
        Self::Ca,
        Self::Mg,
        Self::S,
        Self::Na,
        Self::B,
        Self::Zn,
        Self::Mn,
        Self::Cu,
        Self::Fe,
        Self::Al,
        Self::NitrateN,
        Self::AmmoniumN,
        Self::Salts,
    ];

    /// The key used in files and on the command line.
    pub fn key(self) -> &'static str {
        match self {
            Self::Ph => "ph",
            Self::PhSalt => "ph_salt",
            Self::BufferPh => "buffer_ph",
            Self::Acidity => "acidity",
            Self::LimeBufferCapacity => "lbc",
            Self::OrganicMatter => "om",
            Self::Cec => "cec",
            Self::P => "p",
            Self::K => "k",
            Self::Ca => "ca",
            Self::Mg => "mg",
            Self::S => "s",
            Self::Na => "na",
            Self::B => "b",
            Self::Zn => "zn",
            Self::Mn => "mn",
            Self::Cu => "cu",
            Self::Fe => "fe",
            Self::Al => "al",
            Self::NitrateN => "no3n",
            Self::AmmoniumN => "nh4n",
            Self::Salts => "salts",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|a| a.key() == key)
    }

    /// The name a grower reads.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ph => "pH",
            Self::PhSalt => "pH in calcium chloride",
            Self::BufferPh => "Buffer pH",
            Self::Acidity => "Exchangeable acidity",
            Self::LimeBufferCapacity => "Lime buffer capacity",
            Self::OrganicMatter => "Organic matter",
            Self::Cec => "Cation exchange capacity",
            Self::P => "Phosphorus",
            Self::K => "Potassium",
            Self::Ca => "Calcium",
            Self::Mg => "Magnesium",
            Self::S => "Sulfur",
            Self::Na => "Sodium",
            Self::B => "Boron",
            Self::Zn => "Zinc",
            Self::Mn => "Manganese",
            Self::Cu => "Copper",
            Self::Fe => "Iron",
            Self::Al => "Aluminum",
            Self::NitrateN => "Nitrate nitrogen",
            Self::AmmoniumN => "Ammonium nitrogen",
            Self::Salts => "Soluble salts",
        }
    }

    /// The internal unit as printed.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Ph | Self::PhSalt | Self::BufferPh => "",
            Self::Acidity | Self::Cec => "meq/100 g",
            Self::LimeBufferCapacity => "mg CaCO3/kg per pH",
            Self::OrganicMatter => "%",
            Self::Salts => "dS/m",
            _ => "ppm",
        }
    }

    /// Whether the value means nothing without the extractant's name.
    pub fn needs_extractant(self) -> bool {
        matches!(
            self,
            Self::P
                | Self::K
                | Self::Ca
                | Self::Mg
                | Self::S
                | Self::Na
                | Self::B
                | Self::Zn
                | Self::Mn
                | Self::Cu
                | Self::Fe
                | Self::Al
        )
    }
}

/// The solution that pulled the nutrient out of the soil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Extractant {
    Mehlich1,
    Mehlich3,
    BrayP1,
    Olsen,
    ModifiedMorgan,
    Morgan,
    AmmoniumAcetate,
    AmmoniumNitrate,
    Dtpa,
    HotWater,
    AbDtpa,
    /// Water drawn from a saturated soilless mix; its ppm are of the extract.
    SaturatedMedia,
    /// 0.1 N hydrochloric acid
    HydrochloricAcid,
    /// 0.1 N phosphoric acid
    PhosphoricAcid,
    /// Monocalcium phosphate, for sulfate
    CalciumPhosphate,
}

impl Extractant {
    pub const ALL: [Self; 15] = [
        Self::Mehlich1,
        Self::Mehlich3,
        Self::BrayP1,
        Self::Olsen,
        Self::ModifiedMorgan,
        Self::Morgan,
        Self::AmmoniumAcetate,
        Self::AmmoniumNitrate,
        Self::Dtpa,
        Self::HotWater,
        Self::AbDtpa,
        Self::SaturatedMedia,
        Self::HydrochloricAcid,
        Self::PhosphoricAcid,
        Self::CalciumPhosphate,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Mehlich1 => "mehlich1",
            Self::Mehlich3 => "mehlich3",
            Self::BrayP1 => "bray_p1",
            Self::Olsen => "olsen",
            Self::ModifiedMorgan => "modified_morgan",
            Self::Morgan => "morgan",
            Self::AmmoniumAcetate => "ammonium_acetate",
            Self::AmmoniumNitrate => "ammonium_nitrate",
            Self::Dtpa => "dtpa",
            Self::HotWater => "hot_water",
            Self::AbDtpa => "ab_dtpa",
            Self::SaturatedMedia => "saturated_media",
            Self::HydrochloricAcid => "hydrochloric_acid",
            Self::PhosphoricAcid => "phosphoric_acid",
            Self::CalciumPhosphate => "calcium_phosphate",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|e| e.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Mehlich1 => "Mehlich-1",
            Self::Mehlich3 => "Mehlich-3",
            Self::BrayP1 => "Bray P-1",
            Self::Olsen => "Olsen (bicarbonate)",
            Self::ModifiedMorgan => "modified Morgan",
            Self::Morgan => "Morgan",
            Self::AmmoniumAcetate => "ammonium acetate",
            Self::AmmoniumNitrate => "ammonium nitrate",
            Self::Dtpa => "DTPA",
            Self::HotWater => "hot water",
            Self::AbDtpa => "AB-DTPA",
            Self::SaturatedMedia => "saturated media extract",
            Self::HydrochloricAcid => "0.1 N hydrochloric acid",
            Self::PhosphoricAcid => "0.1 N phosphoric acid",
            Self::CalciumPhosphate => "calcium phosphate",
        }
    }
}

/// The buffer behind a buffer pH. A lime table belongs to one buffer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Buffer {
    Sikora,
    Smp,
    Mehlich,
    ModifiedMehlich,
    AdamsEvans,
    MooreSikora,
    Woodruff,
}

impl Buffer {
    pub const ALL: [Self; 7] = [
        Self::Sikora,
        Self::Smp,
        Self::Mehlich,
        Self::ModifiedMehlich,
        Self::AdamsEvans,
        Self::MooreSikora,
        Self::Woodruff,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Sikora => "sikora",
            Self::Smp => "smp",
            Self::Mehlich => "mehlich",
            Self::ModifiedMehlich => "modified_mehlich",
            Self::AdamsEvans => "adams_evans",
            Self::MooreSikora => "moore_sikora",
            Self::Woodruff => "woodruff",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|b| b.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Sikora => "Sikora",
            Self::Smp => "SMP",
            Self::Mehlich => "Mehlich",
            Self::ModifiedMehlich => "modified Mehlich",
            Self::AdamsEvans => "Adams-Evans",
            Self::MooreSikora => "Moore-Sikora",
            Self::Woodruff => "Woodruff",
        }
    }
}

/// What the number stands for when the lab printed a sign before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    #[default]
    Exact,
    /// printed as `<x`: x is the detection limit
    Below,
    /// printed as `>x`
    Above,
}

/// One value of one sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    pub analyte: Analyte,
    /// In the analyte's internal unit.
    pub value: f64,
    #[serde(default)]
    pub bound: Bound,
    pub extractant: Option<Extractant>,
    pub buffer: Option<Buffer>,
    /// The number and unit as the lab printed them.
    pub printed: String,
    pub printed_unit: String,
}

/// A rate that the lab itself printed for the crop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recommended {
    pub nutrient: Recommendable,
    /// lb per acre: of N, P2O5 or K2O, of the element for the others, of pure calcium carbonate
    /// equivalent for lime, of the material for gypsum
    pub lb_per_acre: f64,
    pub printed: String,
    pub printed_unit: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Recommendable {
    Lime,
    N,
    P2o5,
    K2o,
    S,
    Mg,
    Ca,
    B,
    Zn,
    Mn,
    Cu,
    Fe,
    Gypsum,
}

impl Recommendable {
    pub const ALL: [Self; 13] = [
        Self::Lime,
        Self::N,
        Self::P2o5,
        Self::K2o,
        Self::S,
        Self::Mg,
        Self::Ca,
        Self::B,
        Self::Zn,
        Self::Mn,
        Self::Cu,
        Self::Fe,
        Self::Gypsum,
    ];

    /// The key used in files and layouts.
    pub fn key(self) -> &'static str {
        match self {
            Self::Lime => "lime",
            Self::N => "n",
            Self::P2o5 => "p2o5",
            Self::K2o => "k2o",
            Self::S => "s",
            Self::Mg => "mg",
            Self::Ca => "ca",
            Self::B => "b",
            Self::Zn => "zn",
            Self::Mn => "mn",
            Self::Cu => "cu",
            Self::Fe => "fe",
            Self::Gypsum => "gypsum",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.key() == key)
    }

    /// What is applied, in a grower's words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Lime => "lime",
            Self::N => "nitrogen (N)",
            Self::P2o5 => "phosphate (P2O5)",
            Self::K2o => "potash (K2O)",
            Self::S => "sulfur (S)",
            Self::Mg => "magnesium (Mg)",
            Self::Ca => "calcium (Ca)",
            Self::B => "boron (B)",
            Self::Zn => "zinc (Zn)",
            Self::Mn => "manganese (Mn)",
            Self::Cu => "copper (Cu)",
            Self::Fe => "iron (Fe)",
            Self::Gypsum => "gypsum",
        }
    }
}

/// One sample's results.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SoilTest {
    /// The name on the box.
    pub sample: String,
    pub lab_number: Option<String>,
    /// Depth sampled, inches. With it stand the soil mass used for lb/acre: 2 million lb per 6 2/3 in.
    pub depth_in: Option<f64>,
    pub measured: Vec<Measured>,
    pub recommended: Vec<Recommended>,
    /// The crop the lab was told of; its printed rates are for that crop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crop: Option<String>,
}

impl SoilTest {
    pub fn get(&self, analyte: Analyte) -> Option<&Measured> {
        self.measured.iter().find(|m| m.analyte == analyte)
    }

    pub fn value(&self, analyte: Analyte) -> Option<f64> {
        self.get(analyte).map(|m| m.value)
    }

    pub fn recommendation(&self, nutrient: Recommendable) -> Option<&Recommended> {
        self.recommended.iter().find(|r| r.nutrient == nutrient)
    }
}
