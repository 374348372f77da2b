//! The whole book as a folder of open files, and back.
//!
//! One CSV file a table, written from the database’s own schema so that nothing can be left out; the kept
//! bytes as files; `about.json` with what every table and column means. Nothing in it depends on when or
//! where it was written: the same book gives the same bytes.

mod back;
mod cell;
mod compare;
mod describe;

pub use compare::Difference;

use crate::schema::pragma;
use crate::{Book, Error, Result};
use cell::Kind;
use rusqlite::Connection;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

const FORMAT: &str = "spadework book as a folder";
const VERSION: u32 = 1;
/// Where the kept bytes lie, each under its SHA-256.
const KEPT: &str = "kept";
const ABOUT: &str = "about.json";

/// What `about.json` holds.
#[derive(Debug, Serialize, Deserialize)]
struct About {
    format: String,
    version: u32,
    /// The layout of the book (`user_version`).
    layout: i64,
    how_to_read: Vec<String>,
    tables: Vec<TableAbout>,
    /// The highest row number ever given in each table, so that none is given twice.
    last_numbers: BTreeMap<String, i64>,
}

#[derive(Debug, Serialize, Deserialize)]
struct TableAbout {
    name: String,
    file: String,
    what: String,
    rows: usize,
    columns: Vec<ColumnAbout>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct ColumnAbout {
    name: String,
    kind: Kind,
    what: String,
}

const HOW_TO_READ: [&str; 4] = [
    "Each table is a CSV file (RFC 4180, UTF-8, header in the first line), its rows in the order of the first column.",
    "An empty cell means that there is no value. Text is written as it is; where it is empty or begins with an apostrophe, a sign of a formula (= + - @) or a control sign, an apostrophe stands before it and is to be taken off.",
    "A column of the kind json holds a JSON document. Days are written as 2027-03-01, moments as RFC 3339.",
    "The bytes that labs sent and plans were made from lie in the folder kept, each named by its SHA-256.",
];

fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Error {
    let path = path.to_owned();
    move |source| Error::File { path, source }
}

/// The tables of a database in the order of their names, without SQLite’s own.
fn tables(conn: &Connection) -> Result<Vec<String>> {
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name";
    let mut statement = conn.prepare(sql)?;
    let names = statement.query_map([], |row| row.get(0))?;
    Ok(names.collect::<rusqlite::Result<_>>()?)
}

/// The columns of a table in their order, with what they mean.
fn columns(conn: &Connection, table: &str) -> Result<Vec<ColumnAbout>> {
    let mut statement =
        conn.prepare("SELECT name, type FROM pragma_table_info(?1) ORDER BY cid")?;
    let found = statement.query_map([table], |row| {
        Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
    })?;
    found
        .map(|column| {
            let (name, declared) = column?;
            let (what, json) = describe::column(table, &name);
            Ok(ColumnAbout {
                kind: Kind::of(&declared, json)?,
                name,
                what,
            })
        })
        .collect()
}

impl Book {
    /// Writes the whole book, journal and kept files included, as a folder of open files. The folder
    /// must not exist yet; it appears under its name only when it is complete.
    ///
    /// # Errors
    /// Something stands there already, or it cannot be written.
    pub fn to_folder(&self, folder: impl AsRef<Path>) -> Result<()> {
        let folder = folder.as_ref();
        if folder.exists() {
            return Err(Error::FolderExists(folder.to_owned()));
        }
        let mut part = folder.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        if part.exists() {
            fs::remove_dir_all(&part).map_err(file(&part))?;
        }
        let done = self
            .write_folder(&part)
            .and_then(|()| fs::rename(&part, folder).map_err(file(folder)));
        if done.is_err() {
            let _ = fs::remove_dir_all(&part);
        }
        done
    }

    fn write_folder(&self, to: &Path) -> Result<()> {
        let kept = to.join(KEPT);
        fs::create_dir_all(&kept).map_err(file(&kept))?;
        // One look at the book, whatever another window writes meanwhile.
        let look = self.conn.unchecked_transaction()?;
        let mut about = About {
            format: FORMAT.to_owned(),
            version: VERSION,
            layout: pragma(&look, "user_version")?,
            how_to_read: HOW_TO_READ.map(str::to_owned).to_vec(),
            tables: Vec::new(),
            last_numbers: BTreeMap::new(),
        };
        for name in tables(&look)? {
            let columns = columns(&look, &name)?;
            let csv = to.join(format!("{name}.csv"));
            let rows = write_table(&look, &name, &columns, &csv, &kept)?;
            about.tables.push(TableAbout {
                what: describe::table(&name),
                file: format!("{name}.csv"),
                name,
                rows,
                columns,
            });
        }
        let mut statement = look.prepare("SELECT name, seq FROM sqlite_sequence ORDER BY name")?;
        let last = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        about.last_numbers = last.collect::<rusqlite::Result<_>>()?;
        let path = to.join(ABOUT);
        let mut text = serde_json::to_string_pretty(&about)
            .map_err(|e| Error::Damaged(format!("its tables cannot be described: {e}")))?;
        text.push('\n');
        fs::write(&path, text).map_err(file(&path))
    }
}

/// Writes one table; bytes go to files of their own. Gives the count of rows.
fn write_table(
    conn: &Connection,
    table: &str,
    columns: &[ColumnAbout],
    to: &Path,
    kept: &Path,
) -> Result<usize> {
    let failed = |e: csv::Error| Error::File {
        path: to.to_owned(),
        source: std::io::Error::other(e.to_string()),
    };
    let mut out = csv::Writer::from_path(to).map_err(failed)?;
    out.write_record(columns.iter().map(|c| c.name.as_str()))
        .map_err(failed)?;
    let mut statement = conn.prepare(&format!("SELECT * FROM {table} ORDER BY 1"))?;
    let mut rows = statement.query([])?;
    let mut count = 0;
    while let Some(row) = rows.next()? {
        let mut cells = Vec::with_capacity(columns.len());
        for (i, column) in columns.iter().enumerate() {
            if column.kind == Kind::Bytes {
                // The first column of a table with bytes is their SHA-256.
                let name: String = row.get(0)?;
                let path = kept.join(&name);
                fs::write(
                    &path,
                    row.get_ref(i)?.as_bytes().map_err(|_| wrong(column))?,
                )
                .map_err(file(&path))?;
                cells.push(format!("{KEPT}/{name}"));
            } else {
                cells.push(cell::write(row.get_ref(i)?).ok_or_else(|| wrong(column))?);
            }
        }
        out.write_record(&cells).map_err(failed)?;
        count += 1;
    }
    out.flush().map_err(file(to))?;
    Ok(count)
}

fn wrong(column: &ColumnAbout) -> Error {
    Error::Damaged(format!("{} holds what it cannot", column.name))
}
