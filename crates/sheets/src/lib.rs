//! Printed pages: the order list, the block sheets, the job sheets and the map, set as PDF on US Letter paper.
//!
//! The pages are Typst templates in `templates/`. What they print reaches them as JSON through a
//! virtual file, so a name such as `#eval("1")` is printed as it stands and never run. The same
//! input gives the same bytes: no clock, file or network is read.

mod adviser;
mod block;
mod error;
mod fit;
mod job;
mod label;
mod language;
mod map;
mod nutrient_plan;
mod order;
mod press;
mod record;
mod walk;
mod words;
mod years;

pub use error::SheetError;
pub use label::{LabelStock, code as address_code};
pub use language::Language;
pub use press::Pdf;

use farmwork::adviser::AdviserSheet;
use farmwork::block_sheet::BlockSheet;
use farmwork::history::History;
use farmwork::job_sheet::JobSheet;
use farmwork::learned::Own;
use farmwork::map_sheet::MapSheet;
use farmwork::nutrient_plan::NutrientPlan;
use farmwork::order::OrderList;
use farmwork::record::inspection::Inspection;
use farmwork::sampling::paper::{BoxLabel, WalkSheet};

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

/// A page for the adviser for each block, in the order given: tests, needs, plan, account and the working
/// in short. Each is one page: a busy one is set smaller, and what still does not fit is cut with a
/// sentence that says how much.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn adviser(blocks: &[AdviserSheet]) -> Result<Pdf, SheetError> {
    press::print("adviser.typ", &adviser::view(blocks))
}

/// The draft of a nutrient management plan by the headings of the federal practice standard, marked as a
/// draft on every page, with lines to fill where something is not known.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn nutrient_plan(plan: &NutrientPlan) -> Result<Pdf, SheetError> {
    press::print("nutrient-plan.typ", &nutrient_plan::view(plan))
}

/// What each test of a block found through the years, with the same pictures as the page, what its tests
/// taught of how far it answers, and what happened on it.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn history(farm: &str, season: &str, of: &History, taught: &[Own]) -> Result<Pdf, SheetError> {
    press::print("years.typ", &years::view(farm, season, of, taught))
}

/// One sheet for each job in the language of the crew, each on one page, in the order given.
///
/// What would not fit a page is set smaller; without jobs there is one page that says so.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn job_sheets(jobs: &[JobSheet], language: Language) -> Result<Pdf, SheetError> {
    one_page_each(jobs.len(), &job::SIZES, |size| {
        press::print("job.typ", &job::view(jobs, language, size)?)
    })
}

/// One walk for cores for each block of each box in the language of the crew, each on one page, in the
/// order given: a little map, each core with a box to tick, and how the soil is handled.
///
/// Without walks there is one page that says so.
///
/// # Errors
/// [`SheetError`] when a page could not be typeset; no input is known to cause it.
pub fn core_walks(walks: &[WalkSheet], language: Language) -> Result<Pdf, SheetError> {
    one_page_each(walks.len(), &walk::SIZES, |size| {
        press::print("walk.typ", &walk::view(walks, language, size)?)
    })
}

/// Labels of boxes on a stock, beginning with the label `from` of the first sheet, counted from 1 along
/// the rows. The code on a label opens the page of its box.
///
/// # Errors
/// [`SheetError`] for a first label that the sheet does not have, an address too long for a code, or when
/// a page could not be typeset.
pub fn box_labels(labels: &[BoxLabel], stock: LabelStock, from: u32) -> Result<Pdf, SheetError> {
    press::print("label.typ", &label::view(labels, stock, from)?)
}

/// Sets sheets in the first size in which each has its page.
fn one_page_each(
    sheets: usize,
    sizes: &[f64],
    print: impl Fn(f64) -> Result<Pdf, SheetError>,
) -> Result<Pdf, SheetError> {
    let wanted = sheets.max(1);
    let mut pdf = print(sizes[0])?;
    // Names and cautions of usual length fit at once; a smaller face is for the rest.
    for size in &sizes[1..] {
        if pdf.pages <= wanted {
            break;
        }
        pdf = print(*size)?;
    }
    Ok(pdf)
}
