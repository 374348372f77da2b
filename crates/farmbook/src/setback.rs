use crate::change::Table;
use crate::row::{get, word};
use crate::{Book, Id, MarkKind, Result, valid};
use agronomy::setback::Class;
use quantity::Length;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// How far the grower keeps a class of materials from a kind of thing on the map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnSetback {
    pub kind: MarkKind,
    pub class: Class,
    pub distance: Length,
    /// Whether the rule of the place says so: it then holds even where a published distance is larger.
    pub local: bool,
}

fn read(row: &Row<'_>) -> Result<OwnSetback> {
    Ok(OwnSetback {
        kind: word(&get::<String>(row, "kind")?, "setback.kind")?,
        class: word(&get::<String>(row, "class")?, "setback.class")?,
        distance: Length::metres(get(row, "metres")?),
        local: get::<i64>(row, "local")? != 0,
    })
}

impl Book {
    /// Sets a distance in the place of the one there is.
    ///
    /// # Errors
    /// A distance below zero or above a mile.
    pub fn set_setback(&mut self, set: &OwnSetback) -> Result<()> {
        valid::not_negative("The distance", set.distance.to_feet(), 5_280.0, "ft")?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("kind", set.kind.key().to_owned().into()),
            ("class", set.class.key().to_owned().into()),
            ("metres", set.distance.si().into()),
            ("local", i64::from(set.local).into()),
        ];
        let what = format!(
            "Set how far {} is kept from a {}",
            set.class.name(),
            set.kind.name()
        );
        let row = self.setback_row(set.kind, set.class)?;
        self.change(&what, |book| match row {
            Some(id) => book.update(Table::Setback, id, &fields),
            None => book.insert(Table::Setback, &fields).map(|_| ()),
        })
    }

    /// Forgets a distance; nothing where there is none.
    pub fn clear_setback(&mut self, kind: MarkKind, class: Class) -> Result<()> {
        let Some(id) = self.setback_row(kind, class)? else {
            return Ok(());
        };
        let what = format!(
            "Forgot how far {} is kept from a {}",
            class.name(),
            kind.name()
        );
        self.change(&what, |book| book.delete(Table::Setback, id))
    }

    fn setback_row(&self, kind: MarkKind, class: Class) -> Result<Option<Id>> {
        let sql = "SELECT id FROM setback WHERE kind = ?1 AND class = ?2";
        self.first(sql, [kind.key(), class.key()], |row| get(row, "id"))
    }

    /// The grower's own distances.
    pub fn setbacks(&self) -> Result<Vec<OwnSetback>> {
        self.list("SELECT * FROM setback ORDER BY kind, class", [], read)
    }
}
