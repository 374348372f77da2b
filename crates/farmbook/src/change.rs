//! The one way in which rows change: together with the journal, in one transaction.

use crate::{Book, Error, Id, Result};
use rusqlite::types::{Value as Sql, ValueRef};
use rusqlite::{params, params_from_iter};
use serde_json::{Map, Number, Value};

/// The journaled tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Table {
    Farm,
    Block,
    Planting,
    Report,
    SoilTest,
    LabLayout,
    Material,
    Plan,
    Lock,
    Own,
    Settled,
    Supplier,
    Wish,
    Box,
    Outline,
    EarlierOutline,
    Parent,
    Mark,
    Picture,
    Paper,
    Order,
    Arrival,
    Spread,
    Harvest,
    Count,
    Walk,
    Bucket,
    GroundNote,
    LabFee,
    Setback,
    LearnedChoice,
    CompostMade,
    SoilTemperature,
}

impl Table {
    pub(crate) const ALL: [Self; 33] = [
        Self::Farm,
        Self::Block,
        Self::Planting,
        Self::Report,
        Self::SoilTest,
        Self::LabLayout,
        Self::Material,
        Self::Plan,
        Self::Lock,
        Self::Own,
        Self::Settled,
        Self::Supplier,
        Self::Wish,
        Self::Box,
        Self::Outline,
        Self::EarlierOutline,
        Self::Parent,
        Self::Mark,
        Self::Picture,
        Self::Paper,
        Self::Order,
        Self::Arrival,
        Self::Spread,
        Self::Harvest,
        Self::Count,
        Self::Walk,
        Self::Bucket,
        Self::GroundNote,
        Self::LabFee,
        Self::Setback,
        Self::LearnedChoice,
        Self::CompostMade,
        Self::SoilTemperature,
    ];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Farm => "farm",
            Self::Block => "block",
            Self::Planting => "planting",
            Self::Report => "report",
            Self::SoilTest => "soil_test",
            Self::LabLayout => "lab_layout",
            Self::Material => "material_choice",
            Self::Plan => "season_plan",
            Self::Lock => "plan_lock",
            Self::Own => "own_table",
            Self::Settled => "settled",
            Self::Supplier => "supplier",
            Self::Wish => "season_wish",
            Self::Box => "sample_box",
            Self::Outline => "block_outline",
            Self::EarlierOutline => "earlier_outline",
            Self::Parent => "block_parent",
            Self::Mark => "map_mark",
            Self::Picture => "map_picture",
            Self::Paper => "paper",
            Self::Order => "placed_order",
            Self::Arrival => "arrival",
            Self::Spread => "spread",
            Self::Harvest => "harvest",
            Self::Count => "stock_count",
            Self::Walk => "spreader_walk",
            Self::Bucket => "bucket",
            Self::GroundNote => "ground_note",
            Self::LabFee => "lab_fee",
            Self::Setback => "setback",
            Self::LearnedChoice => "learned_choice",
            Self::CompostMade => "compost_made",
            Self::SoilTemperature => "soil_temperature",
        }
    }

    pub(crate) fn from_name(name: &str) -> Result<Self> {
        Self::ALL
            .into_iter()
            .find(|t| t.name() == name)
            .ok_or_else(|| Error::Damaged(format!("the journal names a table “{name}”")))
    }
}

/// How a change came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Start,
    Do,
    Undo,
    Redo,
}

impl Kind {
    fn key(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Do => "do",
            Self::Undo => "undo",
            Self::Redo => "redo",
        }
    }
}

/// A running transaction. Dropped without [`Open::commit`], it rolls back, also when the work in
/// it panicked.
struct Open<'a> {
    book: &'a mut Book,
    committed: bool,
}

impl Open<'_> {
    fn commit(mut self, keep: bool) -> Result<()> {
        if keep {
            self.book.conn.execute_batch("COMMIT")?;
        } else {
            self.book.conn.execute_batch("ROLLBACK")?;
        }
        self.committed = true;
        Ok(())
    }
}

impl Drop for Open<'_> {
    fn drop(&mut self) {
        self.book.running = None;
        // A full disk may have rolled back already; then there is nothing left to do.
        if !self.committed && !self.book.conn.is_autocommit() {
            let _ = self.book.conn.execute_batch("ROLLBACK");
        }
        if !self.committed {
            self.book.forget();
        }
    }
}

impl Book {
    /// Does several things as one change, with one line in the journal and one undo. If `work`
    /// fails, nothing of it stays.
    pub fn together<T>(
        &mut self,
        what: &str,
        work: impl FnOnce(&mut Self) -> Result<T>,
    ) -> Result<T> {
        self.change(what, work)
    }

    pub(crate) fn change<T>(
        &mut self,
        what: &str,
        work: impl FnOnce(&mut Self) -> Result<T>,
    ) -> Result<T> {
        if self.running.is_some() {
            return self.within(work);
        }
        self.change_as(Kind::Do, None, what, work)
    }

    /// A change inside a running one: its rows join that one, or none of them does.
    fn within<T>(&mut self, work: impl FnOnce(&mut Self) -> Result<T>) -> Result<T> {
        self.still_running()?;
        self.conn.execute_batch("SAVEPOINT part")?;
        match work(self) {
            Ok(done) => {
                self.conn.execute_batch("RELEASE part")?;
                Ok(done)
            }
            Err(error) => {
                if !self.conn.is_autocommit() {
                    self.conn.execute_batch("ROLLBACK TO part; RELEASE part")?;
                }
                self.forget();
                Err(error)
            }
        }
    }

    pub(crate) fn change_as<T>(
        &mut self,
        kind: Kind,
        target: Option<Id>,
        what: &str,
        work: impl FnOnce(&mut Self) -> Result<T>,
    ) -> Result<T> {
        if kind != Kind::Start {
            self.back_up_daily();
        }
        self.conn.execute_batch("BEGIN IMMEDIATE")?;
        let open = Open {
            book: self,
            committed: false,
        };
        let id = open.book.begin_entry(kind, target, what)?;
        open.book.running = Some(id);
        let done = work(open.book)?;
        open.book.still_running()?;
        let sql = "SELECT EXISTS (SELECT 1 FROM entry WHERE change_id = ?1)";
        let wrote = open
            .book
            .conn
            .prepare_cached(sql)?
            .query_row([id], |row| row.get(0))?;
        open.commit(wrote)?;
        Ok(done)
    }

    /// A full or failing disk ends the whole transaction, not just the statement. Work that passes
    /// over such an error must not go on as if its beginning stood.
    fn still_running(&self) -> Result<()> {
        if self.conn.is_autocommit() {
            return Err(Error::RolledBack);
        }
        Ok(())
    }

    fn begin_entry(&mut self, kind: Kind, target: Option<Id>, what: &str) -> Result<Id> {
        if kind == Kind::Do {
            // A new change ends the way forward: what was undone can no longer be done again.
            let sql =
                "UPDATE change SET state = 'abandoned' WHERE kind = 'do' AND state = 'undone'";
            self.conn.prepare_cached(sql)?.execute([])?;
        }
        let sql = "INSERT INTO change (at, who, what, kind, target, state, layout)
             VALUES (?1, ?2, ?3, ?4, ?5, 'live', ?6)";
        self.conn.prepare_cached(sql)?.execute(params![
            self.now(),
            self.who,
            what,
            kind.key(),
            target,
            self.layout
        ])?;
        Ok(self.conn.last_insert_rowid())
    }

    /// Adds a row and gives its number.
    pub(crate) fn insert(&mut self, table: Table, fields: &[(&'static str, Sql)]) -> Result<Id> {
        let columns: Vec<&str> = fields.iter().map(|(column, _)| *column).collect();
        let marks: Vec<String> = (1..=fields.len()).map(|n| format!("?{n}")).collect();
        let sql = format!(
            "INSERT INTO {} ({}) VALUES ({})",
            table.name(),
            columns.join(", "),
            marks.join(", ")
        );
        self.conn
            .prepare_cached(&sql)?
            .execute(params_from_iter(fields.iter().map(|(_, value)| value)))?;
        let id = self.conn.last_insert_rowid();
        let after = self.snapshot(table, id)?;
        self.write_entry(table, id, None, after)?;
        Ok(id)
    }

    /// Changes columns of a row; a row that stays as it was leaves no trace in the journal.
    pub(crate) fn update(
        &mut self,
        table: Table,
        id: Id,
        fields: &[(&'static str, Sql)],
    ) -> Result<()> {
        let before = self.snapshot(table, id)?;
        let sets: Vec<String> = fields
            .iter()
            .enumerate()
            .map(|(n, (column, _))| format!("{column} = ?{}", n + 2))
            .collect();
        let sql = format!(
            "UPDATE {} SET {} WHERE id = ?1",
            table.name(),
            sets.join(", ")
        );
        let number = Sql::Integer(id);
        let values = std::iter::once(&number).chain(fields.iter().map(|(_, value)| value));
        self.conn
            .prepare_cached(&sql)?
            .execute(params_from_iter(values))?;
        let after = self.snapshot(table, id)?;
        self.write_entry(table, id, before, after)
    }

    pub(crate) fn delete(&mut self, table: Table, id: Id) -> Result<()> {
        let before = self.snapshot(table, id)?;
        let sql = format!("DELETE FROM {} WHERE id = ?1", table.name());
        self.conn.prepare_cached(&sql)?.execute([id])?;
        self.write_entry(table, id, before, None)
    }

    /// Makes a row what it was in a snapshot, or takes it away.
    pub(crate) fn restore(&mut self, table: Table, id: Id, to: Option<&Value>) -> Result<()> {
        let Some(to) = to else {
            return self.delete(table, id);
        };
        let row = to
            .as_object()
            .ok_or_else(|| Error::Damaged("a journal entry is no row".to_owned()))?;
        let before = self.snapshot(table, id)?;
        let columns: Vec<String> = row
            .keys()
            .map(|c| format!("\"{}\"", c.replace('"', "\"\"")))
            .collect();
        let sql = if before.is_none() {
            let marks: Vec<String> = (1..=row.len()).map(|n| format!("?{n}")).collect();
            format!(
                "INSERT INTO {} ({}) VALUES ({})",
                table.name(),
                columns.join(", "),
                marks.join(", ")
            )
        } else {
            let sets: Vec<String> = columns
                .iter()
                .enumerate()
                .map(|(n, c)| format!("{c} = ?{}", n + 1))
                .collect();
            format!(
                "UPDATE {} SET {} WHERE id = {id}",
                table.name(),
                sets.join(", ")
            )
        };
        let values = row.values().map(sql_value).collect::<Result<Vec<Sql>>>()?;
        self.conn
            .prepare_cached(&sql)?
            .execute(params_from_iter(values))?;
        let after = self.snapshot(table, id)?;
        self.write_entry(table, id, before, after)
    }

    /// A whole row as JSON, column by column.
    pub(crate) fn snapshot(&self, table: Table, id: Id) -> Result<Option<Value>> {
        let sql = format!("SELECT * FROM {} WHERE id = ?1", table.name());
        self.first(&sql, [id], row_json)
    }

    fn write_entry(
        &mut self,
        table: Table,
        id: Id,
        before: Option<Value>,
        after: Option<Value>,
    ) -> Result<()> {
        if before == after {
            return Ok(());
        }
        let change = self
            .running
            .ok_or_else(|| Error::Damaged("a row was written outside a change".to_owned()))?;
        let sql = "INSERT INTO entry (change_id, tbl, row_id, before, after)
             VALUES (?1, ?2, ?3, ?4, ?5)";
        self.conn.prepare_cached(sql)?.execute(params![
            change,
            table.name(),
            id,
            before.map(|v| v.to_string()),
            after.map(|v| v.to_string())
        ])?;
        Ok(())
    }
}

pub(crate) fn row_json(row: &rusqlite::Row<'_>) -> Result<Value> {
    let mut object = Map::new();
    for (n, column) in row.as_ref().column_names().enumerate() {
        let value = match row.get_ref(n)? {
            ValueRef::Null => Value::Null,
            ValueRef::Integer(i) => i.into(),
            ValueRef::Real(r) => Number::from_f64(r)
                .map(Value::Number)
                .ok_or_else(|| Error::Damaged(format!("{column} is not a finite number")))?,
            ValueRef::Text(text) => String::from_utf8_lossy(text).into(),
            ValueRef::Blob(_) => {
                return Err(Error::Damaged(format!("{column} holds bytes")));
            }
        };
        object.insert(column.to_owned(), value);
    }
    Ok(Value::Object(object))
}

fn sql_value(value: &Value) -> Result<Sql> {
    match value {
        Value::Null => Ok(Sql::Null),
        Value::String(text) => Ok(Sql::Text(text.clone())),
        Value::Number(number) => number
            .as_i64()
            .map(Sql::Integer)
            .or_else(|| number.as_f64().map(Sql::Real))
            .ok_or_else(|| Error::Damaged("a number in the journal is too large".to_owned())),
        _ => Err(Error::Damaged(
            "a journal entry holds what no row can".to_owned(),
        )),
    }
}
