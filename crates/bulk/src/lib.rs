//! Any number of lab rows, from CSV to CSV: the class of each value, lime, P2O5 and K2O.
//!
//! The file is read as a stream in pieces of whole records, so memory does not grow with it. The science
//! is that of `agronomy`, by its roads without working; a row they cannot answer takes the long road.

mod bad;
mod cell;
mod chunks;
mod error;
mod front;
mod header;
mod lime;
mod line;
mod number;
mod options;
mod output;
mod reading;
mod records;
mod row;
mod words;
mod work;

pub use error::BulkError;
pub use options::{Options, Progress, Summary};
pub use output::bad_path;

use std::fs::File;
use std::ops::ControlFlow;
use std::path::Path;

/// Reads lab rows from `input` and writes one row of results for each to `output`.
///
/// The output stands under its name only when it is whole; rows that cannot be used go to
/// [`bad_path`], and a bad file of an earlier run is taken away where there are none. `progress` hears of
/// every piece that was written and may stop the run, which then leaves nothing behind.
///
/// Errors: a file that cannot be read or written, an output that is the input, a header or an option
/// that cannot be used.
pub fn run(
    input: &Path,
    output: &Path,
    options: &Options,
    mut progress: impl FnMut(Progress) -> ControlFlow<()>,
) -> Result<Summary, BulkError> {
    let bad = bad_path(output);
    output::apart(input, &[output, &bad])?;
    let source = File::open(input).map_err(|e| BulkError::read(input, &e))?;
    let about = source.metadata().map_err(|e| BulkError::read(input, &e))?;
    if about.is_dir() {
        return Err(BulkError::Folder(input.to_owned()));
    }
    let bytes_total = if about.is_file() { about.len() } else { 0 };

    let mut chunks = chunks::Chunks::new(source, input, options.piece_bytes());
    let first = chunks.next(Vec::new())?.unwrap_or_default();
    let (header, names_bytes) = header::parse(input, &first, options)?;
    let mut sink = output::Sink::new(output, &bad)?;
    sink.write(&header.out_names())?;
    let mut tally = work::Tally::new(sink, bytes_total, names_bytes, &mut progress);
    work::run(&header, options.threads(), chunks, first, &mut tally)?;
    let (sink, mut summary) = tally.finish();
    summary.not_used.clone_from(&header.not_used);
    summary.bad_file = (summary.bad_rows > 0).then_some(bad);
    sink.commit()?;
    Ok(summary)
}
