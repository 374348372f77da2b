//! What every table and column means, from `describe.csv`.

use std::collections::HashMap;
use std::sync::OnceLock;

struct Words {
    what: String,
    json: bool,
}

fn all() -> &'static HashMap<(String, String), Words> {
    static ALL: OnceLock<HashMap<(String, String), Words>> = OnceLock::new();
    ALL.get_or_init(|| {
        csv::Reader::from_reader(include_str!("describe.csv").as_bytes())
            .into_records()
            .flatten()
            .filter_map(|row| {
                Some((
                    (row.get(0)?.to_owned(), row.get(1)?.to_owned()),
                    Words {
                        what: row.get(3)?.to_owned(),
                        json: row.get(2)? == "json",
                    },
                ))
            })
            .collect()
    })
}

/// What a table holds; empty where nobody said, which a test refuses.
pub(super) fn table(name: &str) -> String {
    all()
        .get(&(name.to_owned(), String::new()))
        .map_or_else(String::new, |w| w.what.clone())
}

/// What a column holds, and whether it is a JSON document.
pub(super) fn column(table: &str, name: &str) -> (String, bool) {
    all()
        .get(&(table.to_owned(), name.to_owned()))
        .map_or_else(|| (String::new(), false), |w| (w.what.clone(), w.json))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::folder;
    use crate::schema::{MIGRATIONS, migrate};
    use std::collections::BTreeSet;

    /// A table or column that is added must be described in `describe.csv`, and nothing is described
    /// that is not there.
    #[test]
    fn every_table_and_column_is_described_and_nothing_else() {
        let conn = rusqlite::Connection::open_in_memory().unwrap();
        migrate(&conn, MIGRATIONS).unwrap();
        let mut there = BTreeSet::new();
        for table in folder::tables(&conn).unwrap() {
            there.insert((table.clone(), String::new()));
            for column in folder::columns(&conn, &table).unwrap() {
                there.insert((table.clone(), column.name));
            }
        }
        let described: BTreeSet<_> = all()
            .iter()
            .filter(|(_, w)| !w.what.trim().is_empty())
            .map(|(k, _)| k.clone())
            .collect();
        let missing: Vec<_> = there.difference(&described).collect();
        let too_many: Vec<_> = described.difference(&there).collect();
        assert!(missing.is_empty(), "not described: {missing:?}");
        assert!(too_many.is_empty(), "described but not there: {too_many:?}");
    }
}
