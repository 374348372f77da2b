//! What is known of a table that was turned from another form: where its header stands, and
//! where its cells came from.

use crate::layout::Meaning;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Where a cell of a turned table came from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Turned {
    /// Column of the turned table, from 0.
    pub(crate) column: usize,
    /// Row of the file as it came, from 1.
    pub(crate) row: usize,
    /// Position among the sample's cells in the file.
    pub(crate) order: usize,
    /// What the lab printed and its unit, where the file keeps them beside the value.
    pub(crate) printed: Option<Box<(String, String)>>,
}

/// What a file says of a sample beside its values.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RowFacts {
    pub block: Option<String>,
    pub lab: Option<String>,
    /// What was decided about the sample's doubtful values, a sentence each.
    pub decided: Vec<String>,
}

#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Frame {
    /// Position of the header in `Table::rows`; no rows of units stand under it.
    pub(crate) header: usize,
    pub(crate) lab: String,
    /// What each column means, where the file says so without doubt; else empty.
    pub(crate) meanings: Vec<Meaning>,
    /// By the row's number.
    pub(crate) facts: BTreeMap<usize, RowFacts>,
}

impl Frame {
    pub(crate) fn is_exact(&self) -> bool {
        !self.meanings.is_empty()
    }
}
