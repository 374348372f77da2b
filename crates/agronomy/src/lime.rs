//! How much lime a soil asks for.
//!
//! The answer is lb per acre, for the depth worked, of the fully effective lime that the method
//! counts: pure calcium carbonate, or lime of score 100 (see [`Method::basis`]). A lime table belongs
//! to one buffer: without the buffer’s name there is no rate.

mod grid;
mod method;
mod product;
mod quick;
mod tables;
mod toward;

pub use method::requirement;
pub use product::{Index, Quality, Situation, doses, effective_lb_per_ton, fineness, product};
pub use quick::{Quick, QuickRate};
pub use tables::{Basis, load};
pub use toward::{nearest_target, toward};

use crate::soil::Buffer;
use crate::working::{Caution, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A published way from the lab’s numbers to a lime rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Oregon table for the Sikora buffer.
    Sikora,
    /// North Carolina formula for the Mehlich buffer.
    MehlichNc,
    /// Pennsylvania rule for exchangeable acidity, goals 6.5 and 7.0.
    MehlichPa,
    /// Pennsylvania turf and garden table for exchangeable acidity, goals 6.0, 6.5 and 7.0.
    MehlichPaGarden,
    /// Georgia formula for the lime buffer capacity.
    GeorgiaLbc,
    /// Iowa table for the SMP buffer, goals 6.5 to 6.9.
    SmpIowa,
}

impl Method {
    pub const ALL: [Self; 6] = [
        Self::Sikora,
        Self::MehlichNc,
        Self::MehlichPa,
        Self::MehlichPaGarden,
        Self::GeorgiaLbc,
        Self::SmpIowa,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Sikora => "sikora",
            Self::MehlichNc => "mehlich_nc",
            Self::MehlichPa => "mehlich_pa",
            Self::MehlichPaGarden => "mehlich_pa_garden",
            Self::GeorgiaLbc => "georgia_lbc",
            Self::SmpIowa => "smp_iowa",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Sikora => "Oregon table, Sikora buffer",
            Self::MehlichNc => "North Carolina formula, Mehlich buffer",
            Self::MehlichPa => "Pennsylvania rule, exchangeable acidity",
            Self::MehlichPaGarden => "Pennsylvania garden table, exchangeable acidity",
            Self::GeorgiaLbc => "Georgia formula, lime buffer capacity",
            Self::SmpIowa => "Iowa table, SMP buffer",
        }
    }

    /// What of the lab’s report the method works from.
    pub fn needs(self) -> &'static str {
        match self {
            Self::Sikora => "a Sikora buffer pH",
            Self::MehlichNc => "a Mehlich buffer pH",
            Self::MehlichPa | Self::MehlichPaGarden => "the exchangeable acidity",
            Self::GeorgiaLbc => "the lime buffer capacity",
            Self::SmpIowa => "an SMP buffer pH",
        }
    }

    /// What lime the rate counts, for which depth and which targets; none only if the tables cannot
    /// be read.
    pub fn basis(self) -> Option<&'static Basis> {
        tables::tables().bases.get(&self)
    }

    /// Whether the request holds what the method works from.
    pub fn fits(self, request: &Request) -> bool {
        let buffer = |wanted| request.buffer.is_some_and(|(b, _)| b == wanted);
        match self {
            Self::Sikora => buffer(Buffer::Sikora),
            Self::MehlichNc => buffer(Buffer::Mehlich),
            Self::MehlichPa | Self::MehlichPaGarden => request.acidity.is_some(),
            Self::GeorgiaLbc => request.lbc.is_some(),
            Self::SmpIowa => buffer(Buffer::Smp),
        }
    }
}

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
        "No table for the {0} buffer is held here, so there is no lime rate; use the rate the lab printed."
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
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

/// Picks the method for what the report gives: the preferred one if it fits, else the table that
/// belongs to the named buffer, else acidity, else lime buffer capacity.
pub fn choose(request: &Request, preferred: Option<Method>) -> Result<Method, LimeError> {
    if let Some(method) = preferred {
        return if method.fits(request) {
            Ok(method)
        } else {
            Err(LimeError::Missing {
                method: method.name(),
                needs: method.needs(),
            })
        };
    }
    match request.buffer.map(|(b, _)| b) {
        Some(Buffer::Sikora) => return Ok(Method::Sikora),
        Some(Buffer::Mehlich) => return Ok(Method::MehlichNc),
        Some(Buffer::Smp) => return Ok(Method::SmpIowa),
        _ => {}
    }
    if request.acidity.is_some() {
        return Ok(method::pennsylvania_for(request.target_ph));
    }
    if request.lbc.is_some() {
        return Ok(Method::GeorgiaLbc);
    }
    Err(match request.buffer {
        Some((buffer, _)) => LimeError::NoTable(buffer.name()),
        None => LimeError::NoBuffer,
    })
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
    ] {
        if let Some(v) = value
            && !(v.is_finite() && v >= 0.0)
        {
            return Err(LimeError::BadValue(v.to_string(), what));
        }
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
mod tests;
