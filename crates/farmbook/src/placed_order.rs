use crate::change::Table;
use crate::mark::{day, mark, new_mark, same_entry};
use crate::row::{date, get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use quantity::Weight;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// What an order is called in a sentence.
const NAME: &str = "order with number";

/// An order as it went out to one supplier.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlacedOrder {
    /// Zero before it is in the book.
    pub id: Id,
    /// UUID made by whoever writes the entry.
    pub mark: String,
    /// When it was written down, RFC 3339; set by the book.
    pub at: String,
    pub day: Date,
    pub season: i64,
    /// By name; empty where nobody is named.
    pub supplier: String,
    pub lines: Vec<OrderedLine>,
    /// The first day on which something of it is to be spread.
    pub needed_by: Option<Date>,
    /// What had not come by that day will not come.
    pub closed_on: Option<Date>,
    pub note: String,
}

/// So many packs of one material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderedLine {
    /// Key of the material table.
    pub material: String,
    pub count: u32,
    /// The pack’s name.
    pub pack: String,
    /// All of the packs.
    pub weight: Weight,
    /// Cents for all of them, where a price is known.
    pub cents: Option<i64>,
}

impl PlacedOrder {
    pub fn new(season: i64, day: Date, supplier: impl Into<String>) -> Self {
        Self {
            id: 0,
            mark: new_mark(),
            at: String::new(),
            day,
            season,
            supplier: supplier.into(),
            lines: Vec::new(),
            needed_by: None,
            closed_on: None,
            note: String::new(),
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::season(self.season)?;
        if self.lines.is_empty() {
            return Err(Error::invalid("An order", "of at least one material"));
        }
        Ok(vec![
            ("mark", mark(&self.mark)?.into()),
            ("day", self.day.to_string().into()),
            ("season", self.season.into()),
            (
                "supplier",
                valid::name_or_empty("The supplier’s name", &self.supplier)?.into(),
            ),
            ("lines", to_json(&self.lines)?.into()),
            ("needed_by", self.needed_by.map(|d| d.to_string()).into()),
            ("closed_on", self.closed_on.map(|d| d.to_string()).into()),
            ("note", valid::note("The note", &self.note)?.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<PlacedOrder> {
    Ok(PlacedOrder {
        id: get(row, "id")?,
        mark: get(row, "mark")?,
        at: get(row, "at")?,
        day: day(row)?,
        season: get(row, "season")?,
        supplier: get(row, "supplier")?,
        lines: json(row, "lines")?,
        needed_by: date(row, "needed_by")?,
        closed_on: date(row, "closed_on")?,
        note: get(row, "note")?,
    })
}

impl Book {
    /// Writes an order down and gives its number; one whose mark is in the book already is not written
    /// again.
    ///
    /// # Errors
    /// The mark stands on another order, or a value cannot be.
    pub fn place_order(&mut self, order: &PlacedOrder) -> Result<Id> {
        let fields = order.fields()?;
        if let Some(id) = self.marked(Table::Order, &order.mark)? {
            return same_entry(fields == self.placed_order(id)?.fields()?, id);
        }
        let what = match order.supplier.trim() {
            "" => "Wrote an order down".to_owned(),
            name => format!("Wrote an order from {name} down"),
        };
        self.write_down(Table::Order, NAME, &what, fields, None)
    }

    /// Says that what has not come by a day will not come; without a day the order is open again.
    ///
    /// # Errors
    /// No such order.
    pub fn close_order(&mut self, id: Id, on: Option<Date>) -> Result<()> {
        let from = self.placed_order(id)?.supplier;
        let what = match on {
            Some(_) => format!("Closed the order from {from}"),
            None => format!("Opened the order from {from} again"),
        };
        self.change(&what, |book| {
            let day: Sql = on.map(|d| d.to_string()).into();
            book.update(Table::Order, id, &[("closed_on", day)])
        })
    }

    pub fn placed_order(&self, id: Id) -> Result<PlacedOrder> {
        self.first("SELECT * FROM placed_order WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found(NAME, id))
    }

    /// Every order, newest first.
    pub fn placed_orders(&self) -> Result<Vec<PlacedOrder>> {
        self.list(
            "SELECT * FROM placed_order ORDER BY day DESC, id DESC",
            [],
            read,
        )
    }
}
