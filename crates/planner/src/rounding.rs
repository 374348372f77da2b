//! Puts the solver's amounts on the scale's steps without breaking a rule.

use crate::farm::{Farm, above};
use crate::{packs, scale, start};

/// Amounts as they are weighed, and the packs that they need.
pub(crate) fn round(farm: &Farm, raw: &[f64], bought: &[Vec<u32>]) -> (Vec<f64>, Vec<Vec<u32>>) {
    let mut amounts: Vec<f64> = farm
        .pairs
        .iter()
        .zip(raw)
        .map(|(pair, lb)| {
            if pair.fixed || *lb <= 0.0 {
                return *lb;
            }
            // The limits are on the scale's steps already, so rounding down keeps them.
            scale::down(*lb, pair.step).clamp(pair.low, pair.high)
        })
        .collect();
    let available: Vec<f64> = farm
        .stuff
        .iter()
        .zip(bought)
        .map(|(s, c)| s.stock + packs::mass(s.packs, c))
        .collect();
    keep_ceilings(farm, &mut amounts);
    keep_totals(farm, &mut amounts, &available);
    drop_useless(farm, &mut amounts);
    spare(farm, &mut amounts);
    fill(farm, &mut amounts, &available);
    spare(farm, &mut amounts);
    let counts = settle(farm, &amounts, bought);
    (amounts, counts)
}

/// Takes one step off, or all of it where a step less could not be spread.
fn lower(farm: &Farm, amounts: &mut [f64], i: usize, excess: f64) {
    let pair = &farm.pairs[i];
    let less = if pair.step > 0.0 {
        scale::down(amounts[i] - pair.step, pair.step)
    } else {
        amounts[i] - excess
    };
    amounts[i] = if above(pair.low, less) { 0.0 } else { less };
}

/// The solver keeps ceilings to its tolerance; here they are kept exactly.
fn keep_ceilings(farm: &Farm, amounts: &mut [f64]) {
    for b in 0..farm.ground.len() {
        for n in 0..farm.ground[b].ceiling.len() {
            let Some(ceiling) = farm.ground[b].ceiling[n] else {
                continue;
            };
            loop {
                let supplied = farm.supplied(b, amounts)[n];
                if !above(supplied, ceiling) {
                    break;
                }
                let share = |i: usize| farm.stuff[farm.pairs[i].material].supply[n];
                let largest = farm.of_block[b]
                    .clone()
                    .filter(|&i| !farm.pairs[i].fixed && amounts[i] > 0.0 && share(i) > 0.0)
                    .max_by(|&x, &y| (amounts[x] * share(x)).total_cmp(&(amounts[y] * share(y))));
                let Some(i) = largest else { break };
                lower(farm, amounts, i, (supplied - ceiling) / share(i));
            }
        }
    }
}

/// The same for what there is of each material.
fn keep_totals(farm: &Farm, amounts: &mut [f64], available: &[f64]) {
    for (m, have) in available.iter().enumerate() {
        loop {
            let used: f64 = farm
                .pairs
                .iter()
                .zip(amounts.iter())
                .filter(|(p, _)| p.material == m)
                .map(|(_, lb)| lb)
                .sum();
            if !above(used, *have) {
                break;
            }
            let largest = (0..farm.pairs.len())
                .filter(|&i| {
                    farm.pairs[i].material == m && !farm.pairs[i].fixed && amounts[i] > 0.0
                })
                .max_by(|&x, &y| amounts[x].total_cmp(&amounts[y]));
            let Some(i) = largest else { break };
            lower(farm, amounts, i, used - have);
        }
    }
}

/// What changing one amount to `lb` would save on the ground; negative when it costs.
fn saving(farm: &Farm, amounts: &[f64], i: usize, lb: f64) -> f64 {
    let pair = &farm.pairs[i];
    let ground = &farm.ground[pair.block];
    let stuff = &farm.stuff[pair.material];
    let supplied = farm.supplied(pair.block, amounts);
    let change = lb - amounts[i];
    let stand: f64 = (0..supplied.len())
        .filter(|&n| stuff.supply[n] > 0.0)
        .map(|n| {
            ground.cost(n, supplied[n]) - ground.cost(n, supplied[n] + stuff.supply[n] * change)
        })
        .sum();
    let trip = |lb: f64| if lb > 0.0 { farm.trip } else { 0.0 };
    stand + trip(amounts[i]) - trip(lb) - stuff.penalty * change
}

/// An amount whose trip costs more than it brings stays home.
fn drop_useless(farm: &Farm, amounts: &mut [f64]) {
    for i in 0..amounts.len() {
        if !farm.pairs[i].fixed && amounts[i] > 0.0 && saving(farm, amounts, i, 0.0) > 1e-9 {
            amounts[i] = 0.0;
        }
    }
}

/// Leaves in the bag what nothing on the block wants; the solver is indifferent to it where a
/// surplus costs nothing.
fn spare(farm: &Farm, amounts: &mut [f64]) {
    for i in 0..amounts.len() {
        let pair = &farm.pairs[i];
        if pair.fixed || amounts[i] <= 0.0 {
            continue;
        }
        let supplied = farm.supplied(pair.block, amounts);
        let idle = farm.idle(pair.block, pair.material, &supplied).0;
        let wanted = scale::up(amounts[i] - idle.min(amounts[i]), pair.step).max(pair.low);
        if above(amounts[i], wanted) {
            amounts[i] = wanted;
        }
    }
}

/// Gives back, step by step, what rounding down took, where it pays and there is room.
fn fill(farm: &Farm, amounts: &mut [f64], available: &[f64]) {
    let mut left: Vec<f64> = available
        .iter()
        .zip(farm.used(amounts))
        .map(|(have, used)| have - used)
        .collect();
    // Rounding took less than one step from each amount; a few rounds reach rest.
    for _ in 0..4 {
        let mut moves: Vec<(f64, usize)> = (0..amounts.len())
            .filter(|&i| can_step(farm, amounts, &left, i))
            .map(|i| {
                let more = amounts[i] + farm.pairs[i].step;
                (saving(farm, amounts, i, more), i)
            })
            .filter(|(saved, _)| *saved > 1e-9)
            .collect();
        if moves.is_empty() {
            break;
        }
        moves.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        for (_, i) in moves {
            let m = farm.pairs[i].material;
            let step = farm.pairs[i].step;
            if can_step(farm, amounts, &left, i)
                && saving(farm, amounts, i, amounts[i] + step) > 1e-9
            {
                amounts[i] = ((amounts[i] / step).round() + 1.0) * step;
                left[m] -= step;
            }
        }
    }
}

fn can_step(farm: &Farm, amounts: &[f64], left: &[f64], i: usize) -> bool {
    let pair = &farm.pairs[i];
    let stuff = &farm.stuff[pair.material];
    let step = pair.step;
    if pair.fixed
        || step <= 0.0
        || amounts[i] <= 0.0
        || above(amounts[i] + step, pair.high)
        || above(step, left[pair.material])
    {
        return false;
    }
    let supplied = farm.supplied(pair.block, amounts);
    (0..supplied.len()).all(|n| {
        farm.ground[pair.block].ceiling[n].is_none_or(|ceiling| {
            stuff.supply[n] <= 0.0 || !above(supplied[n] + stuff.supply[n] * step, ceiling)
        })
    })
}

/// The packs for the final amounts: those that were chosen less what is not needed, or a cheaper
/// mix where there is one.
pub(crate) fn settle(farm: &Farm, amounts: &[f64], bought: &[Vec<u32>]) -> Vec<Vec<u32>> {
    let used = farm.used(amounts);
    let fresh = start::buy(farm, &used);
    farm.stuff
        .iter()
        .zip(&used)
        .zip(bought.iter().zip(fresh))
        .map(|((stuff, used), (chosen, fresh))| {
            let lack = used - stuff.stock;
            let mut counts = chosen.clone();
            packs::trim(stuff.packs, &mut counts, lack);
            let enough = packs::mass(stuff.packs, &counts) >= lack - 1e-9 * lack.abs().max(1.0);
            if enough
                && packs::money(stuff.packs, &counts) <= packs::money(stuff.packs, &fresh) + 1e-9
            {
                counts
            } else {
                fresh
            }
        })
        .collect()
}
