//! The shortest walk through some places.

use crate::random::Chance;
use geo::Coord;

/// Up to here the shortest walk is found for certain.
const MOST_EXACT: usize = 14;
/// Knocks out of a good walk in search of a better one.
const KNOCKS: usize = 400;
/// The longest run of places that is moved as a whole.
const LONGEST_RUN: usize = 3;

/// The order of a walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Places by their number in the list, from 0, in the order in which they are reached.
    pub order: Vec<usize>,
    /// In the unit of the places.
    pub length: f64,
    /// Whether it is certainly the shortest.
    pub certain: bool,
}

/// The distances of a walk: place 0 is the start.
struct Steps {
    n: usize,
    far: Vec<f64>,
    back: bool,
}

impl Steps {
    fn new(start: Coord, places: &[Coord], back: bool) -> Self {
        let all: Vec<Coord> = std::iter::once(start)
            .chain(places.iter().copied())
            .collect();
        let n = all.len();
        let far = all
            .iter()
            .flat_map(|a| all.iter().map(|b| (a.x - b.x).hypot(a.y - b.y)))
            .collect();
        Self { n, far, back }
    }

    fn step(&self, a: usize, b: usize) -> f64 {
        self.far[a * self.n + b]
    }

    /// What comes after the last place.
    fn home(&self, last: usize) -> f64 {
        if self.back { self.step(last, 0) } else { 0.0 }
    }

    /// The step from a place to the next of a walk, or home.
    fn on(&self, from: usize, to: Option<&usize>) -> f64 {
        to.map_or_else(|| self.home(from), |to| self.step(from, *to))
    }

    fn length(&self, walk: &[usize]) -> f64 {
        walk.iter()
            .enumerate()
            .map(|(at, place)| self.on(*place, walk.get(at + 1)))
            .sum()
    }
}

/// The shortest walk from a start through every place, and back to the start where asked; straight
/// from place to place.
///
/// For up to 14 places by dynamic programming (Held and Karp, J. SIAM 10 (1962) 196-210; Bellman, J. ACM
/// 9 (1962) 61-63), which is certain; for more by exchanging two steps (Croes, Operations Research 6
/// (1958) 791-812) and moving runs of up to three places (Or, 1976), begun again from a knocked walk
/// (Martin, Otto and Felten, Complex Systems 5 (1991) 299-326) some hundred times.
pub fn shortest_walk(start: Coord, places: &[Coord], back: bool) -> Walk {
    let steps = Steps::new(start, places, back);
    let certain = places.len() <= MOST_EXACT;
    let walk = if certain {
        exact(&steps)
    } else {
        search(&steps)
    };
    Walk {
        length: steps.length(&walk),
        order: walk.iter().skip(1).map(|place| place - 1).collect(),
        certain,
    }
}

/// The walk as numbers of places with the start first.
fn exact(steps: &Steps) -> Vec<usize> {
    let m = steps.n - 1;
    if m == 0 {
        return vec![0];
    }
    let sets = 1usize << m;
    // The least way through a set of places that ends at one of them, and the one before that.
    let mut least = vec![f64::INFINITY; sets * m];
    let mut before = vec![0u8; sets * m];
    for at in 0..m {
        least[(1 << at) * m + at] = steps.step(0, at + 1);
    }
    for set in 1..sets {
        for last in 0..m {
            let so_far = least[set * m + last];
            if set >> last & 1 == 0 || so_far.is_infinite() {
                continue;
            }
            for next in (0..m).filter(|next| set >> next & 1 == 0) {
                let with = (set | 1 << next) * m + next;
                let length = so_far + steps.step(last + 1, next + 1);
                if length < least[with] {
                    least[with] = length;
                    before[with] = last as u8;
                }
            }
        }
    }
    let mut set = sets - 1;
    let whole = |last: &usize| least[set * m + last] + steps.home(last + 1);
    let mut last = (0..m)
        .min_by(|a, b| whole(a).total_cmp(&whole(b)))
        .unwrap_or(0);
    let mut walk = Vec::with_capacity(steps.n);
    while set != 0 {
        walk.push(last + 1);
        let earlier = usize::from(before[set * m + last]);
        set &= !(1 << last);
        last = earlier;
    }
    walk.push(0);
    walk.reverse();
    walk
}

fn search(steps: &Steps) -> Vec<usize> {
    let mut best = nearest_first(steps);
    improve(steps, &mut best);
    let mut length = steps.length(&best);
    // The same places give the same walk.
    let mut chance = Chance::new(steps.n as u64);
    let (mut now, mut now_length) = (best.clone(), length);
    for _ in 0..KNOCKS {
        let mut other = knock(&now, &mut chance);
        improve(steps, &mut other);
        let other_length = steps.length(&other);
        if other_length < now_length + 1e-9 {
            (now, now_length) = (other, other_length);
        }
        if now_length < length - 1e-9 {
            (best, length) = (now.clone(), now_length);
        }
    }
    best
}

fn nearest_first(steps: &Steps) -> Vec<usize> {
    let mut left: Vec<usize> = (1..steps.n).collect();
    let mut walk = vec![0];
    let mut here = 0;
    while let Some((at, next)) = left
        .iter()
        .enumerate()
        .min_by(|a, b| steps.step(here, *a.1).total_cmp(&steps.step(here, *b.1)))
        .map(|(at, next)| (at, *next))
    {
        left.swap_remove(at);
        walk.push(next);
        here = next;
    }
    walk
}

/// Cuts the walk into four and joins them in another order; the start stays.
fn knock(walk: &[usize], chance: &mut Chance) -> Vec<usize> {
    let n = walk.len();
    let mut cuts = [0; 3].map(|_: usize| 1 + chance.below(n - 1));
    cuts.sort_unstable();
    let [a, b, c] = cuts;
    [&walk[..a], &walk[b..c], &walk[a..b], &walk[c..]].concat()
}

/// Until no exchange of two steps and no move of a run makes the walk shorter.
fn improve(steps: &Steps, walk: &mut Vec<usize>) {
    while turn(steps, walk) || shift(steps, walk) {}
}

/// Turns a stretch of the walk around where that is shorter.
fn turn(steps: &Steps, walk: &mut [usize]) -> bool {
    let n = walk.len();
    let mut any = false;
    for i in 1..n {
        for j in i + 1..n {
            let (before, first, last) = (walk[i - 1], walk[i], walk[j]);
            let after = walk.get(j + 1);
            let old = steps.step(before, first) + steps.on(last, after);
            let new = steps.step(before, last) + steps.on(first, after);
            if new < old - 1e-9 {
                walk[i..=j].reverse();
                any = true;
            }
        }
    }
    any
}

/// Moves a short run of places to where it costs less, turned around or not.
fn shift(steps: &Steps, walk: &mut Vec<usize>) -> bool {
    let n = walk.len();
    for run in 1..=LONGEST_RUN.min(n - 1) {
        for i in 1..=n - run {
            let (before, first, last) = (walk[i - 1], walk[i], walk[i + run - 1]);
            let after = walk.get(i + run);
            let gain = steps.step(before, first) + steps.on(last, after) - steps.on(before, after);
            // Between each two that stay next to each other, and after the last.
            for j in (0..n).filter(|j| *j + 1 < i || *j >= i + run) {
                let (left, right) = (walk[j], walk.get(j + 1));
                let open = steps.on(left, right);
                let straight = steps.step(left, first) + steps.on(last, right) - open;
                let turned = steps.step(left, last) + steps.on(first, right) - open;
                if straight.min(turned) < gain - 1e-9 {
                    let mut moved: Vec<usize> = walk.drain(i..i + run).collect();
                    if turned < straight {
                        moved.reverse();
                    }
                    let to = if j < i { j + 1 } else { j + 1 - run };
                    walk.splice(to..to, moved);
                    return true;
                }
            }
        }
    }
    false
}
