//! What holds a plan back, and what easing it would save.

use crate::planning::Made;
use crate::{Result, words};
use agronomy::material::Pass;
use planner::{Limit, Warm, Watch};
use serde::Serialize;

/// One limit that binds.
#[derive(Debug, Clone, Serialize)]
pub struct Held {
    pub limit: Limit,
    /// What is eased, in words: `a tenth more budget`.
    pub eased: String,
    /// Money, weighed shortages included, that the plan found without it costs less.
    pub saves: f64,
    /// No plan could save more (proven).
    pub saves_at_most: f64,
}

/// Below this much money nobody eases anything.
const WORTH_TELLING: f64 = 1.0;

/// The limits that bind, those that cost most first. Each is answered by planning again, from what the
/// search learnt; what `watch` ends stays out.
///
/// # Errors
/// The planner’s own.
pub fn limits(made: &Made, warm: &Warm, watch: &Watch) -> Result<Vec<Held>> {
    let names = planner::binding_limits(&made.problem, &made.plan);
    let mut all: Vec<Held> = planner::savings(&made.problem, &made.plan, &names, warm, watch)?
        .into_iter()
        .map(|s| Held {
            eased: eased(made, &s.limit),
            limit: s.limit,
            saves: s.saves,
            saves_at_most: s.saves_at_most,
        })
        .collect();
    all.retain(|h| h.saves_at_most >= WORTH_TELLING || matches!(h.limit, Limit::Lock(..)));
    all.sort_by(|a, b| b.saves.total_cmp(&a.saves));
    Ok(all)
}

fn eased(made: &Made, limit: &Limit) -> String {
    let material = |id: &str| crate::order::material_name(made, id).to_lowercase();
    let block = |id: &str| crate::order::block_name(made, id);
    match limit {
        Limit::Budget => "a tenth more budget".to_owned(),
        Limit::Delivery(id) => {
            let name = made.problem.suppliers.iter().find(|s| s.id == *id);
            format!(
                "no delivery charge from {}",
                name.map_or(id.as_str(), |s| s.name.as_str())
            )
        }
        Limit::Stock(id) => format!("a tenth more {} on hand", material(id)),
        Limit::LeastEven(id) => format!(
            "spreading {} evenly at a tenth less on an acre",
            material(id)
        ),
        Limit::Most(id) => format!("a tenth more {} to an acre", material(id)),
        Limit::Ceiling(id, nutrient) => {
            format!("a tenth more {} allowed on {}", nutrient.name(), block(id))
        }
        Limit::Lock(id, m, pass) => {
            let held = made
                .problem
                .options
                .locks
                .iter()
                .find(|l| l.block == *id && l.material == *m && l.pass == *pass);
            let when = Pass::from_key(pass)
                .map_or_else(String::new, |p| format!(" ({})", p.name().to_lowercase()));
            format!(
                "letting go of {} {} on {}{when}",
                held.map_or_else(String::new, |l| words::lb(l.lb)),
                material(m),
                block(id)
            )
        }
    }
}
