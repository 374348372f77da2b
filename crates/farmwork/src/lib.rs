//! What pages and commands do with the book: from stored ground and reports to readings, needs, a
//! plan, an order and sheets.

pub mod block_sheet;
pub mod order;
