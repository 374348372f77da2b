use serde::{Deserialize, Serialize};
use std::fmt;

use crate::workbook::letters;

/// The longest piece of a cell that a sentence repeats, in characters.
const SHOWN: usize = 60;

/// Where in a workbook something stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    pub sheet: String,
    /// The column's letter, where it is one column.
    pub letter: Option<String>,
}

/// Why a file or a row was refused, as one sentence for the grower.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    pub file: String,
    /// Where in a workbook.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Box<Place>>,
    /// The row as a spreadsheet counts it, from 1.
    pub row: Option<usize>,
    /// The column's header as printed.
    pub column: Option<String>,
    pub found: String,
    pub expected: String,
}

impl Problem {
    /// A problem of the whole file.
    pub fn of_file(file: &str, found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            file: shown(file),
            place: None,
            row: None,
            column: None,
            found: found.into(),
            expected: expected.into(),
        }
    }

    /// A problem of one row, perhaps of one column in it.
    pub fn at(
        file: &str,
        row: usize,
        column: Option<&str>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Self {
        Self {
            row: Some(row),
            column: column.map(shown),
            ..Self::of_file(file, found, expected)
        }
    }

    /// Names the sheet of a workbook, and the letter of the column counted from 0.
    #[must_use]
    pub(crate) fn in_sheet(mut self, sheet: Option<&str>, column: Option<usize>) -> Self {
        self.place = sheet.map(|sheet| {
            Box::new(Place {
                sheet: shown(sheet),
                letter: column.map(letters),
            })
        });
        self
    }

    /// Names the column of a problem of the whole file.
    #[must_use]
    pub fn in_column(mut self, column: &str) -> Self {
        self.column = Some(shown(column));
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        let place = self.place.as_deref();
        if let Some(place) = place {
            write!(f, ", sheet “{}”", place.sheet)?;
        }
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        match (place.and_then(|p| p.letter.as_ref()), &self.column) {
            (Some(letter), Some(column)) => write!(f, ", column {letter} “{column}”")?,
            (Some(letter), None) => write!(f, ", column {letter}")?,
            (None, Some(column)) => write!(f, ", column “{column}”")?,
            (None, None) => {}
        }
        write!(f, ": found {}, expected {}.", self.found, self.expected)
    }
}

impl std::error::Error for Problem {}

/// Text of a file, short enough for a sentence and free of control characters.
pub(crate) fn shown(text: &str) -> String {
    let mut out: String = text
        .trim()
        .chars()
        .take(SHOWN)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.trim().chars().nth(SHOWN).is_some() {
        out.push('…');
    }
    out
}

/// The same, in quotation marks.
pub(crate) fn quoted(text: &str) -> String {
    if text.trim().is_empty() {
        "an empty cell".to_owned()
    } else {
        format!("“{}”", shown(text))
    }
}
