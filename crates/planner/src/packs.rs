//! Whole packs for a mass.

use crate::Pack;

/// A count of each pack that covers `lb` at little money, and that money. None when nothing is
/// sold. Tries every pack as the one that fills most, with the cheapest single kind for the rest.
pub(crate) fn cover(packs: &[Pack], lb: f64) -> Option<(Vec<u32>, f64)> {
    if lb <= 1e-9 {
        return Some((vec![0; packs.len()], 0.0));
    }
    let mut best: Option<(Vec<u32>, f64)> = None;
    let mut offer = |counts: Vec<u32>| {
        let money = money(packs, &counts);
        if best.as_ref().is_none_or(|(_, least)| money < *least) {
            best = Some((counts, money));
        }
    };
    for (i, main) in packs.iter().enumerate() {
        let whole = (lb / main.lb + 1e-9).floor();
        for (j, other) in packs.iter().enumerate() {
            let rest = (lb - whole * main.lb).max(0.0);
            let mut counts = vec![0; packs.len()];
            counts[i] = whole as u32;
            counts[j] += ((rest / other.lb) - 1e-9).ceil().max(0.0) as u32;
            offer(counts);
        }
    }
    best
}

/// The money of [`cover`]; none when nothing is sold.
pub(crate) fn least_money(packs: &[Pack], lb: f64) -> Option<f64> {
    if lb <= 1e-9 {
        return Some(0.0);
    }
    packs
        .iter()
        .flat_map(|main| packs.iter().map(move |other| (main, other)))
        .map(|(main, other)| {
            let whole = (lb / main.lb + 1e-9).floor();
            let rest = (lb - whole * main.lb).max(0.0);
            whole * main.price + ((rest / other.lb) - 1e-9).ceil().max(0.0) * other.price
        })
        .min_by(f64::total_cmp)
}

pub(crate) fn money(packs: &[Pack], counts: &[u32]) -> f64 {
    packs
        .iter()
        .zip(counts)
        .map(|(p, n)| p.price * f64::from(*n))
        .sum()
}

pub(crate) fn mass(packs: &[Pack], counts: &[u32]) -> f64 {
    packs
        .iter()
        .zip(counts)
        .map(|(p, n)| p.lb * f64::from(*n))
        .sum()
}

/// Takes back every pack that is not needed for `lb`, the dearest first.
pub(crate) fn trim(packs: &[Pack], counts: &mut [u32], lb: f64) {
    let mut order: Vec<usize> = (0..packs.len()).collect();
    order.sort_by(|a, b| packs[*b].price.total_cmp(&packs[*a].price));
    for i in order {
        while counts[i] > 0 && mass(packs, counts) - packs[i].lb >= lb - 1e-9 {
            counts[i] -= 1;
        }
    }
}

/// Money per lb of the cheapest pack by mass; none when nothing is sold.
pub(crate) fn price_per_lb(packs: &[Pack]) -> Option<f64> {
    packs.iter().map(|p| p.price / p.lb).min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packs() -> Vec<Pack> {
        vec![
            Pack {
                label: "5 lb".into(),
                lb: 5.0,
                price: 9.0,
            },
            Pack {
                label: "50 lb".into(),
                lb: 50.0,
                price: 40.0,
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
    fn takes_back_what_is_not_needed() {
        let mut counts = vec![3, 2];
        trim(&packs(), &mut counts, 55.0);
        assert_eq!(counts, vec![1, 1]);
    }
}
