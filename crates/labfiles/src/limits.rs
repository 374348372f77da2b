//! How much of a file is read. What is larger is refused in a sentence, before it fills memory.

/// The largest file that is read, in bytes.
pub const MOST_BYTES: usize = 20 * 1024 * 1024;
/// The most cells in one row.
pub(crate) const MOST_WIDE: usize = 2_000;
/// The most rows that hold something.
pub(crate) const MOST_ROWS: usize = 250_000;
/// The most cells, counted to the last filled one of each row.
pub(crate) const MOST_CELLS: usize = 2_000_000;
/// The most text in the cells of a workbook, in bytes.
pub(crate) const MOST_TEXT: usize = 24 * 1024 * 1024;
/// The most files packed into a workbook.
pub(crate) const MOST_PACKED: usize = 2_000;
/// The largest of them that is unpacked, in bytes.
pub(crate) const MOST_UNPACKED: usize = 64 * 1024 * 1024;
/// All that is unpacked of one workbook, in bytes.
pub(crate) const MOST_UNPACKED_ALL: usize = 96 * 1024 * 1024;
/// The most sheets of a workbook.
pub(crate) const MOST_SHEETS: usize = 200;
/// How deep the elements of its files may nest.
pub(crate) const DEEPEST: usize = 100;

/// The most elements and texts of one of its files.
pub(crate) const MOST_STEPS: usize = 12_000_000;

/// What is left of these for one file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Budget {
    rows: usize,
    cells: usize,
    text: usize,
}

impl Budget {
    pub(crate) fn new() -> Self {
        Self {
            rows: MOST_ROWS,
            cells: MOST_CELLS,
            text: MOST_TEXT,
        }
    }

    /// Takes one row off; the error says what was found.
    pub(crate) fn row(&mut self) -> Result<(), String> {
        self.rows = self
            .rows
            .checked_sub(1)
            .ok_or_else(|| format!("more than {MOST_ROWS} rows"))?;
        Ok(())
    }

    /// Takes cells off; the error says what was found.
    pub(crate) fn cells(&mut self, cells: usize) -> Result<(), String> {
        self.cells = self
            .cells
            .checked_sub(cells)
            .ok_or_else(|| format!("more than {MOST_CELLS} cells"))?;
        Ok(())
    }

    /// Takes bytes of text off; the error says what was found.
    pub(crate) fn text(&mut self, bytes: usize) -> Result<(), String> {
        self.text = self
            .text
            .checked_sub(bytes)
            .ok_or_else(|| format!("more than {} MB of text", MOST_TEXT / 1024 / 1024))?;
        Ok(())
    }
}
