//! From a folder back to a book.

use super::{ABOUT, About, FORMAT, KEPT, Kind, TableAbout, VERSION, cell, columns, file, tables};
use crate::backup::sync_folder;
use crate::kept::sha256;
use crate::schema::{APPLICATION_ID, MIGRATIONS, migrate, newest};
use crate::{Book, Error, Result};
use rusqlite::{Connection, params_from_iter, types::Value as Sql};
use std::fs;
use std::path::{Path, PathBuf};

/// A folder that does not fit: what was found, and what was expected.
fn unfit(path: &Path, what: impl Into<String>) -> Error {
    Error::Folder {
        path: path.to_owned(),
        what: what.into(),
    }
}

impl Book {
    /// Makes a new book from a folder that [`Book::to_folder`] wrote. The book appears under its name
    /// only when everything was taken in and fits together.
    ///
    /// # Errors
    /// A file stands there already, or the folder is not whole: the sentence names the file and the row.
    pub fn from_folder(folder: impl AsRef<Path>, path: impl AsRef<Path>) -> Result<Self> {
        let (folder, path) = (folder.as_ref(), path.as_ref());
        if path.exists() {
            return Err(Error::Exists(path.to_owned()));
        }
        let about = about(folder)?;
        let mut part = path.as_os_str().to_owned();
        part.push(".new");
        let part = PathBuf::from(part);
        if part.exists() {
            fs::remove_file(&part).map_err(file(&part))?;
        }
        let made = fill(folder, &about, &part).and_then(|()| {
            fs::File::open(&part)
                .and_then(|f| f.sync_all())
                .and_then(|()| fs::rename(&part, path))
                .map_err(file(path))
        });
        if made.is_err() {
            let _ = fs::remove_file(&part);
        }
        made?;
        sync_folder(path);
        Self::open(path)
    }
}

fn about(folder: &Path) -> Result<About> {
    let path = folder.join(ABOUT);
    let text = fs::read_to_string(&path).map_err(|_| {
        unfit(
            folder,
            format!("no readable {ABOUT} is in it; a folder that a book was written to has one"),
        )
    })?;
    let about: About = serde_json::from_str(&text)
        .map_err(|e| unfit(&path, format!("it is not what was written: {e}")))?;
    if about.format != FORMAT || about.version != VERSION {
        return Err(unfit(
            &path,
            format!(
                "found “{}” of version {}, expected “{FORMAT}” of version {VERSION}",
                about.format, about.version
            ),
        ));
    }
    let known = newest(MIGRATIONS);
    if about.layout > known {
        return Err(Error::Newer {
            path: folder.to_owned(),
            found: about.layout,
            known,
        });
    }
    if about.layout < 1 {
        return Err(unfit(&path, "a book has a layout from 1 on"));
    }
    Ok(about)
}

fn fill(folder: &Path, about: &About, part: &Path) -> Result<()> {
    let conn = Connection::open(part).map_err(|_| Error::File {
        path: part.to_owned(),
        source: std::io::Error::other("no file can be written there"),
    })?;
    conn.pragma_update(None, "application_id", APPLICATION_ID)?;
    let steps = usize::try_from(about.layout).unwrap_or(usize::MAX);
    migrate(&conn, &MIGRATIONS[..steps.min(MIGRATIONS.len())])?;
    // Rows refer to each other in every direction; all are looked at when the last one is in.
    conn.execute_batch("PRAGMA foreign_keys = OFF; BEGIN IMMEDIATE")?;
    let there = tables(&conn)?;
    let named: Vec<&String> = about.tables.iter().map(|t| &t.name).collect();
    if there.iter().collect::<Vec<_>>() != named {
        return Err(unfit(
            &folder.join(ABOUT),
            format!("its tables are not those of layout {}", about.layout),
        ));
    }
    for table in &about.tables {
        take_in(&conn, folder, table)?;
    }
    conn.execute("DELETE FROM sqlite_sequence", [])?;
    for (name, last) in &about.last_numbers {
        conn.execute(
            "INSERT INTO sqlite_sequence (name, seq) VALUES (?1, ?2)",
            (name, last),
        )?;
    }
    let broken: i64 =
        conn.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| {
            row.get(0)
        })?;
    if broken > 0 {
        return Err(unfit(
            folder,
            format!("{broken} rows point to rows that are not there"),
        ));
    }
    let farms: i64 = conn.query_row("SELECT count(*) FROM farm", [], |row| row.get(0))?;
    if farms != 1 {
        return Err(unfit(
            &folder.join("farm.csv"),
            format!("found {farms} farms, expected one"),
        ));
    }
    conn.execute_batch("COMMIT")?;
    conn.close().map_err(|(_, error)| error)?;
    Ok(())
}

fn take_in(conn: &Connection, folder: &Path, table: &TableAbout) -> Result<()> {
    let columns = columns(conn, &table.name)?;
    // The name of the file is ours, whatever the description says.
    let path = folder.join(format!("{}.csv", table.name));
    let failed = |e: csv::Error| unfit(&path, format!("it cannot be read: {e}"));
    let mut reader = csv::Reader::from_path(&path).map_err(failed)?;
    let head: Vec<String> = reader
        .headers()
        .map_err(failed)?
        .iter()
        .map(str::to_owned)
        .collect();
    let wanted: Vec<String> = columns.iter().map(|c| c.name.clone()).collect();
    if head != wanted {
        return Err(unfit(
            &path,
            format!(
                "its columns are {}, expected {}",
                head.join(", "),
                wanted.join(", ")
            ),
        ));
    }
    let marks: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
    let mut insert = conn.prepare(&format!(
        "INSERT INTO {} VALUES ({})",
        table.name,
        marks.join(", ")
    ))?;
    let mut count = 0;
    for (at, record) in reader.records().enumerate() {
        let record = record.map_err(failed)?;
        let row = at + 2;
        let mut values = Vec::with_capacity(columns.len());
        for (column, text) in columns.iter().zip(record.iter()) {
            let value = if column.kind == Kind::Bytes {
                kept(folder, &path, row, record.get(0).unwrap_or_default())?
            } else {
                cell::read(column.kind, text).ok_or_else(|| {
                    unfit(
                        &path,
                        format!(
                            "row {row}, column {}: found “{text}”, expected {}",
                            column.name,
                            column.kind.name()
                        ),
                    )
                })?
            };
            values.push(value);
        }
        insert
            .execute(params_from_iter(values))
            .map_err(|e| unfit(&path, format!("row {row} does not fit the book: {e}")))?;
        count += 1;
    }
    if count != table.rows {
        return Err(unfit(
            &path,
            format!("found {count} rows, expected {} by {ABOUT}", table.rows),
        ));
    }
    Ok(())
}

/// The bytes of a kept file, which must be those its name says.
fn kept(folder: &Path, csv: &Path, row: usize, sha: &str) -> Result<Sql> {
    if sha.len() != 64 || !sha.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(unfit(csv, format!("row {row}: “{sha}” is no SHA-256")));
    }
    let path = folder.join(KEPT).join(sha);
    let bytes = fs::read(&path).map_err(|_| unfit(&path, "it is missing or cannot be read"))?;
    if sha256(&bytes) != sha {
        return Err(unfit(&path, "its bytes are not those that its name says"));
    }
    Ok(Sql::Blob(bytes))
}
