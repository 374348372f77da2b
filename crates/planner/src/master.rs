//! Known block plans mixed against the shed: a linear program that is kept, so that it is solved from
//! its last basis when plans come to it or a branch changes what may be bought.

use crate::fence::{Fence, Seen};
use crate::parts::{Parts, Prices};
use crate::shed::{self, Ranges, Shed, Terms};
use crate::{PlanError, mip};
use highs::{Col, HighsModelStatus, Model, Row, RowProblem, Sense};
use std::collections::HashMap;
use std::time::Instant;

/// A mixture of known plans.
pub(crate) struct Mix {
    /// Weight of each known plan, by block.
    pub weights: Vec<Vec<f64>>,
    /// What the mixture makes materials worth.
    pub price: Prices,
    pub value: f64,
    /// What each block's plans are worth at those prices.
    pub worth: Vec<f64>,
    pub shed: Seen,
    /// Money that the solver's tolerance could take from a bound.
    lost: f64,
}

impl Mix {
    /// What is proven when the blocks' bounds at the mixture's prices are these: by duality the shed
    /// adds to them what it adds to the worth of the known plans (the bound of column generation:
    /// G. Desaulniers, J. Desrosiers, M. M. Solomon, Column Generation, Springer 2005, ch. 1).
    pub fn bound(&self, bounds: &[f64]) -> f64 {
        let better: f64 = self
            .worth
            .iter()
            .zip(bounds)
            .map(|(worth, bound)| bound - worth)
            .sum();
        self.value + better - self.lost
    }
}

/// What the solver may leave of a row, per unit of a column.
const TOLERANCE: f64 = 1e-7;

/// What came of looking for a mixture.
pub(crate) enum Mixed {
    Mix(Mix),
    /// The shed allows none, not even of the plans that spread nothing.
    Impossible,
    /// The time ran out.
    Late,
}

pub(crate) struct Master {
    /// None after the solver failed.
    model: Option<Model>,
    shed: Shed,
    /// Columns of the plans, by block, as far as they are in the model.
    weights: Vec<Vec<Col>>,
    block: Vec<Row>,
    /// What plans use, by material, in shares of the most: the solver's tolerance is in money for a
    /// unit, and a unit of a lb would make much of it.
    uses: Vec<Option<Row>>,
    /// A pair that is used opens its material.
    links: HashMap<usize, Row>,
    /// The pairs of those rows, in the order of the rows.
    linked: Vec<usize>,
    ranges: Ranges,
    /// Plans that the last fence shut out, by block and place.
    shut: Vec<(usize, usize)>,
    /// Seconds that the solver has counted.
    seconds: f64,
}

impl Master {
    pub fn new(parts: &Parts) -> Result<Self, PlanError> {
        let farm = parts.farm;
        let mut rows = RowProblem::default();
        let uses: Vec<Option<Col>> = parts
            .most
            .iter()
            .map(|most| (*most > 0.0).then(|| rows.add_column(0.0, 0.0..)))
            .collect();
        let used: Vec<Vec<(Col, f64)>> = uses
            .iter()
            .zip(&parts.most)
            .map(|(col, most)| col.iter().map(|c| (*c, *most)).collect())
            .collect();
        let held: Vec<bool> = parts.held.iter().map(|lb| *lb > 0.0).collect();
        let none = Fence::default();
        let shed = shed::add(
            farm,
            &Terms {
                used: &used,
                most: &parts.most,
                whole: false,
                held: &held,
                budget: true,
                opens: &parts.opens,
                fence: &none,
            },
            &mut rows,
        );
        let mut model = rows
            .try_optimise(Sense::Minimise)
            .map_err(mip::failed("taking the model"))?;
        mip::quiet(&mut model)?;
        let adding = mip::failed("adding a row");
        let mut block = Vec::with_capacity(parts.plots.len());
        for _ in &parts.plots {
            block.push(model.try_add_row(1.0..=1.0, []).map_err(&adding)?);
        }
        let mut of_material = vec![None; uses.len()];
        for (m, col) in uses.iter().enumerate() {
            if let Some(col) = col {
                let row = model.try_add_row(parts.held[m] / parts.most[m].., [(*col, 1.0)]);
                of_material[m] = Some(row.map_err(&adding)?);
            }
        }
        Ok(Self {
            model: Some(model),
            ranges: shed.ranges(&none),
            shed,
            weights: vec![Vec::new(); parts.plots.len()],
            block,
            uses: of_material,
            links: HashMap::new(),
            linked: Vec::new(),
            shut: Vec::new(),
            seconds: 0.0,
        })
    }

    /// Takes up the plans that have come to be known.
    fn learn(&mut self, parts: &Parts) -> Result<(), PlanError> {
        let Some(model) = &mut self.model else {
            return Ok(());
        };
        for (b, known) in parts.known.iter().enumerate() {
            for part in &known[self.weights[b].len()..] {
                let mut factors = vec![(self.block[b], 1.0)];
                for (m, lb) in &part.used {
                    factors.extend(self.uses[*m].map(|row| (row, -lb / parts.most[*m])));
                }
                for (k, _) in &part.shares {
                    let cell = &parts.plots[b].cells[*k];
                    let Some(opened) =
                        self.shed.opened[cell.material].filter(|_| parts.opens[cell.material])
                    else {
                        continue;
                    };
                    let row = match self.links.get(&cell.pair) {
                        Some(row) => *row,
                        None => {
                            let row = model
                                .try_add_row(..=0.0, [(opened, -1.0)])
                                .map_err(mip::failed("adding a row"))?;
                            self.links.insert(cell.pair, row);
                            self.linked.push(cell.pair);
                            row
                        }
                    };
                    factors.push((row, 1.0));
                }
                let col = model
                    .try_add_column(part.cost, 0.0.., factors)
                    .map_err(mip::failed("adding a column"))?;
                self.weights[b].push(col);
            }
        }
        Ok(())
    }

    /// The cheapest mixture of the known plans within the fence.
    pub fn solve(
        &mut self,
        parts: &Parts,
        fence: &Fence,
        end: Instant,
    ) -> Result<Mixed, PlanError> {
        self.learn(parts)?;
        let Some(mut model) = self.model.take() else {
            return Ok(Mixed::Late);
        };
        let ranges = self.shed.ranges(fence);
        if ranges.iter().any(|(_, (low, high))| low > high) {
            self.model = Some(model);
            return Ok(Mixed::Impossible);
        }
        for (new, old) in ranges.iter().zip(&self.ranges) {
            if new != old {
                model.change_column_bounds(new.0, new.1.0..=new.1.1);
            }
        }
        self.ranges = ranges;
        let shut = shut(parts, fence);
        for (b, place) in self.shut.iter().filter(|s| !shut.contains(s)) {
            model.change_column_bounds(self.weights[*b][*place], 0.0..);
        }
        for (b, place) in shut.iter().filter(|s| !self.shut.contains(s)) {
            model.change_column_bounds(self.weights[*b][*place], 0.0..=0.0);
        }
        self.shut = shut;
        let began = Instant::now();
        let left = end.saturating_duration_since(began).as_secs_f64();
        // The solver's clock goes on from one run to the next.
        model
            .try_set_option("time_limit", self.seconds + left)
            .map_err(mip::failed("setting an option"))?;
        let solved = model.try_solve().map_err(mip::failed("solving"))?;
        self.seconds += began.elapsed().as_secs_f64();
        let status = solved.status();
        let mixed = match status {
            HighsModelStatus::Optimal => {
                let solution = solved.get_solution();
                let value = solved.objective_value();
                Mixed::Mix(self.read(parts, solution.columns(), solution.dual_rows(), value))
            }
            HighsModelStatus::Infeasible | HighsModelStatus::UnboundedOrInfeasible => {
                Mixed::Impossible
            }
            _ => Mixed::Late,
        };
        self.model = Some(Model::from(solved));
        Ok(mixed)
    }

    fn read(&self, parts: &Parts, columns: &[f64], duals: &[f64], value: f64) -> Mix {
        let farm = parts.farm;
        let at = |col: Col| columns.get(col.index()).copied().unwrap_or_default();
        // Rows come in the order in which they were added; blocks, materials, links are the last.
        let rows = duals.len();
        let (links, uses) = (self.linked.len(), self.uses.iter().flatten().count());
        let first = rows.saturating_sub(links + uses + self.block.len());
        let dual = |place: usize| duals.get(place).copied().unwrap_or_default();
        let mut place = first + self.block.len();
        let lb = self
            .uses
            .iter()
            .zip(&parts.most)
            .map(|(row, most)| {
                row.map_or(0.0, |_| {
                    place += 1;
                    dual(place - 1).max(0.0) / most
                })
            })
            .collect();
        let mut price = Prices {
            lb,
            pair: Vec::new(),
        };
        if links > 0 {
            price.pair = vec![0.0; farm.pairs.len()];
            for (k, pair) in self.linked.iter().enumerate() {
                price.pair[*pair] = (-dual(first + self.block.len() + uses + k)).max(0.0);
            }
        }
        Mix {
            weights: self
                .weights
                .iter()
                .map(|cols| cols.iter().map(|c| at(*c)).collect())
                .collect(),
            price,
            value,
            worth: (0..self.block.len()).map(|b| dual(first + b)).collect(),
            shed: self.shed.seen(farm, at),
            lost: 2.0
                * TOLERANCE
                * (1.0
                    + self.uses.len() as f64
                    + self.ranges.iter().map(|(_, (_, high))| high).sum::<f64>()),
        }
    }
}

/// The known plans that do not keep to what the fence says of pairs, by block and place.
fn shut(parts: &Parts, fence: &Fence) -> Vec<(usize, usize)> {
    let mut all = Vec::new();
    for (pair, used) in &fence.pairs {
        let b = parts.farm.pairs[*pair].block;
        for (place, part) in parts.known[b].iter().enumerate() {
            let uses = part
                .shares
                .iter()
                .any(|(k, _)| parts.plots[b].cells[*k].pair == *pair);
            if uses != *used && !all.contains(&(b, place)) {
                all.push((b, place));
            }
        }
    }
    all
}
