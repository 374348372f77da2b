//! Named numbers of a published method, each with its source.

use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::collections::BTreeMap;

/// One number.
#[derive(Debug, Clone)]
pub(crate) struct Constant {
    pub(crate) value: f64,
    pub(crate) source: Source,
}

#[derive(Deserialize)]
struct Row {
    key: String,
    value: f64,
    #[serde(rename = "unit")]
    _unit: String,
    source: String,
    evidence: String,
}

/// A table of named numbers.
#[derive(Debug, Clone, Default)]
pub(crate) struct Constants(BTreeMap<String, Constant>);

impl Constants {
    pub(crate) fn parse(name: &str, text: &str) -> Result<Self, TableError> {
        let mut all = BTreeMap::new();
        for (i, row) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
            let source = table::source(name, i + 2, &row.source, &row.evidence)?;
            let constant = Constant {
                value: row.value,
                source,
            };
            if all.insert(row.key.clone(), constant).is_some() {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” stands twice", row.key),
                });
            }
        }
        Ok(Self(all))
    }

    pub(crate) fn get(&self, key: &str) -> Option<&Constant> {
        self.0.get(key)
    }
}

/// A caution that a table attaches to a situation.
#[derive(Debug, Clone, Deserialize)]
struct CautionRow {
    when: String,
    text: String,
    source: String,
    evidence: String,
}

/// Cautions by situation.
#[derive(Debug, Clone, Default)]
pub(crate) struct Cautions(Vec<(String, String, Source)>);

impl Cautions {
    pub(crate) fn parse(name: &str, text: &str) -> Result<Self, TableError> {
        table::rows::<CautionRow>(name, text)?
            .into_iter()
            .enumerate()
            .map(|(i, r)| {
                let source = table::source(name, i + 2, &r.source, &r.evidence)?;
                Ok((r.when, r.text, source))
            })
            .collect::<Result<_, _>>()
            .map(Self)
    }

    /// The cautions for one situation.
    pub(crate) fn when<'a>(&'a self, when: &'a str) -> impl Iterator<Item = (&'a str, &'a Source)> {
        self.0
            .iter()
            .filter(move |(w, _, _)| w == when)
            .map(|(_, text, source)| (text.as_str(), source))
    }
}
