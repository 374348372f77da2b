//! What can be spread: composition, release, how and when, and by which rule.

mod advice;
mod advice_tables;
mod amount;
mod crew;
mod groups;
mod lime_effect;
mod mixing;
mod passes;
mod place;
mod tables;
mod warmth;
mod windows;

pub use advice::{
    Advice, Foliar, Handling, Hazard, MetalLevel, OfMaterial, RecordField, Timing, advice,
};
pub use advice_tables::load_advice;
pub use amount::{
    AmountError, amount_for, amount_on, bucket_lb, bucket_lb_of, label, supplied, total,
    total_share,
};
pub use crew::{Gear, crew_cautions, gear};
pub use lime_effect::lime_effect;
pub use mixing::{Clash, Meeting, Mixing, Verdict, load_mixing, may_mix};
pub use passes::{Fit, InPass, Pass, in_pass};
pub use place::Ground;
pub use tables::load;
pub use warmth::{Holds, Warmth, soil_warmth, warmth_rules};
pub use windows::{CountedFrom, Edge, PassEdge, Place, ground_conditions, pass_edges};

use crate::compost;
use crate::working::{Caution, Source};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// What a material is bought for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    Compost,
    Manure,
    Meal,
    Liquid,
    Plant,
    Mulch,
    Mineral,
    Lime,
    Acid,
    Micronutrient,
    Synthetic,
}

impl Kind {
    pub const ALL: [Self; 11] = [
        Self::Compost,
        Self::Manure,
        Self::Meal,
        Self::Liquid,
        Self::Plant,
        Self::Mulch,
        Self::Mineral,
        Self::Lime,
        Self::Acid,
        Self::Micronutrient,
        Self::Synthetic,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Compost => "compost",
            Self::Manure => "manure",
            Self::Meal => "meal",
            Self::Liquid => "liquid",
            Self::Plant => "plant",
            Self::Mulch => "mulch",
            Self::Mineral => "mineral",
            Self::Lime => "lime",
            Self::Acid => "acid",
            Self::Micronutrient => "micronutrient",
            Self::Synthetic => "synthetic",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.key() == key)
    }

    /// The heading a grower reads.
    pub fn name(self) -> &'static str {
        match self {
            Self::Compost => "Composts",
            Self::Manure => "Manures",
            Self::Meal => "Meals and pellets",
            Self::Liquid => "Liquids",
            Self::Plant => "Plant by-products",
            Self::Mulch => "Mulches",
            Self::Mineral => "Mined and mineral",
            Self::Lime => "Limes",
            Self::Acid => "Acidifiers",
            Self::Micronutrient => "Micronutrients",
            Self::Synthetic => "Synthetic fertilizers",
        }
    }
}

/// What a material holds, percent of weight. Absent is not known, which is not zero.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    pub n: Option<f64>,
    /// Total phosphate.
    pub p2o5: Option<f64>,
    /// Phosphate that counts towards this season’s need.
    pub p2o5_available: Option<f64>,
    pub k2o: Option<f64>,
    pub k2o_available: Option<f64>,
    pub ca: Option<f64>,
    pub mg: Option<f64>,
    pub s: Option<f64>,
    pub b: Option<f64>,
    pub fe: Option<f64>,
    pub zn: Option<f64>,
    pub mn: Option<f64>,
    pub cu: Option<f64>,
    /// Calcium carbonate equivalent, percent; negative acidifies.
    pub cce: Option<f64>,
    /// Whether the percentages are of dry matter.
    pub dry_basis: bool,
    /// Water as spread, percent of weight.
    pub moisture: Option<f64>,
}

/// How much of the nitrogen the first crop finds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Release {
    pub class: String,
    /// Percent of the nitrogen.
    pub low: f64,
    pub value: f64,
    pub high: f64,
    /// What the percentage is of, as printed.
    pub basis: String,
    pub note: String,
    pub source: Source,
}

/// Whether organic rules let it be spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    Allowed,
    Restricted,
    Prohibited,
    Unknown,
}

/// The organic rule that decides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    pub status: Status,
    pub paragraph: String,
    pub condition: String,
    pub evidence: crate::working::Evidence,
}

impl Rule {
    /// Whether an organic farm may plan with it; what is unknown may not be planned with.
    pub fn may_use(&self) -> bool {
        matches!(self.status, Status::Allowed | Status::Restricted)
    }

    /// In words, e.g. `Restricted, 7 CFR 205.203(d)(2): mined source only`.
    pub fn sentence(&self) -> String {
        let word = match self.status {
            Status::Allowed => "Allowed",
            Status::Restricted => "Restricted",
            Status::Prohibited => "Prohibited",
            Status::Unknown => "Ask the certifier",
        };
        let mut text = format!("{word}, {}", self.paragraph);
        if !self.condition.is_empty() {
            text.push_str(": ");
            text.push_str(&self.condition);
        }
        if self.evidence.unconfirmed() {
            text.push_str(" (unconfirmed)");
        }
        text
    }
}

/// The most that should go on at once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Most {
    /// lb of material per acre
    pub lb_per_acre: f64,
    pub why: String,
    pub source: Source,
}

/// A generic material; the grower’s own analysis takes its place where there is one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Material {
    pub id: String,
    pub name: String,
    pub kind: Kind,
    pub analysis: Analysis,
    pub source: Source,
    pub cce_source: Option<Source>,
    pub release: Release,
    pub rule: Rule,
    /// `fall`, `preplant`, `sidedress`
    pub passes: Vec<String>,
    /// The least that can be spread evenly, lb per acre.
    pub least_even_lb_per_acre: Option<f64>,
    /// Whose figure that is.
    pub least_even_source: Option<Source>,
    pub most: Option<Most>,
    /// Bag weights it is sold in, lb; empty where it comes in bulk.
    pub bags_lb: Vec<f64>,
    /// Bulk density, lb/ft3: low, middle, high.
    pub density: Option<([f64; 3], Source)>,
    pub raw_manure: bool,
    /// Of a compost that counts as raw manure, why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw_because: Option<String>,
    /// Whether it burns plants that stand, so that it goes on bare ground only.
    pub bare_ground_only: bool,
    pub cautions: Vec<Caution>,
    /// Those of the cautions that speak to whoever spreads it, each with its key.
    #[serde(default)]
    pub crew_cautions: Vec<(String, Caution)>,
}

impl Material {
    /// `4–6–4`, or what else it is: `100 % CCE`, `85 % S`.
    pub fn grade(&self) -> String {
        let a = &self.analysis;
        let show = |v: Option<f64>| v.map_or_else(|| "?".to_owned(), |v| quantity::plain(v, 3));
        let any = [a.n, a.p2o5, a.k2o]
            .iter()
            .any(|v| v.is_some_and(|v| v > 0.0));
        match self.kind {
            Kind::Lime if a.cce.is_some() => format!("{} % CCE", show(a.cce)),
            Kind::Acid => format!("{} % S", show(a.s)),
            _ if any => format!(
                "{}–{}–{}",
                show(a.n),
                show(a.p2o5_available.or(a.p2o5)),
                show(a.k2o)
            ),
            _ => [
                ("B", a.b),
                ("Zn", a.zn),
                ("Mn", a.mn),
                ("Cu", a.cu),
                ("Fe", a.fe),
                ("Mg", a.mg),
                ("Ca", a.ca),
                ("S", a.s),
            ]
            .iter()
            .filter_map(|(name, v)| v.map(|v| format!("{} % {name}", quantity::plain(v, 3))))
            .take(2)
            .collect::<Vec<_>>()
            .join(", "),
        }
    }

    /// When to spread it, in words.
    pub fn when(&self) -> String {
        let words: Vec<&str> = self
            .passes
            .iter()
            .map(|p| match p.as_str() {
                "fall" => "in autumn",
                "preplant" => "before planting",
                "sidedress" => "beside the growing crop",
                other => other,
            })
            .collect();
        words.join(" or ")
    }

    /// How to spread it, in words.
    pub fn how(&self) -> &'static str {
        match self.kind {
            Kind::Lime => "Spread evenly and work in to the full depth",
            Kind::Acid => "Spread evenly on moist ground and work in",
            Kind::Manure => "Spread and work in the same day",
            Kind::Compost if self.raw_manure => "Spread and work in the same day",
            Kind::Compost => "Spread evenly and work in lightly",
            Kind::Mulch => "Lay on the surface",
            Kind::Liquid => "Dilute by the label and water in",
            Kind::Micronutrient => "Mix into a carrier or water, spread evenly",
            Kind::Meal | Kind::Plant => "Spread evenly and work in 2 to 4 inches",
            Kind::Mineral | Kind::Synthetic => "Spread evenly and work in or water in",
        }
    }

    /// The compost as the rule counts it by how it was made: raw manure where it was not made hot, with a
    /// caution wherever it was not shown to be.
    pub fn as_made(mut self, verdict: &compost::Verdict) -> Self {
        if verdict.made_hot {
            return self;
        }
        self.raw_manure |= verdict.raw;
        self.raw_because = verdict.raw.then(|| verdict.why.clone());
        let what = if verdict.raw {
            "treat it as raw manure, with its wait before the harvest"
        } else {
            "if it was not made hot, treat it as raw manure, and wait as long before the harvest"
        };
        self.cautions.push(Caution {
            text: format!(
                "{}: {}; {what}. A record of how it was made, kept under Materials, settles it.",
                self.name, verdict.why
            ),
            source: verdict.source.clone(),
        });
        self
    }

    /// Whether what a table says of raw manure as a group holds for it too.
    fn is_like_manure(&self, group: &str) -> bool {
        group == "manure" && self.raw_because.is_some()
    }

    /// What counts as raw manure is called so in a sentence.
    pub fn raw_name(&self) -> &'static str {
        if self.raw_because.is_some() {
            "compost that is not shown to be made hot, like raw manure,"
        } else {
            "raw manure"
        }
    }

    /// The material with the grower’s own analysis in place of the generic one, value by value.
    pub fn with_analysis(&self, own: &Analysis, source: Source) -> Self {
        let mut mine = self.clone();
        let a = &mut mine.analysis;
        for (to, from) in [
            (&mut a.n, own.n),
            (&mut a.p2o5, own.p2o5),
            (&mut a.p2o5_available, own.p2o5_available),
            (&mut a.k2o, own.k2o),
            (&mut a.k2o_available, own.k2o_available),
            (&mut a.ca, own.ca),
            (&mut a.mg, own.mg),
            (&mut a.s, own.s),
            (&mut a.b, own.b),
            (&mut a.fe, own.fe),
            (&mut a.zn, own.zn),
            (&mut a.mn, own.mn),
            (&mut a.cu, own.cu),
            (&mut a.cce, own.cce),
            (&mut a.moisture, own.moisture),
        ] {
            if from.is_some() {
                *to = from;
            }
        }
        a.dry_basis = own.dry_basis;
        if own.cce.is_some() {
            mine.cce_source = Some(source.clone());
        }
        mine.source = source;
        mine
    }
}

/// The materials that come with the program; none if the tables cannot be parsed, which a test rules
/// out.
pub fn materials() -> &'static [Material] {
    static MATERIALS: OnceLock<Vec<Material>> = OnceLock::new();
    MATERIALS.get_or_init(|| load().unwrap_or_default())
}

/// The most sodium nitrate that organic rules allow, as a share of the crop’s nitrogen requirement.
pub fn sodium_nitrate_share() -> Option<(f64, &'static Source)> {
    tables::constants()
        .get("sodium_nitrate_share")
        .map(|c| (c.value / 100.0, &c.source))
}

/// A material by its id.
pub fn find(id: &str) -> Option<&'static Material> {
    materials().iter().find(|m| m.id == id)
}

#[cfg(test)]
mod tests;
