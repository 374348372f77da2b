//! Printed pages: the order list, the block sheets, the job sheets and the map, set as PDF on US Letter paper.
//!
//! The pages are Typst templates in `templates/`. What they print reaches them as JSON through a
//! virtual file, so a name such as `#eval("1")` is printed as it stands and never run. The same
//! input gives the same bytes: no clock, file or network is read.

mod block;
mod error;
mod fit;
mod job;
mod language;
mod map;
mod order;
mod press;
mod words;

pub use error::SheetError;
pub use language::Language;
pub use press::Pdf;

use farmwork::block_sheet::BlockSheet;
use farmwork::job_sheet::JobSheet;
use farmwork::map_sheet::MapSheet;
use farmwork::order::OrderList;

/// The list of what to buy for the whole farm.
///
/// # Errors
/// [`SheetError`] when the page could not be typeset; no input is known to cause it.
pub fn order_list(list: &OrderList) -> Result<Pdf, SheetError> {
    press::print("order.typ", &order::view(list))
}

/// The map of the farm at its scale, with a list of its blocks.
///
/// # Errors
/// [`SheetError`] when the page could not be typeset; no input is known to cause it.
pub fn farm_map(map: &MapSheet) -> Result<Pdf, SheetError> {
    press::print("map.typ", &map::view(map))
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
