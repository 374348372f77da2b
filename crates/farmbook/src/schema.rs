//! The layout of the book, step by step. A step that has been released is never edited.

use crate::{Error, Result};
use rusqlite::Connection;

/// Marks a SQLite file as a farm book: “SPDW”.
pub(crate) const APPLICATION_ID: i64 = 0x5350_4457;

pub(crate) const MIGRATIONS: &[&str] = &[
    include_str!("../migrations/0001_first.sql"),
    include_str!("../migrations/0002_own_tables.sql"),
    include_str!("../migrations/0003_settled.sql"),
    include_str!("../migrations/0004_season.sql"),
    include_str!("../migrations/0005_outlines.sql"),
    include_str!("../migrations/0006_record.sql"),
    include_str!("../migrations/0007_sampling.sql"),
    include_str!("../migrations/0008_map.sql"),
    include_str!("../migrations/0009_setbacks.sql"),
    include_str!("../migrations/0010_learned.sql"),
    include_str!("../migrations/0011_many_years.sql"),
    include_str!("../migrations/0012_compost.sql"),
    include_str!("../migrations/0013_soil_temperature.sql"),
    include_str!("../migrations/0014_counts_taken_back.sql"),
];

/// The newest layout that a list of steps knows.
pub(crate) fn newest(steps: &[&str]) -> i64 {
    i64::try_from(steps.len()).unwrap_or(i64::MAX)
}

pub(crate) fn pragma(conn: &Connection, name: &str) -> Result<i64> {
    Ok(conn.query_row(&format!("PRAGMA {name}"), [], |row| row.get(0))?)
}

/// Brings a book from its layout to the newest, each step in its own transaction.
pub(crate) fn migrate(conn: &Connection, steps: &[&str]) -> Result<()> {
    for (step, number) in steps.iter().zip(1i64..) {
        conn.execute_batch("BEGIN IMMEDIATE")?;
        let done = apply(conn, step, number);
        match done {
            Ok(()) => conn.execute_batch("COMMIT")?,
            Err(error) => {
                if !conn.is_autocommit() {
                    conn.execute_batch("ROLLBACK")?;
                }
                return Err(error);
            }
        }
    }
    Ok(())
}

fn apply(conn: &Connection, step: &str, number: i64) -> Result<()> {
    // Looked up under the lock: another window may have taken the step meanwhile.
    if pragma(conn, "user_version")? >= number {
        return Ok(());
    }
    conn.execute_batch(step)?;
    let broken: i64 =
        conn.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| {
            row.get(0)
        })?;
    if broken > 0 {
        return Err(Error::Damaged(format!(
            "{broken} records point nowhere after the change to layout {number}"
        )));
    }
    conn.pragma_update(None, "user_version", number)?;
    Ok(())
}
