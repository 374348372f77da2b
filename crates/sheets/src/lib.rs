//! Printed pages: the order list, the block sheets and the job sheets, set as PDF on US Letter paper.
//!
//! The pages are Typst templates in `templates/`. What they print reaches them as JSON through a
//! virtual file, so a name such as `#eval("1")` is printed as it stands and never run. The same
//! input gives the same bytes: no clock, file or network is read.

mod block;
mod error;
mod fit;
mod job;
mod language;
mod order;
mod press;
mod record;
mod words;

pub use error::SheetError;
pub use language::Language;
pub use press::Pdf;

use farmwork::block_sheet::BlockSheet;
use farmwork::job_sheet::JobSheet;
use farmwork::order::OrderList;
use farmwork::record::inspection::Inspection;

/// The list of what to buy for the whole farm.
///
/// # Errors
/// [`SheetError`] when the page could not be typeset; no input is known to cause it.
pub fn order_list(list: &OrderList) -> Result<Pdf, SheetError> {
    press::print("order.typ", &order::view(list))
}

/// The record of inputs for an inspector: what came in, where it went, what is left, what to look at.
///
/// # Errors
/// [`SheetError`] when the page could not be typeset; no input is known to cause it.
pub fn record(all: &Inspection) -> Result<Pdf, SheetError> {
    press::print("record.typ", &record::view(all))
}

/// One sheet for each block, each beginning on a page of its own, in the order given.
///
/// With `with_working`, the steps behind the figures follow as an appendix after the last sheet.
/// Without blocks there is one page that says so.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn block_sheets(blocks: &[BlockSheet], with_working: bool) -> Result<Pdf, SheetError> {
    press::print("block.typ", &block::view(blocks, with_working))
}

/// One sheet for each job in the language of the crew, each on one page, in the order given.
///
/// What would not fit a page is set smaller; without jobs there is one page that says so.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn job_sheets(jobs: &[JobSheet], language: Language) -> Result<Pdf, SheetError> {
    let wanted = jobs.len().max(1);
    let mut pdf = press::print("job.typ", &job::view(jobs, language, job::SIZES[0])?)?;
    // Names and cautions of usual length fit at once; a smaller face is for the rest.
    for size in &job::SIZES[1..] {
        if pdf.pages <= wanted {
            break;
        }
        pdf = press::print("job.typ", &job::view(jobs, language, *size)?)?;
    }
    Ok(pdf)
}
