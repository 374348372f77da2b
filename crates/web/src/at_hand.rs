//! What many pages of a large farm ask for, worked out once while nothing in the book changes.

use crate::error::Page;
use crate::pages::log::today;
use farmbook::Book;
use farmwork::block_sheet::{self, BlockSheet};
use farmwork::calendar::{self, Calendar};
use farmwork::glance::{self, Glance};
use farmwork::needs::{self, BlockNeeds};
use farmwork::planning::{self, Made, Question};
use std::sync::Arc;

/// The needs of every block in use, in the order of the book.
pub(crate) fn needs(book: &Book) -> Result<Arc<Vec<BlockNeeds>>, Page> {
    book.remembered("needs", || Ok(needs::all(book)?))
}

/// The planner’s question from the book as it stands.
pub(crate) fn question(book: &Book) -> Result<Arc<Question>, Page> {
    book.remembered("question", || Ok(planning::question(book)?))
}

/// The newest plan of the season; none before the first.
pub(crate) fn plan(book: &Book) -> Result<Option<Arc<Made>>, Page> {
    let made = book.remembered("plan", || {
        Ok::<_, Page>(planning::latest(book)?.map(Arc::new))
    })?;
    Ok(made.as_ref().clone())
}

/// The sheet of each block of a plan, in the plan’s order.
pub(crate) fn sheets(book: &Book, made: &Made) -> Result<Arc<Vec<BlockSheet>>, Page> {
    book.remembered(&format!("sheets {}", made.stored.id), || {
        Ok(block_sheet::of_plan(book, made)?)
    })
}

/// The calendar of a plan as of today.
pub(crate) fn calendar(book: &Book, made: &Made) -> Result<Arc<Calendar>, Page> {
    let today = today();
    book.remembered(&format!("calendar {} {today}", made.stored.id), || {
        Ok(calendar::of_plan(book, made, today)?)
    })
}

/// What needs attention today.
pub(crate) fn glance(book: &Book) -> Result<Arc<Glance>, Page> {
    let today = today();
    book.remembered(&format!("glance {today}"), || {
        Ok(glance::of_needs(book, &needs(book)?, today)?)
    })
}
