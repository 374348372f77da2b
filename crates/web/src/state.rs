use crate::error::Page;
use crate::search::{Known, Search};
use farmbook::Book;
use std::sync::{Arc, Mutex, PoisonError};

/// What every page can reach: the one open book, and the work that goes on.
#[derive(Clone)]
pub struct App {
    pub(crate) book: Arc<Mutex<Book>>,
    pub(crate) search: Arc<Mutex<Option<Arc<Search>>>>,
    pub(crate) known: Arc<Mutex<Known>>,
    /// The file of outlines that was looked at last, so that it need not be chosen again to be kept.
    pub(crate) looked_at: Arc<Mutex<Option<LookedAt>>>,
}

/// A file that was looked at and not kept yet.
#[derive(Clone)]
pub(crate) struct LookedAt {
    pub(crate) name: String,
    pub(crate) bytes: axum::body::Bytes,
}

impl App {
    pub fn new(mut book: Book) -> Self {
        book.as_person("in the browser");
        Self {
            book: Arc::new(Mutex::new(book)),
            search: Arc::default(),
            known: Arc::default(),
            looked_at: Arc::default(),
        }
    }

    pub(crate) async fn farm(&self) -> Result<farmbook::Farm, Page> {
        self.with(|book| Ok(book.farm()?)).await
    }

    /// Runs work on the book away from the threads that answer, since planning and the disk take time.
    pub(crate) async fn with<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Book) -> Result<T, Page> + Send + 'static,
    ) -> Result<T, Page> {
        let book = Arc::clone(&self.book);
        tokio::task::spawn_blocking(move || {
            // Every change is one transaction, so a book whose last user failed is still whole.
            let mut book = book.lock().unwrap_or_else(PoisonError::into_inner);
            work(&mut book)
        })
        .await
        .unwrap_or_else(|_| {
            Err(Page::sentence(
                "Something went wrong inside the program; nothing was changed. Go back and try again.",
            ))
        })
    }
}
