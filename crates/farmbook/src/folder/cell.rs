//! One value as a cell, and back.

use crate::{Error, Result};
use rusqlite::types::{Value as Sql, ValueRef};
use serde::{Deserialize, Serialize};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Kind {
    WholeNumber,
    Number,
    Text,
    Json,
    /// The cell names a file.
    Bytes,
}

impl Kind {
    pub(super) fn of(declared: &str, json: bool) -> Result<Self> {
        Ok(match (declared, json) {
            ("TEXT", true) => Self::Json,
            ("TEXT", false) => Self::Text,
            ("INTEGER", _) => Self::WholeNumber,
            ("REAL", _) => Self::Number,
            ("BLOB", _) => Self::Bytes,
            _ => {
                return Err(Error::Damaged(format!(
                    "a column is of the kind “{declared}”"
                )));
            }
        })
    }
}

/// Whether text could be taken for nothing, a formula or an escape.
fn needs_mark(text: &str) -> bool {
    text.chars()
        .next()
        .is_none_or(|c| matches!(c, '\'' | '=' | '+' | '-' | '@') || c.is_control())
}

/// None for bytes, for text that is none and for a number without end.
pub(super) fn write(value: ValueRef<'_>) -> Option<String> {
    Some(match value {
        ValueRef::Null => String::new(),
        ValueRef::Integer(i) => i.to_string(),
        // The shortest digits that give the same number again.
        ValueRef::Real(r) if r.is_finite() => format!("{r:?}"),
        ValueRef::Text(text) => {
            let text = std::str::from_utf8(text).ok()?;
            if needs_mark(text) {
                format!("'{text}")
            } else {
                text.to_owned()
            }
        }
        ValueRef::Real(_) | ValueRef::Blob(_) => return None,
    })
}

/// None where the cell is not what its column holds.
pub(super) fn read(kind: Kind, cell: &str) -> Option<Sql> {
    if cell.is_empty() {
        return Some(Sql::Null);
    }
    Some(match kind {
        Kind::WholeNumber => Sql::Integer(cell.parse().ok()?),
        Kind::Number => Sql::Real(cell.parse().ok().filter(|v: &f64| v.is_finite())?),
        Kind::Text | Kind::Json => Sql::Text(cell.strip_prefix('\'').unwrap_or(cell).to_owned()),
        Kind::Bytes => return None,
    })
}

impl Kind {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::WholeNumber => "a whole number",
            Self::Number => "a number",
            Self::Text => "text",
            Self::Json => "a JSON document",
            Self::Bytes => "the name of a kept file",
        }
    }
}
