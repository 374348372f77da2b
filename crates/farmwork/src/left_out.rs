//! What the materials that a plan leaves out would have to cost to come in.

use crate::Result;
use crate::order::material_name;
use crate::planning::Made;
use planner::{Warm, Watch};
use serde::Serialize;

/// A material that is for sale and of which the plan uses none.
#[derive(Debug, Clone, Serialize)]
pub struct LeftOut {
    /// Id of the material.
    pub id: String,
    pub material: String,
    /// Its cheapest pack by mass.
    pub pack: String,
    /// Money for that pack now.
    pub price: f64,
    /// Money for that pack at which a plan with it is no dearer; all its packs are taken to fall alike.
    /// None when it was not taken even as a gift.
    pub would_enter_at: Option<f64>,
    /// lb that the plan at that price uses, and on how many blocks.
    pub lb: f64,
    pub blocks: usize,
    /// Money, shortages weighed in, that a plan at that price could still save (proven).
    pub open: f64,
}

impl LeftOut {
    /// Percent by which the price would have to fall.
    pub fn cheaper_by(&self) -> Option<f64> {
        let at = self.would_enter_at.filter(|_| self.price > 0.0)?;
        Some(100.0 * (1.0 - at / self.price))
    }
}

/// The materials left out, those nearest to coming in first. For each the farm is planned again at lower
/// prices, from what the search learnt; what `watch` ends stays out.
///
/// # Errors
/// The planner’s own.
pub fn left_out(made: &Made, warm: &Warm, watch: &Watch) -> Result<Vec<LeftOut>> {
    let mut out = Vec::new();
    let ids = planner::left_out(&made.problem, &made.plan);
    let of = ids.len();
    for (done, id) in ids.into_iter().enumerate() {
        watch.done(done, of);
        let material = made.problem.materials.iter().find(|m| m.id == id);
        let per_lb = |p: &&planner::Pack| p.price / p.lb;
        let pack = material.and_then(|m| {
            m.packs
                .iter()
                .min_by(|a, b| per_lb(a).total_cmp(&per_lb(b)))
        });
        let Some(pack) = pack else { continue };
        let entry = planner::entry(&made.problem, &made.plan, &id, warm, watch)?;
        if watch.cancelled() {
            break;
        }
        out.push(LeftOut {
            material: material_name(made, &id),
            pack: pack.label.clone(),
            price: pack.price,
            would_enter_at: entry.share.map(|s| s * pack.price),
            lb: entry.lb,
            blocks: entry.blocks,
            open: entry.open,
            id,
        });
    }
    let share = |l: &LeftOut| l.would_enter_at.map_or(-1.0, |at| at / l.price.max(1e-9));
    out.sort_by(|a, b| share(b).total_cmp(&share(a)));
    Ok(out)
}
