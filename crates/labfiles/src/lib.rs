//! A lab's file to soil tests, with what was doubtful about it.
//!
//! Bytes in, values out; nothing here touches a file, a clock or a database. The way is
//!
//! 1. [`tables`]: bytes to a [`Table`] of cells as text, each with its row and column, by the file's
//!    [`form`]: [`sniff`] for text, [`workbook`] for XLSX and ODS;
//! 2. [`propose`]: a [`Layout`], what each column seems to mean;
//! 3. [`questions`] and [`Layout::answer`]: what the file does not say, asked of the grower once;
//! 4. [`read`]: all samples as soil tests, or none and a sentence for each reason;
//! 5. [`match_blocks`]: which block a sample came from.
//!
//! A unit, an extractant and a buffer are taken where the file names them and asked for where it
//! does not; none is assumed. The words come from `reference/labfiles/`.

mod aligned;
mod doubt;
mod encoding;
mod facts;
mod form;
mod header;
mod layout;
mod limits;
mod matching;
mod methods;
mod number;
mod problem;
mod propose;
mod question;
mod read;
mod sniff;
mod table;
mod unit;
mod words;
mod workbook;

pub use doubt::{Doubt, doubts};
pub use form::{FileForm, form, tables};
pub use layout::{Column, Layout, Meaning, Settled, Topic};
pub use limits::MOST_BYTES;
pub use matching::{BlockNames, Match, match_blocks};
pub use problem::{Place, Problem};
pub use propose::propose;
pub use question::{AnswerError, Choice, Question, questions};
pub use read::{Kept, LeftOut, Report, Sampled, read};
pub use sniff::sniff;
pub use table::{Row, Table};
pub use unit::{Conversion, DepthUnit, Form, Ground, NoConversion, RateUnit, Unit};
pub use workbook::workbook;

#[cfg(test)]
mod tests;
