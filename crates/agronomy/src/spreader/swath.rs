use super::{MOST_WIDTH, SpreaderError, named, within};
use crate::working::Figure;
use quantity::plain;

/// The effective swath, ft: from where half of the middle’s catch falls on the left to where it falls on
/// the right, straight between pans.
///
/// `caught` is what fell into each pan from left to right, in any one unit, the middle pan on the path;
/// the middle’s catch is the mean of that pan and its neighbours. Its working goes into `figure`.
/// (Ohio State Univ. Extension Bulletin 817: twice the distance out from the center to where the rate is
/// one half of the average rate at the center.)
///
/// # Errors
/// Fewer than five pans, an even number of them, nothing in the middle, or a side on which the catch does
/// not fall to one half.
pub fn swath(spacing_ft: f64, caught: &[f64], figure: &mut Figure) -> Result<f64, SpreaderError> {
    within("a distance between pans", spacing_ft, MOST_WIDTH, "ft")?;
    if caught.len() < 5 || caught.len().is_multiple_of(2) || caught.len() > 99 {
        return Err(SpreaderError::Pans(format!(
            "Found {} pans, expected an odd number from 5 to 99, with the middle one on the path: lay as many to the left as to the right.",
            caught.len()
        )));
    }
    if caught.iter().any(|c| !c.is_finite() || *c < 0.0) {
        return Err(SpreaderError::Pans(
            "A pan holds nothing or more than nothing; one of those given is neither.".to_owned(),
        ));
    }
    let at = caught.len() / 2;
    let middle = caught[at - 1..=at + 1].iter().sum::<f64>() / 3.0;
    let (share, source) = named("swath_share");
    let half = middle * share / 100.0;
    if !(middle.is_finite() && middle > 0.0) {
        return Err(SpreaderError::Pans(
            "Nothing fell into the middle pans, so there is no half of it to look for: walk over them with the gate open."
                .to_owned(),
        ));
    }
    figure.step(
        "caught in the middle",
        middle,
        "of the pans’ unit",
        format!(
            "({} + {} + {}) / 3",
            plain(caught[at - 1], 4),
            plain(caught[at], 4),
            plain(caught[at + 1], 4)
        ),
        source.clone(),
    );
    let left: Vec<f64> = caught[..=at].iter().rev().copied().collect();
    let out = |side: &[f64], name: &str| {
        to_half(side, half).ok_or_else(|| {
            SpreaderError::Pans(format!(
                "On the {name} the catch does not fall to half of the middle’s: lay pans farther out and walk again."
            ))
        })
    };
    let (left, right) = (out(&left, "left")?, out(&caught[at..], "right")?);
    Ok(figure.step(
        "effective swath",
        (left + right) * spacing_ft,
        "ft",
        format!(
            "{} ft to the left + {} ft to the right, where {} falls",
            plain(left * spacing_ft, 3),
            plain(right * spacing_ft, 3),
            plain(half, 3)
        ),
        source,
    ))
}

/// How many pans out from the middle the catch falls to `half`, straight between two pans.
fn to_half(side: &[f64], half: f64) -> Option<f64> {
    side.windows(2).enumerate().find_map(|(i, pair)| {
        let (near, far) = (pair[0], pair[1]);
        (near > half && far <= half).then(|| i as f64 + (near - half) / (near - far))
    })
}
