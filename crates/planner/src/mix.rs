//! The two models above the blocks: known plans mixed against the shed, and the shed under the
//! cuts.

use crate::mip::{self, Limits};
use crate::parts::{Parts, Prices};
use crate::shed::{self, Shed, Terms};
use crate::{PlanError, Watch, packs};
use highs::{Col, RowProblem};

/// A mixture of known plans.
pub(crate) struct Mix {
    /// Weight of each known plan, by block.
    pub weights: Vec<Vec<f64>>,
    /// What the mixture makes materials worth.
    pub price: Prices,
    pub value: f64,
}

/// What the shed under the cuts says.
pub(crate) struct Floor {
    /// Proven lower bound without the unavoidable part.
    pub bound: f64,
    /// Packs by material of the model's plan.
    pub counts: Vec<Vec<u32>>,
    /// Materials that the model's plan does not open, where that is counted.
    pub closed: Vec<bool>,
    pub found: bool,
}

/// The cheapest mixture of the known plans, packs bought by the lb or, where they are given,
/// hardly any beyond those.
pub(crate) fn mix(
    parts: &Parts,
    given: Option<&Floor>,
    seconds: f64,
) -> Result<Option<Mix>, PlanError> {
    let farm = parts.farm;
    let mut rows = RowProblem::default();
    let mut weights: Vec<Vec<Col>> = Vec::with_capacity(parts.plots.len());
    let mut used: Vec<Vec<(Col, f64)>> = vec![Vec::new(); farm.stuff.len()];
    for (m, lb) in parts.held.iter().enumerate() {
        if *lb > 0.0 {
            used[m].push((rows.add_column(0.0, *lb..=*lb), 1.0));
        }
    }
    for known in &parts.known {
        let cols: Vec<Col> = known
            .iter()
            .map(|part| rows.add_column(part.cost, 0.0..))
            .collect();
        for (col, part) in cols.iter().zip(known) {
            for (m, lb) in &part.used {
                used[*m].push((*col, *lb));
            }
        }
        rows.add_row(1.0..=1.0, cols.iter().map(|c| (*c, 1.0)));
        weights.push(cols);
    }
    // Row by material.
    let mut within: Vec<Option<usize>> = vec![None; farm.stuff.len()];
    let mut links: Vec<(usize, usize)> = Vec::new();
    if let Some(given) = given {
        for (m, terms) in used.into_iter().enumerate() {
            if terms.is_empty() {
                continue;
            }
            let stuff = &farm.stuff[m];
            let there = if given.closed[m] {
                parts.held[m]
            } else {
                stuff.stock + packs::mass(stuff.packs, &given.counts[m])
            };
            // A little over is dear rather than impossible, so that there is always a price.
            let mut terms = terms;
            let price = packs::price_per_lb(stuff.packs).unwrap_or(DEAR);
            let beyond = rows.add_column(TIMES * price.max(0.01), 0.0..);
            terms.push((beyond, -1.0));
            rows.add_row(..=there, terms);
            within[m] = Some(rows.num_rows() - 1);
        }
    } else {
        let held: Vec<bool> = parts.held.iter().map(|lb| *lb > 0.0).collect();
        let terms = Terms {
            used: &used,
            most: &parts.most,
            whole: false,
            held: &held,
            budget: true,
            opens: &parts.opens,
        };
        let shed = shed::add(farm, &terms, &mut rows);
        links = link(parts, &shed, &weights, &mut rows);
        within = shed.within;
    }
    let limits = Limits {
        seconds,
        gap: 0.0,
        absolute: 0.0,
        linear: true,
    };
    let answer = mip::minimise(rows, None, limits, &Watch::default())?;
    if answer.values.is_none() || !answer.proven {
        return Ok(None);
    }
    let dual = |row: usize| answer.duals.get(row).map_or(0.0, |dual| (-dual).max(0.0));
    let mut price = Prices {
        lb: within.iter().map(|row| row.map_or(0.0, dual)).collect(),
        pair: Vec::new(),
    };
    if !links.is_empty() {
        price.pair = vec![0.0; farm.pairs.len()];
        for (pair, row) in links {
            price.pair[pair] = dual(row);
        }
    }
    Ok(Some(Mix {
        weights: weights
            .iter()
            .map(|cols| cols.iter().map(|c| answer.at(*c)).collect())
            .collect(),
        price,
        value: answer.objective,
    }))
}

/// How many times its price a lb beyond the packs that are given costs.
const TIMES: f64 = 3.0;

/// The price that stands for that of a material which is not sold, money per lb.
const DEAR: f64 = 100.0;

/// The least that the farm can cost: the shed exactly, the ground under the cuts.
pub(crate) fn floor(parts: &Parts, limits: Limits, watch: &Watch) -> Result<Floor, PlanError> {
    let farm = parts.farm;
    let mut rows = RowProblem::default();
    let mut used: Vec<Vec<(Col, f64)>> = vec![Vec::new(); farm.stuff.len()];
    for (m, lb) in parts.held.iter().enumerate() {
        if *lb > 0.0 {
            used[m].push((rows.add_column(0.0, *lb..=*lb), 1.0));
        }
    }
    // Each block under its own cuts, or all together where there are many.
    let blocks: Vec<Ground> = if parts.plots.len() * farm.stuff.len() <= APART {
        (0..parts.plots.len())
            .map(|b| Ground::one(parts, b, &mut rows))
            .collect()
    } else {
        vec![Ground::all(parts, &mut rows)]
    };
    for ground in &blocks {
        for (m, col) in &ground.used {
            used[*m].push((*col, 1.0));
        }
    }
    let held: Vec<bool> = parts.held.iter().map(|lb| *lb > 0.0).collect();
    let terms = Terms {
        used: &used,
        most: &parts.most,
        whole: !limits.linear,
        held: &held,
        budget: true,
        opens: &parts.opens,
    };
    let shed: Shed = shed::add(farm, &terms, &mut rows);
    cuts(parts, &blocks, &shed, &mut rows);
    let answer = mip::minimise(rows, None, limits, watch)?;
    Ok(Floor {
        bound: answer.bound - doubt(parts),
        counts: shed.counts(farm, |c| answer.at(c)),
        closed: shed
            .opened
            .iter()
            .map(|o| o.is_some_and(|c| answer.at(c) < 0.5))
            .collect(),
        found: answer.values.is_some(),
    })
}

/// Blocks times materials up to which each block has its own cuts.
const APART: usize = 1_500;

/// Columns for what a block, or all of them, use and cost.
struct Ground {
    block: Option<usize>,
    cost: Col,
    used: Vec<(usize, Col)>,
}

impl Ground {
    fn one(parts: &Parts, b: usize, rows: &mut RowProblem) -> Self {
        let cost = rows.add_column(1.0, 0.0..);
        let mut most: Vec<(usize, f64)> = Vec::new();
        for cell in &parts.plots[b].cells {
            match most.last_mut() {
                Some((m, high)) if *m == cell.material => *high += cell.high,
                _ => most.push((cell.material, cell.high)),
            }
        }
        Self {
            block: Some(b),
            cost,
            used: most
                .into_iter()
                .map(|(m, high)| (m, rows.add_column(0.0, 0.0..=high)))
                .collect(),
        }
    }

    fn all(parts: &Parts, rows: &mut RowProblem) -> Self {
        Self {
            block: None,
            cost: rows.add_column(1.0, 0.0..),
            used: (0..parts.most.len())
                .map(|m| (m, parts.most[m] - parts.held[m]))
                .filter(|(_, most)| *most > 0.0)
                .map(|(m, most)| (m, rows.add_column(0.0, 0.0..=most)))
                .collect(),
        }
    }
}

/// What the evaluations prove: cost + price * used + using * opened >= bound.
fn cuts(parts: &Parts, grounds: &[Ground], shed: &Shed, rows: &mut RowProblem) {
    for cut in &parts.cuts {
        for ground in grounds {
            let mut terms = vec![(ground.cost, 1.0)];
            terms.extend(
                ground
                    .used
                    .iter()
                    .filter(|(m, _)| cut.price.lb[*m] > 0.0)
                    .map(|(m, col)| (*col, cut.price.lb[*m])),
            );
            let (bound, using) = match ground.block {
                Some(b) => {
                    let mut using = vec![0.0; parts.most.len()];
                    for cell in &parts.plots[b].cells {
                        using[cell.material] += cut.price.using(cell.pair);
                    }
                    (cut.bounds[b], using)
                }
                None => (cut.bounds.iter().sum(), cut.using.clone()),
            };
            for (opened, using) in shed.opened.iter().zip(using) {
                if let Some(opened) = opened
                    && using > 0.0
                {
                    terms.push((*opened, using));
                }
            }
            rows.add_row(bound.., terms);
        }
    }
}

/// A plan that uses a pair opens its material. Gives each pair's row.
fn link(
    parts: &Parts,
    shed: &Shed,
    weights: &[Vec<Col>],
    rows: &mut RowProblem,
) -> Vec<(usize, usize)> {
    let mut links = Vec::new();
    for (b, plot) in parts.plots.iter().enumerate() {
        let mut of_cell: Vec<Vec<(Col, f64)>> = vec![Vec::new(); plot.cells.len()];
        for (part, weight) in parts.known[b].iter().zip(&weights[b]) {
            for (k, _) in &part.shares {
                of_cell[*k].push((*weight, 1.0));
            }
        }
        for (cell, mut terms) in plot.cells.iter().zip(of_cell) {
            if let Some(opened) = shed.opened[cell.material]
                && !terms.is_empty()
                && parts.opens[cell.material]
            {
                terms.push((opened, -1.0));
                rows.add_row(..=0.0, terms);
                links.push((cell.pair, rows.num_rows() - 1));
            }
        }
    }
    links
}

/// What the solver's tolerances could make of the bound: each row may be passed by a millionth,
/// each count be off by one.
fn doubt(parts: &Parts) -> f64 {
    let dearest = |m: usize| {
        parts
            .cuts
            .iter()
            .map(|c| c.price.lb[m] + c.using[m])
            .fold(0.0, f64::max)
    };
    let rows: f64 = (0..parts.most.len()).map(dearest).sum();
    let packs: f64 = parts
        .farm
        .stuff
        .iter()
        .flat_map(|s| s.packs.iter().map(|p| p.price))
        .sum();
    1e-6 * (1.0 + rows + packs)
}
