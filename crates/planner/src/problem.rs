use crate::{Incompatible, Material, Nutrient, Supplier};
use serde::{Deserialize, Serialize};

/// A farm's question: which material, how much, on which block, in which pass, and what to buy.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Problem {
    pub blocks: Vec<Block>,
    pub materials: Vec<Material>,
    pub options: Options,
    /// The times of the season at which blocks are spread. None means one pass without a name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub passes: Vec<Pass>,
    /// Those who deliver at a charge. A pack that names none of them comes without one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub suppliers: Vec<Supplier>,
}

impl Problem {
    /// How many passes the plan has: one where none is named.
    pub fn pass_count(&self) -> usize {
        self.passes.len().max(1)
    }

    /// The id of a pass by place; empty for the one pass of a problem that names none.
    pub fn pass_id(&self, pass: usize) -> &str {
        self.passes.get(pass).map_or("", |p| p.id.as_str())
    }
}

/// A time of the season at which materials are spread.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Pass {
    pub id: String,
    pub name: String,
    /// Money for each block that is visited in it, however many materials go on.
    pub visit_cost: f64,
}

/// A piece of ground that is treated as one.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Block {
    pub id: String,
    pub name: String,
    /// Acres that are spread; more than zero.
    pub acres: f64,
    /// At most one per nutrient. A nutrient without one is neither wanted nor minded.
    pub needs: Vec<Need>,
    /// Ids of materials that may not go here. Ids that the problem does not have are ignored.
    pub refused: Vec<String>,
    /// Materials that may not go here in a pass, with the reason. Ids that the problem does not
    /// have are ignored.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shut: Vec<Shut>,
    /// Where a material brings more or less here than it does elsewhere, as when this crop takes
    /// nitrogen up at another time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub supplies_here: Vec<SupplyHere>,
    /// How much of a material goes on here in one pass at most, as where the nitrogen of a season
    /// is given in parts. A held amount stands above it. Ids that the problem does not have are
    /// ignored.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub most_here: Vec<MostHere>,
    /// Materials that go on a part of the block alone, as where a strip beside water is left out. What
    /// stands in `supplies_here`, `most_here` and `spread_here` for them speaks of the ground that gets
    /// them, and so does what the plan says they bring; amounts are what goes on in all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub share_here: Vec<ShareHere>,
    /// What went on here already this season: it counts in what a material may bring in all passes
    /// together. Ids that the problem does not have are ignored.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub spread_here: Vec<SpreadHere>,
}

impl Block {
    /// The share of the block that a material goes on: 1 where it is all of it.
    pub fn share_of(&self, material: &str) -> f64 {
        let here = self.share_here.iter().find(|s| s.material == material);
        here.map_or(1.0, |s| s.share)
    }

    /// lb per acre of a material that went on here already.
    pub fn spread(&self, material: &str) -> f64 {
        let mine = self.spread_here.iter().filter(|s| s.material == material);
        mine.map(|s| s.lb_per_acre).sum()
    }

    /// lb that may still go on of a material with so much as the most of a season, on the ground that
    /// gets it.
    pub fn left_of(&self, material: &str, most_lb_per_acre: f64) -> f64 {
        let left = (most_lb_per_acre - self.spread(material)).max(0.0);
        left * self.acres * self.share_of(material)
    }

    /// The least lb per acre of a material that can be spread evenly as the rest of a job: what a part
    /// of it brought counts.
    pub fn least_left_of(&self, material: &str, least_lb_per_acre: f64) -> f64 {
        let parts = self.spread_here.iter();
        let mine = parts.filter(|s| s.material == material && s.rest_to_come);
        (least_lb_per_acre - mine.map(|s| s.lb_per_acre).sum::<f64>()).max(0.0)
    }
}

/// A material that goes on a part of a block.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ShareHere {
    /// Id of the material.
    pub material: String,
    /// Share of the block's ground, above 0 to 1.
    pub share: f64,
}

/// What went on a block of a material before the plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SpreadHere {
    /// Id of the material.
    pub material: String,
    /// lb of material per acre; zero or more.
    pub lb_per_acre: f64,
    /// Whether it was a part of a job whose rest is still to do.
    pub rest_to_come: bool,
}

/// The most of a material that goes on a block in one pass.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct MostHere {
    /// Id of the material.
    pub material: String,
    /// Id of the pass.
    pub pass: String,
    /// lb of material per acre; zero or more.
    pub lb_per_acre: f64,
}

/// A material that may not go on a block in a pass.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Shut {
    /// Id of the material.
    pub material: String,
    /// Id of the pass; empty for every pass.
    pub pass: String,
    /// Why, for a person: an interval before harvest, the season, a refusal.
    pub why: String,
}

/// What a material brings on one block in one pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SupplyHere {
    /// Id of the material.
    pub material: String,
    /// Id of the pass; empty for every pass.
    #[serde(default)]
    pub pass: String,
    pub nutrient: Nutrient,
    /// lb that count, per lb of material; stands in place of the material's own figure.
    pub lb_per_lb: f64,
}

/// What one block wants of one nutrient.
///
/// Without a band each lb below `lb_per_acre` costs `shortage_cost`, each lb above it
/// `surplus_cost`. With a band see [`Band`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Need {
    pub nutrient: Nutrient,
    /// lb per acre, net of credits; zero or more.
    pub lb_per_acre: f64,
    /// lb per acre that the materials together never exceed.
    pub ceiling_lb_per_acre: Option<f64>,
    /// Why there is a ceiling, for a person.
    pub ceiling_why: String,
    /// Money per lb short.
    pub shortage_cost: f64,
    /// Money per lb over.
    pub surplus_cost: f64,
    /// The doubt about the need.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band: Option<Band>,
}

impl Need {
    /// Below this many lb per acre a shortage costs in full.
    pub fn low(&self) -> f64 {
        self.band
            .as_ref()
            .map_or(self.lb_per_acre, |b| b.low_lb_per_acre)
    }

    /// Above this many lb per acre a surplus costs.
    pub fn high(&self) -> f64 {
        self.band
            .as_ref()
            .map_or(self.lb_per_acre, |b| b.high_lb_per_acre)
    }
}

/// The range in which a need may lie. Below it each lb costs the shortage, within it each lb
/// that is lacking to its upper end costs `between_cost`, above it each lb costs the surplus.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Band {
    /// lb per acre; at most the need.
    pub low_lb_per_acre: f64,
    /// lb per acre; at least the need.
    pub high_lb_per_acre: f64,
    /// Money per lb between low and high; at most the shortage cost, so that the cost is convex.
    pub between_cost: f64,
}

/// How to plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Options {
    /// Stop when the plan is proven within this share of the best possible, e.g. 0.005.
    pub gap: f64,
    /// Stop after this many seconds with the best plan so far.
    pub seconds: f64,
    /// Money for each material put on a block, in each pass.
    pub trip_cost: f64,
    /// Amounts that are held.
    pub locks: Vec<Lock>,
    /// Materials that the grower would rather not use.
    pub prefer_less: Vec<Preference>,
    /// Money that may be spent on packs and deliveries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub budget: Option<Budget>,
    /// Pairs of materials that may not go on one block in the same pass.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub incompatible: Vec<Incompatible>,
    /// How many different materials a block may get over the season.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_materials_per_block: Option<u32>,
    /// How many different materials the farm may use.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_materials: Option<u32>,
    /// Money for each material that the farm uses at all.
    #[serde(default)]
    pub material_cost: f64,
}

impl Default for Options {
    /// Half a percent, ten seconds, no trip cost, nothing held.
    fn default() -> Self {
        Self {
            gap: 0.005,
            seconds: 10.0,
            trip_cost: 0.0,
            locks: Vec::new(),
            prefer_less: Vec::new(),
            budget: None,
            incompatible: Vec::new(),
            most_materials_per_block: None,
            most_materials: None,
            material_cost: 0.0,
        }
    }
}

/// Money that may be spent.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Budget {
    pub money: f64,
    /// Money that each unit of money over the budget is taken to cost on top of itself; none when
    /// the budget is never to be passed.
    #[serde(default)]
    pub over_cost: Option<f64>,
}

/// An amount held by the grower. It stands above the least even amount and the scale's step, but
/// not above ceilings, refusals and the most per acre: those make [`crate::solve`] fail.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Lock {
    /// Id of the block.
    pub block: String,
    /// Id of the material.
    pub material: String,
    /// lb on the whole block; zero keeps the material off it.
    pub lb: f64,
    /// Id of the pass. Empty where the problem has one pass; with more, an amount of zero without
    /// a pass keeps the material off in all of them.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub pass: String,
}

/// Money per lb that a material is taken to cost on top of its price, wherever it comes from.
/// It weighs in the objective and is in no bill.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Preference {
    /// Id of the material.
    pub material: String,
    /// Money per lb spread; zero or more.
    pub penalty_per_lb: f64,
}
