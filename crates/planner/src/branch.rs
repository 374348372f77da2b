//! The search for the best plan of one block against prices.

use crate::parts::Prices;
use crate::plot::{Line, Plot};
use crate::simplex::Simplex;

/// Shares below which nothing is spread.
const NONE: f64 = 1e-9;

/// Nodes after which a block's search ends with the bound that it then has.
const MOST_NODES: usize = 4_000;

/// What a search of one block found.
#[derive(Clone, Default)]
pub(crate) struct Found {
    /// Proven lower bound of money and priced materials together.
    pub bound: f64,
    /// Money and priced materials of the plan.
    pub value: f64,
    /// Money without the materials' prices.
    pub cost: f64,
    /// Shares by cell, in the cells' order.
    pub shares: Vec<(usize, f64)>,
    pub nodes: usize,
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    Free,
    In,
    Out,
}

#[derive(Clone, Copy, PartialEq)]
enum Visit {
    Open,
    Paid,
    Closed,
}

#[derive(Clone)]
struct Node {
    state: Vec<State>,
    visit: Vec<Visit>,
    /// Proven for what the node holds, from its parent.
    bound: f64,
}

/// Room that a search reuses.
pub(crate) struct Search {
    simplex: Simplex,
    columns: Vec<usize>,
    values: Vec<f64>,
    prices: Vec<f64>,
    /// Yearly mosts that a relaxation has once passed.
    years: Vec<usize>,
    /// Money for all of a cell, its price included.
    money: Vec<f64>,
    /// Money for using a cell at all, its price included.
    fixed: Vec<f64>,
    shares: Vec<(usize, f64)>,
    worth: Vec<f64>,
    /// Cells of which it is decided whether they are used.
    decided: Vec<(usize, bool)>,
}

impl Search {
    pub fn new() -> Self {
        Self {
            simplex: Simplex::new(),
            columns: Vec::new(),
            values: Vec::new(),
            prices: Vec::new(),
            years: Vec::new(),
            money: Vec::new(),
            fixed: Vec::new(),
            shares: Vec::new(),
            worth: Vec::new(),
            decided: Vec::new(),
        }
    }

    /// Looks for the plan with the least money against the prices. Ends when what is left cannot
    /// better the plan by more than `slack`. `known` are plans of the block to begin with,
    /// and `decided` says of cells whether they are used. A bound of infinity says that no plan is so.
    pub fn run<'p>(
        &mut self,
        plot: &Plot,
        price: &Prices,
        slack: f64,
        known: impl Iterator<Item = &'p [(usize, f64)]>,
        decided: &[(usize, bool)],
    ) -> Found {
        self.decided.clear();
        self.decided.extend_from_slice(decided);
        self.years.clear();
        self.money.clear();
        self.money
            .extend(plot.cells.iter().map(|c| c.money(price.lb[c.material])));
        self.fixed.clear();
        self.fixed
            .extend(plot.cells.iter().map(|c| c.fixed() + price.using(c.pair)));
        let mut best = Found {
            value: f64::INFINITY,
            ..Found::default()
        };
        self.offer(plot, price, &[], &mut best);
        for shares in known {
            self.offer(plot, price, shares, &mut best);
        }
        let mut root = Node {
            state: (0..plot.cells.len())
                .map(|k| {
                    let shut = plot.few() == Some(0) && !plot.holds(plot.cells[k].material);
                    if shut || decided.contains(&(k, false)) {
                        State::Out
                    } else {
                        State::Free
                    }
                })
                .collect(),
            visit: plot
                .visit
                .iter()
                .map(|v| if *v > 0.0 { Visit::Open } else { Visit::Paid })
                .collect(),
            bound: f64::NEG_INFINITY,
        };
        for (k, _) in decided.iter().filter(|(_, used)| *used) {
            if root.state[*k] == State::Out {
                best.bound = f64::INFINITY;
                return best;
            }
            take_in(plot, &mut root, *k);
            root.visit[plot.cells[*k].pass] = Visit::Paid;
        }
        let mut floor = f64::INFINITY;
        let mut stack = vec![root];
        while let Some(mut node) = stack.pop() {
            if node.bound >= best.value - slack {
                floor = floor.min(node.bound);
                continue;
            }
            if best.nodes >= MOST_NODES {
                floor = floor.min(node.bound);
                continue;
            }
            best.nodes += 1;
            if let Some(bound) = self.look(plot, price, slack, &mut node, &mut best, &mut stack) {
                floor = floor.min(bound);
            }
        }
        best.bound = floor.min(best.value);
        best
    }

    /// Takes a plan over when it keeps every rule and is better.
    fn offer(&self, plot: &Plot, price: &Prices, shares: &[(usize, f64)], best: &mut Found) {
        let as_decided = |(k, used): &(usize, bool)| shares.iter().any(|s| s.0 == *k) == *used;
        if !self.decided.iter().all(as_decided) {
            return;
        }
        let Some(cost) = plot.cost(shares) else {
            return;
        };
        let priced: f64 = shares
            .iter()
            .map(|(k, u)| {
                let cell = &plot.cells[*k];
                price.lb[cell.material] * cell.high * u + price.using(cell.pair)
            })
            .sum();
        if cost + priced < best.value {
            best.value = cost + priced;
            best.cost = cost;
            best.shares = shares.to_vec();
        }
    }

    /// Bounds a node, fixes what cannot be otherwise, and branches. A node that ends here gives
    /// its bound back.
    fn look(
        &mut self,
        plot: &Plot,
        price: &Prices,
        slack: f64,
        node: &mut Node,
        best: &mut Found,
        stack: &mut Vec<Node>,
    ) -> Option<f64> {
        let crowded = plot.years.iter().any(|(cells, limit)| {
            let least: f64 = cells
                .iter()
                .filter(|(k, _)| node.state[*k] == State::In)
                .map(|(k, factor)| factor * plot.cells[*k].low)
                .sum();
            least > limit + 1e-9
        });
        if crowded {
            return None;
        }
        loop {
            self.relax(plot, node);
            if !self.add_year(plot) {
                break;
            }
        }
        let bound = self.bound(plot, node).max(node.bound);
        node.bound = bound;
        self.shares.clear();
        for (column, k) in self.columns.iter().enumerate() {
            let low = if node.state[*k] == State::In {
                plot.cells[*k].low
            } else {
                0.0
            };
            let u = (self.values[column] + low).min(1.0);
            if u > NONE {
                self.shares.push((*k, u));
            }
        }
        let shares = std::mem::take(&mut self.shares);
        self.try_rounded(plot, price, &shares, best);
        let ended = if bound >= best.value - slack {
            Some(bound)
        } else {
            self.fix(plot, node, best.value - slack);
            if shares.iter().any(|(k, _)| node.state[*k] == State::Out) {
                // What the relaxation used is out by now: look again.
                stack.push(node.clone());
                self.shares = shares;
                return None;
            }
            match self.choose(plot, node, &shares) {
                Some(children) => {
                    stack.extend(children);
                    None
                }
                // The relaxation is a plan; its cost was offered already.
                None => Some(node.bound),
            }
        };
        self.shares = shares;
        ended
    }

    /// Solves the node's linear program.
    fn relax(&mut self, plot: &Plot, node: &Node) {
        self.columns.clear();
        self.columns
            .extend((0..plot.cells.len()).filter(|k| node.state[*k] != State::Out));
        let (n, lines) = (self.columns.len(), plot.lines.len());
        let rows = lines + self.years.len();
        let cols = n + 4 * lines + self.years.len();
        self.simplex.clear(rows, cols);
        for (column, k) in self.columns.iter().enumerate() {
            let cell = &plot.cells[*k];
            if node.state[*k] == State::In {
                self.simplex.column(column, self.money[*k], 1.0 - cell.low);
            } else {
                self.simplex
                    .column(column, self.money[*k] + self.fixed[*k], 1.0);
            }
            for l in 0..lines {
                let share = cell.share(l);
                if share != 0.0 {
                    self.simplex.put(l, column, share);
                }
            }
        }
        for (l, line) in plot.lines.iter().enumerate() {
            let taken: f64 = self
                .columns
                .iter()
                .filter(|k| node.state[**k] == State::In)
                .map(|k| plot.cells[*k].share(l) * plot.cells[*k].low)
                .sum();
            self.line(l, n + 4 * l, line, line.rhs - taken);
        }
        for (y, year) in self.years.iter().enumerate() {
            let (row, slack) = (lines + y, n + 4 * lines + y);
            let (cells, limit) = &plot.years[*year];
            let mut room = *limit;
            for (k, factor) in cells {
                if let Ok(column) = self.columns.binary_search(k) {
                    self.simplex.put(row, column, *factor);
                    if node.state[*k] == State::In {
                        room -= factor * plot.cells[*k].low;
                    }
                }
            }
            self.simplex.put(row, slack, 1.0);
            self.simplex.base(row, slack, room.max(0.0));
        }
        self.simplex.run();
        self.simplex.values(&mut self.values);
        self.prices.clear();
        for (l, line) in plot.lines.iter().enumerate() {
            // The price of a row is what its free column lacks.
            self.prices.push(line.below - self.simplex.d[n + 4 * l]);
        }
        for y in 0..self.years.len() {
            self.prices.push(-self.simplex.d[n + 4 * lines + y]);
        }
    }

    /// Columns of a line, with the one that fits as the first basis.
    fn line(&mut self, row: usize, first: usize, line: &Line, rhs: f64) {
        let [below, between, over, beyond] = [first, first + 1, first + 2, first + 3];
        self.simplex.column(below, line.below, f64::INFINITY);
        self.simplex.column(between, line.between.1, line.between.0);
        self.simplex.column(over, line.over.1, line.over.0.max(0.0));
        let end = if line.capped { f64::INFINITY } else { 0.0 };
        self.simplex.column(beyond, Line::never(), end);
        for (column, factor) in [(below, 1.0), (between, 1.0), (over, -1.0), (beyond, -1.0)] {
            self.simplex.put(row, column, factor);
        }
        if rhs > line.between.0 {
            if line.between.0 > 0.0 {
                self.simplex.lift(between);
            }
            self.simplex.base(row, below, rhs - line.between.0);
        } else if rhs >= 0.0 {
            self.simplex.base(row, between, rhs);
        } else if -rhs <= line.over.0 {
            self.simplex.base(row, over, -rhs);
        } else {
            if line.over.0 > 0.0 {
                self.simplex.lift(over);
            }
            self.simplex.base(row, beyond, -rhs - line.over.0);
        }
    }

    /// Takes up a yearly most that the relaxation passes.
    fn add_year(&mut self, plot: &Plot) -> bool {
        for (y, (cells, limit)) in plot.years.iter().enumerate() {
            if self.years.contains(&y) {
                continue;
            }
            let all: f64 = cells
                .iter()
                .filter_map(|(k, f)| {
                    self.columns
                        .binary_search(k)
                        .ok()
                        .map(|c| f * self.values[c])
                })
                .sum();
            if all > limit + 1e-9 {
                self.years.push(y);
                return true;
            }
        }
        false
    }

    /// The bound that the row prices prove, and what each cell adds to it.
    fn bound(&mut self, plot: &Plot, node: &Node) -> f64 {
        let mut sum = plot.base();
        for (l, line) in plot.lines.iter().enumerate() {
            sum += line.least(&mut self.prices[l]);
        }
        let lines = plot.lines.len();
        for (y, year) in self.years.iter().enumerate() {
            let price = &mut self.prices[lines + y];
            *price = price.min(0.0);
            sum += *price * plot.years[*year].1;
        }
        for (t, visit) in node.visit.iter().enumerate() {
            if *visit == Visit::Paid {
                sum += plot.visit[t];
            }
        }
        self.worth.clear();
        self.worth.resize(plot.cells.len(), 0.0);
        for k in &self.columns {
            let cell = &plot.cells[*k];
            let mut reduced = self.money[*k];
            for l in 0..lines {
                reduced -= self.prices[l] * cell.share(l);
            }
            for (y, year) in self.years.iter().enumerate() {
                let row = &plot.years[*year].0;
                if let Some((_, factor)) = row.iter().find(|(c, _)| c == k) {
                    reduced -= self.prices[lines + y] * factor;
                }
            }
            let worth = self.fixed[*k] + reduced.min(reduced * cell.low);
            self.worth[*k] = worth;
            sum += if node.state[*k] == State::In {
                worth
            } else {
                worth.min(0.0)
            };
        }
        sum
    }

    /// Fixes what could not be otherwise in any plan below the limit.
    fn fix(&mut self, plot: &Plot, node: &mut Node, limit: f64) {
        for (t, visit) in node.visit.iter_mut().enumerate() {
            if *visit != Visit::Open {
                continue;
            }
            let gain: f64 = self
                .columns
                .iter()
                .filter(|k| plot.cells[**k].pass == t && node.state[**k] == State::Free)
                .map(|k| self.worth[*k].min(0.0))
                .sum();
            if node.bound + plot.visit[t] >= limit {
                *visit = Visit::Closed;
                for (k, cell) in plot.cells.iter().enumerate() {
                    if cell.pass == t {
                        node.state[k] = State::Out;
                    }
                }
            } else if node.bound - gain >= limit {
                *visit = Visit::Paid;
                node.bound += plot.visit[t];
            }
        }
        for k in &self.columns {
            if node.state[*k] != State::Free {
                continue;
            }
            let worth = self.worth[*k];
            if worth >= 0.0 && node.bound + worth >= limit {
                node.state[*k] = State::Out;
            } else if worth < 0.0 && node.bound - worth >= limit {
                take_in(plot, node, *k);
            }
        }
    }

    /// Offers the relaxation's own amounts and those that are large enough.
    fn try_rounded(
        &mut self,
        plot: &Plot,
        price: &Prices,
        shares: &[(usize, f64)],
        best: &mut Found,
    ) {
        let mut kept: Vec<(usize, f64)> = Vec::with_capacity(shares.len());
        let mut by_worth: Vec<&(usize, f64)> = shares.iter().collect();
        by_worth.sort_by(|a, b| self.worth[a.0].total_cmp(&self.worth[b.0]));
        for (k, u) in by_worth {
            let cell = &plot.cells[*k];
            if *u < cell.low / 2.0 || kept.iter().any(|(j, _)| cell.clash().contains(j)) {
                continue;
            }
            kept.push((*k, u.max(cell.low)));
        }
        kept.sort_by_key(|(k, _)| *k);
        self.offer(plot, price, &kept, best);
        // Without what the fixed cost is not worth.
        let firm: Vec<(usize, f64)> = kept.iter().copied().filter(|(_, u)| *u > 0.1).collect();
        if firm.len() < kept.len() {
            self.offer(plot, price, &firm, best);
        }
    }

    /// Two nodes that part the node's plans; none when the relaxation is itself a plan.
    fn choose(&self, plot: &Plot, node: &Node, shares: &[(usize, f64)]) -> Option<[Node; 2]> {
        // A pass that is used and not paid for.
        let mut use_of = vec![0.0; node.visit.len()];
        for (k, u) in shares {
            if node.state[*k] != State::Out {
                use_of[plot.cells[*k].pass] += u;
            }
        }
        let pass = (0..use_of.len())
            .filter(|t| node.visit[*t] == Visit::Open && use_of[*t] > 0.0)
            .max_by(|a, b| use_of[*a].total_cmp(&use_of[*b]));
        if let Some(t) = pass {
            let (mut paid, mut closed) = (node.clone(), node.clone());
            paid.visit[t] = Visit::Paid;
            paid.bound += plot.visit[t];
            closed.visit[t] = Visit::Closed;
            for (k, cell) in plot.cells.iter().enumerate() {
                if cell.pass == t {
                    closed.state[k] = State::Out;
                }
            }
            return Some([closed, paid]);
        }
        let free = |k: usize| node.state[k] == State::Free;
        let clash = shares.iter().find(|(k, _)| {
            free(*k)
                && shares
                    .iter()
                    .any(|(j, _)| plot.cells[*k].clash().contains(j))
        });
        let many = || {
            plot.few()
                .is_some_and(|few| plot.kinds(shares.iter().map(|s| s.0)) > few)
        };
        let split = if let Some((k, _)) = clash {
            Some(*k)
        } else if many() {
            shares
                .iter()
                .filter(|(k, _)| free(*k) && !plot.holds(plot.cells[*k].material))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(k, _)| *k)
        } else {
            // What the relaxation pays too little for, or spreads too thin.
            shares
                .iter()
                .filter(|(k, _)| free(*k))
                .map(|(k, u)| {
                    let cell = &plot.cells[*k];
                    let thin = (cell.low - u).max(0.0) * (1.0 + self.money[*k].abs());
                    (*k, self.fixed[*k] * (1.0 - u) + thin)
                })
                .filter(|(_, lost)| *lost > 1e-9)
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(k, _)| k)
        }?;
        let (mut with, mut without) = (node.clone(), node.clone());
        take_in(plot, &mut with, split);
        without.state[split] = State::Out;
        let u = shares.iter().find(|s| s.0 == split).map_or(0.0, |s| s.1);
        Some(if u < 0.25 && u < plot.cells[split].low {
            [with, without]
        } else {
            [without, with]
        })
    }
}

/// Uses a cell, and shuts those that may then not be used.
fn take_in(plot: &Plot, node: &mut Node, k: usize) {
    node.state[k] = State::In;
    for j in plot.cells[k].clash() {
        node.state[*j] = State::Out;
    }
    let Some(few) = plot.few() else { return };
    let within = |node: &Node| -> Vec<usize> {
        let mut kinds: Vec<usize> = (0..plot.cells.len())
            .filter(|j| node.state[*j] == State::In)
            .map(|j| plot.cells[j].material)
            .filter(|m| !plot.holds(*m))
            .collect();
        kinds.dedup();
        kinds
    };
    let kinds = within(node);
    if kinds.len() >= few {
        for (j, cell) in plot.cells.iter().enumerate() {
            if node.state[j] == State::Free
                && !kinds.contains(&cell.material)
                && !plot.holds(cell.material)
            {
                node.state[j] = State::Out;
            }
        }
    }
}
