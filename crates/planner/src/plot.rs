//! One block by itself, against a price per lb of every material: the best plan for it, with a
//! proven lower bound.
//!
//! Branch and bound over which materials go on in which pass. The relaxation of a node is a small
//! linear program; from its row prices the bound is worked out in closed form, one material at a
//! time with its least amount and fixed cost, so that it holds whatever digits the program lost.

use crate::farm::Farm;
use crate::{Nutrient, model};

/// Money per unit of a row beyond a ceiling; high enough that no plan pays it.
const NEVER: f64 = 1e7;

/// A material in a pass that may go on the block. Amounts are shares of the most (`high`).
pub(crate) struct Cell {
    pub pair: usize,
    pub material: usize,
    pub pass: usize,
    pub high: f64,
    pub low: f64,
    /// Money for spreading any of it.
    fixed: f64,
    penalty: f64,
    /// Share of each row that the most of it brings.
    share: Vec<f64>,
    clash: Vec<usize>,
}

/// One nutrient: money by distance from where neither shortage nor surplus is.
pub(crate) struct Line {
    pub n: usize,
    /// Distance to that point from what is held.
    pub rhs: f64,
    /// Length and cost per unit of each stretch; the first two lie below it.
    pub below: f64,
    pub between: (f64, f64),
    pub over: (f64, f64),
    /// Whether the surplus ends at a ceiling.
    pub capped: bool,
    scale: f64,
}

/// The block's own problem.
pub(crate) struct Plot {
    pub cells: Vec<Cell>,
    pub lines: Vec<Line>,
    /// Money that stands whatever is chosen.
    base: f64,
    /// Money for the first visit in a pass.
    pub visit: Vec<f64>,
    /// Cells that share a yearly most, and it in shares of each cell's most.
    pub years: Vec<(Vec<(usize, f64)>, f64)>,
    /// How many more different materials may come; those held do not count.
    few: Option<usize>,
    held: Vec<bool>,
}

impl Plot {
    pub fn new(farm: &Farm, b: usize) -> Self {
        let range = farm.of_block[b].clone();
        let fixed: Vec<usize> = range.clone().filter(|i| farm.pairs[*i].fixed).collect();
        let open: Vec<usize> = range.filter(|i| !farm.pairs[*i].fixed).collect();
        let mut held = vec![false; farm.stuff.len()];
        let mut visit = farm.visit.clone();
        let mut there = [0.0; Nutrient::ALL.len()];
        for i in &fixed {
            let pair = &farm.pairs[*i];
            held[pair.material] = true;
            visit[pair.pass] = 0.0;
            for (sum, share) in there.iter_mut().zip(farm.share(*i)) {
                *sum += share * pair.low;
            }
        }
        let mut plot =
            Self {
                cells: Vec::new(),
                lines: Vec::new(),
                base: 0.0,
                visit,
                years: Vec::new(),
                few: farm.problem.options.most_materials_per_block.map(|most| {
                    (most as usize).saturating_sub(held.iter().filter(|h| **h).count())
                }),
                held,
            };
        plot.draw_lines(farm, b, &there, &open);
        for i in &open {
            let pair = &farm.pairs[*i];
            plot.cells.push(Cell {
                pair: *i,
                material: pair.material,
                pass: pair.pass,
                high: pair.high,
                low: (pair.low / pair.high).min(1.0),
                fixed: farm.trip,
                penalty: farm.stuff[pair.material].penalty,
                share: plot
                    .lines
                    .iter()
                    .map(|line| farm.share(*i)[line.n] * pair.high * line.scale)
                    .collect(),
                clash: open
                    .iter()
                    .enumerate()
                    .filter(|(_, j)| farm.clash_of(*i, **j))
                    .map(|(k, _)| k)
                    .collect(),
            });
        }
        plot.count_years(farm, b, &fixed);
        plot
    }

    fn draw_lines(&mut self, farm: &Farm, b: usize, there: &[f64], open: &[usize]) {
        let ground = &farm.ground[b];
        for (n, there) in there.iter().enumerate() {
            if !model::in_reach(farm, b, n) {
                continue;
            }
            let (low, high) = (ground.low[n], ground.high[n]);
            let ceiling = ground.ceiling[n].unwrap_or(f64::INFINITY);
            let (below, between, over) = (ground.shortage[n], ground.between[n], ground.surplus[n]);
            if below <= 0.0 && between <= 0.0 && over <= 0.0 && ceiling.is_infinite() {
                continue;
            }
            let most = open
                .iter()
                .map(|i| (farm.share(*i)[n] * farm.pairs[*i].high).abs())
                .fold(0.0, f64::max);
            let scale = 1.0 / most.max(1e-6);
            // A ceiling below the need cuts the stretches off.
            let point = high.min(ceiling);
            let short = (low - point).max(0.0);
            self.base += short * below + (high - point.max(low)) * between;
            self.lines.push(Line {
                n,
                rhs: (point - there) * scale,
                below: below / scale,
                between: ((point - low).max(0.0) * scale, between / scale),
                over: ((ceiling - point) * scale, over / scale),
                capped: ceiling.is_finite(),
                scale,
            });
        }
    }

    fn count_years(&mut self, farm: &Farm, b: usize, fixed: &[usize]) {
        for m in 0..farm.stuff.len() {
            let Some(most) = farm.most_of_year(b, m) else {
                continue;
            };
            let cells: Vec<(usize, f64)> = self
                .cells
                .iter()
                .enumerate()
                .filter(|(_, c)| c.material == m)
                .map(|(k, c)| (k, c.high))
                .collect();
            let taken: f64 = fixed
                .iter()
                .filter(|i| farm.pairs[**i].material == m)
                .map(|i| farm.pairs[*i].low)
                .sum();
            let limit = (most - taken).max(0.0);
            let all: f64 = cells.iter().map(|c| c.1).sum();
            if cells.len() > 1 && all > limit {
                // In units of the limit, so that rows are alike in size.
                let unit = limit.max(1e-9);
                self.years.push((
                    cells.iter().map(|(k, high)| (*k, high / unit)).collect(),
                    limit / unit,
                ));
            }
        }
    }

    /// Money of a plan (shares by cell) without the materials' prices; none when it breaks a rule.
    pub fn cost(&self, shares: &[(usize, f64)]) -> Option<f64> {
        let mut sum = self.base;
        let mut visited = 0u64;
        for (k, u) in shares {
            let cell = &self.cells[*k];
            if *u < cell.low - 1e-9 || *u > 1.0 + 1e-9 {
                return None;
            }
            sum += cell.fixed + cell.penalty * cell.high * u;
            if visited >> cell.pass & 1 == 0 {
                visited |= 1 << cell.pass;
                sum += self.visit[cell.pass];
            }
            if shares.iter().any(|(j, _)| cell.clash.contains(j)) {
                return None;
            }
        }
        for (l, line) in self.lines.iter().enumerate() {
            let brought: f64 = shares
                .iter()
                .map(|(k, u)| self.cells[*k].share[l] * u)
                .sum();
            sum += line.cost(brought)?;
        }
        for (cells, limit) in &self.years {
            let all: f64 = cells
                .iter()
                .map(|(k, f)| f * shares.iter().find(|s| s.0 == *k).map_or(0.0, |s| s.1))
                .sum();
            if all > limit + 1e-9 {
                return None;
            }
        }
        if let Some(few) = self.few
            && self.kinds(shares.iter().map(|s| s.0)) > few
        {
            return None;
        }
        Some(sum)
    }

    /// How many different materials, those held aside.
    pub fn kinds(&self, cells: impl Iterator<Item = usize>) -> usize {
        let mut last = usize::MAX;
        let mut count = 0;
        for k in cells {
            let m = self.cells[k].material;
            if m != last && !self.held[m] {
                count += 1;
            }
            last = m;
        }
        count
    }

    pub fn few(&self) -> Option<usize> {
        self.few
    }

    pub fn base(&self) -> f64 {
        self.base
    }

    pub fn holds(&self, m: usize) -> bool {
        self.held[m]
    }
}

impl Cell {
    pub fn share(&self, line: usize) -> f64 {
        self.share[line]
    }

    pub fn clash(&self) -> &[usize] {
        &self.clash
    }

    pub fn fixed(&self) -> f64 {
        self.fixed
    }

    /// Money for all of it at a price per lb.
    pub fn money(&self, price: f64) -> f64 {
        (price + self.penalty) * self.high
    }
}

impl Line {
    /// Money for so much brought; none beyond a ceiling.
    fn cost(&self, brought: f64) -> Option<f64> {
        let lack = self.rhs - brought;
        if lack >= 0.0 {
            let between = lack.min(self.between.0);
            return Some(between * self.between.1 + (lack - between) * self.below);
        }
        if self.capped && -lack > self.over.0 + 1e-9 * (1.0 + self.rhs.abs()) {
            return None;
        }
        Some(-lack * self.over.1)
    }

    /// The least of the line's money less `price` per unit brought, over all that could be
    /// brought; the price is first brought into its range.
    pub fn least(&self, price: &mut f64) -> f64 {
        let lowest = if self.capped { -NEVER } else { -self.over.1 };
        *price = price.clamp(lowest, self.below.max(lowest));
        let mut sum = *price * self.rhs;
        sum += ((self.between.1 - *price) * self.between.0).min(0.0);
        if self.capped {
            sum += ((self.over.1 + *price) * self.over.0).min(0.0);
        }
        sum
    }

    pub fn never() -> f64 {
        NEVER
    }
}
