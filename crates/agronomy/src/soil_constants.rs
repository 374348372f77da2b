//! The named numbers of `reference/soil/constants.csv`.

use crate::constant::{Constant, Constants};
use crate::table::TableError;
use crate::working::{Evidence, Source};
use std::sync::OnceLock;

pub(crate) fn load() -> Result<Constants, TableError> {
    Constants::parse(
        "soil/constants.csv",
        include_str!("../../../reference/soil/constants.csv"),
    )
}

/// A number by its key.
pub(crate) fn soil_constant(key: &str) -> Option<&'static Constant> {
    static ALL: OnceLock<Constants> = OnceLock::new();
    ALL.get_or_init(|| load().unwrap_or_default()).get(key)
}

/// As [`soil_constant`]; a missing key, which a test rules out, gives a number that shows itself.
pub(crate) fn soil_number(key: &str) -> (f64, Source) {
    soil_constant(key).map_or_else(
        || (f64::NAN, Source::new(key, Evidence::Memory)),
        |c| (c.value, c.source.clone()),
    )
}
