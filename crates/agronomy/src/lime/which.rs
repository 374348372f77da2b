//! The published ways from a report to a lime rate, and which one a report asks for.

use super::tables::{self, Basis};
use super::{LimeError, Request, by_texture, method, pennsylvania};
use crate::soil::Buffer;
use crate::working::{Evidence, Figure};
use serde::{Deserialize, Serialize};

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
    /// Norwegian table by texture and organic matter, no buffer.
    NorwayTexture,
    /// Taiwanese table by pH alone, no buffer.
    TaiwanPh,
    /// Classic table for the SMP buffer; recalled.
    SmpClassic,
    /// Tri-State equations of 1995 for the SMP buffer; recalled.
    TriState,
    /// Adams-Evans formula; its constants recalled.
    AdamsEvans,
    /// Missouri rule for neutralizable acidity; recalled.
    Woodruff,
    /// Kansas equations for the SMP buffer; recalled.
    KansasSmp,
    /// Texture table for cool-temperate soil, no buffer; recalled.
    TextureCool,
    /// Texture table for warm-temperate soil, no buffer; recalled.
    TextureWarm,
    /// British table by texture and pH, no buffer; recalled.
    UkRb209,
}

impl Method {
    pub const ALL: [Self; 16] = [
        Self::Sikora,
        Self::MehlichNc,
        Self::MehlichPa,
        Self::MehlichPaGarden,
        Self::GeorgiaLbc,
        Self::SmpIowa,
        Self::NorwayTexture,
        Self::TaiwanPh,
        Self::SmpClassic,
        Self::TriState,
        Self::AdamsEvans,
        Self::Woodruff,
        Self::KansasSmp,
        Self::TextureCool,
        Self::TextureWarm,
        Self::UkRb209,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Sikora => "sikora",
            Self::MehlichNc => "mehlich_nc",
            Self::MehlichPa => "mehlich_pa",
            Self::MehlichPaGarden => "mehlich_pa_garden",
            Self::GeorgiaLbc => "georgia_lbc",
            Self::SmpIowa => "smp_iowa",
            Self::NorwayTexture => "norway_texture",
            Self::TaiwanPh => "taiwan_ph",
            Self::SmpClassic => "smp_classic",
            Self::TriState => "tri_state",
            Self::AdamsEvans => "adams_evans",
            Self::Woodruff => "woodruff",
            Self::KansasSmp => "kansas_smp",
            Self::TextureCool => "texture_cool",
            Self::TextureWarm => "texture_warm",
            Self::UkRb209 => "uk_rb209",
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
            Self::NorwayTexture => "Norwegian table, texture and organic matter",
            Self::TaiwanPh => "Taiwanese table, pH alone",
            Self::SmpClassic => "classic table, SMP buffer (unconfirmed)",
            Self::TriState => "Tri-State equations of 1995, SMP buffer (unconfirmed)",
            Self::AdamsEvans => "Adams-Evans formula (unconfirmed)",
            Self::Woodruff => "Missouri rule, neutralizable acidity (unconfirmed)",
            Self::KansasSmp => "Kansas equations, SMP buffer (unconfirmed)",
            Self::TextureCool => "cool-temperate texture table (unconfirmed)",
            Self::TextureWarm => "warm-temperate texture table (unconfirmed)",
            Self::UkRb209 => "British table, texture and pH (unconfirmed)",
        }
    }

    /// What of the lab’s report the method works from.
    pub fn needs(self) -> &'static str {
        match self {
            Self::Sikora => "a Sikora buffer pH",
            Self::MehlichNc => "a Mehlich buffer pH",
            Self::MehlichPa | Self::MehlichPaGarden => "the exchangeable acidity",
            Self::GeorgiaLbc => "the lime buffer capacity",
            Self::SmpIowa | Self::SmpClassic | Self::TriState => "an SMP buffer pH",
            Self::KansasSmp => "an SMP buffer pH and the depth worked",
            Self::AdamsEvans => "an Adams-Evans buffer pH",
            Self::Woodruff => "the neutralizable acidity",
            Self::NorwayTexture => "the texture and the organic matter",
            Self::TaiwanPh => "the pH",
            Self::TextureCool | Self::TextureWarm => "a texture that its table lists",
            Self::UkRb209 => "the texture (and the organic matter where it is peat)",
        }
    }

    /// What lime the rate counts, for which depth and which targets; none only if the tables cannot
    /// be read.
    pub fn basis(self) -> Option<&'static Basis> {
        tables::tables().bases.get(&self)
    }

    /// How well the method’s own numbers are known. A method that is [`Evidence::Memory`] is never
    /// chosen unless it is asked for by name.
    pub fn evidence(self) -> Evidence {
        self.basis()
            .map_or(Evidence::Memory, |b| b.caution.source.evidence)
    }

    /// Whether the method does without any measure of the soil’s reserve of acid: a coarse estimate,
    /// never chosen unless it is asked for by name.
    pub fn coarse(self) -> bool {
        matches!(
            self,
            Self::NorwayTexture
                | Self::TaiwanPh
                | Self::TextureCool
                | Self::TextureWarm
                | Self::UkRb209
        )
    }

    /// The buffer whose pH the method reads; none where it goes by something else.
    pub fn buffer(self) -> Option<Buffer> {
        match self {
            Self::Sikora => Some(Buffer::Sikora),
            Self::MehlichNc => Some(Buffer::Mehlich),
            Self::SmpIowa | Self::SmpClassic | Self::TriState | Self::KansasSmp => {
                Some(Buffer::Smp)
            }
            Self::AdamsEvans => Some(Buffer::AdamsEvans),
            _ => None,
        }
    }

    /// Whether the request holds what the method works from.
    pub fn fits(self, request: &Request) -> bool {
        let buffer = self
            .buffer()
            .is_none_or(|wanted| request.buffer.is_some_and(|(b, _)| b == wanted));
        buffer
            && match self {
                Self::MehlichPa | Self::MehlichPaGarden => request.acidity.is_some(),
                Self::GeorgiaLbc => request.lbc.is_some(),
                Self::Woodruff => request.neutralizable.is_some(),
                Self::KansasSmp => request.depth_in.is_some(),
                _ if self.coarse() => by_texture::fits(self, request),
                _ => true,
            }
    }
}

/// Picks the method for what the report gives: the preferred one if it fits, else the table that
/// belongs to the named buffer, else acidity, else lime buffer capacity. Recalled methods and coarse
/// estimates are used only where they are the preferred one.
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
        return Ok(pennsylvania::nearest(request.target_ph));
    }
    if request.lbc.is_some() {
        return Ok(Method::GeorgiaLbc);
    }
    Err(match request.buffer {
        Some((buffer, _)) => LimeError::NoTable(buffer.name()),
        None => LimeError::NoBuffer,
    })
}

/// What every method that the report has the numbers for would say, in the order of
/// [`Method::ALL`], for showing them side by side. Recalled ones are among them and carry their mark.
pub fn every(request: &Request) -> Vec<(Method, Result<Figure, LimeError>)> {
    Method::ALL
        .into_iter()
        .filter(|m| m.fits(request))
        .map(|m| (m, method::requirement(m, request)))
        .collect()
}
