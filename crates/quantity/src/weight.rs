use crate::{KG_PER_POUND, Mass};
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

/// A weight as it was read off a scale: whole hundredths of an ounce, so that sums come out to the ounce
/// whatever their order. Written in JSON as that whole number.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Weight(i64);

/// Hundredths of an ounce in a pound; exact.
const PER_POUND: f64 = 1_600.0;

impl Weight {
    pub const ZERO: Self = Self(0);

    pub const fn hundredths_of_an_ounce(count: i64) -> Self {
        Self(count)
    }

    /// To the nearest hundredth of an ounce.
    pub fn pounds(lb: f64) -> Self {
        Self((lb * PER_POUND).round() as i64)
    }

    /// To the nearest hundredth of an ounce.
    pub fn kilograms(kg: f64) -> Self {
        Self::pounds(kg / KG_PER_POUND)
    }

    /// So many of one weight.
    pub const fn times(self, count: u32) -> Self {
        Self(self.0.saturating_mul(count as i64))
    }

    pub const fn to_hundredths_of_an_ounce(self) -> i64 {
        self.0
    }

    pub fn to_pounds(self) -> f64 {
        self.0 as f64 / PER_POUND
    }

    pub fn to_mass(self) -> Mass {
        Mass::pounds(self.to_pounds())
    }

    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl Add for Weight {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Weight {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Weight {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Sum for Weight {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_keeps_what_the_scale_showed() {
        assert_eq!(Weight::pounds(0.1 + 0.2), Weight::pounds(0.3));
        assert_eq!(Weight::pounds(1.0).to_hundredths_of_an_ounce(), 1_600);
        assert_eq!(Weight::kilograms(0.453_592_37), Weight::pounds(1.0));
        let tenths: Weight = (0..10).map(|_| Weight::pounds(0.1)).sum();
        assert_eq!(tenths, Weight::pounds(1.0));
        assert_eq!(Weight::pounds(50.0).times(12).to_pounds(), 600.0);
    }
}
