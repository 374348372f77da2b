//! A band of phosphate beside the seed.

use crate::constant::Constants;
use crate::working::Source;
use std::sync::OnceLock;

/// The share of a broadcast rate of phosphate that does the same in a band beside the seed, with its source
/// (UConn soil laboratory: two thirds). None only where the table cannot be read.
pub fn starter_share() -> Option<(f64, Source)> {
    static HELD: OnceLock<Constants> = OnceLock::new();
    let held = HELD.get_or_init(|| {
        Constants::parse(
            "rates/constants.csv",
            include_str!("../../../../reference/rates/constants.csv"),
        )
        .unwrap_or_default()
    });
    held.get("starter_thirds")
        .map(|c| (c.value / 3.0, c.source.clone()))
}
