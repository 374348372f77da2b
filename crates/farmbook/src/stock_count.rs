use crate::change::Table;
use crate::mark::{day, mark, new_mark, same_entry, standing, weight, weight_of};
use crate::row::get;
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// What an entry is called in a sentence.
const NAME: &str = "count with number";

/// What was in the shed when somebody weighed it, at the end of that day: one lot of one material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockCount {
    /// Zero before it is in the book.
    pub id: Id,
    /// UUID made by whoever writes the entry.
    pub mark: String,
    /// When it was written down, RFC 3339; set by the book.
    pub at: String,
    pub day: Date,
    /// Key of the material table.
    pub material: String,
    /// Empty for what is in no lot.
    pub lot: String,
    pub weight: Weight,
    pub note: String,
    /// Number of the count whose place it takes.
    pub corrects: Option<Id>,
    /// Whether it only takes that count back: it says nothing of what was there.
    pub takes_back: bool,
}

impl StockCount {
    pub fn new(day: Date, material: impl Into<String>, weight: Weight) -> Self {
        Self {
            id: 0,
            mark: new_mark(),
            at: String::new(),
            day,
            material: material.into(),
            lot: String::new(),
            weight,
            note: String::new(),
            corrects: None,
            takes_back: false,
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        if self.takes_back && self.corrects.is_none() {
            return Err(Error::invalid(
                "A count that takes back",
                "the number of the count that it takes back",
            ));
        }
        Ok(vec![
            ("mark", mark(&self.mark)?.into()),
            ("day", self.day.to_string().into()),
            (
                "material",
                valid::name("The material", &self.material)?.into(),
            ),
            ("lot", valid::name_or_empty("The lot", &self.lot)?.into()),
            ("weight", weight("The weight counted", self.weight, true)?),
            ("note", valid::note("The note", &self.note)?.into()),
            ("corrects", self.corrects.into()),
            ("takes_back", self.takes_back.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<StockCount> {
    Ok(StockCount {
        id: get(row, "id")?,
        mark: get(row, "mark")?,
        at: get(row, "at")?,
        day: day(row)?,
        material: get(row, "material")?,
        lot: get(row, "lot")?,
        weight: weight_of(row, "weight")?,
        note: get(row, "note")?,
        corrects: get(row, "corrects")?,
        takes_back: get(row, "takes_back")?,
    })
}

impl Book {
    /// Writes a count down and gives its number; one whose mark is in the book already is not written
    /// again.
    ///
    /// # Errors
    /// The mark stands on another count; no such count to correct; a value that cannot be.
    pub fn log_count(&mut self, count: &StockCount) -> Result<Id> {
        let fields = count.fields()?;
        if let Some(id) = self.marked(Table::Count, &count.mark)? {
            return same_entry(fields == self.count(id)?.fields()?, id);
        }
        let material = count.material.trim();
        let what = match count.corrects {
            Some(n) if count.takes_back => format!("Took back count {n} of {material}"),
            Some(n) => format!("Corrected count {n} of {material}"),
            None => format!("Counted what there is of {material}"),
        };
        self.write_down(Table::Count, NAME, &what, fields, count.corrects)
    }

    pub fn count(&self, id: Id) -> Result<StockCount> {
        self.first("SELECT * FROM stock_count WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found(NAME, id))
    }

    /// Every count, those corrected included, by day and number.
    pub fn all_counts(&self) -> Result<Vec<StockCount>> {
        self.list("SELECT * FROM stock_count ORDER BY day, id", [], read)
    }

    /// The counts that no other corrects or takes back, by day.
    pub fn counts(&self) -> Result<Vec<StockCount>> {
        let mut counts = standing(self.all_counts()?, |c| c.id, |c| c.corrects);
        counts.retain(|c| !c.takes_back);
        Ok(counts)
    }
}
