//! The final amounts as a plan that stands by itself.

use crate::farm::Farm;
use crate::{Amount, Balance, Leftover, Nutrient, Plan, Purchase, Status, StockUse};
use crate::{binding, packs};

/// lb below which a shortage or surplus is arithmetic, not ground.
pub(crate) const NOTHING: f64 = 1e-6;

/// The plan without what only the search knows (objective, bound, gap, time, status).
pub(crate) fn report(farm: &Farm, amounts: &[f64], counts: &[Vec<u32>]) -> Plan {
    let problem = farm.problem;
    let used = farm.used(amounts);
    let mut plan = Plan {
        amounts: Vec::new(),
        purchases: Vec::new(),
        stock_used: Vec::new(),
        leftover: Vec::new(),
        balances: Vec::new(),
        cost: 0.0,
        objective: 0.0,
        model_objective: 0.0,
        unavoidable: 0.0,
        bound: 0.0,
        gap: 0.0,
        seconds: 0.0,
        status: Status::Empty,
    };
    for (pair, lb) in farm.pairs.iter().zip(amounts) {
        if *lb > 0.0 {
            plan.amounts.push(Amount {
                block: problem.blocks[pair.block].id.clone(),
                material: problem.materials[pair.material].id.clone(),
                lb: *lb,
            });
        }
    }
    for (m, material) in problem.materials.iter().enumerate() {
        for (pack, count) in material.packs.iter().zip(&counts[m]) {
            if *count > 0 {
                plan.purchases.push(Purchase {
                    material: material.id.clone(),
                    pack: pack.label.clone(),
                    count: *count,
                    lb: pack.lb * f64::from(*count),
                    cost: pack.price * f64::from(*count),
                });
            }
        }
        let bought = packs::mass(&material.packs, &counts[m]);
        let from_stock = used[m].min(material.stock_lb);
        if from_stock > 0.0 {
            plan.stock_used.push(StockUse {
                material: material.id.clone(),
                lb: from_stock,
            });
        }
        let bought_lb = (bought - (used[m] - from_stock)).max(0.0);
        let lb = (material.stock_lb - from_stock).max(0.0) + bought_lb;
        if lb > 1e-9 {
            plan.leftover.push(Leftover {
                material: material.id.clone(),
                lb,
                bought_lb,
            });
        }
    }
    plan.cost = plan.purchases.iter().map(|p| p.cost).sum();
    for b in 0..farm.ground.len() {
        balances(farm, amounts, counts, &used, b, &mut plan.balances);
    }
    plan
}

fn balances(
    farm: &Farm,
    amounts: &[f64],
    counts: &[Vec<u32>],
    used: &[f64],
    b: usize,
    out: &mut Vec<Balance>,
) {
    let ground = &farm.ground[b];
    let supplied = farm.supplied(b, amounts);
    for nutrient in Nutrient::ALL {
        let n = nutrient.at();
        let asked = ground.asked[n];
        if !asked && supplied[n] <= 0.0 {
            continue;
        }
        let mut by_material = Vec::new();
        for i in farm.of_block[b].clone() {
            let m = farm.pairs[i].material;
            let lb = farm.stuff[m].supply[n] * amounts[i];
            if lb > 0.0 {
                by_material.push((farm.problem.materials[m].id.clone(), lb));
            }
        }
        let lack = ground.need[n] - supplied[n];
        let beyond = |lb: f64| {
            if asked && lb > NOTHING { lb } else { 0.0 }
        };
        let (short_lb, over_lb) = (beyond(lack), beyond(-lack));
        let see = binding::View {
            farm,
            amounts,
            counts,
            used,
            supplied: &supplied,
            block: b,
        };
        let binding = if short_lb > 0.0 {
            Some(see.why_short(n))
        } else if over_lb > 0.0 {
            Some(see.why_over(n))
        } else {
            None
        };
        out.push(Balance {
            block: farm.problem.blocks[b].id.clone(),
            nutrient,
            asked,
            need_lb: ground.need[n],
            supplied_lb: supplied[n],
            by_material,
            short_lb,
            over_lb,
            ceiling_lb: ground.ceiling[n],
            binding,
        });
    }
}
