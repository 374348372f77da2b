use crate::change::Table;
use crate::row::get;
use crate::{Book, Error, Id, Result, valid};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

const MOST_MONEY: f64 = 10_000_000.0;

/// Somebody who sells and delivers.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Supplier {
    /// Zero before it is in the book.
    pub id: Id,
    pub name: String,
    /// Money for a delivery, in the farm's currency.
    pub delivery: f64,
    /// An order of at least this much money comes free.
    pub free_from: Option<f64>,
    /// Days from the order to the delivery.
    pub lead_days: Option<u16>,
    pub note: String,
}

impl Supplier {
    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::not_negative("The delivery charge", self.delivery, MOST_MONEY, "")?;
        if let Some(free) = self.free_from {
            valid::not_negative("The order that comes free", free, MOST_MONEY, "")?;
        }
        if self.lead_days.is_some_and(|d| d > 730) {
            return Err(Error::invalid("The days to delivery", "at most 730"));
        }
        Ok(vec![
            (
                "name",
                valid::name("The supplier’s name", &self.name)?.into(),
            ),
            ("delivery", self.delivery.into()),
            ("free_from", self.free_from.into()),
            ("lead_days", self.lead_days.map(i64::from).into()),
            ("note", valid::note("The note", &self.note)?.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<Supplier> {
    Ok(Supplier {
        id: get(row, "id")?,
        name: get(row, "name")?,
        delivery: get(row, "delivery")?,
        free_from: get(row, "free_from")?,
        lead_days: get(row, "lead_days")?,
        note: get(row, "note")?,
    })
}

impl Book {
    /// Adds a supplier, or sets the one with this number, and gives the number.
    ///
    /// # Errors
    /// Another supplier has the name, a figure cannot be, or no supplier has the number.
    pub fn set_supplier(&mut self, supplier: &Supplier) -> Result<Id> {
        let fields = supplier.fields()?;
        let name = supplier.name.trim();
        if self
            .suppliers()?
            .iter()
            .any(|s| s.id != supplier.id && s.name.eq_ignore_ascii_case(name))
        {
            return Err(Error::invalid(
                "The supplier’s name",
                format!("another than “{name}”, which is in the book already"),
            ));
        }
        self.change(&format!("Set the supplier {name}"), |book| {
            if supplier.id == 0 {
                return book.insert(Table::Supplier, &fields);
            }
            book.supplier(supplier.id)?;
            book.update(Table::Supplier, supplier.id, &fields)?;
            Ok(supplier.id)
        })
    }

    /// Takes a supplier out of the book and off every pack.
    ///
    /// # Errors
    /// No supplier has the number.
    pub fn remove_supplier(&mut self, id: Id) -> Result<()> {
        let name = self.supplier(id)?.name;
        self.change(&format!("Removed the supplier {name}"), |book| {
            for mut choice in book.materials()? {
                if choice.packs.iter().any(|p| p.supplier == Some(id)) {
                    for pack in &mut choice.packs {
                        pack.supplier = pack.supplier.filter(|s| *s != id);
                    }
                    book.set_material(&choice)?;
                }
            }
            book.delete(Table::Supplier, id)
        })
    }

    pub fn supplier(&self, id: Id) -> Result<Supplier> {
        self.first("SELECT * FROM supplier WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("supplier with number", id))
    }

    pub fn suppliers(&self) -> Result<Vec<Supplier>> {
        self.list("SELECT * FROM supplier ORDER BY name", [], read)
    }
}
