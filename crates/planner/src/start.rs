//! A first plan that keeps every rule: block by block, the material that pays best next; then
//! bettered by single changes, and by doing without one material after the other.

use crate::farm::{Farm, above};
use crate::nutrient::PerNutrient;
use crate::polish::{Bags, polish};
use crate::{packs, scale};

/// lb by pair, on the scale's steps, and packs by material.
pub(crate) fn start(farm: &Farm) -> (Vec<f64>, Vec<Vec<u32>>) {
    let mut amounts: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    let mut used = farm.used(&amounts);
    for b in 0..farm.ground.len() {
        let mut supplied = farm.supplied(b, &amounts);
        while let Some((i, lb)) = best(farm, b, &amounts, &used, &supplied) {
            let m = farm.pairs[i].material;
            amounts[i] = lb;
            used[m] += lb;
            for (total, share) in supplied.iter_mut().zip(&farm.stuff[m].supply) {
                *total += share * lb;
            }
        }
    }
    // First as if bags were shared to their ends, so that a bag is not shunned for its first user.
    polish(farm, &mut amounts, Bags::Shared, None);
    polish(farm, &mut amounts, Bags::Whole, None);
    do_without(farm, &mut amounts);
    let counts = buy(farm, &farm.used(&amounts));
    (amounts, counts)
}

fn money(farm: &Farm, amounts: &[f64]) -> f64 {
    let bags: f64 = farm
        .stuff
        .iter()
        .zip(farm.used(amounts))
        .filter_map(|(s, used)| packs::least_money(s.packs, used - s.stock))
        .sum();
    farm.cost_on_ground(amounts) + bags
}

/// Takes each material off the whole farm, betters the rest, and keeps what is cheaper.
fn do_without(farm: &Farm, amounts: &mut Vec<f64>) {
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
            if other == *amounts {
                continue;
            }
            polish(farm, &mut other, Bags::Shared, Some(m));
            polish(farm, &mut other, Bags::Whole, None);
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

/// Packs for what is used beyond stock.
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
        if pair.fixed || amounts[i] > 0.0 || farm.opposed(b, amounts, pair.material) {
            continue;
        }
        let stuff = &farm.stuff[pair.material];
        let on_hand = (stuff.stock - used[pair.material]).max(0.0);
        let mut room = pair.high;
        if stuff.packs.is_empty() {
            room = room.min(on_hand);
        }
        for (n, there) in supplied.iter().enumerate() {
            if let Some(ceiling) = ground.ceiling[n]
                && stuff.supply[n] > 0.0
            {
                room = room.min((ceiling - there) / stuff.supply[n]);
            }
        }
        let room = scale::down(room.max(0.0), pair.step);
        if above(pair.low, room) {
            continue;
        }
        let price = packs::price_per_lb(stuff.packs).unwrap_or_default();
        for n in 0..supplied.len() {
            let lack = ground.need[n] - supplied[n];
            if stuff.supply[n] <= 0.0 || lack <= 0.0 || ground.shortage[n] <= 0.0 {
                continue;
            }
            let lb = scale::down(lack / stuff.supply[n], pair.step).clamp(pair.low, room);
            let saved: f64 = (0..supplied.len())
                .map(|k| {
                    ground.cost(k, supplied[k]) - ground.cost(k, supplied[k] + stuff.supply[k] * lb)
                })
                .sum();
            let spent = farm.trip + stuff.penalty * lb + price * (lb - on_hand).max(0.0);
            if saved - spent > most_gain {
                most_gain = saved - spent;
                best = Some((i, lb));
            }
        }
    }
    best
}
