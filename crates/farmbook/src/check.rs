//! Whether the book is sound.

use crate::change::{Table, row_json};
use crate::kept::sha256;
use crate::row::{from_json, get};
use crate::{Book, Id, Result};
use serde_json::Value;
use std::collections::HashMap;

impl Book {
    /// Looks for damage and says each thing found in a sentence; an empty list is good news.
    ///
    /// Looks at the file (`integrity_check`), at records that point nowhere, at the kept files'
    /// checksums, and at whether the journal tells how each row came to be as it is. Rows last
    /// written under an older layout are not held against the journal.
    pub fn check(&self) -> Result<Vec<String>> {
        let mut found = Vec::new();
        for line in self.list("PRAGMA integrity_check", [], |row| {
            Ok(row.get::<_, String>(0)?)
        })? {
            if line != "ok" {
                found.push(format!("The file is damaged: {line}."));
            }
        }
        for (table, row) in self.list("PRAGMA foreign_key_check", [], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, Option<i64>>(1)?))
        })? {
            found.push(format!(
                "{table} {} points to a record that is not there.",
                row.unwrap_or(0)
            ));
        }
        self.check_kept(&mut found)?;
        self.check_journal(&mut found)?;
        if let Some(trouble) = &self.backup_trouble {
            found.push(trouble.clone());
        }
        Ok(found)
    }

    fn check_kept(&self, found: &mut Vec<String>) -> Result<()> {
        for sha in self.list("SELECT sha256 FROM kept", [], |row| {
            get::<String>(row, "sha256")
        })? {
            if sha256(&self.kept(&sha)?) != sha {
                found.push(format!("The kept file {sha} is not as it was stored."));
            }
        }
        Ok(())
    }

    fn check_journal(&self, found: &mut Vec<String>) -> Result<()> {
        let mut last: HashMap<(Table, Id), (i64, Option<Value>)> = HashMap::new();
        let sql = "SELECT e.tbl, e.row_id, e.before, e.after, c.layout FROM entry e
             JOIN change c ON c.id = e.change_id ORDER BY e.id";
        let value = |text: Option<String>| text.map(|t| from_json(&t, "entry")).transpose();
        let entries = self.list(sql, [], |row| {
            Ok((
                Table::from_name(&get::<String>(row, "tbl")?)?,
                get::<Id>(row, "row_id")?,
                value(get(row, "before")?)?,
                value(get(row, "after")?)?,
                get::<i64>(row, "layout")?,
            ))
        })?;
        for (table, id, before, after, layout) in entries {
            let earlier = last.insert((table, id), (layout, after));
            let fits = match earlier {
                Some((same, was)) => same != layout || was == before,
                None => before.is_none(),
            };
            if !fits {
                let name = table.name();
                found.push(format!("The journal of {name} {id} has a gap."));
            }
        }
        for table in Table::ALL {
            let name = table.name();
            let sql = format!("SELECT * FROM {name} ORDER BY id");
            let rows = self.list(&sql, [], |row| Ok((get::<Id>(row, "id")?, row_json(row)?)))?;
            for (id, row) in rows {
                match last.remove(&(table, id)) {
                    None => found.push(format!("{name} {id} is not in the journal.")),
                    Some((layout, after)) => {
                        if layout == self.layout && after.as_ref() != Some(&row) {
                            found.push(format!("{name} {id} is not as the journal left it."));
                        }
                    }
                }
            }
        }
        // What is left must be rows that the journal saw go.
        for ((table, id), (layout, after)) in last {
            if layout == self.layout && after.is_some() {
                found.push(format!("{} {id} is missing.", table.name()));
            }
        }
        // A change is written with its rows or not at all.
        let sql = "SELECT id FROM change WHERE id NOT IN (SELECT change_id FROM entry)";
        for id in self.list(sql, [], |row| get::<Id>(row, "id"))? {
            found.push(format!("Change {id} has no rows."));
        }
        Ok(())
    }
}
