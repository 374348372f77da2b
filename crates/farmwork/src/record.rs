//! The record of the farm: what came in, went on, was carried off and was counted, as it stands or as it
//! stood when a plan was made.

pub mod beside;
pub mod costs;
pub mod delivery;
pub mod entry;
pub mod inspection;
pub mod ordering;
pub mod standing;
pub mod stock;
mod taken_off;

pub(crate) use taken_off::{brings_here, left_of, take_off, what_is_done, within_the_season};

use crate::Result;
use farmbook::{Arrival, Book, Harvest, Id, Spread, StockCount};
use std::collections::HashSet;

/// The entries that stand, each kind by day.
#[derive(Debug, Clone, Default)]
pub struct Record {
    pub spreads: Vec<Spread>,
    pub harvests: Vec<Harvest>,
    pub arrivals: Vec<Arrival>,
    pub counts: Vec<StockCount>,
}

impl Record {
    /// As it stands now.
    ///
    /// # Errors
    /// The book’s own.
    pub fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            spreads: book.spreads()?,
            harvests: book.harvests()?,
            arrivals: book.arrivals()?,
            counts: book.counts()?,
        })
    }

    /// As it stood when a plan was made: what was written down later is left away, corrections too.
    /// Harvests are of no weight in a plan and are left away.
    ///
    /// # Errors
    /// The book’s own.
    pub fn at_plan(book: &Book, plan: Id) -> Result<Self> {
        let later = |table: &str| -> Result<HashSet<Id>> {
            Ok(book.added_since_plan(plan, table)?.into_iter().collect())
        };
        let (spread, arrived, counted) =
            (later("spread")?, later("arrival")?, later("stock_count")?);
        if spread.is_empty() && arrived.is_empty() && counted.is_empty() {
            return Self::of(book);
        }
        let mut spreads = book.all_spreads()?;
        spreads.retain(|s| !spread.contains(&s.id));
        let gone: HashSet<Id> = spreads.iter().filter_map(|s| s.corrects).collect();
        spreads.retain(|s| !gone.contains(&s.id) && !s.takes_back());
        let mut arrivals = book.all_arrivals()?;
        arrivals.retain(|a| !arrived.contains(&a.id));
        let gone: HashSet<Id> = arrivals.iter().filter_map(|a| a.corrects).collect();
        arrivals.retain(|a| !gone.contains(&a.id) && !a.weight.is_zero());
        let mut counts = book.all_counts()?;
        counts.retain(|c| !counted.contains(&c.id));
        let gone: HashSet<Id> = counts.iter().filter_map(|c| c.corrects).collect();
        counts.retain(|c| !gone.contains(&c.id));
        Ok(Self {
            spreads,
            harvests: Vec::new(),
            arrivals,
            counts,
        })
    }

    /// Whether anything says how much of a material there is, beside what was there at the beginning.
    pub fn moves(&self, material: &str) -> bool {
        self.spreads.iter().any(|s| s.material == material)
            || self.arrivals.iter().any(|a| a.material == material)
            || self.counts.iter().any(|c| c.material == material)
    }
}
