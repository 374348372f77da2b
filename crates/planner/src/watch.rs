use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Where a search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Seconds since it began.
    pub seconds: f64,
    /// Objective of the best plan so far.
    pub objective: f64,
    /// No plan can have a lower objective than this (proven).
    pub bound: f64,
    /// `(objective - bound) / (objective - unavoidable)`.
    pub gap: f64,
}

type Tell = dyn Fn(Progress) + Send + Sync;
type TellParts = dyn Fn(usize, usize) + Send + Sync;

/// Follows a search from outside: hears how it stands and can end it early, with the best plan
/// that it then has.
#[derive(Clone, Default)]
pub struct Watch {
    cancel: Option<Arc<AtomicBool>>,
    tell: Option<Arc<Tell>>,
    tell_parts: Option<Arc<TellParts>>,
}

impl Watch {
    /// Ends the search soon after the flag is set. A step of the solver that is under way may go
    /// on in the background until the time of the problem is up; its result is not waited for.
    pub fn with_cancel(mut self, cancel: Arc<AtomicBool>) -> Self {
        self.cancel = Some(cancel);
        self
    }

    /// Calls back each time the plan or the bound gets better.
    pub fn with_progress(mut self, tell: impl Fn(Progress) + Send + Sync + 'static) -> Self {
        self.tell = Some(Arc::new(tell));
        self
    }

    /// Calls back, where a search is made of several, with how many of how many are done.
    pub fn with_parts(mut self, tell: impl Fn(usize, usize) + Send + Sync + 'static) -> Self {
        self.tell_parts = Some(Arc::new(tell));
        self
    }

    /// Says that so many of so many searches are done.
    pub fn done(&self, done: usize, of: usize) {
        if let Some(tell) = &self.tell_parts {
            tell(done, of);
        }
    }

    /// Whether the search was ended from outside.
    pub fn cancelled(&self) -> bool {
        self.cancel
            .as_ref()
            .is_some_and(|c| c.load(Ordering::Relaxed))
    }

    pub(crate) fn can_cancel(&self) -> bool {
        self.cancel.is_some()
    }

    pub(crate) fn tell(&self, progress: Progress) {
        if let Some(tell) = &self.tell {
            tell(progress);
        }
    }
}
