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

pub(crate) use taken_off::{
    DoneOn, brings_here, left_of, take_off, what_is_done, within_the_season,
};

use crate::Result;
use farmbook::{Book, Id, Spread};
use stock::Moves;

/// What weighs in a plan of the farm’s season: what was spread for it, and what moved the shed ever since.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// What was spread for the season and stands, by day.
    pub spreads: Vec<Spread>,
    pub moves: Moves,
}

impl Record {
    /// As it stands now.
    ///
    /// # Errors
    /// The book’s own.
    pub fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            spreads: book.spreads_in(book.farm()?.season, &[])?,
            moves: Moves::of(book)?,
        })
    }

    /// As it stood when a plan was made: what was written down later is left away, corrections too.
    ///
    /// # Errors
    /// The book’s own.
    pub fn at_plan(book: &Book, plan: Id) -> Result<Self> {
        let later = book.added_since_plan(plan, "spread")?;
        Ok(Self {
            spreads: book.spreads_in(book.farm()?.season, &later)?,
            moves: Moves::at_plan(book, plan, &later)?,
        })
    }
}
