//! Two plans compared: what each comes to, and every amount that differs.

use crate::planning::Made;
use crate::words;
use planner::Plan;
use quantity::plain;
use serde::Serialize;
use std::collections::BTreeMap;

/// Two plans side by side.
#[derive(Debug, Clone, Serialize)]
pub struct Compared {
    /// What, in the new plan, in the old one.
    pub facts: Vec<(String, String, String)>,
    /// Amounts that differ by more than the scale shows, largest difference first.
    pub rows: Vec<Row>,
}

/// One amount that differs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    pub block: String,
    pub material: String,
    pub pass: String,
    pub new_lb: f64,
    pub old_lb: f64,
}

/// Compares two plans.
pub fn compare(new: &Made, old: &Made) -> Compared {
    let mut all: BTreeMap<(String, String, String), [f64; 2]> = BTreeMap::new();
    for (at, made) in [new, old].into_iter().enumerate() {
        for a in &made.plan.amounts {
            let pass = made.problem.passes.iter().find(|p| p.id == a.pass);
            let key = (
                crate::order::block_name(made, &a.block),
                crate::order::material_name(made, &a.material),
                pass.map_or_else(String::new, |p| p.name.clone()),
            );
            all.entry(key).or_default()[at] += a.lb;
        }
    }
    let mut rows: Vec<Row> = all
        .into_iter()
        .filter(|(_, [new, old])| (new - old).abs() > 1e-6)
        .map(|((block, material, pass), [new_lb, old_lb])| Row {
            block,
            material,
            pass,
            new_lb,
            old_lb,
        })
        .collect();
    rows.sort_by(|a, b| {
        let by = |r: &Row| (r.new_lb - r.old_lb).abs();
        by(b).total_cmp(&by(a))
    });
    let fact = |what: &str, of: &dyn Fn(&Made) -> String| (what.to_owned(), of(new), of(old));
    Compared {
        facts: vec![
            fact("Materials and deliveries", &|m| words::cents(m.plan.cost)),
            fact("Visits to blocks", &|m| m.plan.visits().to_string()),
            fact("lb short of N, P2O5, K2O", &|m| plain(off(&m.plan).0, 3)),
            fact("lb over of N, P2O5, K2O", &|m| plain(off(&m.plan).1, 3)),
            fact("Within, % of the proven best", &|m| {
                plain(m.plan.gap * 100.0, 2)
            }),
        ],
        rows,
    }
}

/// lb of N, P2O5 and K2O short and over, farm-wide.
pub(crate) fn off(plan: &Plan) -> (f64, f64) {
    use planner::Nutrient::{K2o, N, P2o5};
    plan.balances
        .iter()
        .filter(|b| b.asked && matches!(b.nutrient, N | P2o5 | K2o))
        .fold((0.0, 0.0), |(short, over), b| {
            (
                short + (b.need_lb - b.supplied_lb).max(0.0),
                over + (b.supplied_lb - b.need_lb).max(0.0),
            )
        })
}
