//! A lab's file to soil tests, with what was doubtful about it.
//!
//! Bytes in, values out; nothing here touches a file, a clock or a database. The way is
//!
//! 1. [`tables`]: bytes to [`Table`]s with a row a sample, each cell with its row and column, by the
//!    file's [`form`]: [`sniff`] for text, [`workbook`] for XLSX and ODS, [`exchange`] for the
//!    published exchange standard's XML and JSON; files with a row a value are turned ([`widen`]);
//! 2. [`propose`]: a [`Layout`], what each column seems to mean;
//! 3. [`questions`] and [`Layout::answer`]: what the file does not say, asked of the grower once;
//! 4. [`read`]: all samples as soil tests, or none and a sentence for each reason;
//! 5. [`match_blocks`]: which block a sample came from.
//!
//! What was read is written again by [`tidy_csv`], [`workbook_xlsx`], [`exchange_xml`] and
//! [`exchange_json`], and reads back as it was.
//!
//! A unit, an extractant and a buffer are taken where the file names them and asked for where it
//! does not; none is assumed. The words come from `reference/labfiles/`.

mod across;
mod aligned;
mod doubt;
mod encoding;
mod exchange;
mod facts;
mod form;
mod frame;
mod header;
mod layout;
mod limits;
mod long;
mod matching;
mod methods;
mod number;
pub mod out;
pub mod pages;
mod pivot;
mod problem;
mod propose;
mod question;
mod read;
mod shares;
mod sniff;
mod stack;
mod table;
mod tables;
mod tidy;
mod unit;
mod words;
mod workbook;

pub use doubt::{
    BlockTest, Change, Dated, Decided, Decision, Doubt, DoubtKind, History, Past, PastReport,
    Saturated, Saturation, Subject, Suggestion, apply, doubts, fingerprint_of_values, impossible,
    question_all,
};
pub use exchange::{CodeMeaning, exchange};
pub use form::{FileForm, form};
pub use frame::RowFacts;
pub use layout::{Column, Layout, Meaning, Settled, Topic};
pub use limits::MOST_BYTES;
pub use long::widen;
pub use matching::{
    BlockNames, LastSample, Match, MatchedBy, Sent, SentBox, match_blocks, match_samples,
};
pub use problem::{Place, Problem};
pub use propose::propose;
pub use question::{AnswerError, Choice, Question, questions};
pub use read::{Kept, LeftOut, Report, Sampled, read};
pub use sniff::sniff;
pub use table::{Origin, Row, Table};
pub use tables::{tables, turned};
pub use unit::{Conversion, DepthUnit, Form, Ground, NoConversion, RateUnit, Unit};
pub use workbook::workbook;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod vocabulary_tests;
