//! Compact groups of equal size.

use crate::random::Chance;
use geo::Coord;

/// Beginnings of which the best end is taken.
const BEGINNINGS: usize = 3;
/// Rounds of exchange and new centres; each makes the groups more compact, and few are needed.
const MOST_ROUNDS: usize = 60;

fn square(a: Coord, b: Coord) -> f64 {
    (a.x - b.x).powi(2) + (a.y - b.y).powi(2)
}

/// Parts places into `groups` of equal size (their number must be a multiple), as compact as exchanges
/// make them: k-means with groups held to one size.
///
/// After Walvoort, Brus and de Gruijter, An R package for spatial coverage sampling and random sampling
/// from compact geographical strata by k-means, Computers & Geosciences 36 (2010) 1261-1267, whose
/// strata of equal area are reached by exchanging cells of a grid; here the cells are places by chance.
pub(crate) fn equal(places: &[Coord], groups: usize, chance: &mut Chance) -> Vec<Vec<usize>> {
    if groups == 0 || places.len() < groups {
        return Vec::new();
    }
    (0..BEGINNINGS)
        .map(|_| one(places, groups, chance))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, group)| {
            let mut members = vec![Vec::new(); groups];
            for (place, g) in group.into_iter().enumerate() {
                members[g].push(place);
            }
            members
        })
        .unwrap_or_default()
}

/// The sum of squared distances to the centres, and each place's group.
fn one(places: &[Coord], groups: usize, chance: &mut Chance) -> (f64, Vec<usize>) {
    let mut centres = far_apart(places, groups, chance);
    let mut group = fill(places, &centres);
    for _ in 0..MOST_ROUNDS {
        centres = middles(places, &group, groups);
        if !exchange(places, &centres, &mut group) {
            break;
        }
    }
    let spread = places
        .iter()
        .zip(&group)
        .map(|(p, g)| square(*p, centres[*g]))
        .sum();
    (spread, group)
}

/// Centres among the places, each chosen by its squared distance to those chosen already (Arthur and
/// Vassilvitskii, k-means++, SODA 2007).
fn far_apart(places: &[Coord], groups: usize, chance: &mut Chance) -> Vec<Coord> {
    let mut centres = vec![places[chance.below(places.len())]];
    let mut away: Vec<f64> = places.iter().map(|p| square(*p, centres[0])).collect();
    while centres.len() < groups {
        let mut left = chance.unit() * away.iter().sum::<f64>();
        let mut chosen = places.len() - 1;
        for (at, d) in away.iter().enumerate() {
            left -= d;
            if left < 0.0 {
                chosen = at;
                break;
            }
        }
        let centre = places[chosen];
        centres.push(centre);
        for (d, p) in away.iter_mut().zip(places) {
            *d = d.min(square(*p, centre));
        }
    }
    centres
}

/// Every place to the nearest centre that has room; those that would lose most come first.
fn fill(places: &[Coord], centres: &[Coord]) -> Vec<usize> {
    let room = places.len().div_ceil(centres.len());
    let mut order: Vec<(f64, usize)> = places
        .iter()
        .enumerate()
        .map(|(at, p)| {
            let (mut first, mut second) = (f64::INFINITY, f64::INFINITY);
            for c in centres {
                let d = square(*p, *c);
                if d < first {
                    (first, second) = (d, first);
                } else if d < second {
                    second = d;
                }
            }
            (first - second, at)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut taken = vec![0; centres.len()];
    let mut group = vec![0; places.len()];
    for (_, at) in order {
        let nearest = (0..centres.len())
            .filter(|g| taken[*g] < room)
            .min_by(|a, b| {
                square(places[at], centres[*a]).total_cmp(&square(places[at], centres[*b]))
            })
            .unwrap_or(0);
        group[at] = nearest;
        taken[nearest] += 1;
    }
    group
}

fn middles(places: &[Coord], group: &[usize], groups: usize) -> Vec<Coord> {
    let mut sums = vec![(Coord { x: 0.0, y: 0.0 }, 0.0); groups];
    for (p, g) in places.iter().zip(group) {
        sums[*g].0 = sums[*g].0 + *p;
        sums[*g].1 += 1.0;
    }
    sums.into_iter()
        .map(|(sum, n)| sum / f64::max(n, 1.0))
        .collect()
}

/// Exchanges places between two groups wherever both together lie nearer to their new centres; tells
/// whether any was. With the centres fixed each exchange lowers the sum, so the rounds come to an end.
fn exchange(places: &[Coord], centres: &[Coord], group: &mut [usize]) -> bool {
    let groups = centres.len();
    // For each pair of groups, what each member of the first gains by going to the second.
    let mut gains: Vec<Vec<(f64, usize)>> = vec![Vec::new(); groups * groups];
    for (at, p) in places.iter().enumerate() {
        let own = square(*p, centres[group[at]]);
        for (other, c) in centres.iter().enumerate() {
            if other != group[at] {
                gains[group[at] * groups + other].push((own - square(*p, *c), at));
            }
        }
    }
    for list in &mut gains {
        list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    }
    let least = 1e-9
        * centres
            .iter()
            .map(|c| c.x * c.x + c.y * c.y)
            .fold(1.0, f64::max);
    let mut moved = vec![false; places.len()];
    let mut any = false;
    for a in 0..groups {
        for b in a + 1..groups {
            let mut there = gains[a * groups + b]
                .iter()
                .filter(|(_, at)| group[*at] == a);
            let mut back = gains[b * groups + a]
                .iter()
                .filter(|(_, at)| group[*at] == b);
            let mut pairs = Vec::new();
            while let (Some((g, i)), Some((h, j))) = (
                there.find(|(_, at)| !moved[*at]),
                back.find(|(_, at)| !moved[*at]),
            ) {
                if g + h <= least {
                    break;
                }
                pairs.push((*i, *j));
            }
            for (i, j) in pairs {
                (moved[i], moved[j]) = (true, true);
                group.swap(i, j);
                any = true;
            }
        }
    }
    any
}
