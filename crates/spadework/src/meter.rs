//! How far a long run is, on one line of a terminal.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// Shown on standard error, and only where that is a terminal.
pub(crate) struct Meter {
    shown: bool,
    last: Option<Instant>,
}

impl Meter {
    pub(crate) fn new(wanted: bool) -> Self {
        Self {
            shown: wanted && std::io::stderr().is_terminal(),
            last: None,
        }
    }

    /// Rows done, and the part of the file from 0 to 1 where it is known.
    pub(crate) fn show(&mut self, rows: u64, share: Option<f64>) {
        const EVERY: Duration = Duration::from_millis(200);
        if !self.shown || self.last.is_some_and(|last| last.elapsed() < EVERY) {
            return;
        }
        self.last = Some(Instant::now());
        let share = share.map_or_else(String::new, |s| format!(", {:.0} %", s * 100.0));
        let mut out = std::io::stderr().lock();
        // A terminal that is gone is no reason to stop.
        let _ = write!(out, "\r{rows} rows{share} ");
        let _ = out.flush();
    }

    /// Leaves the line.
    pub(crate) fn end(&self) {
        if self.shown && self.last.is_some() {
            let _ = writeln!(std::io::stderr());
        }
    }
}
