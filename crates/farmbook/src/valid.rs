//! What a record may hold. Limits are against slips of the keyboard, not rules of the trade.

use crate::{Error, Result};
use quantity::{Area, Length, plain};

const LONGEST_NAME: usize = 80;
const LONGEST_NOTE: usize = 4_000;
const SEASONS: std::ops::RangeInclusive<i64> = 1900..=2200;

/// A name without spaces at its ends.
pub(crate) fn name(what: &str, text: &str) -> Result<String> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Error::invalid(what, "filled in"));
    }
    if text.chars().count() > LONGEST_NAME {
        return Err(Error::invalid(
            what,
            format!("at most {LONGEST_NAME} letters long"),
        ));
    }
    if text.chars().any(char::is_control) {
        return Err(Error::invalid(what, "on one line, without control signs"));
    }
    Ok(text.to_owned())
}

/// Like [`name`], but may be empty.
pub(crate) fn name_or_empty(what: &str, text: &str) -> Result<String> {
    if text.trim().is_empty() {
        Ok(String::new())
    } else {
        name(what, text)
    }
}

pub(crate) fn note(what: &str, text: &str) -> Result<String> {
    if text.chars().count() > LONGEST_NOTE {
        return Err(Error::invalid(
            what,
            format!("at most {} letters long", plain(LONGEST_NOTE as f64, 4)),
        ));
    }
    Ok(text.trim().to_owned())
}

/// The form in which two names count as the same.
pub(crate) fn key(name: &str) -> String {
    name.split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

pub(crate) fn season(season: i64) -> Result<()> {
    if SEASONS.contains(&season) {
        Ok(())
    } else {
        Err(Error::invalid(
            "The season",
            format!("a year from {} to {}", SEASONS.start(), SEASONS.end()),
        ))
    }
}

/// A number above zero, up to `most`.
pub(crate) fn positive(what: &str, value: f64, most: f64, unit: &str) -> Result<()> {
    if value.is_finite() && value > 0.0 && value <= most {
        return Ok(());
    }
    Err(Error::invalid(
        what,
        format!("more than 0 and at most {} {unit}", plain(most, 3))
            .trim_end()
            .to_owned(),
    ))
}

/// A number from zero to `most`.
pub(crate) fn not_negative(what: &str, value: f64, most: f64, unit: &str) -> Result<()> {
    if value.is_finite() && (0.0..=most).contains(&value) {
        return Ok(());
    }
    Err(Error::invalid(
        what,
        format!("from 0 to {} {unit}", plain(most, 3))
            .trim_end()
            .to_owned(),
    ))
}

pub(crate) fn length(what: &str, value: Length) -> Result<()> {
    positive(what, value.to_feet(), 50_000.0, "ft")
}

pub(crate) fn area(what: &str, value: Area) -> Result<()> {
    positive(what, value.to_acres(), 20_000.0, "acres")
}
