//! Why a workbook cannot be read, before it has the file's name.

use crate::problem::Problem;

/// What was found and what was expected instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Refused {
    found: String,
    expected: String,
}

impl Refused {
    pub(crate) fn new(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            found: found.into(),
            expected: expected.into(),
        }
    }

    /// More than is read of one file.
    pub(crate) fn much(found: impl Into<String>) -> Self {
        Self::new(found, "a lab's report, which is smaller")
    }

    /// Cut off, damaged or made up.
    pub(crate) fn broken(what: &str) -> Self {
        Self::new(
            format!("a workbook that is cut off or damaged ({what})"),
            "a whole one: fetch it again, or open it and save it anew",
        )
    }

    pub(crate) fn locked() -> Self {
        Self::new(
            "a workbook that is locked with a password",
            "one without: open it and save it without a password",
        )
    }

    pub(crate) fn of(self, file: &str) -> Problem {
        Problem::of_file(file, self.found, self.expected)
    }

    /// The same, in one sheet.
    pub(crate) fn in_sheet(self, sheet: &str) -> Self {
        if sheet.trim().is_empty() {
            return self;
        }
        Self {
            found: format!("{} in sheet {}", self.found, crate::problem::quoted(sheet)),
            ..self
        }
    }
}
