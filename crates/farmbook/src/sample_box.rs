use crate::change::Table;
use crate::row::{date, get};
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// A box of soil for a lab.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SampleBox {
    /// Zero before it is in the book.
    pub id: Id,
    pub block: Id,
    /// As written on the box.
    pub label: String,
    /// None while it stands at home.
    pub sent_on: Option<Date>,
    /// The report that answers it.
    pub report: Option<Id>,
}

impl SampleBox {
    /// A box that was filled and not sent yet.
    pub fn new(block: Id, label: impl Into<String>) -> Self {
        Self {
            id: 0,
            block,
            label: label.into(),
            sent_on: None,
            report: None,
        }
    }

    /// Whether it was sent and its results are awaited.
    pub fn awaited(&self) -> bool {
        self.sent_on.is_some() && self.report.is_none()
    }
}

fn read(row: &Row<'_>) -> Result<SampleBox> {
    Ok(SampleBox {
        id: get(row, "id")?,
        block: get(row, "block_id")?,
        label: get(row, "label")?,
        sent_on: date(row, "sent_on")?,
        report: get(row, "report_id")?,
    })
}

impl Book {
    /// Adds a box, or sets the one with this number, and gives the number.
    ///
    /// # Errors
    /// Another box without results has the label; no such block, box or report.
    pub fn set_box(&mut self, set: &SampleBox) -> Result<Id> {
        let label = valid::name("What is written on the box", &set.label)?;
        let block = self.block(set.block)?.name;
        let open = |b: &SampleBox| b.report.is_none() && b.id != set.id;
        if set.report.is_none()
            && self
                .boxes()?
                .iter()
                .any(|b| open(b) && valid::key(&b.label) == valid::key(&label))
        {
            return Err(Error::invalid(
                "What is written on the box",
                format!("another than “{label}”, which stands on a box that has no results yet"),
            ));
        }
        if let Some(report) = set.report {
            self.report(report)?;
        }
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("label", label.clone().into()),
            ("sent_on", set.sent_on.map(|d| d.to_string()).into()),
            ("report_id", set.report.into()),
        ];
        self.change(&format!("Set box “{label}” of “{block}”"), |book| {
            if set.id == 0 {
                return book.insert(Table::Box, &fields);
            }
            book.the_box(set.id)?;
            book.update(Table::Box, set.id, &fields)?;
            Ok(set.id)
        })
    }

    /// Takes a box out of the book.
    ///
    /// # Errors
    /// No such box.
    pub fn remove_box(&mut self, id: Id) -> Result<()> {
        let label = self.the_box(id)?.label;
        self.change(&format!("Removed box “{label}”"), |book| {
            book.delete(Table::Box, id)
        })
    }

    fn the_box(&self, id: Id) -> Result<SampleBox> {
        self.first("SELECT * FROM sample_box WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("box with number", id))
    }

    /// Every box, newest first.
    pub fn boxes(&self) -> Result<Vec<SampleBox>> {
        self.list("SELECT * FROM sample_box ORDER BY id DESC", [], read)
    }

    /// Boxes whose report goes out of the book await their results again.
    pub(crate) fn reopen_boxes(&mut self, report: Id) -> Result<()> {
        for b in self.boxes()? {
            if b.report == Some(report) {
                self.update(Table::Box, b.id, &[("report_id", Sql::Null)])?;
            }
        }
        Ok(())
    }
}
