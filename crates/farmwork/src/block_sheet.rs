//! The sheet for one block: what goes on it, how much to a bed and to a bucket.

use agronomy::working::{Caution, Figure};
use serde::{Deserialize, Serialize};

/// One block's printed sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockSheet {
    pub farm: String,
    pub season: String,
    /// The day the plan was made, ISO 8601.
    pub made_on: String,
    pub block: String,
    /// `field`, `tunnel`, `raised bed` or `perennial`.
    pub kind: String,
    /// The next crop's name, where one is set.
    pub crop: Option<String>,
    /// e.g. `2,880 ft2 (0.066 acre, 268 m2)`
    pub area: String,
    pub area_ft2: f64,
    /// Count of beds with length and width in feet; one bed where the block is not in beds.
    pub beds: u32,
    pub bed_size: String,
    pub lines: Vec<SheetLine>,
    pub balance: Vec<BalanceLine>,
    /// What to know that is not a material: no rate because no buffer named, later doses, and so on.
    pub notes: Vec<String>,
    pub cautions: Vec<Caution>,
    /// The figures with their steps, for the appendix.
    pub working: Vec<Figure>,
}

/// One material on the block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetLine {
    pub material: String,
    pub analysis: String,
    /// When, in a few words: `in autumn or before planting`.
    pub when: String,
    /// How, in a few words.
    pub how: String,
    /// lb on the whole block, rounded to what can be weighed
    pub lb: f64,
    pub lb_per_bed: f64,
    pub lb_per_1000_ft2: f64,
    /// Five-gallon buckets for a bed, where the bulk density is known.
    pub buckets_per_bed: Option<f64>,
    /// Weight of one full bucket, lb.
    pub bucket_lb: Option<f64>,
    /// Whole bags and the rest, e.g. `2 bags of 50 lb and 14 lb`.
    pub bags: String,
}

/// One nutrient's account on the block, lb per acre unless `unit` says otherwise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BalanceLine {
    /// e.g. `Nitrogen (N)`
    pub nutrient: String,
    pub unit: String,
    /// What the crop or the soil asks for, before credits.
    pub asked: f64,
    /// What soil, cover crop, manure and water give; name and amount.
    pub credits: Vec<(String, f64)>,
    /// asked less credits, never below zero
    pub need: f64,
    /// What each material brings; name and amount.
    pub brought: Vec<(String, f64)>,
    /// brought less need; negative is a shortage
    pub left_over: f64,
    /// Why it is not met, or why there is more: the limit that binds, in words; none where met.
    pub binding: Option<String>,
}
