use crate::change::Table;
use crate::row::{date, get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use agronomy::soil::SoilTest;
use jiff::civil::Date;
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// One sample's results in the book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredTest {
    pub id: Id,
    pub report: Id,
    /// The name on the box.
    pub sample: String,
    /// Row of the lab's file, counted from 1 as a person counts.
    pub row: Option<u32>,
    pub block: Option<Id>,
    pub test: SoilTest,
    /// Its own date, else that of the report.
    pub sampled_on: Option<Date>,
}

/// How often and when a block was tested.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestSpan {
    pub block: Id,
    /// How many reports hold a test of it.
    pub reports: u32,
    /// The days the soil was taken, else the report came.
    pub first: Option<Date>,
    pub last: Option<Date>,
}

/// One sample's results to be put in the book with their report.
#[derive(Debug, Clone, PartialEq)]
pub struct NewTest {
    pub row: Option<u32>,
    pub block: Option<Id>,
    pub test: SoilTest,
    pub sampled_on: Option<Date>,
}

const SELECT: &str = "SELECT t.id, t.report_id, t.sample, t.line, t.block_id, t.test,
    coalesce(t.sampled_on, r.sampled_on) AS sampled_on
    FROM soil_test t JOIN report r ON r.id = t.report_id";
/// Newest soil first: by the day sampled, else the day the report came in.
const NEWEST: &str = "coalesce(t.sampled_on, r.sampled_on, substr(r.received_at, 1, 10)) DESC,
    r.received_at DESC, t.id DESC";

impl NewTest {
    pub fn new(test: SoilTest) -> Self {
        Self {
            row: None,
            block: None,
            test,
            sampled_on: None,
        }
    }

    fn fields(&self, report: Id) -> Result<Vec<(&'static str, Sql)>> {
        let sample = valid::name("The sample’s name", &self.test.sample)?;
        for measured in &self.test.measured {
            if !measured.value.is_finite() {
                return Err(Error::invalid(
                    format!("{} of sample “{sample}”", measured.analyte.name()),
                    "a finite number",
                ));
            }
        }
        for advised in &self.test.recommended {
            if !advised.lb_per_acre.is_finite() {
                return Err(Error::invalid(
                    format!("A rate advised for sample “{sample}”"),
                    "a finite number",
                ));
            }
        }
        if let Some(depth) = self.test.depth_in {
            let what = format!("The depth of sample “{sample}”");
            valid::positive(&what, depth, 120.0, "inches")?;
        }
        Ok(vec![
            ("report_id", report.into()),
            ("sample", sample.into()),
            ("line", self.row.map(i64::from).into()),
            ("block_id", self.block.into()),
            ("test", to_json(&self.test)?.into()),
            ("sampled_on", self.sampled_on.map(|d| d.to_string()).into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<StoredTest> {
    Ok(StoredTest {
        id: get(row, "id")?,
        report: get(row, "report_id")?,
        sample: get(row, "sample")?,
        row: get(row, "line")?,
        block: get(row, "block_id")?,
        test: json(row, "test")?,
        sampled_on: date(row, "sampled_on")?,
    })
}

impl Book {
    pub(crate) fn insert_tests(&mut self, report: Id, tests: &[NewTest]) -> Result<()> {
        for test in tests {
            let fields = test.fields(report)?;
            if let Some(block) = test.block {
                self.block(block)?;
            }
            self.insert(Table::SoilTest, &fields)?;
        }
        Ok(())
    }

    pub(crate) fn delete_tests(&mut self, report: Id) -> Result<()> {
        let sql = "SELECT id FROM soil_test WHERE report_id = ?1 ORDER BY id";
        for id in self.list(sql, [report], |row| get(row, "id"))? {
            self.delete(Table::SoilTest, id)?;
        }
        Ok(())
    }

    /// Says which block a test belongs to, or that it belongs to none.
    pub fn assign_test(&mut self, id: Id, block: Option<Id>) -> Result<()> {
        let sample = self.test(id)?.sample;
        let what = match block {
            Some(block) => format!("Sample “{sample}” is block “{}”", self.block(block)?.name),
            None => format!("Sample “{sample}” belongs to no block"),
        };
        self.change(&what, |book| {
            book.update(Table::SoilTest, id, &[("block_id", block.into())])
        })
    }

    pub fn test(&self, id: Id) -> Result<StoredTest> {
        self.first(&format!("{SELECT} WHERE t.id = ?1"), [id], read)?
            .ok_or_else(|| Error::not_found("soil test with number", id))
    }

    /// The tests of a block, newest soil first.
    pub fn tests_of(&self, block: Id) -> Result<Vec<StoredTest>> {
        let sql = format!("{SELECT} WHERE t.block_id = ?1 ORDER BY {NEWEST}");
        self.list(&sql, [block], read)
    }

    pub fn latest_test(&self, block: Id) -> Result<Option<StoredTest>> {
        let sql = format!("{SELECT} WHERE t.block_id = ?1 ORDER BY {NEWEST} LIMIT 1");
        self.first(&sql, [block], read)
    }

    /// The newest test of every block that has one, by block number, in one look.
    pub fn latest_tests(&self) -> Result<Vec<StoredTest>> {
        let sql = format!(
            "SELECT n.id, n.report_id, n.sample, n.line, n.block_id, n.test,
                coalesce(n.sampled_on, f.sampled_on) AS sampled_on
             FROM block b
             JOIN soil_test n ON n.id = (
                SELECT t.id FROM soil_test t JOIN report r ON r.id = t.report_id
                WHERE t.block_id = b.id ORDER BY {NEWEST} LIMIT 1)
             JOIN report f ON f.id = n.report_id
             ORDER BY b.id"
        );
        self.list(&sql, [], read)
    }

    /// How often and when each block was tested, without reading the tests themselves; blocks without a
    /// test are left out.
    pub fn test_spans(&self) -> Result<Vec<TestSpan>> {
        let sql = "SELECT t.block_id, count(DISTINCT t.report_id) AS reports,
                min(coalesce(t.sampled_on, r.sampled_on, substr(r.received_at, 1, 10))) AS first,
                max(coalesce(t.sampled_on, r.sampled_on, substr(r.received_at, 1, 10))) AS last
             FROM soil_test t JOIN report r ON r.id = t.report_id
             WHERE t.block_id IS NOT NULL GROUP BY t.block_id ORDER BY t.block_id";
        self.list(sql, [], |row| {
            Ok(TestSpan {
                block: get(row, "block_id")?,
                reports: get(row, "reports")?,
                first: date(row, "first")?,
                last: date(row, "last")?,
            })
        })
    }

    /// The tests that share block and report with another: several samples of the same ground at one
    /// time, by report and block.
    pub fn repeated_tests(&self) -> Result<Vec<StoredTest>> {
        let sql = format!(
            "{SELECT} JOIN (
                SELECT report_id, block_id FROM soil_test WHERE block_id IS NOT NULL
                GROUP BY report_id, block_id HAVING count(*) > 1) g
             ON g.report_id = t.report_id AND g.block_id = t.block_id
             ORDER BY t.report_id, t.block_id, t.id"
        );
        self.list(&sql, [], read)
    }

    /// Every test of the other reports, newest soil first.
    pub fn tests_outside(&self, report: Id) -> Result<Vec<StoredTest>> {
        let sql = format!("{SELECT} WHERE t.report_id <> ?1 ORDER BY {NEWEST}");
        self.list(&sql, [report], read)
    }

    /// The tests of a report in the order of the file.
    pub fn tests_in(&self, report: Id) -> Result<Vec<StoredTest>> {
        let sql = format!("{SELECT} WHERE t.report_id = ?1 ORDER BY t.id");
        self.list(&sql, [report], read)
    }
}
