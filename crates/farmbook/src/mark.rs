//! Marks that whoever writes an entry makes before sending it, so that sending it twice doubles nothing,
//! and what entries have in common that are corrected beside themselves.

use crate::change::Table;
use crate::row::{date, get};
use crate::{Book, Error, Id, Result};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::types::Value as Sql;
use rusqlite::{Row, RowIndex};
use uuid::Uuid;

/// How many entries of a kind stand.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Entries {
    pub count: u32,
    /// The first of their days; none where there is none.
    pub first: Option<Date>,
}

/// A mark for a new entry: a random UUID (RFC 9562, version 4).
pub fn new_mark() -> String {
    Uuid::new_v4().to_string()
}

/// The one way in which a mark is written.
pub(crate) fn mark(text: &str) -> Result<String> {
    Uuid::parse_str(text.trim())
        .map(|mark| mark.to_string())
        .map_err(|_| Error::invalid("The mark of an entry", "a UUID"))
}

const MOST: Weight = Weight::hundredths_of_an_ounce(160_000_000_000);

/// A weight that an entry may hold; nothing at all only where it takes back another entry.
pub(crate) fn weight(what: &str, weight: Weight, zero: bool) -> Result<Sql> {
    let least = if zero {
        Weight::ZERO
    } else {
        Weight::hundredths_of_an_ounce(1)
    };
    if (least..=MOST).contains(&weight) {
        return Ok(weight.to_hundredths_of_an_ounce().into());
    }
    Err(Error::invalid(
        what,
        if zero {
            "from 0 to 100,000,000 lb"
        } else {
            "at least a hundredth of an ounce and at most 100,000,000 lb"
        },
    ))
}

pub(crate) fn weight_of(row: &Row<'_>, column: impl RowIndex) -> Result<Weight> {
    Ok(Weight::hundredths_of_an_ounce(get(row, column)?))
}

/// The day of an entry.
pub(crate) fn day(row: &Row<'_>) -> Result<Date> {
    day_at(row, "day")
}

/// The same from another column.
pub(crate) fn day_at(row: &Row<'_>, column: impl RowIndex) -> Result<Date> {
    get::<String>(row, column)?
        .parse()
        .map_err(|_| Error::Damaged("an entry has no day".to_owned()))
}

/// The number of the first entry with a mark, where the second says the same.
pub(crate) fn same_entry(same: bool, id: Id) -> Result<Id> {
    if same {
        return Ok(id);
    }
    Err(Error::invalid(
        "The mark of an entry",
        format!("its own: entry {id} has it and says something else"),
    ))
}

impl Book {
    /// The number of the entry with a mark.
    ///
    /// # Errors
    /// No UUID.
    pub(crate) fn marked(&self, table: Table, text: &str) -> Result<Option<Id>> {
        let sql = format!("SELECT id FROM {} WHERE mark = ?1", table.name());
        self.first(&sql, [mark(text)?], |row| get(row, "id"))
    }

    /// Puts an entry, with the moment of it, beside what it corrects if it does; `name` is what such an
    /// entry is called where the one to correct is not there.
    pub(crate) fn write_down(
        &mut self,
        table: Table,
        name: &'static str,
        what: &str,
        mut fields: Vec<(&'static str, Sql)>,
        corrects: Option<Id>,
    ) -> Result<Id> {
        if let Some(other) = corrects {
            self.may_correct(table, name, other)?;
        }
        self.change(what, |book| {
            fields.push(("at", book.now().into()));
            book.insert(table, &fields)
        })
    }

    /// The seasons that entries are for, newest first.
    pub(crate) fn seasons_of(&self, table: Table) -> Result<Vec<i64>> {
        let sql = format!(
            "SELECT DISTINCT season FROM {} ORDER BY season DESC",
            table.name()
        );
        self.list(&sql, [], |row| get(row, "season"))
    }

    /// How many entries stand and the first of their days, without reading them.
    pub(crate) fn entries_of(&self, table: Table) -> Result<Entries> {
        let table = table.name();
        let sql = format!(
            "SELECT count(*) AS count, min(day) AS first FROM {table} WHERE weight > 0
             AND id NOT IN (SELECT corrects FROM {table} WHERE corrects IS NOT NULL)"
        );
        let found = self.first(&sql, [], |row| {
            Ok(Entries {
                count: get(row, "count")?,
                first: date(row, "first")?,
            })
        })?;
        Ok(found.unwrap_or_default())
    }

    /// Whether an entry may be corrected: it is there and nothing corrects it yet.
    fn may_correct(&self, table: Table, what: &'static str, id: Id) -> Result<()> {
        let sql = format!("SELECT id FROM {} WHERE id = ?1", table.name());
        if self
            .first(&sql, [id], |row| get::<Id>(row, "id"))?
            .is_none()
        {
            return Err(Error::not_found(what, id));
        }
        let sql = format!("SELECT id FROM {} WHERE corrects = ?1", table.name());
        match self.first(&sql, [id], |row| get::<Id>(row, "id"))? {
            None => Ok(()),
            Some(by) => Err(Error::invalid(
                "What is corrected",
                format!("the entry that stands: number {id} was corrected by number {by} already"),
            )),
        }
    }
}

/// Those of the entries that no other corrects, in their order.
pub(crate) fn standing<T>(
    all: Vec<T>,
    id: impl Fn(&T) -> Id,
    corrects: impl Fn(&T) -> Option<Id>,
) -> Vec<T> {
    let gone: std::collections::HashSet<Id> = all.iter().filter_map(&corrects).collect();
    all.into_iter().filter(|e| !gone.contains(&id(e))).collect()
}
