//! A small dense simplex for columns between zero and an upper bound.
//!
//! It only has to find good prices of the rows: what is proven from them is worked out anew in
//! [`crate::plot`], so an early end or lost digits cost tightness, never truth.

/// A tableau in which every row has a basic column.
pub(crate) struct Simplex {
    rows: usize,
    cols: usize,
    /// Row by row.
    t: Vec<f64>,
    /// Reduced cost of each column.
    pub d: Vec<f64>,
    upper: Vec<f64>,
    at_upper: Vec<bool>,
    /// Basic column of each row, and its value.
    basis: Vec<usize>,
    value: Vec<f64>,
    basic: Vec<bool>,
}

const TINY: f64 = 1e-9;

impl Simplex {
    /// Empties the tableau for so many rows and columns.
    pub fn clear(&mut self, rows: usize, cols: usize) {
        self.rows = rows;
        self.cols = cols;
        self.t.clear();
        self.t.resize(rows * cols, 0.0);
        self.d.clear();
        self.d.resize(cols, 0.0);
        self.upper.clear();
        self.upper.resize(cols, f64::INFINITY);
        self.at_upper.clear();
        self.at_upper.resize(cols, false);
        self.basis.clear();
        self.basis.resize(rows, usize::MAX);
        self.value.clear();
        self.value.resize(rows, 0.0);
        self.basic.clear();
        self.basic.resize(cols, false);
    }

    pub fn new() -> Self {
        Self {
            rows: 0,
            cols: 0,
            t: Vec::new(),
            d: Vec::new(),
            upper: Vec::new(),
            at_upper: Vec::new(),
            basis: Vec::new(),
            value: Vec::new(),
            basic: Vec::new(),
        }
    }

    pub fn column(&mut self, col: usize, cost: f64, upper: f64) {
        self.d[col] = cost;
        self.upper[col] = upper;
    }

    pub fn put(&mut self, row: usize, col: usize, factor: f64) {
        self.t[row * self.cols + col] = factor;
    }

    /// Puts a nonbasic column at its upper bound.
    pub fn lift(&mut self, col: usize) {
        self.at_upper[col] = true;
    }

    /// Makes the column, which stands in this row alone, basic with the value; the row is divided
    /// by the column's factor.
    pub fn base(&mut self, row: usize, col: usize, value: f64) {
        let at = row * self.cols;
        let factor = self.t[at + col];
        if factor != 1.0 {
            for x in &mut self.t[at..at + self.cols] {
                *x /= factor;
            }
        }
        self.basis[row] = col;
        self.basic[col] = true;
        self.value[row] = value;
        let cost = self.d[col];
        if cost != 0.0 {
            for j in 0..self.cols {
                self.d[j] -= cost * self.t[at + j];
            }
        }
        self.d[col] = 0.0;
    }

    /// Goes to the optimum, or as far as the steps allow.
    pub fn run(&mut self) {
        let most = 20 + 4 * (self.rows + self.cols);
        for step in 0..most {
            let Some(enter) = self.entering(step > most / 2) else {
                return;
            };
            if !self.step(enter) {
                return;
            }
        }
    }

    fn entering(&self, first: bool) -> Option<usize> {
        let mut best = None;
        let mut most = TINY;
        for j in 0..self.cols {
            if self.basic[j] || self.upper[j] <= 0.0 {
                continue;
            }
            let gain = if self.at_upper[j] {
                self.d[j]
            } else {
                -self.d[j]
            };
            if gain > most {
                best = Some(j);
                if first {
                    break;
                }
                most = gain;
            }
        }
        best
    }

    fn step(&mut self, enter: usize) -> bool {
        let dir = if self.at_upper[enter] { -1.0 } else { 1.0 };
        let mut limit = self.upper[enter];
        let mut leave: Option<(usize, bool)> = None;
        let mut pivot = 0.0_f64;
        for i in 0..self.rows {
            let alpha = self.t[i * self.cols + enter] * dir;
            let (room, up) = if alpha > TINY {
                (self.value[i].max(0.0) / alpha, false)
            } else if alpha < -TINY {
                let upper = self.upper[self.basis[i]];
                ((upper - self.value[i]).max(0.0) / -alpha, true)
            } else {
                continue;
            };
            if room < limit - 1e-12 || (room <= limit + 1e-12 && alpha.abs() > pivot.abs()) {
                if room < limit {
                    limit = room;
                }
                leave = Some((i, up));
                pivot = alpha;
            }
        }
        if limit.is_infinite() {
            return false;
        }
        for i in 0..self.rows {
            self.value[i] -= self.t[i * self.cols + enter] * dir * limit;
        }
        let Some((row, up)) = leave else {
            self.at_upper[enter] = !self.at_upper[enter];
            return true;
        };
        let entered = if dir > 0.0 {
            limit
        } else {
            self.upper[enter] - limit
        };
        let old = self.basis[row];
        self.basic[old] = false;
        self.at_upper[old] = up;
        self.basic[enter] = true;
        self.at_upper[enter] = false;
        self.basis[row] = enter;
        self.value[row] = entered;
        self.eliminate(row, enter);
        true
    }

    fn eliminate(&mut self, row: usize, enter: usize) {
        let cols = self.cols;
        let at = row * cols;
        let factor = 1.0 / self.t[at + enter];
        for x in &mut self.t[at..at + cols] {
            *x *= factor;
        }
        let (before, rest) = self.t.split_at_mut(at);
        let (pivot, after) = rest.split_at_mut(cols);
        for other in before
            .chunks_exact_mut(cols)
            .chain(after.chunks_exact_mut(cols))
        {
            let f = other[enter];
            if f != 0.0 {
                for (x, p) in other.iter_mut().zip(pivot.iter()) {
                    *x -= f * p;
                }
                other[enter] = 0.0;
            }
        }
        let f = self.d[enter];
        if f != 0.0 {
            for (x, p) in self.d.iter_mut().zip(pivot.iter()) {
                *x -= f * p;
            }
            self.d[enter] = 0.0;
        }
    }

    /// The columns' values.
    pub fn values(&self, out: &mut Vec<f64>) {
        out.clear();
        out.extend((0..self.cols).map(|j| if self.at_upper[j] { self.upper[j] } else { 0.0 }));
        for (col, value) in self.basis.iter().zip(&self.value) {
            if let Some(place) = out.get_mut(*col) {
                *place = value.max(0.0);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_program() {
        // Least 2u + 3v + s with u + 2v + s = 4, u <= 1, v <= 1: u = 1, v = 1, s = 1 costs 6.
        let mut simplex = Simplex::new();
        simplex.clear(1, 3);
        simplex.column(0, 0.5, 1.0);
        simplex.column(1, 1.5, 1.0);
        simplex.column(2, 1.0, f64::INFINITY);
        simplex.put(0, 0, 1.0);
        simplex.put(0, 1, 2.0);
        simplex.put(0, 2, 1.0);
        simplex.base(0, 2, 4.0);
        simplex.run();
        let mut values = Vec::new();
        simplex.values(&mut values);
        assert_eq!(values, vec![1.0, 1.0, 1.0]);
    }
}
