use crate::change::Table;
use crate::row::{get, to_word, word};
use crate::{Book, Error, Id, Result, valid};
use agronomy::compost::Making;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// How a compost was made: a lot of it, or what holds where no lot says otherwise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CompostMade {
    /// Key of the material table.
    pub material: String,
    /// As printed on the bag; empty for the farm’s usual.
    pub lot: String,
    pub made: Making,
}

/// Beyond these is a slip of the keyboard.
const MOST_C_TO_N: f64 = 1_000.0;
const MOST_DAYS: u32 = 1_000;

impl CompostMade {
    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        let made = &self.made;
        if let Some(c_to_n) = made.c_to_n {
            valid::positive("C:N at the start", c_to_n, MOST_C_TO_N, ": 1")?;
        }
        for (what, count) in [
            ("The days hot", made.days_hot),
            ("The turnings", made.turned),
        ] {
            if count.is_some_and(|n| n > MOST_DAYS) {
                return Err(Error::invalid(what, format!("from 0 to {MOST_DAYS}")));
            }
        }
        Ok(vec![
            (
                "material",
                valid::name("The material", &self.material)?.into(),
            ),
            ("lot", valid::name_or_empty("The lot", &self.lot)?.into()),
            ("way", to_word(&made.way)?.into()),
            ("c_to_n", made.c_to_n.into()),
            ("days_hot", made.days_hot.into()),
            ("turned", made.turned.into()),
            (
                "paper",
                valid::note("Where the paper is", &made.paper)?.into(),
            ),
        ])
    }

    fn what(&self) -> String {
        named(self.material.trim(), self.lot.trim())
    }
}

fn named(material: &str, lot: &str) -> String {
    match lot {
        "" => material.to_owned(),
        lot => format!("lot {lot} of {material}"),
    }
}

fn read(row: &Row<'_>) -> Result<CompostMade> {
    Ok(CompostMade {
        material: get(row, "material")?,
        lot: get(row, "lot")?,
        made: Making {
            way: word(&get::<String>(row, "way")?, "compost_made.way")?,
            c_to_n: get(row, "c_to_n")?,
            days_hot: get(row, "days_hot")?,
            turned: get(row, "turned")?,
            paper: get(row, "paper")?,
        },
    })
}

impl Book {
    /// Says how a compost was made, in place of what was said before.
    ///
    /// # Errors
    /// A value that cannot be.
    pub fn set_compost(&mut self, said: &CompostMade) -> Result<()> {
        let fields = said.fields()?;
        let row = self.compost_row(said.material.trim(), said.lot.trim())?;
        self.change(
            &format!("Said how {} was made", said.what()),
            |book| match row {
                Some(id) => book.update(Table::CompostMade, id, &fields),
                None => book.insert(Table::CompostMade, &fields).map(|_| ()),
            },
        )
    }

    /// Forgets how a compost was made; nothing happens where nothing was said.
    pub fn clear_compost(&mut self, material: &str, lot: &str) -> Result<()> {
        let Some(id) = self.compost_row(material, lot)? else {
            return Ok(());
        };
        self.change(
            &format!("Forgot how {} was made", named(material, lot)),
            |book| book.delete(Table::CompostMade, id),
        )
    }

    fn compost_row(&self, material: &str, lot: &str) -> Result<Option<Id>> {
        let sql = "SELECT id FROM compost_made WHERE material = ?1 AND lot = ?2";
        self.first(sql, [material, lot], |row| get(row, "id"))
    }

    /// What is said of composts, by material and lot.
    pub fn composts(&self) -> Result<Vec<CompostMade>> {
        let sql = "SELECT * FROM compost_made ORDER BY material, lot";
        self.list(sql, [], read)
    }
}
