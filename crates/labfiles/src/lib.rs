//! A lab's text file to soil tests, with what was doubtful about it.
//!
//! Bytes in, values out; nothing here touches a file, a clock or a database. The way is
//!
//! 1. [`sniff`]: bytes to a [`Table`] of cells as text, each with its row and column;
//! 2. [`propose`]: a [`Layout`], what each column seems to mean;
//! 3. [`questions`] and [`Layout::answer`]: what the file does not say, asked of the grower once;
//! 4. [`read`]: all samples as soil tests, or none and a sentence for each reason;
//! 5. [`match_blocks`]: which block a sample came from.
//!
//! A unit, an extractant and a buffer are taken where the file names them and asked for where it
//! does not; none is assumed. The words come from `reference/labfiles/`.

mod doubt;
mod facts;
mod header;
mod layout;
mod matching;
mod methods;
mod number;
pub mod pages;
mod problem;
mod propose;
mod question;
mod read;
mod sniff;
mod table;
mod unit;
mod words;

pub use doubt::{Doubt, doubts};
pub use layout::{Column, Layout, Meaning, Settled, Topic};
pub use matching::{BlockNames, Match, match_blocks};
pub use problem::Problem;
pub use propose::propose;
pub use question::{AnswerError, Choice, Question, questions};
pub use read::{Kept, LeftOut, Report, Sampled, read};
pub use sniff::{MOST_BYTES, sniff};
pub use table::{Origin, Row, Table};
pub use unit::{Conversion, DepthUnit, Form, Ground, NoConversion, RateUnit, Unit};

#[cfg(test)]
mod tests;
