//! A first plan that keeps every rule: block by block, the material that pays best next; then
//! bettered by single changes, and by doing without one material after the other.

use crate::farm::{Farm, above};
use crate::model::Choice;
use crate::nutrient::PerNutrient;
use crate::polish::{asking, polish};
use crate::till::{self, Bags};
use crate::{packs, rounding, scale};
use std::time::Instant;

/// Above so many pairs the farm is too large for trying to do without each material in turn.
const FEW_PAIRS: usize = 400;

/// lb by pair, on the scale's steps, and packs by material. Spreading only what is held is the
/// least that it gives when the time is short.
pub(crate) fn start(farm: &Farm, until: Instant) -> Choice {
    let mut amounts: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    // Deliveries, a budget and a count of materials are beyond the first look: there each change
    // is weighed against the whole bill from the start.
    let options = &farm.problem.options;
    let plain = options.budget.is_none()
        && options.most_materials.is_none()
        && options.most_materials_per_block.is_none();
    if plain {
        let mut used = farm.used(&amounts);
        for b in 0..farm.ground.len() {
            let mut supplied = farm.supplied(b, &amounts);
            while let Some((i, lb)) = best(farm, b, &amounts, &used, &supplied) {
                amounts[i] = lb;
                used[farm.pairs[i].material] += lb;
                for (total, share) in supplied.iter_mut().zip(farm.share(i)) {
                    *total += share * lb;
                }
            }
        }
        // First as if bags were shared to their ends, so that a bag is not shunned for its first
        // user.
        polish(farm, &mut amounts, Bags::Shared, None, until);
    }
    polish(farm, &mut amounts, Bags::Whole, None, until);
    if farm.pairs.len() <= FEW_PAIRS {
        do_without(farm, &mut amounts, until);
    }
    let counts = buy(farm, &farm.used(&amounts));
    let counts = rounding::purchase(farm, &amounts, counts);
    (amounts, counts)
}

fn money(farm: &Farm, amounts: &[f64]) -> f64 {
    let used = farm.used(amounts);
    farm.cost_on_ground(amounts) + till::money(farm, &used, &buy(farm, &used))
}

/// Takes each material off the whole farm, betters the rest, and keeps what is cheaper.
fn do_without(farm: &Farm, amounts: &mut Vec<f64>, until: Instant) {
    let mut least = money(farm, amounts);
    for _ in 0..3 {
        let before = least;
        for m in 0..farm.stuff.len() {
            let mut other = amounts.clone();
            for (pair, lb) in farm.pairs.iter().zip(&mut other) {
                if pair.material == m && !pair.fixed {
                    *lb = 0.0;
                }
            }
            let kept = (0..farm.ground.len())
                .all(|b| farm.ground[b].under_ceilings(&farm.supplied(b, &other)));
            if other == *amounts || !kept || Instant::now() >= until {
                continue;
            }
            polish(farm, &mut other, Bags::Shared, Some(m), until);
            polish(farm, &mut other, Bags::Whole, None, until);
            let money = money(farm, &other);
            if money < least - 1e-6 {
                least = money;
                *amounts = other;
            }
        }
        if least >= before {
            break;
        }
    }
}

/// Packs for what is used beyond stock, each material by itself.
pub(crate) fn buy(farm: &Farm, used: &[f64]) -> Vec<Vec<u32>> {
    farm.stuff
        .iter()
        .zip(used)
        .map(|(s, lb)| {
            packs::cover(s.packs, lb - s.stock).map_or_else(|| vec![0; s.packs.len()], |c| c.0)
        })
        .collect()
}

fn best(
    farm: &Farm,
    b: usize,
    amounts: &[f64],
    used: &[f64],
    supplied: &PerNutrient<f64>,
) -> Option<(usize, f64)> {
    let ground = &farm.ground[b];
    let mut best: Option<(usize, f64)> = None;
    let mut most_gain = 1e-9;
    for i in farm.of_block[b].clone() {
        let pair = &farm.pairs[i];
        let m = pair.material;
        if pair.fixed
            || amounts[i] > 0.0
            || farm.of_block[b]
                .clone()
                .any(|j| amounts[j] > 0.0 && farm.clash_of(i, j))
        {
            continue;
        }
        let stuff = &farm.stuff[m];
        let share = farm.share(i);
        let on_hand = (stuff.stock - used[m]).max(0.0);
        let mut room = pair.high.min(farm.year_room(b, m, amounts));
        if stuff.packs.is_empty() {
            room = room.min(on_hand);
        }
        for (n, there) in supplied.iter().enumerate() {
            if let Some(ceiling) = ground.ceiling[n]
                && share[n] > 0.0
            {
                room = room.min((ceiling - there) / share[n]);
            }
        }
        let room = scale::down(room.max(0.0), pair.step);
        if above(pair.low, room) {
            continue;
        }
        let price = asking(farm, m);
        for n in 0..supplied.len() {
            let lack = ground.target(n).unwrap_or_default() - supplied[n];
            if share[n] <= 0.0 || lack <= 0.0 {
                continue;
            }
            let lb = scale::down(lack / share[n], pair.step).clamp(pair.low, room);
            let saved: f64 = (0..supplied.len())
                .map(|k| ground.cost(k, supplied[k]) - ground.cost(k, supplied[k] + share[k] * lb))
                .sum();
            let visit = if farm.of_block[b]
                .clone()
                .any(|j| amounts[j] > 0.0 && farm.pairs[j].pass == pair.pass)
            {
                0.0
            } else {
                farm.visit[pair.pass]
            };
            let spent = farm.trip + visit + stuff.penalty * lb + price * (lb - on_hand).max(0.0);
            if saved - spent > most_gain {
                most_gain = saved - spent;
                best = Some((i, lb));
            }
        }
    }
    best
}
