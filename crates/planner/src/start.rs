//! A first plan that keeps every rule: block by block, the material that pays best next.

use crate::farm::{Farm, above};
use crate::nutrient::PerNutrient;
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
    let counts = buy(farm, &used);
    (amounts, counts)
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
