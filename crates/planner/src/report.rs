//! The final amounts as a plan that stands by itself.

use crate::farm::Farm;
use crate::{Amount, Balance, Delivery, Leftover, Material, Nutrient, Plan, Purchase, Status};
use crate::{StockUse, binding, packs, till};

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
        deliveries: Vec::new(),
        cost: 0.0,
        over_budget: 0.0,
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
                pass: problem.pass_id(pair.pass).to_owned(),
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
                    cost: packs::price_at(pack, *count) * f64::from(*count),
                    supplier: pack.supplier.clone(),
                });
            }
        }
        let bought = packs::mass(&material.packs, &counts[m]);
        let stock = farm.stuff[m].stock;
        let from_stock = used[m].min(stock);
        if from_stock > 0.0 {
            plan.stock_used.push(StockUse {
                material: material.id.clone(),
                lb: from_stock,
                lots: from_lots(material, from_stock),
            });
        }
        let bought_lb = (bought - (used[m] - from_stock)).max(0.0);
        let lb = (stock - from_stock).max(0.0) + bought_lb;
        if lb > 1e-9 {
            plan.leftover.push(Leftover {
                material: material.id.clone(),
                lb,
                bought_lb,
            });
        }
    }
    let bill = till::bill(farm, counts);
    for (supplier, (order, charge)) in problem.suppliers.iter().zip(&bill.deliveries) {
        if *order > 0.0 || *charge > 0.0 {
            plan.deliveries.push(Delivery {
                supplier: supplier.id.clone(),
                order: *order,
                charge: *charge,
            });
        }
    }
    plan.cost = bill.spent();
    plan.over_budget = bill.over;
    for b in 0..farm.ground.len() {
        balances(farm, amounts, counts, &used, b, &mut plan.balances);
    }
    plan
}

/// Lots are used up in their order, before what stands in none.
fn from_lots(material: &Material, lb: f64) -> Vec<(String, f64)> {
    let mut left = lb;
    let mut lots = Vec::new();
    for lot in &material.lots {
        let taken = left.min(lot.lb);
        if taken > 0.0 {
            lots.push((lot.id.clone(), taken));
            left -= taken;
        }
    }
    lots
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
        if !asked && supplied[n] == 0.0 {
            continue;
        }
        let mut by_material: Vec<(String, f64)> = Vec::new();
        for i in farm.of_block[b].clone() {
            let id = &farm.problem.materials[farm.pairs[i].material].id;
            let lb = farm.share(i)[n] * amounts[i];
            match by_material.last_mut() {
                _ if lb == 0.0 => {}
                // The passes of one material stand side by side.
                Some((last, sum)) if last == id => *sum += lb,
                _ => by_material.push((id.clone(), lb)),
            }
        }
        let need = farm.problem.blocks[b]
            .needs
            .iter()
            .find(|x| x.nutrient == nutrient);
        let band = need.is_some_and(|x| x.band.is_some());
        let beyond = |lb: f64| {
            if asked && lb > NOTHING { lb } else { 0.0 }
        };
        let (short_lb, over_lb) = (
            beyond(ground.low[n] - supplied[n]),
            beyond(supplied[n] - ground.high[n]),
        );
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
            need_lb: need.map_or(0.0, |x| x.lb_per_acre * ground.acres),
            low_lb: band.then_some(ground.low[n]),
            high_lb: band.then_some(ground.high[n]),
            supplied_lb: supplied[n],
            by_material,
            short_lb,
            over_lb,
            ceiling_lb: ground.ceiling[n],
            binding,
        });
    }
}
