//! Copies of the book in a `backups` folder beside it.

use crate::{Book, Error, Result};
use rusqlite::Connection;
use rusqlite::backup::Backup;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Daily copies kept before thinning to one a month.
const DAYS_KEPT: usize = 30;

fn failed(path: &Path, why: impl ToString) -> Error {
    Error::Backup {
        path: path.to_owned(),
        why: why.to_string(),
    }
}

/// Makes sure that a new name in a folder outlasts a power cut, where the system offers it.
pub(crate) fn sync_folder(file: &Path) {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if let Ok(handle) = fs::File::open(folder) {
        let _ = handle.sync_all();
    }
}

/// Copies a book, all or nothing: the copy gets its name when it is complete and on the disk.
pub(crate) fn copy(from: &Connection, to: &Path) -> Result<()> {
    let mut part = to.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    let written = write_copy(from, &part).and_then(|()| {
        fs::rename(&part, to).map_err(|e| failed(to, e))?;
        sync_folder(to);
        Ok(())
    });
    if written.is_err() {
        let _ = fs::remove_file(&part);
    }
    written
}

fn write_copy(from: &Connection, part: &Path) -> Result<()> {
    // A half copy of an earlier try would be taken for a database to continue.
    if part.exists() {
        fs::remove_file(part).map_err(|e| failed(part, e))?;
    }
    let mut to = Connection::open(part).map_err(|e| failed(part, e))?;
    // All pages in one step: a change by another window cannot come between.
    Backup::new(from, &mut to)
        .and_then(|b| b.run_to_completion(i32::MAX, Duration::from_millis(50), None))
        .map_err(|e| failed(part, e))?;
    // One file, to be carried about: no log beside it.
    to.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))
        .map_err(|e| failed(part, e))?;
    to.close().map_err(|(_, e)| failed(part, e))?;
    fs::File::open(part)
        .and_then(|f| f.sync_all())
        .map_err(|e| failed(part, e))
}

/// The folder of a book's copies and the beginning of their names.
fn place(book: &Path) -> (PathBuf, String) {
    let stem = book
        .file_stem()
        .map_or_else(|| "book".into(), |s| s.to_string_lossy());
    (book.with_file_name("backups"), format!("{stem}-"))
}

/// Copies the book as `NAME-2026-11-25-schemaN.book`, with `mark` before the ending; gives the path.
pub(crate) fn back_up(
    from: &Connection,
    book: &Path,
    day: &str,
    layout: i64,
    mark: &str,
) -> Result<PathBuf> {
    let (folder, stem) = place(book);
    fs::create_dir_all(&folder).map_err(|e| failed(&folder, e))?;
    let path = folder.join(format!("{stem}{day}-schema{layout}{mark}.book"));
    if !path.exists() {
        copy(from, &path)?;
    }
    Ok(path)
}

/// The day in the name of a daily copy of this book, e.g. `2026-11-25`.
fn day_of<'a>(name: &'a str, stem: &str) -> Option<&'a str> {
    let rest = name.strip_prefix(stem)?;
    let (day, rest) = rest.split_at_checked(10)?;
    day.parse::<jiff::civil::Date>().ok()?;
    let layout = rest.strip_prefix("-schema")?.strip_suffix(".book")?;
    layout.chars().all(|c| c.is_ascii_digit()).then_some(day)
}

/// Thins old daily copies: the newest thirty stay, and the first of each month. Copies from before
/// a change of layout stay.
fn thin(book: &Path) {
    let (folder, stem) = place(book);
    let Ok(files) = fs::read_dir(&folder) else {
        return;
    };
    let mut daily: Vec<String> = files
        .flatten()
        .filter_map(|f| f.file_name().into_string().ok())
        .filter(|name| day_of(name, &stem).is_some())
        .collect();
    daily.sort();
    let old = daily.len().saturating_sub(DAYS_KEPT);
    let mut month = String::new();
    for name in daily.iter().take(old) {
        let this: String = day_of(name, &stem).unwrap_or("").chars().take(7).collect();
        if this == month {
            let _ = fs::remove_file(folder.join(name));
        } else {
            month = this;
        }
    }
}

impl Book {
    /// Copies the book to one file that can be carried away. The file must not exist yet.
    pub fn save_copy(&self, to: impl AsRef<Path>) -> Result<()> {
        let to = to.as_ref();
        if to.exists() {
            return Err(Error::Exists(to.to_owned()));
        }
        copy(&self.conn, to)
    }

    /// The copy before the first change of a day. A failure does not stop the change, it is
    /// reported by [`Book::backup_trouble`]: a record that can be written is better than none.
    pub(crate) fn back_up_daily(&mut self) {
        let day = self.today();
        if self.backed_up_on.as_ref() == Some(&day) {
            return;
        }
        match back_up(&self.conn, &self.path, &day, self.layout, "") {
            Ok(_) => {
                thin(&self.path);
                self.backed_up_on = Some(day);
                self.backup_trouble = None;
            }
            Err(error) => self.backup_trouble = Some(error.to_string()),
        }
    }

    /// Why the last daily backup could not be made, if it could not.
    pub fn backup_trouble(&self) -> Option<&str> {
        self.backup_trouble.as_deref()
    }
}
