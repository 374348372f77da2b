//! What stops a run, each in one sentence.

use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why there is no output.
#[derive(Debug, Error)]
pub enum BulkError {
    #[error("{0} cannot be read: {1}.")]
    Read(PathBuf, String),
    #[error("{0} is a folder: name the CSV file in it.")]
    Folder(PathBuf),
    #[error("{0} cannot be written: {1}.")]
    Write(PathBuf, String),
    #[error("{0} would be written over the input: give the output another name.")]
    OverInput(PathBuf),
    #[error("Another run is writing {0}: wait for it, or give the output another name.")]
    Busy(PathBuf),
    #[error("{0} is empty: its first row must name the columns.")]
    Empty(PathBuf),
    #[error("{path}: {problem}")]
    Header { path: PathBuf, problem: String },
    #[error("{0}")]
    Option(String),
    #[error(
        "A row of {path} that begins after row {row} does not end within {mib} MiB: look for a quote mark that is not closed."
    )]
    Endless { path: PathBuf, row: u64, mib: usize },
    #[error("Stopped before the end: nothing was written.")]
    Stopped,
}

impl BulkError {
    pub(crate) fn read(path: &Path, why: &io::Error) -> Self {
        Self::Read(path.to_owned(), plain(why))
    }

    pub(crate) fn write(path: &Path, why: &io::Error) -> Self {
        Self::Write(path.to_owned(), plain(why))
    }
}

/// An error of the system without its number.
fn plain(why: &io::Error) -> String {
    let text = why.to_string();
    let text = text.split(" (os error").next().unwrap_or(&text);
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
