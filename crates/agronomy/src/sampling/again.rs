//! When a piece of ground is to be tested again.

use super::{Reason, SamplingError, advice};
use serde::{Deserialize, Serialize};

/// What decides how often a piece of ground is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Situation {
    /// Annual vegetables in the open.
    Annual,
    Tunnel,
    Perennial,
}

/// Years after the last test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Again {
    /// From then on it is worth it.
    pub after: u8,
    /// By then it is to be done.
    pub by: u8,
    /// Published advice, that which was followed first; where sheets disagree all of them stand here.
    pub reasons: Vec<Reason>,
}

fn years(key: &str) -> Result<(u8, u8), SamplingError> {
    let found = advice(key)?;
    match (found.low, found.high) {
        (Some(low), Some(high)) if (1.0..=20.0).contains(&low) && low <= high && high <= 20.0 => {
            Ok((low as u8, high as u8))
        }
        _ => Err(SamplingError::Table("years between samples")),
    }
}

/// How many years after a test the next is due. `correcting`: the last test was off the mark, so that what
/// is done about it is followed each year.
///
/// For vegetables in the open published sheets disagree: each year, or every two to three. From the
/// earliest of them it may be done; by the latest it is due.
///
/// # Errors
/// The table of advice lacks a row.
pub fn again(situation: Situation, correcting: bool) -> Result<Again, SamplingError> {
    let keys: &[&str] = match situation {
        Situation::Annual => &["again_usual", "again_annual"],
        Situation::Tunnel => &["again_tunnel"],
        Situation::Perennial => &["again_perennial"],
    };
    let mut reasons = keys
        .iter()
        .map(|k| Reason::of(k, ""))
        .collect::<Result<Vec<_>, _>>()?;
    let (mut after, mut by) = years(keys[0])?;
    for key in &keys[1..] {
        let (low, high) = years(key)?;
        after = after.min(low);
        by = by.max(high);
    }
    if correcting {
        let (_, high) = years("correcting")?;
        after = after.min(high);
        by = high;
        reasons.insert(0, Reason::of("correcting", "")?);
    }
    Ok(Again { after, by, reasons })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_are_those_of_the_sheets() {
        let of = |s, c| {
            let a = again(s, c).unwrap();
            (a.after, a.by)
        };
        // Oregon State EC 628: each year; Minnesota and UMass: 2 to 3, yearly while correcting.
        assert_eq!(of(Situation::Annual, false), (1, 3));
        assert_eq!(of(Situation::Annual, true), (1, 1));
        // Purdue: the same time every year. Minnesota: 3 to 5 for fruit.
        assert_eq!(of(Situation::Tunnel, false), (1, 1));
        assert_eq!(of(Situation::Perennial, false), (3, 5));
        assert_eq!(of(Situation::Perennial, true), (1, 1));
        assert_eq!(again(Situation::Annual, false).unwrap().reasons.len(), 2);
    }
}
