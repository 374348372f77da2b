//! How far a bucket goes, and small amounts in cups.

use super::named;
use serde::Serialize;

/// How far a full bucket goes.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// So many whole beds, and so many ft of the next.
    Beds { beds: u32, feet: f64 },
    /// So many ft2.
    Ground { ft2: f64 },
}

fn above_zero(value: f64) -> Option<f64> {
    (value.is_finite() && value > 0.0).then_some(value)
}

/// How far a bucket of `bucket_lb` goes where each bed of `bed_length_ft` takes `lb_each`: `b = bucket /
/// each` beds, the broken part of which is `(b − ⌊b⌋) · length` ft. Without beds, `lb_each` is what 1,000
/// ft2 take, and the answer is `1,000 · bucket / each` ft2. None where one of them is not above zero.
pub fn goes(bucket_lb: f64, lb_each: f64, bed_length_ft: Option<f64>) -> Option<Reach> {
    let each = above_zero(bucket_lb)? / above_zero(lb_each)?;
    let each = above_zero(each)?;
    Some(match bed_length_ft {
        None => Reach::Ground {
            ft2: each * 1_000.0,
        },
        Some(length) => {
            let length = above_zero(length)?;
            let whole = each.floor().min(1e6);
            let feet = ((each - whole) * length).round();
            // What rounds to a whole bed is one.
            if feet >= length.round() {
                Reach::Beds {
                    beds: whole as u32 + 1,
                    feet: 0.0,
                }
            } else {
                Reach::Beds {
                    beds: whole as u32,
                    feet,
                }
            }
        }
    })
}

/// ft of walking that a bucket lasts at a rate in one pass (lb per 1,000 ft2) and a width in ft:
/// `1,000 · bucket / (rate · width)`; none where one of them is not above zero.
pub fn feet_per_bucket(bucket_lb: f64, rate: f64, width_ft: f64) -> Option<f64> {
    above_zero(1_000.0 * above_zero(bucket_lb)? / (above_zero(rate)? * above_zero(width_ft)?))
}

/// US cups that hold `lb` where a bucket of so many gallons holds `bucket_lb`:
/// `16 · gallons · lb / bucket`; none where one of them is not above zero.
pub fn cups(lb: f64, bucket_lb: f64, gallons: f64) -> Option<f64> {
    let (per_gallon, _) = named("cups_per_gallon");
    above_zero(per_gallon * above_zero(gallons)? * above_zero(lb)? / above_zero(bucket_lb)?)
}
