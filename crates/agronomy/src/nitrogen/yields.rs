//! Moving a nitrogen figure from the yield its source prints it for to the yield that is expected.

use super::{NitrogenError, checked, constant};
use crate::crop::NitrogenRate;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// No vegetable yields this much; it is a slip of the unit.
const MOST_LB_PER_ACRE: f64 = 500_000.0;

/// A yield to the nearest hundred pounds: no one knows it closer.
fn rounded(lb_per_acre: f64) -> String {
    let hundreds = (lb_per_acre / 100.0).round() * 100.0;
    plain(
        if hundreds > 0.0 {
            hundreds
        } else {
            lb_per_acre
        },
        3,
    )
}

/// Adds the step that moves `figure`, which holds `rate`, to the expected yield, or the caution that
/// says why it stays.
pub(super) fn adjust(
    figure: &mut Figure,
    rate: &NitrogenRate,
    expected: Option<f64>,
) -> Result<(), NitrogenError> {
    if let Some(expected) = expected {
        checked(expected, MOST_LB_PER_ACRE, "yield in lb/acre")?;
    }
    let expected = expected.filter(|y| *y > 0.0);
    let (at, expected) = match (rate.at_yield, expected) {
        (Some(at), Some(expected)) => (at, expected),
        (Some(at), None) => {
            figure.caution(
                format!(
                    "This figure goes with the table’s yield, {} lb/acre: give the yield you expect.",
                    rounded(at.lb_per_acre)
                ),
                rate.source.clone(),
            );
            return Ok(());
        }
        (None, Some(expected)) => {
            figure.caution(
                format!(
                    "The source prints one rate and no rule for the yield: the figure is not moved to your {} lb/acre.",
                    rounded(expected)
                ),
                rate.source.clone(),
            );
            return Ok(());
        }
        (None, None) => return Ok(()),
    };
    let Some(step) = at.per_step else {
        figure.caution(
            format!(
                "This figure goes with the table’s yield, {} lb/acre, and no rule for another yield was read for this crop: it is not moved to your {} lb/acre.",
                rounded(at.lb_per_acre),
                rounded(expected)
            ),
            rate.source.clone(),
        );
        return Ok(());
    };
    let difference = (expected / at.lb_per_acre - 1.0) * 100.0;
    let change = difference / step.pct * step.lb_per_acre;
    let before = figure.value;
    figure.step(
        format!(
            "for a yield of {} lb/acre in place of the table’s {}",
            rounded(expected),
            rounded(at.lb_per_acre)
        ),
        (before + change).max(0.0),
        "lb N/acre",
        format!(
            "{} {} {} % / {} % × {} ({} kg/ha), not below 0",
            plain(before, 3),
            if change < 0.0 { "−" } else { "+" },
            plain(difference.abs(), 3),
            plain(step.pct, 3),
            plain(step.lb_per_acre, 3),
            plain(step.kg_per_ha, 3)
        ),
        Source::new(
            format!(
                "{}: ±{} kg N/ha for ±{} % of the yield, here in proportion between the steps",
                rate.source.text,
                plain(step.kg_per_ha, 3),
                plain(step.pct, 3)
            ),
            rate.source.evidence.max(Evidence::Derived),
        ),
    );
    for bound in [&mut figure.low, &mut figure.high] {
        *bound = bound.map(|v| (v + change).max(0.0));
    }
    let far = constant("yield_far_pct")?;
    if difference.abs() > far.value {
        figure.caution(
            format!(
                "Your yield lies {} % from the table’s, where a rule made for small differences is stretched: check the figure with your adviser.",
                plain(difference.abs(), 3)
            ),
            far.source.clone(),
        );
    }
    Ok(())
}
