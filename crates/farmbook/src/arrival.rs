use crate::change::Table;
use crate::mark::{day, mark, new_mark, same_entry, standing, weight, weight_of};
use crate::row::get;
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// The most that one delivery can have cost, cents.
const MOST_CENTS: i64 = 1_000_000_000;

/// What an entry is called in a sentence.
const NAME: &str = "delivery with number";

/// What came in: one lot of one material on one day. Corrected as [`crate::Spread`] is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Arrival {
    /// Zero before it is in the book.
    pub id: Id,
    /// UUID made by whoever writes the entry.
    pub mark: String,
    /// When it was written down, RFC 3339; set by the book.
    pub at: String,
    pub day: Date,
    /// By name.
    pub supplier: String,
    /// The order it answers.
    pub order: Option<Id>,
    /// Key of the material table.
    pub material: String,
    /// As printed on the bag; empty where there is none.
    pub lot: String,
    pub weight: Weight,
    /// In words, as on the paper: `12 × 50 lb bag`.
    pub packs: String,
    /// Cents paid for it.
    pub paid: Option<i64>,
    /// The delivery note or bill.
    pub paper: Option<Id>,
    pub note: String,
    /// Number of the entry whose place it takes.
    pub corrects: Option<Id>,
}

impl Arrival {
    pub fn new(
        day: Date,
        supplier: impl Into<String>,
        material: impl Into<String>,
        weight: Weight,
    ) -> Self {
        Self {
            id: 0,
            mark: new_mark(),
            at: String::new(),
            day,
            supplier: supplier.into(),
            order: None,
            material: material.into(),
            lot: String::new(),
            weight,
            packs: String::new(),
            paid: None,
            paper: None,
            note: String::new(),
            corrects: None,
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        if self.paid.is_some_and(|c| !(0..=MOST_CENTS).contains(&c)) {
            return Err(Error::invalid("The price paid", "from 0 to 10,000,000"));
        }
        let text = valid::name_or_empty;
        Ok(vec![
            ("mark", mark(&self.mark)?.into()),
            ("day", self.day.to_string().into()),
            (
                "supplier",
                text("The supplier’s name", &self.supplier)?.into(),
            ),
            ("order_id", self.order.into()),
            (
                "material",
                valid::name("The material", &self.material)?.into(),
            ),
            ("lot", text("The lot", &self.lot)?.into()),
            (
                "weight",
                weight(
                    "The weight that came in",
                    self.weight,
                    self.corrects.is_some(),
                )?,
            ),
            ("packs", text("The packs", &self.packs)?.into()),
            ("paid", self.paid.into()),
            ("paper_id", self.paper.into()),
            ("note", valid::note("The note", &self.note)?.into()),
            ("corrects", self.corrects.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<Arrival> {
    Ok(Arrival {
        id: get(row, "id")?,
        mark: get(row, "mark")?,
        at: get(row, "at")?,
        day: day(row)?,
        supplier: get(row, "supplier")?,
        order: get(row, "order_id")?,
        material: get(row, "material")?,
        lot: get(row, "lot")?,
        weight: weight_of(row, "weight")?,
        packs: get(row, "packs")?,
        paid: get(row, "paid")?,
        paper: get(row, "paper_id")?,
        note: get(row, "note")?,
        corrects: get(row, "corrects")?,
    })
}

impl Book {
    /// Writes down what came in and gives the number of the entry; one whose mark is in the book already
    /// is not written again.
    ///
    /// # Errors
    /// The mark stands on another entry; no such order, paper or entry to correct; a value that cannot be.
    pub fn log_arrival(&mut self, arrival: &Arrival) -> Result<Id> {
        let fields = arrival.fields()?;
        if let Some(id) = self.marked(Table::Arrival, &arrival.mark)? {
            return same_entry(fields == self.arrival(id)?.fields()?, id);
        }
        if let Some(order) = arrival.order {
            self.placed_order(order)?;
        }
        if let Some(paper) = arrival.paper {
            self.paper(paper)?;
        }
        let material = arrival.material.trim();
        let what = match arrival.corrects {
            Some(n) if arrival.weight.is_zero() => format!("Took back delivery {n}"),
            Some(n) => format!("Corrected delivery {n} of {material}"),
            None => format!("Wrote down a delivery of {material}"),
        };
        self.write_down(Table::Arrival, NAME, &what, fields, arrival.corrects)
    }

    pub fn arrival(&self, id: Id) -> Result<Arrival> {
        self.first("SELECT * FROM arrival WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found(NAME, id))
    }

    /// Every entry, those corrected included, by day and number.
    pub fn all_arrivals(&self) -> Result<Vec<Arrival>> {
        self.list("SELECT * FROM arrival ORDER BY day, id", [], read)
    }

    /// What stands, by day.
    pub fn arrivals(&self) -> Result<Vec<Arrival>> {
        let all = standing(self.all_arrivals()?, |a| a.id, |a| a.corrects);
        Ok(all.into_iter().filter(|a| !a.weight.is_zero()).collect())
    }
}
