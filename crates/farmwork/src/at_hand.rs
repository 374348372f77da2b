//! What much of the work on a large farm asks for, worked out once while nothing in the book changes.

use crate::Result;
use crate::calendar::{self, Calendar};
use crate::needs::{self, BlockNeeds};
use crate::planning::{self, Made};
use crate::supply::{self, Choice};
use farmbook::{Book, Id};
use jiff::civil::Date;
use std::sync::Arc;

/// The needs of every block in use, in the order of the book, without the working behind them.
///
/// # Errors
/// The book’s own.
pub fn needs(book: &Book) -> Result<Arc<Vec<Arc<BlockNeeds>>>> {
    book.remembered("needs", || needs::bare(book))
}

/// The materials the grower ticked, with what is on hand.
///
/// # Errors
/// The book’s own.
pub fn choices(book: &Book) -> Result<Arc<Vec<Choice>>> {
    book.remembered("choices", || supply::chosen(book))
}

/// A plan by its number.
///
/// # Errors
/// No such plan, or the book’s own.
pub fn numbered(book: &Book, id: Id) -> Result<Arc<Made>> {
    book.remembered(&format!("plan {id}"), || planning::numbered(book, id))
}

/// The newest plan of the season; none before the first.
///
/// # Errors
/// The book’s own.
pub fn plan(book: &Book) -> Result<Option<Arc<Made>>> {
    let made = book.plans_made(book.farm()?.season)?;
    made.first().map(|(id, _)| numbered(book, *id)).transpose()
}

/// The calendar of a plan as of a day.
///
/// # Errors
/// The book’s own.
pub fn calendar(book: &Book, made: &Made, today: Date) -> Result<Arc<Calendar>> {
    let key = format!("calendar {} {today}", made.stored.id);
    book.remembered(&key, || calendar::of_plan(book, made, today))
}
