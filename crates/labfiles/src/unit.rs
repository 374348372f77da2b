//! The units that labs print, and how each becomes the analyte's own unit.

use crate::facts::{Dimension, FACTS};
use agronomy::soil::{Analyte, Recommendable};
use agronomy::working::{Evidence, Source, Step};
use quantity::{Rate, plain};
use serde::{Deserialize, Serialize};

macro_rules! keyed {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $key:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $key)] $variant),+
        }

        impl $name {
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The key used in tables and stored layouts.
            pub fn key(self) -> &'static str {
                match self { $(Self::$variant => $key),+ }
            }

            pub fn from_key(key: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|u| u.key() == key)
            }
        }
    };
}

keyed!(
    /// The unit of a measured value.
    Unit {
        Ph = "ph",
        Ppm = "ppm",
        MgPerKg = "mg_per_kg",
        MgPer100G = "mg_per_100g",
        GPerKg = "g_per_kg",
        Percent = "percent",
        /// needs the depth sampled, or the lab's word that it doubles ppm
        LbPerAcre = "lb_per_acre",
        /// needs the depth sampled
        KgPerHa = "kg_per_ha",
        /// needs the density of the soil in the scoop
        MgPerDm3 = "mg_per_dm3",
        /// needs the density of the soil in the scoop
        MgPerL = "mg_per_l",
        MeqPer100G = "meq_per_100g",
        CmolPerKg = "cmol_per_kg",
        /// needs the density of the soil in the scoop
        MeqPer100Cm3 = "meq_per_100cm3",
        DsPerM = "ds_per_m",
        MmhoPerCm = "mmho_per_cm",
        UsPerCm = "us_per_cm",
        MgCaco3PerKgPh = "mg_caco3_per_kg_ph",
        MsPerM = "ms_per_m",
        /// printed as a whole number of 10⁻⁵ mho/cm
        MhoE5PerCm = "mho_e5_per_cm",
        /// printed ten times larger than mmho/cm
        MmhoX10PerCm = "mmho_x10_per_cm",
    }
);

keyed!(
    /// What a nutrient was printed as when not as the element.
    Form {
        P2o5 = "p2o5",
        K2o = "k2o",
        Mgo = "mgo",
        Cao = "cao",
        So4 = "so4",
        No3 = "no3",
        Nh4 = "nh4",
    }
);

keyed!(
    /// The unit of a recommended rate.
    RateUnit {
        LbPerAcre = "lb_per_acre",
        TonPerAcre = "ton_per_acre",
        LbPer1000Ft2 = "lb_per_1000_ft2",
        LbPer100Ft2 = "lb_per_100_ft2",
        KgPerHa = "kg_per_ha",
        TonnePerHa = "tonne_per_ha",
        GPerM2 = "g_per_m2",
    }
);

keyed!(
    /// The unit of a depth column.
    DepthUnit { In = "in", Cm = "cm" }
);

impl DepthUnit {
    /// Inches in one.
    pub fn inches(self) -> f64 {
        match self {
            Self::In => 1.0,
            Self::Cm => quantity::Length::metres(0.01).to_inches(),
        }
    }
}

impl RateUnit {
    pub fn printed(self) -> &'static str {
        match self {
            Self::LbPerAcre => "lb/acre",
            Self::TonPerAcre => "tons/acre",
            Self::LbPer1000Ft2 => "lb/1,000 ft2",
            Self::LbPer100Ft2 => "lb/100 ft2",
            Self::KgPerHa => "kg/ha",
            Self::TonnePerHa => "t/ha",
            Self::GPerM2 => "g/m2",
        }
    }

    /// Pounds per acre in one; the ton is the short ton of 2,000 lb.
    pub fn lb_per_acre(self) -> f64 {
        match self {
            Self::LbPerAcre => Rate::lb_per_acre(1.0),
            Self::TonPerAcre => Rate::short_tons_per_acre(1.0),
            Self::LbPer1000Ft2 => Rate::lb_per_1000_ft2(1.0),
            Self::LbPer100Ft2 => Rate::lb_per_100_ft2(1.0),
            Self::KgPerHa => Rate::kg_per_ha(1.0),
            Self::TonnePerHa => Rate::kg_per_ha(1_000.0),
            Self::GPerM2 => Rate::grams_per_m2(1.0),
        }
        .to_lb_per_acre()
    }
}

impl Unit {
    /// The unit as a grower reads it.
    pub fn printed(self) -> &'static str {
        FACTS.unit(self).map_or("", |u| u.printed.as_str())
    }

    /// The units in which an analyte can be printed.
    pub fn of(analyte: Analyte) -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(move |u| u.fits(analyte))
    }

    /// Whether a value in this unit can become the analyte's own unit.
    pub fn fits(self, analyte: Analyte) -> bool {
        let known = Ground {
            depth_in: Some(1.0),
            doubled: false,
            density: Some(1.0),
        };
        Conversion::of(analyte, self, None, known).is_ok()
    }

    pub(crate) fn needs_depth(self) -> bool {
        FACTS
            .unit(self)
            .is_some_and(|u| u.dimension == Dimension::Area)
    }

    pub(crate) fn needs_density(self) -> bool {
        FACTS
            .unit(self)
            .is_some_and(|u| matches!(u.dimension, Dimension::Volume | Dimension::VolumeCharge))
    }
}

impl Form {
    pub fn printed(self) -> &'static str {
        FACTS.form(self).map_or("", |f| f.printed.as_str())
    }

    /// The nutrient of which this is a form.
    pub fn analyte(self) -> Option<Analyte> {
        FACTS.form(self).map(|f| f.analyte)
    }
}

/// What is known of the soil that was sampled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// thickness of the layer sampled, inches
    pub depth_in: Option<f64>,
    /// the lab doubles ppm to print lb/acre, whatever the depth
    pub doubled: bool,
    /// of the soil in the lab's scoop, g/cm3
    pub density: Option<f64>,
}

/// Why a value cannot become the analyte's own unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoConversion {
    #[error("the depth sampled is needed")]
    Depth,
    #[error("the density of the soil is needed")]
    Density,
    #[error("the unit does not measure this")]
    Unit,
}

#[derive(Debug, Clone, PartialEq)]
struct Part {
    what: &'static str,
    times: f64,
    /// the sign and the number with its unit, as in `÷ 2 lb/acre per ppm`
    by: String,
    unit: String,
    source: Source,
}

/// How printed numbers of one kind become the analyte's own unit: one factor, with its working.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    from: String,
    parts: Vec<Part>,
    factor: f64,
}

impl Conversion {
    /// The way from a printed unit (and form) to the analyte's internal unit.
    ///
    /// # Errors
    /// What must be known first, or that the unit measures something else.
    pub fn of(
        analyte: Analyte,
        unit: Unit,
        form: Option<Form>,
        ground: Ground,
    ) -> Result<Self, NoConversion> {
        let fact = FACTS.unit(unit).ok_or(NoConversion::Unit)?;
        let target = match analyte {
            Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh => Dimension::Ph,
            Analyte::Acidity | Analyte::Cec => Dimension::Charge,
            Analyte::LimeBufferCapacity => Dimension::LimeBuffer,
            Analyte::Salts => Dimension::Conductivity,
            _ => Dimension::Share,
        };
        let mut way = Self {
            from: unit.printed().to_owned(),
            parts: Vec::new(),
            factor: 1.0,
        };
        if analyte == Analyte::OrganicMatter {
            let percent = FACTS.unit(Unit::Percent).ok_or(NoConversion::Unit)?;
            if fact.dimension != Dimension::Share {
                return Err(NoConversion::Unit);
            }
            if unit != Unit::Percent {
                let times = fact.factor / percent.factor;
                way.times(
                    "Organic matter as a share",
                    times,
                    "",
                    "%",
                    fact.source.clone(),
                );
            }
            return Ok(way);
        }
        let base = match fact.dimension {
            Dimension::Ph => "",
            Dimension::Share => "ppm",
            Dimension::Area => "lb/acre",
            Dimension::Volume => "mg/dm3",
            Dimension::Charge => "meq/100 g",
            Dimension::VolumeCharge => "meq/100 cm3",
            Dimension::Conductivity => "dS/m",
            Dimension::LimeBuffer => analyte.unit(),
        };
        if (fact.factor - 1.0).abs() > f64::EPSILON {
            way.times(
                "In the unit's base",
                fact.factor,
                "",
                base,
                fact.source.clone(),
            );
        }
        match (fact.dimension, target) {
            (a, b) if a == b => {}
            (Dimension::Area, Dimension::Share) => way.soil_mass(ground)?,
            (Dimension::Volume, Dimension::Share) => way.density(ground, "ppm")?,
            (Dimension::VolumeCharge, Dimension::Charge) => way.density(ground, "meq/100 g")?,
            (Dimension::Charge, Dimension::Share) => way.charge(analyte)?,
            (Dimension::VolumeCharge, Dimension::Share) => {
                way.density(ground, "meq/100 g")?;
                way.charge(analyte)?;
            }
            _ => return Err(NoConversion::Unit),
        }
        if let Some(form) = form {
            let fact = FACTS
                .form(form)
                .filter(|f| f.analyte == analyte && target == Dimension::Share)
                .ok_or(NoConversion::Unit)?;
            way.divide(
                "As the element",
                fact.per_element,
                &format!("{} per part of the element", fact.printed),
                "ppm",
                fact.source.clone(),
            );
        }
        Ok(way)
    }

    /// The way from a printed rate to lb/acre of the nutrient, or of pure calcium carbonate for
    /// lime whose material has `cce` % of its effect.
    pub fn of_rate(what: Recommendable, unit: RateUnit, cce: Option<f64>) -> Self {
        let mut way = Self {
            from: unit.printed().to_owned(),
            parts: Vec::new(),
            factor: 1.0,
        };
        if unit != RateUnit::LbPerAcre {
            let source = Source::new("definition of the acre, foot and pound", Evidence::Derived);
            way.times("On an acre", unit.lb_per_acre(), "", "lb/acre", source);
        }
        if let Some(cce) = cce.filter(|c| what == Recommendable::Lime && (*c - 100.0).abs() > 1e-9)
        {
            let source = Source::stated("the lab's lime material, as confirmed for this layout");
            way.times(
                "As pure calcium carbonate",
                cce / 100.0,
                "of pure calcium carbonate's effect",
                "lb/acre",
                source,
            );
        }
        way
    }

    /// Internal units in one printed unit.
    pub fn factor(&self) -> f64 {
        self.factor
    }

    /// A printed number in the internal unit.
    pub fn apply(&self, printed: f64) -> f64 {
        self.parts.iter().fold(printed, |v, p| v * p.times)
    }

    /// The working for one printed number; empty where the printed unit is the internal one.
    pub fn steps(&self, printed: f64) -> Vec<Step> {
        let mut value = printed;
        let mut unit = self.from.clone();
        self.parts
            .iter()
            .map(|part| {
                let formula = format!("{} {unit} {}", plain(value, 5), part.by);
                value *= part.times;
                unit.clone_from(&part.unit);
                Step {
                    what: part.what.to_owned(),
                    value,
                    unit: part.unit.clone(),
                    formula,
                    source: part.source.clone(),
                }
            })
            .collect()
    }

    fn push(&mut self, part: Part) {
        self.factor *= part.times;
        self.parts.push(part);
    }

    fn times(&mut self, what: &'static str, by: f64, of: &str, unit: &str, source: Source) {
        let text = format!("× {} {of}", plain(by, 6));
        self.push(Part {
            what,
            times: by,
            by: text.trim_end().to_owned(),
            unit: unit.to_owned(),
            source,
        });
    }

    fn divide(&mut self, what: &'static str, by: f64, of: &str, unit: &str, source: Source) {
        let text = format!("÷ {} {of}", plain(by, 6));
        self.push(Part {
            what,
            times: 1.0 / by,
            by: text.trim_end().to_owned(),
            unit: unit.to_owned(),
            source,
        });
    }

    fn soil_mass(&mut self, ground: Ground) -> Result<(), NoConversion> {
        let mass = FACTS.constant("soil_mass").ok_or(NoConversion::Unit)?;
        let layer = FACTS.limit("soil_mass_depth");
        if ground.doubled {
            let of = format!(
                "lb/acre per ppm (the lab doubles ppm: {} lb of soil per acre)",
                plain(mass.value, 3)
            );
            self.divide(
                "In the soil",
                mass.value / 1e6,
                &of,
                "ppm",
                mass.source.clone(),
            );
            return Ok(());
        }
        let depth = ground
            .depth_in
            .filter(|d| d.is_finite() && *d > 0.0)
            .ok_or(NoConversion::Depth)?;
        let soil = mass.value * depth / layer;
        let of = format!(
            "lb/acre per ppm ({} in of soil weighs {} lb per acre; {} lb at 6 2/3 in)",
            plain(depth, 3),
            plain(soil, 3),
            plain(mass.value, 3),
        );
        self.divide("In the soil", soil / 1e6, &of, "ppm", mass.source.clone());
        Ok(())
    }

    fn density(&mut self, ground: Ground, unit: &str) -> Result<(), NoConversion> {
        let density = ground
            .density
            .filter(|d| d.is_finite() && *d > 0.0)
            .ok_or(NoConversion::Density)?;
        let source = Source::stated("density of the soil in the lab's scoop");
        self.divide("By mass of soil", density, "g/cm3", unit, source);
        Ok(())
    }

    fn charge(&mut self, analyte: Analyte) -> Result<(), NoConversion> {
        let charge = FACTS.charge(analyte).ok_or(NoConversion::Unit)?;
        let (by, source) = (charge.value, charge.source.clone());
        self.times("As the element", by, "ppm per meq/100 g", "ppm", source);
        Ok(())
    }
}
