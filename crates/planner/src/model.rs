//! The mixed-integer model and its solution by HiGHS.

use crate::farm::{Farm, above};
use crate::packs;
use crate::{Nutrient, PlanError};
use highs::{Col, HighsModelStatus, HighsSolutionStatus, Model, RowProblem, Sense};

/// Seed of the solver's own choices: the same problem gives the same plan.
const SEED: i32 = 20_270;

/// What came back.
pub(crate) struct Raw {
    /// lb by pair.
    pub amounts: Vec<f64>,
    /// Count of each pack, by material.
    pub counts: Vec<Vec<u32>>,
    /// Proven lower bound of the objective, without the unavoidable part.
    pub bound: f64,
    /// Whether the solver proved the gap that was asked for.
    pub proven: bool,
}

/// Columns of the model, to be filled with a first plan and read back.
struct Columns {
    amount: Vec<Col>,
    /// None for held pairs.
    spread: Vec<Option<Col>>,
    packs: Vec<Vec<Col>>,
    short: Vec<(usize, usize, Col)>,
    over: Vec<(usize, usize, Col)>,
    limed: Vec<(usize, Col)>,
    count: usize,
}

/// The part of the objective that no choice changes.
///
/// It is left out of the model, so that the gap is a share of what can be decided.
pub(crate) fn unavoidable(farm: &Farm) -> f64 {
    let mut sum = 0.0;
    let fixed: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    for (pair, lb) in farm.pairs.iter().zip(&fixed) {
        if *lb > 0.0 {
            sum += farm.trip + farm.stuff[pair.material].penalty * lb;
        }
    }
    for (b, ground) in farm.ground.iter().enumerate() {
        let supplied = farm.supplied(b, &fixed);
        for (n, lb) in supplied.iter().enumerate() {
            if !in_reach(farm, b, n) {
                sum += ground.cost(n, *lb);
            }
        }
    }
    sum
}

/// Whether any amount that is still to be chosen changes the nutrient on the block.
fn in_reach(farm: &Farm, block: usize, n: usize) -> bool {
    farm.of_block[block].clone().any(|i| {
        let pair = &farm.pairs[i];
        !pair.fixed && farm.stuff[pair.material].supply[n] > 0.0
    })
}

fn build(farm: &Farm) -> (RowProblem, Columns) {
    let mut rows = RowProblem::default();
    let mut cols = Columns {
        amount: Vec::with_capacity(farm.pairs.len()),
        spread: Vec::with_capacity(farm.pairs.len()),
        packs: Vec::with_capacity(farm.stuff.len()),
        short: Vec::new(),
        over: Vec::new(),
        limed: Vec::new(),
        count: 0,
    };
    let mut of_material: Vec<Vec<usize>> = vec![Vec::new(); farm.stuff.len()];
    for (i, pair) in farm.pairs.iter().enumerate() {
        of_material[pair.material].push(i);
        if pair.fixed {
            cols.amount.push(rows.add_column(0.0, pair.low..=pair.low));
            cols.spread.push(None);
            continue;
        }
        let penalty = farm.stuff[pair.material].penalty;
        let amount = rows.add_column(penalty, 0.0..=pair.high);
        let spread = rows.add_integer_column(farm.trip, 0.0..=1.0);
        rows.add_row(..=0.0, [(amount, 1.0), (spread, -pair.high)]);
        rows.add_row(0.0.., [(amount, 1.0), (spread, -pair.low)]);
        cols.amount.push(amount);
        cols.spread.push(Some(spread));
    }
    for (m, pairs) in of_material.iter().enumerate() {
        shed(farm, m, pairs, &mut rows, &mut cols);
    }
    for b in 0..farm.ground.len() {
        stands(farm, b, &mut rows, &mut cols);
        apart(farm, b, &mut rows, &mut cols);
    }
    cols.count = rows.num_cols();
    (rows, cols)
}

/// Packs of one material, and that no more is spread than there is.
///
/// A block that stock alone cannot serve needs at least one pack: said outright, this leaves every
/// plan as it is and keeps the relaxation from buying a sliver of a pack.
fn shed(farm: &Farm, m: usize, pairs: &[usize], rows: &mut RowProblem, cols: &mut Columns) {
    let stuff = &farm.stuff[m];
    let most: f64 = pairs.iter().map(|i| farm.pairs[*i].high).sum();
    let lacking = (most - stuff.stock).max(0.0);
    let packs: Vec<Col> = stuff
        .packs
        .iter()
        .map(|p| rows.add_integer_column(p.price, 0.0..=(lacking / p.lb).ceil()))
        .collect();
    cols.packs.push(packs.clone());
    if !above(most, stuff.stock) {
        return;
    }
    let mut terms: Vec<(Col, f64)> = pairs.iter().map(|i| (cols.amount[*i], 1.0)).collect();
    terms.extend(packs.iter().zip(stuff.packs).map(|(c, p)| (*c, -p.lb)));
    rows.add_row(..=stuff.stock, terms);
    for i in pairs {
        if let Some(spread) = cols.spread[*i]
            && above(farm.pairs[*i].low, stuff.stock)
            && !packs.is_empty()
        {
            let mut terms = vec![(spread, 1.0)];
            terms.extend(packs.iter().map(|c| (*c, -1.0)));
            rows.add_row(..=0.0, terms);
        }
    }
}

/// Shortage, surplus and ceiling of every nutrient of one block.
fn stands(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let ground = &farm.ground[b];
    for n in 0..Nutrient::ALL.len() {
        if !in_reach(farm, b, n) {
            continue;
        }
        let mut supply: Vec<(Col, f64)> = Vec::new();
        let mut most = 0.0;
        for i in farm.of_block[b].clone() {
            let share = farm.stuff[farm.pairs[i].material].supply[n];
            if share > 0.0 {
                supply.push((cols.amount[i], share));
                most += farm.pairs[i].high * share;
            }
        }
        let need = ground.need[n];
        let short = (need > 0.0 && ground.shortage[n] > 0.0)
            .then(|| rows.add_column(ground.shortage[n], 0.0..=need));
        let over = (ground.surplus[n] > 0.0 && above(most, need))
            .then(|| rows.add_column(ground.surplus[n], 0.0..));
        let mut terms = supply.clone();
        if let Some(short) = short {
            terms.push((short, 1.0));
            cols.short.push((b, n, short));
        }
        if let Some(over) = over {
            terms.push((over, -1.0));
            cols.over.push((b, n, over));
        }
        match (short, over) {
            (Some(_), Some(_)) => {
                rows.add_row(need..=need, terms);
            }
            (Some(_), None) => {
                rows.add_row(need.., terms);
            }
            (None, Some(_)) => {
                rows.add_row(..=need, terms);
            }
            (None, None) => {}
        }
        if let Some(ceiling) = ground.ceiling[n]
            && above(most, ceiling)
        {
            rows.add_row(..=ceiling, supply);
        }
    }
}

/// Lime and acidifying sulfur never meet on one block.
fn apart(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let with = |nutrient: Nutrient| -> Vec<usize> {
        farm.of_block[b]
            .clone()
            .filter(|i| farm.stuff[farm.pairs[*i].material].supply[nutrient.at()] > 0.0)
            .collect()
    };
    let (liming, acid) = (with(Nutrient::Lime), with(Nutrient::Sulfur));
    if liming.is_empty() || acid.is_empty() {
        return;
    }
    let fixed = |pairs: &[usize]| pairs.iter().any(|i| farm.pairs[*i].fixed);
    let low = if fixed(&liming) { 1.0 } else { 0.0 };
    let high = if fixed(&acid) { 0.0 } else { 1.0 };
    let limed = rows.add_integer_column(0.0, low..=high);
    cols.limed.push((b, limed));
    for spread in liming.iter().filter_map(|i| cols.spread[*i]) {
        rows.add_row(..=0.0, [(spread, 1.0), (limed, -1.0)]);
    }
    for spread in acid.iter().filter_map(|i| cols.spread[*i]) {
        rows.add_row(..=1.0, [(spread, 1.0), (limed, 1.0)]);
    }
}

/// The values of all columns for a plan.
fn values(farm: &Farm, cols: &Columns, amounts: &[f64], counts: &[Vec<u32>]) -> Vec<f64> {
    let mut values = vec![0.0; cols.count];
    let mut set = |col: Col, value: f64| {
        if let Some(place) = values.get_mut(col.index()) {
            *place = value;
        }
    };
    for (i, lb) in amounts.iter().enumerate() {
        set(cols.amount[i], *lb);
        if let Some(spread) = cols.spread[i] {
            set(spread, if *lb > 0.0 { 1.0 } else { 0.0 });
        }
    }
    for (packs, counts) in cols.packs.iter().zip(counts) {
        for (col, count) in packs.iter().zip(counts) {
            set(*col, f64::from(*count));
        }
    }
    let supplied: Vec<_> = (0..farm.ground.len())
        .map(|b| farm.supplied(b, amounts))
        .collect();
    for (b, n, col) in &cols.short {
        set(*col, (farm.ground[*b].need[*n] - supplied[*b][*n]).max(0.0));
    }
    for (b, n, col) in &cols.over {
        set(*col, (supplied[*b][*n] - farm.ground[*b].need[*n]).max(0.0));
    }
    let lime = Nutrient::Lime.at();
    for (b, col) in &cols.limed {
        set(*col, if supplied[*b][lime] > 0.0 { 1.0 } else { 0.0 });
    }
    values
}

/// Money of a plan without the unavoidable part.
pub(crate) fn decided(farm: &Farm, amounts: &[f64], counts: &[Vec<u32>], unavoidable: f64) -> f64 {
    let bags: f64 = farm
        .stuff
        .iter()
        .zip(counts)
        .map(|(s, c)| packs::money(s.packs, c))
        .sum();
    (farm.cost_on_ground(amounts) + bags - unavoidable).max(0.0)
}

/// Solves the model, starting from a plan that keeps every rule.
///
/// One thread and a fixed seed: unless the time runs out, the same problem gives the same plan.
pub(crate) fn run(
    farm: &Farm,
    start: (&[f64], &[Vec<u32>]),
    seconds: f64,
) -> Result<Raw, PlanError> {
    let failed = |what: &str| PlanError::Solver(what.to_owned());
    let given_up = || Raw {
        amounts: start.0.to_vec(),
        counts: start.1.to_vec(),
        bound: 0.0,
        proven: false,
    };
    let (rows, cols) = build(farm);
    if cols.count == 0 {
        return Ok(Raw {
            proven: true,
            ..given_up()
        });
    }
    let mut model: Model = rows
        .try_optimise(Sense::Minimise)
        .map_err(|e| failed(&format!("{e:?} while taking the model")))?;
    let option = |e| PlanError::Solver(format!("{e:?} while setting an option"));
    let options = &farm.problem.options;
    model.make_quiet();
    model.try_set_option("threads", 1).map_err(option)?;
    model.try_set_option("random_seed", SEED).map_err(option)?;
    model
        .try_set_option("time_limit", seconds)
        .map_err(option)?;
    model
        .try_set_option("mip_rel_gap", options.gap)
        .map_err(option)?;
    model.try_set_option("mip_abs_gap", 1e-6).map_err(option)?;
    // Measured on variants of a 14-block farm: these two cost more time than they save here.
    for needless in ["mip_allow_restart", "mip_heuristic_run_rins"] {
        model.try_set_option(needless, false).map_err(option)?;
    }
    let first = values(farm, &cols, start.0, start.1);
    // A start that is not taken is no harm: the solver finds its own.
    let _ = model.try_set_solution(Some(&first), None, None, None);
    let solved = model
        .try_solve()
        .map_err(|e| failed(&format!("{e:?} while solving")))?;
    let proven = match solved.status() {
        HighsModelStatus::Optimal | HighsModelStatus::ModelEmpty => true,
        HighsModelStatus::ReachedTimeLimit
        | HighsModelStatus::ReachedIterationLimit
        | HighsModelStatus::ReachedSolutionLimit
        | HighsModelStatus::ReachedMemoryLimit
        | HighsModelStatus::ReachedInterrupt => false,
        other => return Err(failed(&format!("{other:?}"))),
    };
    // A model without whole numbers has no such bound; its optimum is the bound.
    let bound = solved
        .double_info_value(c"mip_dual_bound")
        .ok()
        .filter(|b| b.is_finite())
        .unwrap_or(if proven {
            solved.objective_value()
        } else {
            0.0
        })
        .max(0.0);
    if solved.primal_solution_status() != HighsSolutionStatus::Feasible {
        return Ok(Raw {
            bound,
            ..given_up()
        });
    }
    let solution = solved.get_solution();
    let at = |col: Col| {
        solution
            .columns()
            .get(col.index())
            .copied()
            .unwrap_or_default()
    };
    let amounts = farm
        .pairs
        .iter()
        .enumerate()
        .map(|(i, pair)| {
            if pair.fixed {
                pair.low
            } else if cols.spread[i].is_some_and(|c| at(c) < 0.5) {
                0.0
            } else {
                at(cols.amount[i]).clamp(pair.low, pair.high)
            }
        })
        .collect();
    let counts = cols
        .packs
        .iter()
        .map(|packs| {
            packs
                .iter()
                .map(|c| at(*c).round().max(0.0) as u32)
                .collect()
        })
        .collect();
    Ok(Raw {
        amounts,
        counts,
        bound,
        proven,
    })
}
