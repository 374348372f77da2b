use rusqlite::ErrorCode;
use std::path::PathBuf;
use thiserror::Error;

pub type Result<T, E = Error> = std::result::Result<T, E>;

/// Why the book could not do what was asked. Each text is one sentence for the person at the page.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum Error {
    #[error("There is no book at {}.", .0.display())]
    Missing(PathBuf),
    #[error("There is already a file at {}; choose another name for the new book.", .0.display())]
    Exists(PathBuf),
    #[error("There is already something at {}; choose another name for the folder.", .0.display())]
    FolderExists(PathBuf),
    #[error("No book could be made from {}: {what}. Nothing was written.", .path.display())]
    Folder { path: PathBuf, what: String },
    #[error("{} is not a farm book; it was left as it is.", .0.display())]
    NotABook(PathBuf),
    #[error(
        "{} was written by a newer version of this program (layout {found}; this one knows up to {known}); install the newer version to open it.", .path.display()
    )]
    Newer {
        path: PathBuf,
        found: i64,
        known: i64,
    },
    #[error(
        "{} can be read but not written; copy it to a folder where you may write and open it there.", .0.display()
    )]
    ReadOnly(PathBuf),
    #[error("The disk is full: the change was not saved and the book is as it was before.")]
    Full,
    #[error("The disk did not take the change: it was not saved and the book is as it was before.")]
    RolledBack,
    #[error("Another program is writing to the book; try again in a moment.")]
    Busy,
    #[error(
        "The book is damaged ({0}); close it and go back to the newest copy in the backups folder."
    )]
    Damaged(String),
    #[error("{what} must be {must}.")]
    Invalid { what: String, must: String },
    /// An outline that is of no use.
    #[error("{0}")]
    Outline(String),
    #[error("There is already a block called “{0}”.")]
    NameTaken(String),
    #[error("“{name}” already stands for the block “{block}”; a sample could not tell them apart.")]
    AliasTaken { name: String, block: String },
    #[error("There is no {what} {key} in this book.")]
    NotFound { what: &'static str, key: String },
    #[error(
        "“{file_name}” holds exactly what “{first}” held, which was loaded on {on}; it was not loaded again."
    )]
    SameFile {
        file_name: String,
        first: String,
        on: String,
    },
    #[error(
        "“{0}” was done by an earlier version of this program and can no longer be undone here; the copy from before is in the backups folder."
    )]
    TooOldToUndo(String),
    #[error("The backup could not be written to {}: {why}.", .path.display())]
    Backup { path: PathBuf, why: String },
    #[error("{} could not be used: {source}.", .path.display())]
    File {
        path: PathBuf,
        source: std::io::Error,
    },
    #[error("The book could not be read or written: {0}.")]
    Sql(rusqlite::Error),
}

impl Error {
    pub(crate) fn invalid(what: impl Into<String>, must: impl Into<String>) -> Self {
        Self::Invalid {
            what: what.into(),
            must: must.into(),
        }
    }

    pub(crate) fn not_found(what: &'static str, key: impl ToString) -> Self {
        Self::NotFound {
            what,
            key: key.to_string(),
        }
    }
}

impl From<rusqlite::Error> for Error {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                Self::Damaged(error.to_string())
            }
            _ => Self::Sql(error),
        }
    }
}
