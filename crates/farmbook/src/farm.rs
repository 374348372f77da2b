use crate::change::{Kind, Table};
use crate::row::get;
use crate::{Book, Error, Result, valid};
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// The farm the book belongs to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Farm {
    pub name: String,
    /// Certified organic, or farmed by the same rule.
    pub organic: bool,
    /// Three letters, e.g. `USD`.
    pub currency: String,
    /// The year being planned.
    pub season: i64,
    /// The state or country whose published tables are looked at first, e.g. `VT`; may be empty.
    pub region: String,
}

impl Farm {
    /// A farm that pays in US dollars and is not organic.
    pub fn new(name: impl Into<String>, season: i64) -> Self {
        Self {
            name: name.into(),
            organic: false,
            currency: "USD".to_owned(),
            season,
            region: String::new(),
        }
    }

    pub(crate) fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::season(self.season)?;
        let currency = self.currency.trim().to_uppercase();
        if currency.len() != 3 || !currency.chars().all(|c| c.is_ascii_uppercase()) {
            return Err(Error::invalid("The currency", "three letters such as USD"));
        }
        Ok(vec![
            ("name", valid::name("The farm’s name", &self.name)?.into()),
            ("organic", self.organic.into()),
            ("currency", currency.into()),
            ("season", self.season.into()),
            (
                "region",
                valid::name_or_empty("The region", &self.region)?.into(),
            ),
        ])
    }
}

impl Book {
    pub fn farm(&self) -> Result<Farm> {
        self.first("SELECT * FROM farm WHERE id = 1", [], |row| {
            Ok(Farm {
                name: get(row, "name")?,
                organic: get(row, "organic")?,
                currency: get(row, "currency")?,
                season: get(row, "season")?,
                region: get(row, "region")?,
            })
        })?
        .ok_or_else(|| Error::Damaged("the farm’s own record is missing".to_owned()))
    }

    pub fn set_farm(&mut self, farm: &Farm) -> Result<()> {
        let fields = farm.fields()?;
        self.change("Changed the farm’s details", |book| {
            book.update(Table::Farm, 1, &fields)
        })
    }

    /// The first record of a new book. It cannot be undone: a book without a farm is no book.
    pub(crate) fn begin_farm(&mut self, farm: &Farm) -> Result<()> {
        let mut fields = farm.fields()?;
        fields.push(("id", 1.into()));
        let what = format!("Began the book of {}", farm.name.trim());
        self.change_as(Kind::Start, None, &what, |book| {
            book.insert(Table::Farm, &fields)
        })?;
        Ok(())
    }
}
