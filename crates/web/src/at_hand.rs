//! What many pages of a large farm ask for, worked out once while nothing in the book changes.

use crate::error::Page;
use crate::pages::log::today;
use farmbook::Book;
use farmwork::block_sheet::{self, BlockSheet};
use farmwork::calendar::{self, Calendar};
use farmwork::glance::{self, Glance};
use farmwork::needs::{self, BlockNeeds};
use farmwork::outlines::{self, Ground};
use farmwork::planning::{self, Made, Question};
use farmwork::record::inspection::{self, Inspection, Part};
use farmwork::sampling::{self, Sampling};
use jiff::civil::Date;
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

/// What is to be sampled as of today.
pub(crate) fn sampling(book: &Book) -> Result<Arc<Sampling>, Page> {
    let today = today();
    book.remembered(&format!("sampling {today}"), || {
        Ok(sampling::of_farm(book, today)?)
    })
}

/// Where every block lies, with its areas.
pub(crate) fn outlines(book: &Book) -> Result<Arc<Vec<Ground>>, Page> {
    book.remembered("outlines", || Ok(outlines::all(book)?))
}

/// The record from one day to another, and its tables.
pub(crate) struct Record {
    pub(crate) all: Inspection,
    pub(crate) parts: Vec<Part>,
}

pub(crate) fn record(book: &Book, first: Date, last: Date) -> Result<Arc<Record>, Page> {
    book.remembered(&format!("record {first} {last}"), || {
        let all = inspection::of(book, first, last)?;
        Ok(Record {
            parts: all.parts(),
            all,
        })
    })
}

/// What needs attention today.
pub(crate) fn glance(book: &Book) -> Result<Arc<Glance>, Page> {
    let today = today();
    book.remembered(&format!("glance {today}"), || {
        Ok(glance::of_needs(book, &needs(book)?, today)?)
    })
}
