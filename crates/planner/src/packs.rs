//! Whole packs for a mass.

use crate::Pack;

/// Money for one pack when so many are bought at once.
pub(crate) fn price_at(pack: &Pack, count: u32) -> f64 {
    pack.breaks
        .iter()
        .filter(|b| count >= b.from_count)
        .map(|b| b.price)
        .fold(pack.price, f64::min)
}

/// Money per lb of one pack at its lowest price.
pub(crate) fn lowest_per_lb(pack: &Pack) -> f64 {
    pack.breaks
        .iter()
        .map(|b| b.price)
        .fold(pack.price, f64::min)
        / pack.lb
}

/// The count from which on a pack is sold.
pub(crate) fn least_count(pack: &Pack) -> u32 {
    pack.least_count.max(1)
}

/// The cheapest count of one pack that holds at least `lb`, and its money: the least that does,
/// or more of them at a lower price.
fn fill(pack: &Pack, lb: f64) -> (u32, f64) {
    let least = ((lb / pack.lb) - 1e-9).ceil().max(0.0) as u32;
    if least == 0 {
        return (0, 0.0);
    }
    let least = least.max(least_count(pack));
    let mut best = (least, f64::from(least) * price_at(pack, least));
    for more in pack.breaks.iter().filter(|b| b.from_count > least) {
        let money = f64::from(more.from_count) * more.price;
        if money < best.1 {
            best = (more.from_count, money);
        }
    }
    best
}

/// Calls `offer` with two packs, their counts, and the money, for every pair worth a look.
fn offers(
    packs: &[Pack],
    lb: f64,
    open: impl Fn(usize) -> bool,
    mut offer: impl FnMut((usize, u32), (usize, u32), f64),
) {
    for (i, main) in packs.iter().enumerate() {
        if !open(i) {
            continue;
        }
        let (alone, money) = fill(main, lb);
        offer((i, alone), (i, 0), money);
        let whole = (lb / main.lb + 1e-9).floor() as u32;
        if whole < least_count(main) || whole >= alone {
            continue;
        }
        let rest = (lb - f64::from(whole) * main.lb).max(0.0);
        for (j, other) in packs.iter().enumerate() {
            if j != i && open(j) {
                let (count, money) = fill(other, rest);
                let main = f64::from(whole) * price_at(main, whole);
                offer((i, whole), (j, count), main + money);
            }
        }
    }
}

/// A count of each pack that covers `lb` at little money, and that money. None when nothing is
/// sold. Tries every pack as the one that fills most, with the cheapest single kind for the rest.
pub(crate) fn cover(packs: &[Pack], lb: f64) -> Option<(Vec<u32>, f64)> {
    cover_where(packs, lb, |_| true)
}

/// [`cover`] with some of the packs alone.
pub(crate) fn cover_where(
    packs: &[Pack],
    lb: f64,
    open: impl Fn(usize) -> bool,
) -> Option<(Vec<u32>, f64)> {
    if lb <= 1e-9 {
        return Some((vec![0; packs.len()], 0.0));
    }
    type Pair = ((usize, u32), (usize, u32), f64);
    let mut best: Option<Pair> = None;
    offers(packs, lb, open, |main, other, money| {
        if best.is_none_or(|b| money < b.2) {
            best = Some((main, other, money));
        }
    });
    best.map(|(main, other, money)| {
        let mut counts = vec![0; packs.len()];
        counts[main.0] += main.1;
        counts[other.0] += other.1;
        (counts, money)
    })
}

/// The money of [`cover`]; none when nothing is sold.
pub(crate) fn least_money(packs: &[Pack], lb: f64) -> Option<f64> {
    if lb <= 1e-9 {
        return Some(0.0);
    }
    let mut best: Option<f64> = None;
    offers(
        packs,
        lb,
        |_| true,
        |_, _, money| {
            best = Some(best.map_or(money, |b| b.min(money)));
        },
    );
    best
}

pub(crate) fn money(packs: &[Pack], counts: &[u32]) -> f64 {
    packs
        .iter()
        .zip(counts)
        .map(|(p, n)| price_at(p, *n) * f64::from(*n))
        .sum()
}

pub(crate) fn mass(packs: &[Pack], counts: &[u32]) -> f64 {
    packs
        .iter()
        .zip(counts)
        .map(|(p, n)| p.lb * f64::from(*n))
        .sum()
}

/// Takes back every pack that is not needed for `lb` and whose return saves money, the dearest
/// first.
pub(crate) fn trim(packs: &[Pack], counts: &mut [u32], lb: f64) {
    let mut order: Vec<usize> = (0..packs.len()).collect();
    order.sort_by(|a, b| packs[*b].price.total_cmp(&packs[*a].price));
    for i in order {
        while counts[i] > 0 && mass(packs, counts) - packs[i].lb >= lb - 1e-9 {
            let fewer = if counts[i] > least_count(&packs[i]) {
                counts[i] - 1
            } else {
                0
            };
            let money = |n: u32| f64::from(n) * price_at(&packs[i], n);
            if money(fewer) > money(counts[i])
                || mass(packs, counts) - packs[i].lb * f64::from(counts[i] - fewer) < lb - 1e-9
            {
                break;
            }
            counts[i] = fewer;
        }
    }
}

/// Money per lb of the cheapest pack by mass; none when nothing is sold.
pub(crate) fn price_per_lb(packs: &[Pack]) -> Option<f64> {
    packs.iter().map(lowest_per_lb).min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::PriceBreak;

    fn packs() -> Vec<Pack> {
        vec![
            Pack {
                label: "5 lb".into(),
                lb: 5.0,
                price: 9.0,
                ..Pack::default()
            },
            Pack {
                label: "50 lb".into(),
                lb: 50.0,
                price: 40.0,
                ..Pack::default()
            },
        ]
    }

    #[test]
    fn covers_with_the_cheaper_mix() {
        assert_eq!(cover(&packs(), 53.0), Some((vec![1, 1], 49.0)));
        assert_eq!(cover(&packs(), 49.0), Some((vec![0, 1], 40.0)));
        assert_eq!(cover(&packs(), 4.0), Some((vec![1, 0], 9.0)));
        assert_eq!(cover(&packs(), 0.0), Some((vec![0, 0], 0.0)));
        assert_eq!(cover(&[], 1.0), None);
        for lb in [0.0, 0.1, 5.0, 5.1, 26.0, 49.0, 50.0, 53.0, 104.9] {
            let least = least_money(&packs(), lb);
            assert_eq!(least, cover(&packs(), lb).map(|c| c.1), "{lb}");
        }
    }

    #[test]
    fn a_lower_price_for_more_and_a_least_order_count() {
        let mut packs = packs();
        packs[1].breaks = vec![PriceBreak {
            from_count: 10,
            price: 30.0,
        }];
        // Eight at 40 cost more than ten at 30.
        assert_eq!(cover(&packs, 400.0), Some((vec![0, 10], 300.0)));
        assert_eq!(cover(&packs, 300.0), Some((vec![0, 6], 240.0)));
        packs[0].least_count = 4;
        assert_eq!(cover(&packs, 4.0), Some((vec![4, 0], 36.0)));
        assert_eq!(cover(&packs, 53.0), Some((vec![4, 1], 76.0)));
        // Taking the 50 lb pack away leaves 20 lb, which will not do; the four small ones go.
        let mut counts = vec![4, 1];
        trim(&packs, &mut counts, 48.0);
        assert_eq!(counts, vec![0, 1]);
    }

    #[test]
    fn takes_back_what_is_not_needed() {
        let mut counts = vec![3, 2];
        trim(&packs(), &mut counts, 55.0);
        assert_eq!(counts, vec![1, 1]);
    }
}
