//! Areas, masses, lengths, volumes and rates with exact conversions.
//!
//! Each type holds one SI value: metres, square metres, cubic metres, kilograms, kilograms per
//! hectare. Factors are the legal definitions (international foot, avoirdupois pound).

mod parse;
mod types;
mod weight;

pub use parse::{ParseError, parse_area, parse_length, parse_mass};
pub use types::{Area, Length, Mass, Rate, Volume};
pub use weight::Weight;

/// Metres in an international foot; exact by definition.
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Kilograms in an avoirdupois pound; exact by definition.
pub const KG_PER_POUND: f64 = 0.453_592_37;
/// Square feet in an acre; exact by definition (international acre).
pub const FT2_PER_ACRE: f64 = 43_560.0;
/// Cubic metres in a US liquid gallon; exact by definition (231 cubic inches).
pub const M3_PER_GALLON: f64 = 0.003_785_411_784;

/// Writes a number the way a person would: no more digits than it can carry, no trailing zeros.
///
/// `significant` is the count of figures kept below 100; whole numbers are never cut.
pub fn plain(value: f64, significant: i32) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let size = value.abs();
    let digits = if size < f64::EPSILON {
        0
    } else {
        (significant - 1 - size.log10().floor() as i32).max(0)
    };
    let text = format!("{value:.*}", digits.min(9) as usize);
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    let text = if text == "-0" { "0".to_owned() } else { text };
    group_thousands(&text)
}

/// The largest of 1, 2 and 5 times a power of ten that is no more than `most` (above zero): how long a
/// scale bar is.
pub fn round_at_most(most: f64) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    let fits = [5.0, 2.0]
        .map(|m| m * power)
        .into_iter()
        .find(|l| *l <= most);
    fits.unwrap_or(power)
}

fn group_thousands(text: &str) -> String {
    let (sign, rest) = match text.strip_prefix('-') {
        Some(rest) => ("−", rest),
        None => ("", text),
    };
    let (whole, part) = rest
        .split_once('.')
        .map_or((rest, None), |(w, p)| (w, Some(p)));
    let mut grouped = String::new();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(c);
    }
    match part {
        Some(p) => format!("{sign}{grouped}.{p}"),
        None => format!("{sign}{grouped}"),
    }
}

#[cfg(test)]
mod tests;
