//! What a run is told, and what it tells.

use serde::Serialize;
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// What stands for a column that the file has not, or for a blank in it. Words are keys or names as in
/// the column of the same name.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The table of classes to read with, e.g. `M3_NJ`
    pub table: Option<String>,
    pub crop: Option<String>,
    /// Of every nutrient that has no column of its own for it
    pub extractant: Option<String>,
    /// Of potassium, where it is another one, as ammonium acetate beside Bray or Olsen
    pub k_extractant: Option<String>,
    pub buffer: Option<String>,
    pub texture: Option<String>,
    /// pH in water to lime to; the crop’s range where none is given
    pub target_ph: Option<f64>,
    /// Depth the lime is worked into, inches; the method’s own where none is given
    pub lime_depth_in: Option<f64>,
    /// Threads that work rows out; one for each core where none is given
    pub threads: Option<NonZeroUsize>,
    /// Size of the pieces read, bytes; for tests
    pub piece: Option<NonZeroUsize>,
}

impl Options {
    pub(crate) fn threads(&self) -> usize {
        // More than a few only wait for the one thread that reads.
        const MOST: usize = 8;
        self.threads
            .or_else(|| std::thread::available_parallelism().ok())
            .map_or(1, NonZeroUsize::get)
            .min(MOST)
    }

    pub(crate) fn piece_bytes(&self) -> usize {
        const PIECE: usize = 256 * 1024;
        self.piece.map_or(PIECE, NonZeroUsize::get)
    }
}

/// How far a run is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Rows read, without the header and blank ones
    pub rows: u64,
    pub bad_rows: u64,
    pub bytes: u64,
    /// Size of the input; zero where it is not known, as for a pipe
    pub bytes_total: u64,
}

impl Progress {
    /// The part of the input that is done, 0 to 1.
    pub fn share(&self) -> Option<f64> {
        (self.bytes_total > 0).then(|| (self.bytes as f64 / self.bytes_total as f64).min(1.0))
    }
}

/// What a run did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Rows read, without the header and blank ones
    pub rows: u64,
    /// Rows written to the output
    pub good_rows: u64,
    pub bad_rows: u64,
    pub bytes: u64,
    /// Where the bad rows are, with their reasons
    pub bad_file: Option<PathBuf>,
    /// Columns of the input that nothing was made of
    pub not_used: Vec<String>,
}
