//! How much lime a soil asks for.
//!
//! The answer is lb per acre, for the depth worked, of the fully effective lime that the method
//! counts: pure calcium carbonate, or lime of score 100 (see [`Method::basis`]). A lime table belongs
//! to one buffer: without the buffer’s name there is no rate.

mod by_texture;
mod carried;
mod coarse;
mod grid;
mod magnesium;
mod method;
mod pennsylvania;
mod ph_scale;
mod product;
mod pure;
mod quick;
mod recalled;
mod tables;
mod timing;
mod toward;
mod value;
mod which;

pub use carried::{Carried, NitrogenAcid, acid_from_nitrogen, carried, nitrogen_acids};
pub(crate) use carried::{riding_cautions, unconfirmed_caution};
pub use magnesium::{LimeKind, kind_by_magnesium};
pub use method::requirement;
pub use ph_scale::ph_in_water;
pub use product::{Quality, Situation, doses, product, to_effective_pct};
pub use pure::{Pure, cce_of, pures};
pub use quick::{Quick, QuickRate};
pub use tables::{Basis, load};
pub use timing::{Form, Timing, timing, timings};
pub use toward::{nearest_target, toward};
pub use value::{Definition, Index, definition, effective_lb_per_ton, effective_value, fineness};
pub use which::{Method, choose, every};

use crate::soil::Buffer;
use crate::texture::Texture;
use crate::working::{Caution, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// What is known of the soil, and where its pH should go.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Request {
    /// pH in water
    pub ph: f64,
    /// pH in water to lime to
    pub target_ph: f64,
    /// The buffer’s name with the buffer pH; none when the report does not name the buffer.
    pub buffer: Option<(Buffer, f64)>,
    /// exchangeable acidity, meq/100 g
    pub acidity: Option<f64>,
    /// lime buffer capacity from a 30-minute reading, mg CaCO3/kg per pH unit
    pub lbc: Option<f64>,
    /// Depth the lime is worked into, inches; none: the depth the method was made for.
    pub depth_in: Option<f64>,
    /// What the methods without a buffer go by
    pub texture: Option<Texture>,
    /// organic matter, %
    pub organic_matter_pct: Option<f64>,
    /// neutralizable acidity by the Woodruff buffer, meq/100 g
    pub neutralizable: Option<f64>,
    /// cation exchange capacity, meq/100 g
    pub cec: Option<f64>,
}

/// Why there is no lime rate.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum LimeError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error(
        "The report names no buffer for its buffer pH and gives no acidity, so there is no lime rate; ask the lab which buffer it used."
    )]
    NoBuffer,
    #[error(
        "No confirmed table for the {0} buffer is held here, so there is no lime rate; use the rate the lab printed."
    )]
    NoTable(&'static str),
    #[error("The {method} works from {needs}, which the report does not give.")]
    Missing {
        method: &'static str,
        needs: &'static str,
    },
    #[error(
        "The {method} covers targets from pH {low} to {high}, and the target here is {target}."
    )]
    Target {
        method: &'static str,
        low: String,
        high: String,
        target: String,
    },
    #[error("The {method} is held back at this point until its source is confirmed: {why}.")]
    Held { method: &'static str, why: String },
    #[error(
        "Past a reading of {last} no rate is printed in the {method}, and the report’s is {reading}: the soil holds little acidity, so ask the lab for its own rate."
    )]
    PastTable {
        method: &'static str,
        last: String,
        reading: String,
    },
    #[error(
        "The {method} is for soil of CEC below {most}, and this soil’s is {cec}; ask the lab for its own rate."
    )]
    Cec {
        method: &'static str,
        most: String,
        cec: String,
    },
    #[error(
        "{finer} mesh passes {fine} % and {coarser} mesh only {coarse} %: a finer sieve cannot pass more, so check the analysis."
    )]
    Sieves {
        finer: u32,
        fine: String,
        coarser: u32,
        coarse: String,
    },
    #[error("{0}")]
    Unknown(String),
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

/// The lime rate in one call: zero when the pH is already there, whatever else the report holds.
pub fn recommend(request: &Request, preferred: Option<Method>) -> Result<Figure, LimeError> {
    check(request)?;
    if let Some(none) = already_there(request) {
        return Ok(none);
    }
    requirement(choose(request, preferred)?, request)
}

/// A zero with its sentence when the pH is at or above the target.
fn already_there(request: &Request) -> Option<Figure> {
    (request.ph >= request.target_ph).then(|| {
        let mut figure = Figure::new("Lime, as pure calcium carbonate");
        figure.step(
            format!(
                "The soil’s pH of {} is at or above the target of {}, so it needs no lime.",
                plain(request.ph, 3),
                plain(request.target_ph, 3)
            ),
            0.0,
            "lb/acre",
            format!("{} ≥ {}", plain(request.ph, 3), plain(request.target_ph, 3)),
            tables::no_lime_source(),
        );
        figure
    })
}

fn check(request: &Request) -> Result<(), LimeError> {
    let ph = |value: f64, what| {
        if value.is_finite() && (0.0..=14.0).contains(&value) {
            Ok(())
        } else {
            Err(LimeError::BadValue(value.to_string(), what))
        }
    };
    ph(request.ph, "pH")?;
    ph(request.target_ph, "target pH")?;
    if let Some((_, value)) = request.buffer {
        ph(value, "buffer pH")?;
    }
    for (value, what) in [
        (request.acidity, "acidity"),
        (request.lbc, "lime buffer capacity"),
        (request.neutralizable, "neutralizable acidity"),
        (request.cec, "CEC"),
    ] {
        if let Some(v) = value
            && !(v.is_finite() && v >= 0.0)
        {
            return Err(LimeError::BadValue(v.to_string(), what));
        }
    }
    if let Some(om) = request.organic_matter_pct
        && !(0.0..=100.0).contains(&om)
    {
        return Err(LimeError::BadValue(
            om.to_string(),
            "organic matter in percent",
        ));
    }
    if let Some(d) = request.depth_in
        && !(d.is_finite() && d > 0.0)
    {
        return Err(LimeError::BadValue(d.to_string(), "depth"));
    }
    Ok(())
}

/// The cautions that go with any lime, whoever worked out the rate: dust and over-liming.
pub fn cautions() -> Vec<Caution> {
    ["always", "sandy"].into_iter().flat_map(said).collect()
}

/// What to enter for a lime's quality: its effective value rather than its CCE.
pub fn quality_caution() -> Option<Caution> {
    said("cce").next()
}

/// What to say of ranges and rates on an organic soil (muck or peat), from the soil test's organic
/// matter in percent; none for a mineral soil.
pub fn organic_soil_note(om_pct: f64) -> Option<Caution> {
    let from = tables::tables().constants.get("organic_soil_om")?;
    (om_pct > from.value)
        .then(|| said("organic_soil").next())
        .flatten()
}

fn said(when: &'static str) -> impl Iterator<Item = Caution> {
    tables::tables()
        .cautions
        .when(when)
        .map(|(text, source)| Caution {
            text: text.to_owned(),
            source: source.clone(),
        })
}

/// Scales a rate from the depth a table was made for to the depth worked.
///
/// `rate` may be in any unit; depths in inches.
pub fn for_depth(rate: f64, table_depth_in: f64, depth_in: f64) -> f64 {
    rate * depth_in / table_depth_in
}

fn depth_source() -> Source {
    Source::new(
        "proportion to the depth worked; Tri-State E-2567 takes half of an 8 in rate for 4 in",
        crate::working::Evidence::Seen,
    )
}

#[cfg(test)]
mod method_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod value_tests;
