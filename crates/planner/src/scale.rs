//! The step to which an amount is weighed, and amounts on it.

use crate::farm::SLACK;
use crate::nutrient::PerNutrient;

/// The finest step that is ever used in place of a coarser one, lb: a quarter of an ounce, about
/// 7 g, which any kitchen scale shows.
pub(crate) const FINEST: f64 = 1.0 / 64.0;

/// A step of at most this share of an amount keeps the amount within 2.5 % of what was meant.
const SHARE: f64 = 1.0 / 20.0;

/// No amount needs more than three figures.
const FIGURES: f64 = 1.0 / 1_000.0;

/// The step for a material on a block: the usual one, halved until it suits the block's need.
/// See [`crate::Material::weigh_step_lb`] for the rule.
pub(crate) fn step(
    usual: f64,
    supply: &PerNutrient<f64>,
    need: &PerNutrient<f64>,
    shortage: &PerNutrient<f64>,
) -> f64 {
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for n in 0..need.len() {
        if supply[n] > 0.0 && need[n] > 0.0 && shortage[n] > 0.0 {
            let lb = need[n] / supply[n];
            least = least.min(lb);
            most = most.max(lb);
        }
    }
    let suits = (least * SHARE).max(most * FIGURES);
    let mut step = usual;
    while step > suits && step / 2.0 >= FINEST {
        step /= 2.0;
    }
    step
}

/// Down to a multiple of the step, forgiving what arithmetic and the solver lose.
pub(crate) fn down(lb: f64, step: f64) -> f64 {
    if step > 0.0 {
        ((lb / step) * (1.0 + SLACK) + 1e-6).floor() * step
    } else {
        lb
    }
}

/// Up to a multiple of the step.
pub(crate) fn up(lb: f64, step: f64) -> f64 {
    if step > 0.0 {
        ((lb / step) * (1.0 - SLACK) - 1e-6).ceil().max(0.0) * step
    } else {
        lb
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Nutrient;

    fn for_need(usual: f64, lb: f64) -> f64 {
        let (mut supply, mut need) = ([0.0; Nutrient::ALL.len()], [0.0; Nutrient::ALL.len()]);
        supply[Nutrient::N.at()] = 0.1;
        need[Nutrient::N.at()] = lb * 0.1;
        step(usual, &supply, &need, &[1.0; Nutrient::ALL.len()])
    }

    #[test]
    fn the_step_suits_the_need() {
        assert_eq!(for_need(0.25, 100.0), 0.25);
        assert_eq!(for_need(0.25, 5.0), 0.25);
        assert_eq!(for_need(0.25, 4.9), 0.125);
        assert_eq!(for_need(5.0, 20.0), 0.625);
        // Never finer than a quarter ounce, unless it was so from the start.
        assert_eq!(for_need(0.25, 0.001), FINEST);
        assert_eq!(for_need(5.0, 0.001), 0.019_531_25);
        assert_eq!(for_need(0.01, 0.001), 0.01);
        // A block that wants none of it, or a scale without steps, changes nothing.
        assert_eq!(for_need(0.25, 0.0), 0.25);
        assert_eq!(for_need(0.0, 1.0), 0.0);
    }

    #[test]
    fn a_small_need_beside_a_large_one_asks_for_no_more_than_three_figures() {
        let (mut supply, mut need) = ([0.0; Nutrient::ALL.len()], [0.0; Nutrient::ALL.len()]);
        (supply[0], need[0]) = (0.001, 3.0);
        (supply[1], need[1]) = (0.1, 0.2);
        assert_eq!(step(5.0, &supply, &need, &[1.0; Nutrient::ALL.len()]), 2.5);
    }
}
