use crate::change::Table;
use crate::row::get;
use crate::{Book, Id, Result, valid};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// What the grower's lab asks for one test of one sample, in the farm's currency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LabFee {
    /// Key of the test, such as `standard`.
    pub test: String,
    pub fee: f64,
}

fn read(row: &Row<'_>) -> Result<LabFee> {
    Ok(LabFee {
        test: get(row, "test")?,
        fee: get(row, "fee")?,
    })
}

impl Book {
    /// Sets the fee of a test, or forgets it.
    ///
    /// # Errors
    /// A fee below zero or beyond any lab's.
    pub fn set_lab_fee(&mut self, test: &str, fee: Option<f64>) -> Result<()> {
        let test = valid::name("The test", test)?;
        if let Some(fee) = fee {
            valid::not_negative("The lab’s fee", fee, 100_000.0, "")?;
        }
        self.change(&format!("Set the lab’s fee for “{test}”"), |book| {
            let sql = "SELECT id FROM lab_fee WHERE test = ?1";
            let row: Option<Id> = book.first(sql, [&test], |row| get(row, "id"))?;
            let fields = |fee: f64| -> Vec<(&'static str, Sql)> {
                vec![("test", test.clone().into()), ("fee", fee.into())]
            };
            match (row, fee) {
                (Some(id), Some(fee)) => book.update(Table::LabFee, id, &fields(fee)),
                (None, Some(fee)) => book.insert(Table::LabFee, &fields(fee)).map(|_| ()),
                (Some(id), None) => book.delete(Table::LabFee, id),
                (None, None) => Ok(()),
            }
        })
    }

    /// The fees that are known.
    pub fn lab_fees(&self) -> Result<Vec<LabFee>> {
        self.list("SELECT * FROM lab_fee ORDER BY test", [], read)
    }
}
