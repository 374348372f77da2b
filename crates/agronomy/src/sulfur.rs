//! How much elemental sulfur brings the pH down.
//!
//! The published rates disagree up to fourfold, so the answer is the lowest that applies, with the
//! range beside it. With free carbonate in the soil, or untested ground above pH 7, there is none.

mod acidifier;
mod tables;
mod timing;

pub use acidifier::{Acidifier, acidifier, acidifiers, equivalent, texture_from_cec};
pub use tables::load;
pub use timing::time_to_act;

use tables::{Point, constant, tables};

use crate::dose::{Dose, Share};
use crate::texture::Texture;
use crate::working::{Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Whether the soil holds free lime (it fizzes with vinegar or acid).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Carbonate {
    #[default]
    Untested,
    Absent,
    Present,
}

/// What is known of the soil, and where its pH should go.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// pH in water
    pub ph: f64,
    /// pH in water to come down to
    pub target_ph: f64,
    pub texture: Option<Texture>,
    /// organic matter, %
    pub organic_matter_pct: Option<f64>,
    pub carbonate: Carbonate,
    /// The bed is for blueberries.
    pub blueberry: bool,
}

/// Why there is no sulfur rate.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SulfurError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error(
        "The soil holds free lime, which uses up the acid first; bringing its pH down with sulfur is not realistic."
    )]
    FreeCarbonate,
    #[error(
        "Above pH {0} the soil may hold free lime: drop vinegar on it, and if it fizzes sulfur will not do; until that is known there is no rate."
    )]
    Untested(String),
    #[error("The texture of the soil is not known, and the sulfur rate hangs on it.")]
    NoTexture,
    #[error(
        "No checked sulfur table goes from pH {from} to {to} on {texture}; test, start small and ask a local adviser."
    )]
    NoTable {
        from: String,
        to: String,
        texture: &'static str,
    },
    #[error(
        "A CEC of {cec} is past the {most} that the table of textures goes to; give the texture itself."
    )]
    Cec { cec: String, most: String },
    #[error("{0}")]
    Unknown(String),
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

/// What one source would put on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The source’s key in the table, e.g. `ontario`.
    pub key: String,
    /// lb of elemental S per acre
    pub lb_per_acre: f64,
    pub formula: String,
    pub source: Source,
}

/// The key a table uses for soil of more than 2 % organic matter, whatever its texture.
const RICH: &str = "over_2_om";
const RICH_FROM_PCT: f64 = 2.0;

/// What each source that covers the case would put on, lowest first.
pub fn estimates(request: &Request) -> Result<Vec<Estimate>, SulfurError> {
    check(request)?;
    let texture = request.texture.ok_or(SulfurError::NoTexture)?;
    let rich = request
        .organic_matter_pct
        .is_some_and(|om| om > RICH_FROM_PCT);
    let drop = (request.ph - request.target_ph).max(0.0);
    let mut found = Vec::new();
    let mut seen_keys: Vec<&str> = Vec::new();
    let per_unit = &tables().per_unit;
    // A row for rich soil outranks the same source’s row for the texture.
    let rows = per_unit
        .iter()
        .filter(|r| rich && r.textures.iter().any(|t| t == RICH))
        .chain(
            per_unit
                .iter()
                .filter(|r| r.textures.iter().any(|t| t == texture.key())),
        );
    for row in rows {
        let covers = request.ph < row.below_ph + 1e-9
            && row
                .lowest_target
                .is_none_or(|t| request.target_ph >= t - 1e-9);
        if !covers || seen_keys.contains(&row.key.as_str()) {
            continue;
        }
        seen_keys.push(&row.key);
        found.push(Estimate {
            key: row.key.clone(),
            lb_per_acre: drop * row.lb_per_acre,
            formula: format!(
                "({} − {}) × {} lb/acre per pH ({}; depth: {})",
                plain(request.ph, 3),
                plain(request.target_ph, 3),
                plain(row.lb_per_acre, 3),
                row.texture,
                row.depth
            ),
            source: row.source.clone(),
        });
    }
    let steps: Vec<&Point> = tables()
        .steps
        .iter()
        .filter(|p| p.textures.iter().any(|t| t == texture.key()))
        .collect();
    if let (Some(from), Some(to), Some(row)) = (
        amount(&steps, request.ph),
        amount(&steps, request.target_ph),
        steps.last(),
    ) {
        found.push(Estimate {
            key: "michigan".to_owned(),
            lb_per_acre: (from - to).max(0.0),
            formula: format!(
                "{} − {} lb/acre: the amounts from pH {} and from {} down to {} ({})",
                plain(from, 3),
                plain(to, 3),
                plain(request.ph, 3),
                plain(request.target_ph, 3),
                steps.first().map_or(0.0, |p| p.from_ph),
                row.texture
            ),
            source: row.source.clone(),
        });
    }
    found.sort_by(|a, b| a.lb_per_acre.total_cmp(&b.lb_per_acre));
    Ok(found)
}

/// The amount from a pH down to the table’s low end; none outside the table.
fn amount(points: &[&Point], ph: f64) -> Option<f64> {
    let above = points.iter().find(|p| p.from_ph >= ph - 1e-9)?;
    let below = points.iter().rev().find(|p| p.from_ph <= ph + 1e-9)?;
    let width = above.from_ph - below.from_ph;
    if width < 1e-9 {
        return Some(above.lb_per_acre);
    }
    let share = (ph - below.from_ph) / width;
    Some(below.lb_per_acre + share * (above.lb_per_acre - below.lb_per_acre))
}

fn check(request: &Request) -> Result<(), SulfurError> {
    for (value, what) in [(request.ph, "pH"), (request.target_ph, "target pH")] {
        if !(0.0..=14.0).contains(&value) {
            return Err(SulfurError::BadValue(value.to_string(), what));
        }
    }
    if let Some(om) = request.organic_matter_pct
        && !(0.0..=100.0).contains(&om)
    {
        return Err(SulfurError::BadValue(
            om.to_string(),
            "organic matter in percent",
        ));
    }
    Ok(())
}

/// The sulfur rate: lb of elemental S per acre, the lowest of the sources that cover the case, with
/// the lowest and the highest beside it.
pub fn requirement(request: &Request) -> Result<Figure, SulfurError> {
    check(request)?;
    let mut figure = Figure::new("Elemental sulfur");
    if request.ph <= request.target_ph {
        figure.step(
            format!(
                "The soil’s pH of {} is at or below the target of {}, so it needs no sulfur.",
                plain(request.ph, 3),
                plain(request.target_ph, 3)
            ),
            0.0,
            "lb/acre",
            format!("{} ≤ {}", plain(request.ph, 3), plain(request.target_ph, 3)),
            Source::arithmetic(),
        );
        return Ok(figure);
    }
    let limit = constant("untested_limit")?.value;
    match request.carbonate {
        Carbonate::Present => return Err(SulfurError::FreeCarbonate),
        Carbonate::Untested if request.ph > limit => {
            return Err(SulfurError::Untested(plain(limit, 2)));
        }
        _ => {}
    }
    let texture = request.texture.ok_or(SulfurError::NoTexture)?;
    let all = estimates(request)?;
    let (Some(low), Some(high)) = (all.first(), all.last()) else {
        return Err(SulfurError::NoTable {
            from: plain(request.ph, 3),
            to: plain(request.target_ph, 3),
            texture: texture.name(),
        });
    };
    for e in all.iter().rev() {
        figure.step(
            format!("by {}", e.source.text),
            e.lb_per_acre,
            "lb/acre",
            e.formula.clone(),
            e.source.clone(),
        );
    }
    figure.step(
        "the lowest of the sources",
        low.lb_per_acre,
        "lb/acre",
        format!(
            "{} to {} lb/acre from {} {}",
            plain(low.lb_per_acre, 3),
            plain(high.lb_per_acre, 3),
            all.len(),
            if all.len() == 1 { "source" } else { "sources" }
        ),
        Source::arithmetic(),
    );
    figure.low = Some(low.lb_per_acre);
    figure.high = Some(high.lb_per_acre);
    let mut say = |when: &str| {
        for (text, source) in tables().cautions.when(when) {
            figure.caution(text, source.clone());
        }
    };
    say("always");
    say("slow");
    if request.blueberry && request.ph > constant("blueberry_hard")?.value {
        say("blueberry_hard");
    }
    Ok(figure)
}

/// The rate of one source alone, e.g. `ontario`: lb of elemental S per acre.
///
/// # Errors
/// As for [`requirement`], and a source that does not cover the case.
pub fn by_source(request: &Request, key: &str) -> Result<Figure, SulfurError> {
    // The refusals for free lime and untested ground hold for a single source too.
    let whole = requirement(request)?;
    let all = estimates(request)?;
    let Some(own) = all.iter().find(|e| e.key == key) else {
        return Err(SulfurError::Unknown(format!(
            "“{key}” has no sulfur rate for this case; here it can be one of {}.",
            all.iter()
                .map(|e| e.key.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        )));
    };
    let mut figure = Figure::new("Elemental sulfur by one source");
    figure.step(
        format!("by {}", own.source.text),
        own.lb_per_acre,
        "lb/acre",
        own.formula.clone(),
        own.source.clone(),
    );
    figure.low = whole.low;
    figure.high = whole.high;
    figure.cautions = whole.cautions;
    Ok(figure)
}

/// What it would take to dissolve the free lime first: lb of S per acre for the depth.
pub fn to_dissolve(carbonate_pct: f64, depth_in: f64) -> Result<Figure, SulfurError> {
    if !(0.0..=100.0).contains(&carbonate_pct) {
        return Err(SulfurError::BadValue(
            carbonate_pct.to_string(),
            "carbonate in percent",
        ));
    }
    if !(depth_in.is_finite() && depth_in > 0.0) {
        return Err(SulfurError::BadValue(depth_in.to_string(), "depth"));
    }
    let per_inch = constant("soil_million_lb_per_in")?;
    let per_s = constant("caco3_per_s")?;
    let mut figure = Figure::new("Sulfur to dissolve the free lime");
    let lime = figure.step(
        "free lime in the soil",
        carbonate_pct / 100.0 * per_inch.value * 1e6 * depth_in,
        "lb CaCO3/acre",
        format!(
            "{} % of {} million lb/in × {} in",
            plain(carbonate_pct, 3),
            per_inch.value,
            plain(depth_in, 3)
        ),
        per_inch.source.clone(),
    );
    figure.step(
        "sulfur",
        lime / per_s.value,
        "lb/acre",
        format!("{} / {}", plain(lime, 4), per_s.value),
        per_s.source.clone(),
    );
    if carbonate_pct > 0.0 {
        for (text, source) in tables().cautions.when("carbonate") {
            figure.caution(text, source.clone());
        }
    }
    Ok(figure)
}

/// Where the sulfur goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Situation {
    /// Mixed in before planting
    Preplant,
    /// Among standing plants
    Standing,
    /// On the surface of an established blueberry bed
    Blueberry,
}

/// Splits a sulfur rate (lb of S per acre) into doses; they add up to the rate. Test the soil again
/// before each dose after the first.
pub fn doses(lb_per_acre: f64, situation: Situation) -> Vec<Dose> {
    let key = match situation {
        Situation::Preplant => "preplant",
        Situation::Standing => "standing",
        Situation::Blueberry => "blueberry",
    };
    tables()
        .limits
        .split(key, lb_per_acre, Share::TwoThirdsFirst)
}

#[cfg(test)]
mod tests;
