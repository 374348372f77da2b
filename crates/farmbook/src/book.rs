use crate::backup::{back_up, sync_folder};
use crate::memo::Memo;
use crate::remembered::Memory;
use crate::schema::{APPLICATION_ID, MIGRATIONS, migrate, newest, pragma};
use crate::{Error, Farm, Id, Result};
use jiff::ZonedDateTime;
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

type Clock = Box<dyn Fn() -> ZonedDateTime + Send>;

/// One farm's records in one file. See the crate's page for what it promises.
///
/// A book may be open in several programs at once; each change waits up to five seconds for its
/// turn.
pub struct Book {
    pub(crate) conn: Connection,
    pub(crate) path: PathBuf,
    /// The layout's number (`user_version`).
    pub(crate) layout: i64,
    pub(crate) who: String,
    /// The change that is being written.
    pub(crate) running: Option<Id>,
    pub(crate) backed_up_on: Option<String>,
    pub(crate) backup_trouble: Option<String>,
    pub(crate) memo: Memo,
    pub(crate) remembered: Memory,
    clock: Clock,
}

impl std::fmt::Debug for Book {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Book").field("path", &self.path).finish()
    }
}

const WAIT: Duration = Duration::from_secs(5);
const STATEMENTS_KEPT: usize = 128;

impl Book {
    /// Begins a book in a new file. The file appears under its name only when it is complete.
    pub fn create(path: impl AsRef<Path>, farm: &Farm) -> Result<Self> {
        let path = path.as_ref();
        farm.fields()?;
        if path.exists() {
            return Err(Error::Exists(path.to_owned()));
        }
        let file = |source| Error::File {
            path: path.to_owned(),
            source,
        };
        let mut part = path.as_os_str().to_owned();
        part.push(".new");
        let part = PathBuf::from(part);
        if part.exists() {
            fs::remove_file(&part).map_err(file)?;
        }
        let made = Self::write_new(&part, farm).and_then(|()| {
            fs::File::open(&part)
                .and_then(|f| f.sync_all())
                .and_then(|()| fs::rename(&part, path))
                .map_err(file)
        });
        if made.is_err() {
            let _ = fs::remove_file(&part);
        }
        made?;
        sync_folder(path);
        Self::open(path)
    }

    fn write_new(part: &Path, farm: &Farm) -> Result<()> {
        let conn = Connection::open(part).map_err(|_| Error::File {
            path: part.to_owned(),
            source: std::io::Error::other("no file can be written there"),
        })?;
        conn.pragma_update(None, "application_id", APPLICATION_ID)?;
        migrate(&conn, MIGRATIONS)?;
        let mut book = Self::with(conn, part, newest(MIGRATIONS));
        book.begin_farm(farm)?;
        book.conn.close().map_err(|(_, error)| error)?;
        Ok(())
    }

    /// Opens a book, and brings it to the newest layout after taking a backup.
    pub fn open(path: impl AsRef<Path>) -> Result<Self> {
        Self::open_with(path.as_ref(), MIGRATIONS)
    }

    /// Opens a book that came from elsewhere, to be looked at and thrown away: its layout must be, word
    /// for word, what this program makes, so that nothing runs that somebody put into it.
    ///
    /// # Errors
    /// As [`Book::open`]; or the layout is another.
    pub fn open_strange(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        looks_like_a_book(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = Connection::open_with_flags(path, flags)?;
        let strange = |_| Error::NotABook(path.to_owned());
        if pragma(&conn, "application_id").map_err(strange)? != APPLICATION_ID {
            return Err(Error::NotABook(path.to_owned()));
        }
        let found = pragma(&conn, "user_version")?;
        let known = newest(MIGRATIONS);
        if found > known {
            return Err(Error::Newer {
                path: path.to_owned(),
                found,
                known,
            });
        }
        let steps = usize::try_from(found).unwrap_or_default();
        let made = Connection::open_in_memory()?;
        migrate(&made, &MIGRATIONS[..steps.min(MIGRATIONS.len())])?;
        if found < 1 || words_of(&conn).map_err(strange)? != words_of(&made)? {
            return Err(Error::NotABook(path.to_owned()));
        }
        drop(conn);
        Self::open(path)
    }

    pub(crate) fn open_with(path: &Path, steps: &[&str]) -> Result<Self> {
        looks_like_a_book(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = Connection::open_with_flags(path, flags)?;
        if conn.is_readonly("main")? {
            return Err(Error::ReadOnly(path.to_owned()));
        }
        conn.busy_timeout(WAIT)?;
        conn.set_prepared_statement_cache_capacity(STATEMENTS_KEPT);
        let not_a_book = |_| Error::NotABook(path.to_owned());
        if pragma(&conn, "application_id").map_err(not_a_book)? != APPLICATION_ID {
            return Err(Error::NotABook(path.to_owned()));
        }
        let found = pragma(&conn, "user_version")?;
        let known = newest(steps);
        if found > known {
            return Err(Error::Newer {
                path: path.to_owned(),
                found,
                known,
            });
        }
        if found < 1 {
            return Err(Error::NotABook(path.to_owned()));
        }
        let mode: String = conn.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))?;
        if !mode.eq_ignore_ascii_case("wal") {
            return Err(Error::File {
                path: path.to_owned(),
                source: std::io::Error::other(
                    "the disk it is on cannot keep a log beside it; move it to a disk of this computer",
                ),
            });
        }
        conn.execute_batch(
            "PRAGMA synchronous = FULL;
             PRAGMA foreign_keys = ON;
             PRAGMA trusted_schema = OFF;
             PRAGMA cell_size_check = ON;",
        )?;
        let book = Self::with(conn, path, known);
        if found < known {
            let mark = format!("-before-schema{known}");
            back_up(&book.conn, path, &book.today(), found, &mark)?;
            migrate(&book.conn, steps)?;
        }
        Ok(book)
    }

    fn with(conn: Connection, path: &Path, layout: i64) -> Self {
        Self {
            conn,
            path: path.to_owned(),
            layout,
            who: "the grower".to_owned(),
            running: None,
            backed_up_on: None,
            backup_trouble: None,
            memo: Memo::default(),
            remembered: Memory::default(),
            clock: Box::new(ZonedDateTime::now),
        }
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Says who makes the changes from now on through this handle.
    pub fn as_person(&mut self, name: &str) -> &mut Self {
        let name: String = name
            .trim()
            .chars()
            .filter(|c| !c.is_control())
            .take(80)
            .collect();
        self.who = if name.is_empty() {
            "the grower".to_owned()
        } else {
            name
        };
        self
    }

    /// Tells the time by another clock than the computer's, as a demonstration of past seasons
    /// needs.
    pub fn set_clock(&mut self, clock: impl Fn() -> ZonedDateTime + Send + 'static) {
        self.clock = Box::new(clock);
    }

    /// RFC 3339 with offset, to the second.
    pub(crate) fn now(&self) -> String {
        (self.clock)().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
    }

    pub(crate) fn today(&self) -> String {
        (self.clock)().date().to_string()
    }
}

/// The words of a layout: every table, index, view and trigger.
fn words_of(conn: &Connection) -> Result<Vec<(String, String, Option<String>)>> {
    let sql = "SELECT type, name, sql FROM sqlite_schema ORDER BY type, name";
    let mut statement = conn.prepare(sql)?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Looks at the file before SQLite does, which would take an empty file for a new database.
fn looks_like_a_book(path: &Path) -> Result<()> {
    let file = |source: std::io::Error| match source.kind() {
        std::io::ErrorKind::NotFound => Error::Missing(path.to_owned()),
        _ => Error::File {
            path: path.to_owned(),
            source,
        },
    };
    let about = fs::metadata(path).map_err(file)?;
    if !about.is_file() {
        return Err(Error::NotABook(path.to_owned()));
    }
    let mut head = [0u8; 16];
    let read = fs::File::open(path)
        .and_then(|mut f| f.read_exact(&mut head))
        .is_ok();
    if !read || &head != b"SQLite format 3\0" {
        return Err(Error::NotABook(path.to_owned()));
    }
    if about.permissions().readonly() {
        return Err(Error::ReadOnly(path.to_owned()));
    }
    Ok(())
}
