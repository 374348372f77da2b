//! Printed pages: the order list and the block sheets, set as PDF on US Letter paper.
//!
//! The pages are Typst templates in `templates/`. What they print reaches them as JSON through a
//! virtual file, so a name such as `#eval("1")` is printed as it stands and never run. The same
//! input gives the same bytes: no clock, file or network is read.

mod block;
mod error;
mod fit;
mod order;
mod press;
mod words;

pub use error::SheetError;
pub use press::Pdf;

use farmwork::block_sheet::BlockSheet;
use farmwork::order::OrderList;

/// The list of what to buy for the whole farm.
///
/// # Errors
/// [`SheetError`] when the page could not be typeset; no input is known to cause it.
pub fn order_list(list: &OrderList) -> Result<Pdf, SheetError> {
    press::print("order.typ", &order::view(list))
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
