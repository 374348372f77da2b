use crate::{Area, Length, Mass};
use thiserror::Error;

/// Why a typed quantity was not understood. The text is meant for the person who typed it.
#[derive(Debug, Error, Clone, PartialEq, Eq)]
pub enum ParseError {
    #[error("“{0}” is not a number with a unit; write it like {1}")]
    NotANumber(String, &'static str),
    #[error("“{0}” needs a unit; write it like {1}")]
    NoUnit(String, &'static str),
    #[error("“{unit}” is not a unit of {of}; use one of {known}")]
    UnknownUnit {
        unit: String,
        of: &'static str,
        known: &'static str,
    },
    #[error("“{0}” must be more than zero and finite")]
    OutOfRange(String),
}

fn split(text: &str, example: &'static str) -> Result<(f64, String), ParseError> {
    let trimmed = text.trim();
    let end = trimmed
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',' || c == '-' || c == '+'))
        .unwrap_or(trimmed.len());
    let (number, unit) = trimmed.split_at(end);
    let value: f64 = number
        .replace(',', "")
        .parse()
        .map_err(|_| ParseError::NotANumber(text.to_owned(), example))?;
    if !value.is_finite() || value <= 0.0 {
        return Err(ParseError::OutOfRange(text.to_owned()));
    }
    let unit = unit
        .trim()
        .to_lowercase()
        .replace(['²', '^'], "2")
        .replace("22", "2");
    if unit.is_empty() {
        return Err(ParseError::NoUnit(text.to_owned(), example));
    }
    Ok((value, unit))
}

/// Reads an area such as `2640 ft2`, `0.5 acre`, `240 m2`, `1.2 ha`.
pub fn parse_area(text: &str) -> Result<Area, ParseError> {
    let (value, unit) = split(text, "2640 ft2")?;
    Ok(match unit.as_str() {
        "ft2" | "sqft" | "sq ft" | "sq.ft." | "square feet" => Area::square_feet(value),
        "acre" | "acres" | "ac" => Area::acres(value),
        "m2" | "sqm" | "sq m" | "square metres" | "square meters" => Area::square_metres(value),
        "ha" | "hectare" | "hectares" => Area::hectares(value),
        _ => {
            return Err(ParseError::UnknownUnit {
                unit,
                of: "area",
                known: "ft2, acre, m2, ha",
            });
        }
    })
}

/// Reads a length such as `96 ft`, `30 in`, `29 m`.
pub fn parse_length(text: &str) -> Result<Length, ParseError> {
    let (value, unit) = split(text, "96 ft")?;
    Ok(match unit.as_str() {
        "ft" | "feet" | "foot" | "'" => Length::feet(value),
        "in" | "inch" | "inches" | "\"" => Length::inches(value),
        "m" | "metre" | "metres" | "meter" | "meters" => Length::metres(value),
        "cm" => Length::metres(value / 100.0),
        _ => {
            return Err(ParseError::UnknownUnit {
                unit,
                of: "length",
                known: "ft, in, m, cm",
            });
        }
    })
}

/// Reads a mass such as `50 lb`, `22.7 kg`, `1 ton`, `4 oz`.
pub fn parse_mass(text: &str) -> Result<Mass, ParseError> {
    let (value, unit) = split(text, "50 lb")?;
    Ok(match unit.as_str() {
        "lb" | "lbs" | "pound" | "pounds" => Mass::pounds(value),
        "oz" => Mass::pounds(value / 16.0),
        "kg" => Mass::kilograms(value),
        "g" => Mass::grams(value),
        "ton" | "tons" | "short ton" => Mass::short_tons(value),
        "t" | "tonne" | "tonnes" => Mass::tonnes(value),
        _ => {
            return Err(ParseError::UnknownUnit {
                unit,
                of: "mass",
                known: "lb, oz, kg, g, ton, tonne",
            });
        }
    })
}
