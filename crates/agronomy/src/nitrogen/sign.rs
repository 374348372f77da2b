//! By which sign of the crop a sidedressing is due.

use crate::crop::{self, Crop};
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

/// A printed sign, or weeks after planting.
#[derive(Debug, Clone)]
pub struct SidedressSign {
    crop: String,
    /// In words: `after the first fruit has set`.
    pub sign: String,
    /// Weeks after planting, where printed.
    pub weeks: Option<(f64, f64)>,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    crop: String,
    sign: String,
    weeks_from: Option<f64>,
    weeks_to: Option<f64>,
    source: String,
    evidence: String,
}

fn parse() -> Result<Vec<SidedressSign>, TableError> {
    let name = "nitrogen/sidedress_signs.csv";
    let text = include_str!("../../../../reference/nitrogen/sidedress_signs.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |problem: String| table::wrong(name, i, problem);
            if crop::find(&r.crop).is_none() {
                return Err(wrong(format!("no crop “{}”", r.crop)));
            }
            let weeks = match (r.weeks_from, r.weeks_to) {
                (Some(from), Some(to)) if 0.0 < from && from <= to => Some((from, to)),
                (None, None) => None,
                _ => return Err(wrong("weeks run from a first to a last".to_owned())),
            };
            Ok(SidedressSign {
                crop: r.crop,
                sign: r.sign,
                weeks,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn load() -> Result<(), TableError> {
    parse().map(|_| ())
}

/// The signs that are printed for a crop.
pub fn sidedress_signs(crop: &Crop) -> Vec<&'static SidedressSign> {
    static ALL: OnceLock<Vec<SidedressSign>> = OnceLock::new();
    ALL.get_or_init(|| parse().unwrap_or_default())
        .iter()
        .filter(|s| s.crop == crop.key)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_reach_their_crops() {
        parse().unwrap();
        let of = |key: &str| sidedress_signs(crop::find(key).unwrap());
        assert_eq!(of("carrot")[0].weeks, Some((4.0, 6.0)));
        assert_eq!(of("tomato").len(), 2);
        assert!(of("lettuce_head").is_empty());
    }
}
