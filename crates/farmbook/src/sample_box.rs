use crate::change::Table;
use crate::row::{date, get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// The most cores that a part of a box may have.
const MOST_CORES: u32 = 1000;

/// A box of soil for a lab.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SampleBox {
    /// Zero before it is in the book.
    pub id: Id,
    /// The block it is of; of several, the first.
    pub block: Id,
    /// As written on the box.
    pub label: String,
    /// The blocks whose soil goes into it with their cores; empty for a box that was written down
    /// without a plan.
    pub parts: Vec<BoxPart>,
    /// Keys of the tests that the lab is asked for.
    pub tests: Vec<String>,
    /// None while it is to be filled.
    pub filled_on: Option<Date>,
    /// None while it stands at home.
    pub sent_on: Option<Date>,
    /// When the lab said that it has arrived.
    pub received_on: Option<Date>,
    /// The report that answers it.
    pub report: Option<Id>,
}

/// The cores that one block gives to a box.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoxPart {
    pub block: Id,
    pub cores: u32,
    /// Of the places, which the block's outline and this number give again.
    pub seed: u64,
    /// Numbers of the cores that were taken, rising.
    pub taken: Vec<u32>,
}

/// How far a box has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BoxState {
    ToFill,
    Filled,
    Sent,
    Received,
    ResultsIn,
}

impl BoxState {
    pub const ALL: [Self; 5] = [
        Self::ToFill,
        Self::Filled,
        Self::Sent,
        Self::Received,
        Self::ResultsIn,
    ];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::ToFill => "to fill",
            Self::Filled => "filled",
            Self::Sent => "sent",
            Self::Received => "received by the lab",
            Self::ResultsIn => "results in",
        }
    }
}

impl SampleBox {
    /// A box to be filled with the soil of one block.
    pub fn new(block: Id, label: impl Into<String>) -> Self {
        Self {
            id: 0,
            block,
            label: label.into(),
            parts: Vec::new(),
            tests: Vec::new(),
            filled_on: None,
            sent_on: None,
            received_on: None,
            report: None,
        }
    }

    pub fn state(&self) -> BoxState {
        if self.report.is_some() {
            BoxState::ResultsIn
        } else if self.received_on.is_some() {
            BoxState::Received
        } else if self.sent_on.is_some() {
            BoxState::Sent
        } else if self.filled_on.is_some() {
            BoxState::Filled
        } else {
            BoxState::ToFill
        }
    }

    /// Whether it was sent and its results are awaited.
    pub fn awaited(&self) -> bool {
        matches!(self.state(), BoxState::Sent | BoxState::Received)
    }

    /// The blocks whose soil is in it, the first one first.
    pub fn blocks(&self) -> Vec<Id> {
        let others = self.parts.iter().map(|p| p.block);
        std::iter::once(self.block)
            .chain(others.filter(|b| *b != self.block))
            .collect()
    }

    /// Cores that were taken, and how many are to be.
    pub fn cores(&self) -> (usize, u32) {
        let taken = self.parts.iter().map(|p| p.taken.len()).sum();
        (taken, self.parts.iter().map(|p| p.cores).sum())
    }

    fn check(&self) -> Result<()> {
        for (i, part) in self.parts.iter().enumerate() {
            valid::positive(
                "The cores of a box",
                f64::from(part.cores),
                f64::from(MOST_CORES),
                "",
            )?;
            if self.parts[..i].iter().any(|p| p.block == part.block) {
                return Err(Error::invalid(
                    "The blocks in a box",
                    "each of them named once",
                ));
            }
            let rising = part.taken.windows(2).all(|w| w[0] < w[1]);
            if !rising || part.taken.iter().any(|n| *n == 0 || *n > part.cores) {
                return Err(Error::invalid(
                    "The cores that were taken",
                    format!("numbers from 1 to {}, each once", part.cores),
                ));
            }
        }
        if self.parts.first().is_some_and(|p| p.block != self.block) {
            return Err(Error::invalid(
                "The blocks in a box",
                "beginning with the one it is of",
            ));
        }
        for (earlier, later, what) in [
            (self.filled_on, self.sent_on, "sent"),
            (self.sent_on, self.received_on, "received"),
        ] {
            if let (Some(earlier), Some(later)) = (earlier, later)
                && later < earlier
            {
                return Err(Error::invalid(
                    format!("The day on which box “{}” was {what}", self.label.trim()),
                    format!("not before {earlier}"),
                ));
            }
        }
        Ok(())
    }
}

fn read(row: &Row<'_>) -> Result<SampleBox> {
    Ok(SampleBox {
        id: get(row, "id")?,
        block: get(row, "block_id")?,
        label: get(row, "label")?,
        parts: json(row, "parts")?,
        tests: json(row, "tests")?,
        filled_on: date(row, "filled_on")?,
        sent_on: date(row, "sent_on")?,
        received_on: date(row, "received_on")?,
        report: get(row, "report_id")?,
    })
}

impl Book {
    /// Adds a box, or sets the one with this number, and gives the number.
    ///
    /// # Errors
    /// Another box without results has the label; no such block, box or report; cores or days that
    /// cannot be.
    pub fn set_box(&mut self, set: &SampleBox) -> Result<Id> {
        let label = valid::name("What is written on the box", &set.label)?;
        set.check()?;
        let block = self.block(set.block)?.name;
        for part in &set.parts {
            self.block(part.block)?;
        }
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
        let day = |d: Option<Date>| -> Sql { d.map(|d| d.to_string()).into() };
        let fields: Vec<(&'static str, Sql)> = vec![
            ("block_id", set.block.into()),
            ("label", label.clone().into()),
            ("parts", to_json(&set.parts)?.into()),
            ("tests", to_json(&set.tests)?.into()),
            ("filled_on", day(set.filled_on)),
            ("sent_on", day(set.sent_on)),
            ("received_on", day(set.received_on)),
            ("report_id", set.report.into()),
        ];
        self.change(&format!("Set box “{label}” of “{block}”"), |book| {
            if set.id == 0 {
                return book.insert(Table::Box, &fields);
            }
            book.sample_box(set.id)?;
            book.update(Table::Box, set.id, &fields)?;
            Ok(set.id)
        })
    }

    /// Takes a box out of the book.
    ///
    /// # Errors
    /// No such box.
    pub fn remove_box(&mut self, id: Id) -> Result<()> {
        let label = self.sample_box(id)?.label;
        self.change(&format!("Removed box “{label}”"), |book| {
            book.delete(Table::Box, id)
        })
    }

    /// A box by number.
    ///
    /// # Errors
    /// No such box.
    pub fn sample_box(&self, id: Id) -> Result<SampleBox> {
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
