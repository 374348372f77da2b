use crate::error::Page;
use crate::network::Network;
use crate::search::{Known, Search};
use farmbook::Book;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What is behind a lock, also where its last user failed: all that stands behind one is put there whole.
pub(crate) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Who makes the changes that come from this computer’s own pages.
const HERE: &str = "in the browser";

tokio::task_local! {
    /// Who makes the changes of a request that came from a phone.
    pub(crate) static PERSON: String;
}

/// Who makes the changes of the request that is being answered.
pub(crate) fn person() -> String {
    PERSON
        .try_with(Clone::clone)
        .unwrap_or_else(|_| HERE.to_owned())
}

/// What every page can reach: the one open book, and the work that goes on.
#[derive(Clone)]
pub struct App {
    pub(crate) book: Arc<Mutex<Book>>,
    pub(crate) search: Arc<Mutex<Option<Arc<Search>>>>,
    pub(crate) known: Arc<Mutex<Known>>,
    /// The file of outlines that was looked at last, so that it need not be chosen again to be kept.
    pub(crate) looked_at: Arc<Mutex<Option<LookedAt>>>,
    pub(crate) network: Arc<Network>,
}

/// A file that was looked at and not kept yet.
#[derive(Clone)]
pub(crate) struct LookedAt {
    pub(crate) name: String,
    pub(crate) bytes: axum::body::Bytes,
}

impl App {
    pub fn new(book: Book) -> Self {
        let network = Network::beside(book.path());
        Self {
            book: Arc::new(Mutex::new(book)),
            search: Arc::default(),
            known: Arc::default(),
            looked_at: Arc::default(),
            network: Arc::new(network),
        }
    }

    /// Takes another port for phones than [`crate::NETWORK_PORT`]; 0 takes a free one.
    #[must_use]
    pub fn network_port(mut self, port: u16) -> Self {
        if let Some(network) = Arc::get_mut(&mut self.network) {
            network.port = port;
        }
        self
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
        let person = person();
        tokio::task::spawn_blocking(move || {
            // Every change is one transaction, so a book whose last user failed is still whole.
            let mut book = held(&book);
            book.as_person(&person);
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
