use crate::{FT2_PER_ACRE, KG_PER_POUND, M3_PER_GALLON, METRES_PER_FOOT};
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, Div, Mul, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $base:ident, $($to:ident = $factor:expr, $says:literal);+ $(;)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            pub const ZERO: Self = Self(0.0);

            #[doc = concat!("From ", $unit, ".")]
            pub const fn $base(value: f64) -> Self {
                Self(value)
            }

            quantity!(@get $base, $unit);

            $(
                #[doc = concat!("From ", $says, ".")]
                pub fn $to(value: f64) -> Self {
                    Self(value * $factor)
                }
            )+

            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            pub fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, by: f64) -> Self {
                Self(self.0 * by)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, by: f64) -> Self {
                Self(self.0 / by)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, Add::add)
            }
        }
    };
    (@get $base:ident, $unit:literal) => {
        #[doc = concat!("The value in ", $unit, ".")]
        pub const fn si(self) -> f64 {
            self.0
        }
    };
}

quantity!(
    /// A length.
    Length, "metres", metres,
    feet = METRES_PER_FOOT, "international feet";
    inches = METRES_PER_FOOT / 12.0, "inches";
);

quantity!(
    /// An area of ground.
    Area, "square metres", square_metres,
    square_feet = METRES_PER_FOOT * METRES_PER_FOOT, "square feet";
    acres = FT2_PER_ACRE * METRES_PER_FOOT * METRES_PER_FOOT, "acres";
    hectares = 10_000.0, "hectares";
);

quantity!(
    /// A mass of material or nutrient.
    Mass, "kilograms", kilograms,
    pounds = KG_PER_POUND, "avoirdupois pounds";
    short_tons = 2_000.0 * KG_PER_POUND, "short tons of 2,000 lb";
    grams = 0.001, "grams";
    tonnes = 1_000.0, "metric tonnes";
);

quantity!(
    /// A volume of loose material.
    Volume, "cubic metres", cubic_metres,
    gallons = M3_PER_GALLON, "US gallons";
    cubic_feet = METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT, "cubic feet";
    cubic_yards = 27.0 * METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT, "cubic yards";
);

quantity!(
    /// A mass on an area.
    Rate, "kilograms per hectare", kg_per_ha,
    lb_per_acre = KG_PER_POUND / (FT2_PER_ACRE * METRES_PER_FOOT * METRES_PER_FOOT) * 10_000.0, "pounds per acre";
    short_tons_per_acre = 2_000.0 * KG_PER_POUND / (FT2_PER_ACRE * METRES_PER_FOOT * METRES_PER_FOOT) * 10_000.0, "short tons per acre";
    lb_per_1000_ft2 = KG_PER_POUND / (1_000.0 * METRES_PER_FOOT * METRES_PER_FOOT) * 10_000.0, "pounds per 1,000 square feet";
    lb_per_100_ft2 = KG_PER_POUND / (100.0 * METRES_PER_FOOT * METRES_PER_FOOT) * 10_000.0, "pounds per 100 square feet";
    grams_per_m2 = 10.0, "grams per square metre";
);

impl Length {
    pub fn to_feet(self) -> f64 {
        self / Self::feet(1.0)
    }
    pub fn to_inches(self) -> f64 {
        self / Self::inches(1.0)
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area::square_metres(self.si() * other.si())
    }
}

impl Area {
    pub fn to_square_feet(self) -> f64 {
        self / Self::square_feet(1.0)
    }
    pub fn to_acres(self) -> f64 {
        self / Self::acres(1.0)
    }
    pub fn to_hectares(self) -> f64 {
        self / Self::hectares(1.0)
    }
}

impl Mass {
    pub fn to_pounds(self) -> f64 {
        self / Self::pounds(1.0)
    }
}

impl Volume {
    pub fn to_gallons(self) -> f64 {
        self / Self::gallons(1.0)
    }
    pub fn to_cubic_feet(self) -> f64 {
        self / Self::cubic_feet(1.0)
    }
    pub fn to_cubic_yards(self) -> f64 {
        self / Self::cubic_yards(1.0)
    }
}

impl Rate {
    pub fn to_lb_per_acre(self) -> f64 {
        self / Self::lb_per_acre(1.0)
    }
    pub fn to_lb_per_1000_ft2(self) -> f64 {
        self / Self::lb_per_1000_ft2(1.0)
    }
    pub fn to_short_tons_per_acre(self) -> f64 {
        self / Self::short_tons_per_acre(1.0)
    }

    /// What the rate comes to on an area.
    pub fn on(self, area: Area) -> Mass {
        Mass::kilograms(self.si() * area.to_hectares())
    }
}

impl Div<Area> for Mass {
    type Output = Rate;
    fn div(self, area: Area) -> Rate {
        Rate::kg_per_ha(self.si() / area.to_hectares())
    }
}
