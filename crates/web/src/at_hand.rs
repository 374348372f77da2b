//! What many pages of a large farm ask for, worked out once while nothing in the book changes.

use crate::error::Page;
use crate::pages::log::today;
use farmbook::Book;
use farmwork::adviser::{self, AdviserSheet};
pub(crate) use farmwork::at_hand::{choices, needs, numbered, plan};
use farmwork::block_sheet::{self, BlockSheet};
use farmwork::calendar::Calendar;
use farmwork::collisions::{self, Collision};
use farmwork::glance::{self, Glance};
use farmwork::job_map::FarmMap;
use farmwork::job_sheet::{self, JobSheet};
use farmwork::lab::{self, Taken};
use farmwork::nutrient_plan::{self, Field, Front};
use farmwork::order::{self, OrderList};
use farmwork::outlines::{self, Ground};
use farmwork::planning::{self, Made, Question};
use farmwork::record::costs::{self, Costs, OfSeason};
use farmwork::record::inspection::{self, Inspection, Part};
use farmwork::record::ordering::{self, ToOrder};
use farmwork::sampling::{self, Sampling};
use farmwork::years::{self, BlockYears};
use jiff::civil::Date;
use std::sync::Arc;

/// The planner’s question from the book as it stands.
pub(crate) fn question(book: &Book) -> Result<Arc<Question>, Page> {
    book.remembered("question", || Ok(planning::question(book)?))
}

/// The sheet of each block of a plan, in the plan’s order, without the working behind them.
pub(crate) fn sheets(book: &Book, made: &Made) -> Result<Arc<Vec<BlockSheet>>, Page> {
    book.remembered(&format!("sheets {}", made.stored.id), || {
        Ok(block_sheet::bare(book, made)?)
    })
}

/// A lab’s report as it was read.
pub(crate) fn taken(book: &Book, id: i64) -> Result<Arc<Taken>, Page> {
    book.remembered(&format!("taken {id}"), || Ok(lab::taken(book, id)?))
}

/// The order list of a plan.
pub(crate) fn order_list(book: &Book, made: &Made) -> Result<Arc<OrderList>, Page> {
    book.remembered(&format!("order {}", made.stored.id), || {
        Ok(order::of_plan(book, made)?)
    })
}

/// What is still to be ordered as of today.
pub(crate) fn to_order(book: &Book, made: &Made) -> Result<Arc<Vec<ToOrder>>, Page> {
    let key = format!("to order {} {}", made.stored.id, today());
    book.remembered(&key, || {
        Ok(ordering::to_order(book, made, &*calendar(book, made)?)?)
    })
}

/// The wishes that cannot all be kept.
pub(crate) fn collisions(book: &Book, question: &Question) -> Result<Arc<Vec<Collision>>, Page> {
    let currency = book.farm()?.currency;
    book.remembered("collisions", || {
        Ok(collisions::collisions(question, &currency)?)
    })
}

/// Where each planned block is heading, without the working.
pub(crate) fn look_ahead(book: &Book, made: &Made) -> Result<Arc<Vec<BlockYears>>, Page> {
    book.remembered(&format!("look ahead {}", made.stored.id), || {
        let mut all = years::look_ahead(book, made)?;
        for course in all.iter_mut().flat_map(|b| &mut b.courses) {
            course.working = Vec::new();
        }
        Ok(all)
    })
}

/// The calendar of a plan as of today.
pub(crate) fn calendar(book: &Book, made: &Made) -> Result<Arc<Calendar>, Page> {
    Ok(farmwork::at_hand::calendar(book, made, today())?)
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
        Ok(glance::of_farm(book, today)?)
    })
}

/// The page of one block for an adviser.
pub(crate) fn adviser_sheet(book: &Book, id: i64) -> Result<Arc<AdviserSheet>, Page> {
    let today = today();
    book.remembered(&format!("adviser {id} {today}"), || {
        Ok(adviser::of_block(book, id, today)?)
    })
}

/// What of the draft of a nutrient plan holds for the whole farm.
pub(crate) fn draft_front(book: &Book) -> Result<Arc<Front>, Page> {
    let today = today();
    book.remembered(&format!("draft {today}"), || {
        Ok(nutrient_plan::front(book, today)?)
    })
}

/// What it holds for some fields.
pub(crate) fn draft_fields(book: &Book, ids: &[i64]) -> Result<Arc<Vec<Field>>, Page> {
    let today = today();
    book.remembered(&format!("draft of {ids:?} {today}"), || {
        Ok(nutrient_plan::fields(book, ids, today)?)
    })
}

/// What a season’s spreading cost.
pub(crate) fn costs(book: &Book, season: i64) -> Result<Arc<Costs>, Page> {
    book.remembered(&format!("costs {season}"), || Ok(costs::of(book, season)?))
}

/// What every season’s spreading cost, in one line each.
pub(crate) fn seasons_of_costs(book: &Book) -> Result<Arc<Vec<OfSeason>>, Page> {
    book.remembered("seasons of costs", || Ok(costs::seasons(book)?))
}

/// What the small maps of all jobs share; none where no block has an outline.
pub(crate) fn farm_map(book: &Book) -> Result<Arc<Option<FarmMap>>, Page> {
    book.remembered("farm map", || Ok(FarmMap::of(book)?))
}

/// The crew’s sheets of a plan’s jobs still to do, counted in the crew’s own bucket.
pub(crate) fn crew_sheets(book: &Book, made: &Made) -> Result<Arc<Vec<JobSheet>>, Page> {
    let today = today();
    book.remembered(&format!("crew {} {today}", made.stored.id), || {
        let bucket = job_sheet::own_bucket(book)?;
        Ok(job_sheet::of_plan(book, made, today, bucket)?)
    })
}
