//! Kinds of material that a rule of mixing, timing or safety speaks of.

use super::Material;
use crate::table::{self, TableError};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct Row {
    name: String,
    ids: String,
}

/// Group by name, each with the ids in it; `*` is every material.
#[derive(Debug, Clone, Default)]
pub(super) struct Groups(BTreeMap<String, Vec<String>>);

impl Groups {
    /// Parses the groups; every id must be that of a material.
    pub(super) fn parse() -> Result<Self, TableError> {
        let name = "materials/groups.csv";
        let text = include_str!("../../../../reference/materials/groups.csv");
        let mut all = BTreeMap::new();
        for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
            let ids: Vec<String> = r.ids.split(';').map(|s| s.trim().to_owned()).collect();
            if let Some(lost) = ids
                .iter()
                .find(|id| *id != "*" && super::find(id).is_none())
            {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("no material “{lost}”"),
                });
            }
            all.insert(r.name, ids);
        }
        Ok(Self(all))
    }

    /// An error when the group of a row leads nowhere.
    pub(super) fn known(&self, group: &str, table: &str, row: usize) -> Result<(), TableError> {
        if self.0.contains_key(group) {
            Ok(())
        } else {
            Err(TableError {
                table: table.to_owned(),
                row,
                problem: format!("no group “{group}”"),
            })
        }
    }

    pub(super) fn holds(&self, group: &str, material: &Material) -> bool {
        self.0
            .get(group)
            .is_some_and(|ids| ids.iter().any(|id| id == "*" || *id == material.id))
    }
}
