//! Long work away from the pages: one at a time, followed and ended from the browser.

use crate::error::Page;
use crate::state::{App, held};
use farmwork::left_out::LeftOut;
use farmwork::limits::Held;
use farmwork::offers::Offer;
use planner::{Progress, Warm, Watch};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// What earlier searches learnt and found; it is gone with the program and can be found again.
#[derive(Default)]
pub(crate) struct Known {
    pub(crate) warm: Warm,
    /// The plan they belong to, by number.
    pub(crate) offers: Option<(i64, Vec<Offer>)>,
    pub(crate) limits: Option<(i64, Vec<Held>)>,
    pub(crate) left_out: Option<(i64, Vec<LeftOut>)>,
}

/// What was found for the plan of this number; what belongs to another one is of no use.
pub(crate) fn found_for<T>(kept: &Option<(i64, Vec<T>)>, plan: i64) -> Option<&[T]> {
    kept.as_ref()
        .filter(|(id, _)| *id == plan)
        .map(|(_, found)| found.as_slice())
}

/// Work that goes on.
pub(crate) struct Search {
    /// What is looked for, in words.
    pub(crate) what: &'static str,
    began: Instant,
    cancel: Arc<AtomicBool>,
    progress: Mutex<Option<Progress>>,
    /// How many of how many searches are done.
    parts: Mutex<Option<(usize, usize)>>,
    /// Where to go when it is done, or why it failed.
    outcome: Mutex<Option<Result<String, String>>>,
}

/// How long a form waits for its answer before it shows the progress instead.
const PATIENCE: Duration = Duration::from_millis(1_200);
const LOOK: Duration = Duration::from_millis(15);

impl Search {
    pub(crate) fn seconds(&self) -> f64 {
        self.began.elapsed().as_secs_f64()
    }

    pub(crate) fn progress(&self) -> Option<Progress> {
        *held(&self.progress)
    }

    pub(crate) fn parts(&self) -> Option<(usize, usize)> {
        *held(&self.parts)
    }

    pub(crate) fn outcome(&self) -> Option<Result<String, String>> {
        held(&self.outcome).clone()
    }

    /// Ends it soon, with the best that it has by then.
    pub(crate) fn end(&self) {
        self.cancel.store(true, Ordering::Relaxed);
    }

    async fn wait(&self, patience: Duration) -> Option<Result<String, String>> {
        let until = Instant::now() + patience;
        loop {
            let outcome = self.outcome();
            if outcome.is_some() || Instant::now() > until {
                return outcome;
            }
            tokio::time::sleep(LOOK).await;
        }
    }
}

impl App {
    pub(crate) fn known(&self) -> std::sync::MutexGuard<'_, Known> {
        held(&self.known)
    }

    /// Whether work is under way.
    pub(crate) fn busy(&self) -> bool {
        self.search().is_some_and(|s| s.outcome().is_none())
    }

    pub(crate) fn search(&self) -> Option<Arc<Search>> {
        held(&self.search).clone()
    }

    /// Begins work, unless some is under way, and gives the page to go to: that of the answer where it
    /// came at once, else that of the progress.
    pub(crate) async fn begin(
        &self,
        what: &'static str,
        work: impl FnOnce(&Watch) -> Result<String, Page> + Send + 'static,
    ) -> Page {
        let search = {
            let mut now = held(&self.search);
            if now.as_ref().is_some_and(|s| s.outcome().is_none()) {
                return Page::Go("/wait".to_owned());
            }
            let search = Arc::new(Search {
                what,
                began: Instant::now(),
                cancel: Arc::default(),
                progress: Mutex::default(),
                parts: Mutex::default(),
                outcome: Mutex::default(),
            });
            *now = Some(Arc::clone(&search));
            search
        };
        let doing = Arc::clone(&search);
        tokio::task::spawn_blocking(move || {
            let (told, counted) = (Arc::clone(&doing), Arc::clone(&doing));
            let watch = Watch::default()
                .with_cancel(Arc::clone(&doing.cancel))
                .with_progress(move |progress| *held(&told.progress) = Some(progress))
                .with_parts(move |done, of| *held(&counted.parts) = Some((done, of)));
            // A search that fails inside the program still has an outcome, or its page would wait for ever.
            let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&watch)))
                .unwrap_or_else(|_| {
                    Err(Page::sentence(
                        "The search failed inside the program; nothing was changed.",
                    ))
                });
            *held(&doing.outcome) = Some(done.map_err(|page| page.says()));
        });
        match search.wait(PATIENCE).await {
            Some(_) => self.take().await,
            None => Page::Go("/wait".to_owned()),
        }
    }

    /// The page of the outcome, which is then forgotten; that of the plan where there is none.
    pub(crate) async fn take(&self) -> Page {
        let Some(search) = self.search() else {
            return Page::Go("/plan".to_owned());
        };
        match search.outcome() {
            None => Page::Go("/wait".to_owned()),
            Some(outcome) => {
                *held(&self.search) = None;
                match outcome {
                    Ok(to) => Page::Go(to),
                    Err(why) => Page::Sentence(why),
                }
            }
        }
    }

    /// Ends the work and gives the page of what it had.
    pub(crate) async fn end(&self) -> Page {
        let Some(search) = self.search() else {
            return Page::Go("/plan".to_owned());
        };
        search.end();
        search.wait(Duration::from_secs(10)).await;
        self.take().await
    }

    /// Runs work on the book from a thread that may wait.
    pub(crate) fn on_book<T>(
        &self,
        work: impl FnOnce(&mut farmbook::Book) -> Result<T, Page>,
    ) -> Result<T, Page> {
        work(&mut held(&self.book))
    }
}
