//! Several steps as one change of the book.

use crate::{Result, WorkError};
use farmbook::{Book, Error as BookError};

/// Does several steps as one change with one undo; where one fails, none stays.
///
/// # Errors
/// The error of the step that failed, or the book’s own.
pub(crate) fn whole<T>(
    book: &mut Book,
    what: &str,
    work: impl FnOnce(&mut Book) -> Result<T>,
) -> Result<T> {
    let mut said = None;
    let done = book.together(what, |book| {
        work(book).map_err(|e| match e {
            WorkError::Book(e) => e,
            other => {
                said = Some(other);
                BookError::RolledBack
            }
        })
    });
    done.map_err(|e| said.unwrap_or(WorkError::Book(e)))
}
