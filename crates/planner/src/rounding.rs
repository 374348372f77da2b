//! Puts the solver's amounts on the scale's steps without breaking a rule.

use crate::farm::{Farm, above};
use crate::fence::Fence;
use crate::mip::{self, Limits};
use crate::model::Choice;
use crate::shed::{self, Terms};
use crate::{Watch, packs, scale, start, till};
use highs::RowProblem;

/// Amounts as they are weighed, and the packs that they need.
pub(crate) fn round(farm: &Farm, (raw, bought): &Choice) -> Choice {
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
    // Less of what acidifies lets the lime rise.
    keep_ceilings(farm, &mut amounts);
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
                let share = |i: usize| farm.share(i)[n];
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

/// The same for what there is of each material: the largest amounts give way first.
fn keep_totals(farm: &Farm, amounts: &mut [f64], available: &[f64]) {
    let first = farm.used(amounts);
    for (m, have) in available.iter().enumerate() {
        if !above(first[m], *have) {
            continue;
        }
        let mut pairs: Vec<usize> = (0..amounts.len())
            .filter(|i| {
                let pair = &farm.pairs[*i];
                pair.material == m && !pair.fixed && amounts[*i] > 0.0
            })
            .collect();
        pairs.sort_by(|x, y| amounts[*y].total_cmp(&amounts[*x]).then(x.cmp(y)));
        let mut used = first[m];
        for i in pairs {
            if !above(used, *have) {
                break;
            }
            let pair = &farm.pairs[i];
            let less = scale::down((amounts[i] - (used - have)).max(0.0), pair.step);
            let less = if above(pair.low, less) { 0.0 } else { less };
            used -= amounts[i] - less;
            amounts[i] = less;
        }
    }
}

/// What changing one amount to `lb` would save on the ground; negative when it costs.
fn saving(farm: &Farm, amounts: &mut [f64], i: usize, lb: f64) -> f64 {
    let b = farm.pairs[i].block;
    let was = amounts[i];
    let before = farm.cost_of_block(b, amounts);
    amounts[i] = lb;
    let after = farm.cost_of_block(b, amounts);
    amounts[i] = was;
    before - after
}

/// Whether the block keeps its ceilings with `lb` in place of one amount.
fn kept(farm: &Farm, amounts: &mut [f64], i: usize, lb: f64) -> bool {
    let b = farm.pairs[i].block;
    let was = amounts[i];
    amounts[i] = lb;
    let kept = farm.ground[b].under_ceilings(&farm.supplied(b, amounts));
    amounts[i] = was;
    kept
}

/// An amount whose trip costs more than it brings stays home.
fn drop_useless(farm: &Farm, amounts: &mut [f64]) {
    for i in 0..amounts.len() {
        if !farm.pairs[i].fixed
            && amounts[i] > 0.0
            && saving(farm, amounts, i, 0.0) > 1e-9
            && kept(farm, amounts, i, 0.0)
        {
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
        let idle = farm.idle(i, &supplied).0;
        let wanted = scale::up(amounts[i] - idle.min(amounts[i]), pair.step).max(pair.low);
        if above(amounts[i], wanted) && kept(farm, amounts, i, wanted) {
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
        let mut moves: Vec<(f64, usize)> = Vec::new();
        for i in 0..amounts.len() {
            if can_step(farm, amounts, &left, i) {
                let more = amounts[i] + farm.pairs[i].step;
                let saved = saving(farm, amounts, i, more);
                if saved > 1e-9 {
                    moves.push((saved, i));
                }
            }
        }
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

fn can_step(farm: &Farm, amounts: &mut [f64], left: &[f64], i: usize) -> bool {
    let pair = &farm.pairs[i];
    let step = pair.step;
    if pair.fixed
        || step <= 0.0
        || amounts[i] <= 0.0
        || above(amounts[i] + step, pair.high)
        || above(step, left[pair.material])
        || above(step, farm.year_room(pair.block, pair.material, amounts))
    {
        return false;
    }
    let more = amounts[i] + step;
    kept(farm, amounts, i, more)
}

/// The packs for the final amounts: those that were chosen less what is not needed, or a cheaper
/// mix where there is one.
pub(crate) fn settle(farm: &Farm, amounts: &[f64], bought: &[Vec<u32>]) -> Vec<Vec<u32>> {
    let used = farm.used(amounts);
    let fresh = start::buy(farm, &used);
    let best: Vec<Vec<u32>> = farm
        .stuff
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
        .collect();
    // Packs that were chosen together save a delivery or keep to the budget; so long as they
    // hold enough they stand against the cheapest of each.
    let enough = farm
        .stuff
        .iter()
        .zip(&used)
        .zip(bought)
        .all(|((s, used), counts)| {
            let lack = used - s.stock;
            packs::mass(s.packs, counts) >= lack - 1e-9 * lack.abs().max(1.0)
        });
    if enough && till::money(farm, &used, bought) < till::money(farm, &used, &best) {
        bought.to_vec()
    } else {
        best
    }
}

/// The cheapest purchase of all for the amounts, deliveries, price breaks and budget considered;
/// what is given where the solver finds no better one.
pub(crate) fn purchase(farm: &Farm, amounts: &[f64], given: Vec<Vec<u32>>) -> Vec<Vec<u32>> {
    let options = &farm.problem.options;
    let tied = options.budget.is_some()
        || farm.stuff.iter().any(|s| {
            s.from.iter().any(Option::is_some)
                || s.packs.len() > 2
                || s.packs
                    .iter()
                    .any(|p| !p.breaks.is_empty() || p.least_count > 1)
        });
    if !tied {
        return given;
    }
    let used = farm.used(amounts);
    let mut rows = RowProblem::default();
    let columns: Vec<_> = used
        .iter()
        .map(|lb| vec![(rows.add_column(0.0, *lb..=*lb), 1.0)])
        .collect();
    let terms = Terms {
        used: &columns,
        most: &used,
        whole: true,
        held: &vec![false; used.len()],
        // The least that is spent is the least over any budget, too.
        budget: false,
        opens: &vec![false; used.len()],
        fence: &Fence::default(),
    };
    let shed = shed::add(farm, &terms, &mut rows);
    let limits = Limits {
        seconds: 1.0,
        gap: 1e-6,
        absolute: 1e-6,
        linear: false,
        nodes: None,
    };
    let Ok(answer) = mip::minimise(rows, None, limits, &Watch::default()) else {
        return given;
    };
    if answer.values.is_none() {
        return given;
    }
    let counts = shed.counts(farm, |c| answer.at(c));
    let enough = farm
        .stuff
        .iter()
        .zip(&used)
        .zip(&counts)
        .all(|((s, used), counts)| {
            let lack = used - s.stock;
            packs::mass(s.packs, counts) >= lack - 1e-9 * lack.abs().max(1.0)
        });
    if enough && till::money(farm, &used, &counts) < till::money(farm, &used, &given) {
        counts
    } else {
        given
    }
}
