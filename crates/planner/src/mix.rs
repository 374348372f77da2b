//! Two models above the blocks: known plans mixed within a purchase, and the shed under the cuts.

use crate::fence::Fence;
use crate::mip::{self, Limits};
use crate::parts::{Parts, Prices};
use crate::shed::{self, Shed, Terms};
use crate::{PlanError, Watch, packs};
use highs::{Col, RowProblem};

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

/// What a mixture of the known plans within a purchase says.
pub(crate) struct Within {
    /// Weight of each known plan, by block.
    pub weights: Vec<Vec<f64>>,
    /// What the mixture makes materials worth.
    pub price: Prices,
}

/// The cheapest mixture of the known plans with hardly more than the packs that are given; none when
/// the time ran out first.
pub(crate) fn within(
    parts: &Parts,
    given: &Floor,
    seconds: f64,
) -> Result<Option<Within>, PlanError> {
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
    for (m, mut terms) in used.into_iter().enumerate() {
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
        let price = packs::price_per_lb(stuff.packs).unwrap_or(DEAR);
        let beyond = rows.add_column(TIMES * price.max(0.01), 0.0..);
        terms.push((beyond, -1.0));
        rows.add_row(..=there, terms);
        within[m] = Some(rows.num_rows() - 1);
    }
    let limits = Limits {
        seconds,
        gap: 0.0,
        absolute: 0.0,
        linear: true,
        nodes: None,
    };
    let answer = mip::minimise(rows, None, limits, &Watch::default())?;
    if answer.values.is_none() || !answer.proven {
        return Ok(None);
    }
    let dual = |row: usize| answer.duals.get(row).map_or(0.0, |dual| (-dual).max(0.0));
    Ok(Some(Within {
        weights: weights
            .iter()
            .map(|cols| cols.iter().map(|c| answer.at(*c)).collect())
            .collect(),
        price: Prices {
            lb: within.iter().map(|row| row.map_or(0.0, dual)).collect(),
            pair: Vec::new(),
        },
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
        fence: &Fence::default(),
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
