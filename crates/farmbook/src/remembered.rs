//! What was worked out from the book as it stands, kept until something in it changes.

use crate::row::get;
use crate::{Book, Error, Id};
use std::any::Any;
use std::sync::{Arc, Mutex, PoisonError};

/// So many things are kept at a time.
const MOST: usize = 32;
/// And so many of one kind, which the first word of their keys tells: two plans are laid side by side.
const OF_A_KIND: usize = 2;

/// Things by their keys, all worked out after the same change, the oldest first.
#[derive(Default)]
pub(crate) struct Remembered {
    change: Id,
    things: Vec<(String, Arc<dyn Any + Send + Sync>)>,
}

impl Remembered {
    fn find(&self, key: &str) -> Option<Arc<dyn Any + Send + Sync>> {
        let found = self.things.iter().find(|(k, _)| k == key);
        found.map(|(_, thing)| Arc::clone(thing))
    }

    /// Puts a thing by; the oldest, or the oldest of its kind, makes room.
    fn put(&mut self, key: &str, thing: Arc<dyn Any + Send + Sync>) {
        let kind = |key: &str| key.split(' ').next().unwrap_or_default().to_owned();
        let mine = kind(key);
        self.things.retain(|(k, _)| k != key);
        if self.things.iter().filter(|(k, _)| kind(k) == mine).count() >= OF_A_KIND
            && let Some(at) = self.things.iter().position(|(k, _)| kind(k) == mine)
        {
            self.things.remove(at);
        }
        if self.things.len() >= MOST {
            self.things.remove(0);
        }
        self.things.push((key.to_owned(), thing));
    }
}

impl Book {
    /// What `work` makes of the book, worked out once while nothing in the book changes, whoever changes
    /// it; `key` tells it from other things, and says all that it rests on beside the book. Inside a
    /// running change nothing is kept.
    ///
    /// # Errors
    /// Those of `work`, which are not kept, and the book’s own.
    pub fn remembered<T, E>(
        &self,
        key: &str,
        work: impl FnOnce() -> Result<T, E>,
    ) -> Result<Arc<T>, E>
    where
        T: Send + Sync + 'static,
        E: From<Error>,
    {
        if self.running.is_some() {
            return work().map(Arc::new);
        }
        // Looked up before the work: what another program writes meanwhile makes it work again.
        let newest = self.first("SELECT max(id) AS id FROM change", [], |row| get(row, "id"))?;
        let newest: Id = newest.unwrap_or_default();
        let lock = || {
            self.remembered
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
        };
        let mut held = lock();
        if held.change != newest {
            held.things.clear();
            held.change = newest;
        }
        let known = held.find(key);
        drop(held);
        if let Some(known) = known.and_then(|k| k.downcast::<T>().ok()) {
            return Ok(known);
        }
        let made = Arc::new(work()?);
        let mut held = lock();
        if held.change == newest {
            held.put(key, Arc::clone(&made) as _);
        }
        Ok(made)
    }
}

pub(crate) type Memory = Mutex<Remembered>;
