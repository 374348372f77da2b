//! How the sum of signs of a row of tests is spread when there is no trend at all.

/// How many values are alike, group by group; a value without its like is a group of one.
pub(super) fn groups(sorted: &[f64]) -> Vec<usize> {
    sorted.chunk_by(|a, b| a == b).map(<[f64]>::len).collect()
}

/// Two-sided probability of |S| at least `s` among all orders of `n` values without ties, by counting.
///
/// Source: Kendall, Rank Correlation Methods: the counts follow the recurrence of inversions.
pub fn mann_kendall_exact(n: usize, s: i64) -> f64 {
    exact(&vec![1; n], s)
}

/// The same where some values are alike: every order of the values counted, those that only swap like
/// values once. The counts of inversions are products of Gaussian binomials (MacMahon).
pub(super) fn exact(groups: &[usize], s: i64) -> f64 {
    let mut counts = vec![1.0];
    let (mut placed, mut untied) = (0, 0);
    for size in groups {
        counts = product(&counts, &gaussian(placed + size, *size));
        untied += placed * size;
        placed += size;
    }
    let all: f64 = counts.iter().sum();
    let s = s.unsigned_abs() as usize;
    let tail: f64 = counts
        .iter()
        .enumerate()
        .filter(|(inversions, _)| untied.abs_diff(2 * inversions) >= s)
        .map(|(_, count)| count)
        .sum();
    (tail / all).min(1.0)
}

/// How many ways of placing `k` among `n` have 0, 1, 2 … inversions.
fn gaussian(n: usize, k: usize) -> Vec<f64> {
    // row[j] holds the counts for j of the places so far.
    let mut row: Vec<Vec<f64>> = vec![vec![1.0]];
    for length in 1..=n {
        let mut next = vec![vec![1.0]];
        for j in 1..=k.min(length) {
            let without = row.get(j).map_or(&[][..], |c| c);
            let with = &row[j - 1];
            let mut counts = vec![0.0; (without.len() + j).max(with.len())];
            for (i, count) in with.iter().enumerate() {
                counts[i] += count;
            }
            for (i, count) in without.iter().enumerate() {
                counts[i + j] += count;
            }
            next.push(counts);
        }
        row = next;
    }
    row.pop().unwrap_or_default()
}

fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; a.len() + b.len() - 1];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            out[i + j] += x * y;
        }
    }
    out
}

/// Variance of S with ties: (n(n−1)(2n+5) − Σ t(t−1)(2t+5)) / 18.
pub(super) fn variance(groups: &[usize]) -> f64 {
    let of = |n: usize| {
        let n = n as f64;
        n * (n - 1.0) * 2.0f64.mul_add(n, 5.0)
    };
    let ties: f64 = groups.iter().map(|t| of(*t)).sum();
    (of(groups.iter().sum()) - ties) / 18.0
}

/// S and its distance from nothing in standard errors, one step nearer for S being whole.
pub(super) fn z(s: i64, variance: f64) -> f64 {
    if variance > 0.0 {
        (s - s.signum()) as f64 / variance.sqrt()
    } else {
        0.0
    }
}
