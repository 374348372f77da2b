use crate::change::Table;
use crate::row::{get, json, to_json, word};
use crate::{Book, Error, Id, Result, valid};
use ground::Mark;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// The sort of something on the map that is no block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkKind {
    Well,
    /// A stream, a pond, a ditch.
    Water,
    /// A hole into which water runs off underground.
    Sinkhole,
    Road,
    Fence,
    Building,
    Tree,
    Other,
}

impl MarkKind {
    pub const ALL: [Self; 8] = [
        Self::Well,
        Self::Water,
        Self::Sinkhole,
        Self::Road,
        Self::Fence,
        Self::Building,
        Self::Tree,
        Self::Other,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Well => "well",
            Self::Water => "water",
            Self::Sinkhole => "sinkhole",
            Self::Road => "road",
            Self::Fence => "fence",
            Self::Building => "building",
            Self::Tree => "tree",
            Self::Other => "other",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Water => "stream or pond",
            Self::Other => "something else",
            _ => self.key(),
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.key() == key)
    }
}

/// Something on the map that is no block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MapMark {
    /// Zero before it is in the book.
    pub id: Id,
    pub kind: MarkKind,
    /// May be empty.
    pub name: String,
    pub mark: Mark,
}

impl MapMark {
    /// Its name, or its sort where it has none.
    pub fn called(&self) -> &str {
        if self.name.is_empty() {
            self.kind.name()
        } else {
            &self.name
        }
    }
}

fn read(row: &Row<'_>) -> Result<MapMark> {
    Ok(MapMark {
        id: get(row, "id")?,
        kind: word(&get::<String>(row, "kind")?, "map_mark.kind")?,
        name: get(row, "name")?,
        mark: json(row, "mark")?,
    })
}

impl Book {
    /// Adds something to the map, or sets what has this number, and gives the number.
    ///
    /// # Errors
    /// A place that is none; no such number.
    pub fn set_mark(&mut self, set: &MapMark) -> Result<Id> {
        let name = valid::name_or_empty("The name", &set.name)?;
        set.mark
            .check()
            .map_err(|e| Error::Outline(e.to_string()))?;
        let fields: Vec<(&'static str, Sql)> = vec![
            ("kind", set.kind.key().to_owned().into()),
            ("name", name.into()),
            ("mark", to_json(&set.mark)?.into()),
        ];
        self.change(&format!("Put “{}” on the map", set.called()), |book| {
            if set.id == 0 {
                return book.insert(Table::Mark, &fields);
            }
            book.mark(set.id)?;
            book.update(Table::Mark, set.id, &fields)?;
            Ok(set.id)
        })
    }

    /// # Errors
    /// No such number.
    pub fn remove_mark(&mut self, id: Id) -> Result<()> {
        let held = self.mark(id)?;
        self.change(
            &format!("Took “{}” off the map", held.called()),
            |book| book.delete(Table::Mark, id),
        )
    }

    fn mark(&self, id: Id) -> Result<MapMark> {
        self.first("SELECT * FROM map_mark WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("thing on the map with number", id))
    }

    /// What stands on the farm beside its blocks, in the order it was put there.
    pub fn marks(&self) -> Result<Vec<MapMark>> {
        self.list("SELECT * FROM map_mark ORDER BY id", [], read)
    }
}
