//! The lime rate alone, for lists of many samples.
//!
//! The tables, constants and sums are those of the methods themselves; only the words are left out.

use super::grid::{Beyond, Column};
use super::method::{LB_PER_TON, nc_acidity, nc_share};
use super::tables::{constant, tables};
use super::{Method, Request, for_depth, requirement};
use crate::soil::Buffer;
use crate::working::Evidence;

/// One method made ready for one target and depth. It agrees with [`requirement`], to the last bit.
#[derive(Debug, Clone)]
pub struct Quick {
    method: Method,
    target_ph: f64,
    /// depth the method was made for and depth worked, inches
    depth: Option<(f64, f64)>,
    sum: Sum,
    /// The weakest source a rate rests on.
    evidence: Evidence,
    /// The same for the zero at or above the target.
    evidence_there: Evidence,
}

#[derive(Debug, Clone)]
enum Sum {
    /// A column of a printed table and what turns its rate into lb/acre
    Column(Column, f64),
    NorthCarolina {
        end: f64,
        per_ph: f64,
    },
}

/// A lime rate without its working.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuickRate {
    /// lb/acre of the lime in [`Method::basis`], for the depth worked
    pub lb_per_acre: f64,
    /// The soil is more acid than the table goes: the rate is the least it needs.
    pub at_least: bool,
    /// pH is below the target and the buffer shows no acidity: the lab should be asked.
    pub no_acidity: bool,
    /// The weakest source it rests on.
    pub evidence: Evidence,
}

impl Quick {
    /// Makes a method ready; none where it is not one of those that go by the buffer pH alone or has no
    /// rate for the target: ask [`super::recommend`] then.
    ///
    /// `target_ph`: pH in water; `depth_in`: inches worked, none for the method’s own depth.
    pub fn new(method: Method, target_ph: f64, depth_in: Option<f64>) -> Option<Self> {
        let (buffer, sourest, sum, depth) = match method {
            Method::Sikora => {
                let gap = (
                    constant("oregon_break_low").ok()?.value,
                    constant("oregon_break_high").ok()?.value,
                );
                let grid = &tables().sikora;
                let column = grid.column(target_ph, Some(gap))?;
                let sourest = grid.readings()?.0;
                let sum = Sum::Column(column, LB_PER_TON);
                (Buffer::Sikora, sourest, sum, "oregon_depth")
            }
            Method::SmpIowa => {
                let grid = &tables().smp;
                let column = grid.column(target_ph, None)?;
                // The last line has no cell at the higher target.
                let sourest = grid.readings()?.1 - 0.5;
                let sum = Sum::Column(column, 1.0);
                (Buffer::Smp, sourest, sum, "iowa_depth")
            }
            Method::MehlichNc => {
                let end = constant("nc_end_ph").ok()?.value;
                let per_ph = constant("nc_acidity_per_ph").ok()?.value;
                let sum = Sum::NorthCarolina { end, per_ph };
                (Buffer::Mehlich, end - 1.0, sum, "nc_depth")
            }
            _ => return None,
        };
        // The evidence is what the method itself says of a soil that needs lime, and of one that does not.
        let ask = |ph: f64| {
            let request = Request {
                ph,
                target_ph,
                buffer: Some((buffer, sourest)),
                depth_in,
                ..Request::default()
            };
            requirement(method, &request).ok()?.weakest()
        };
        Some(Self {
            method,
            target_ph,
            depth: match depth_in {
                Some(worked) => Some((constant(depth).ok()?.value, worked)),
                None => None,
            },
            sum,
            evidence: ask(target_ph - 1.0)?,
            evidence_there: ask(target_ph)?,
        })
    }

    #[inline]
    pub fn method(&self) -> Method {
        self.method
    }

    /// Whether the rate below the target goes by the buffer pH alone: a printed table’s does, a formula’s
    /// may go by the pH as well.
    pub fn by_buffer_alone(&self) -> bool {
        matches!(self.sum, Sum::Column(..))
    }

    /// The rate for a pH and a buffer pH; none where the method has no rate or a value is not a pH, and
    /// then [`super::recommend`] says why.
    #[inline]
    pub fn at(&self, ph: f64, buffer_ph: f64) -> Option<QuickRate> {
        let usable = |v: f64| (0.0..=14.0).contains(&v);
        if !usable(ph) || !usable(buffer_ph) {
            return None;
        }
        if ph >= self.target_ph {
            return Some(QuickRate {
                lb_per_acre: 0.0,
                at_least: false,
                no_acidity: false,
                evidence: self.evidence_there,
            });
        }
        let mut at_least = false;
        let mut no_acidity = false;
        let rate = match &self.sum {
            Sum::Column(column, to_lb) => {
                let (rate, beyond) = column.at(buffer_ph)?;
                let rate = rate * to_lb;
                match beyond {
                    Some(Beyond::Below(_)) => at_least = true,
                    Some(Beyond::Above(_)) if rate > 0.0 => return None,
                    _ => {}
                }
                rate
            }
            Sum::NorthCarolina { end, per_ph } => {
                no_acidity = buffer_ph >= *end;
                nc_acidity(buffer_ph, *end, *per_ph)
                    * nc_share(ph, self.target_ph, *end)
                    * LB_PER_TON
            }
        };
        Some(QuickRate {
            lb_per_acre: self
                .depth
                .map_or(rate, |(made_for, worked)| for_depth(rate, made_for, worked)),
            at_least,
            no_acidity,
            evidence: self.evidence,
        })
    }
}
