//! Plans bettered on a thread of their own, beside the search for the bound: what branches suggest is
//! put on the scale, and a few blocks at a time are planned anew together with what is bought, while
//! the others keep to what they use and only change how much.
//!
//! What is asked is answered in turn and taken two questions later, so that the same farm gives the
//! same plan however the threads run.

use crate::farm::Farm;
use crate::generate::Draw;
use crate::mip::Limits;
use crate::model::{self, Choice, Use};
use crate::solve::weigh;
use crate::{PlanError, Watch};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::Scope;
use std::time::Instant;

/// Blocks planned anew at once.
const BLOCKS: usize = 5;

/// Nodes of the solver's search: most of what it finds it finds at the first.
const NODES: i32 = 30;

/// The question at which all blocks are planned anew at once: it takes long, so that it waits until
/// the quicker ones have found what they can.
const ALL_AT: usize = 9;

/// Questions under way.
const AHEAD: usize = 2;

#[derive(Clone, Copy)]
pub(crate) struct Terms<'a> {
    pub farm: &'a Farm<'a>,
    pub unavoidable: f64,
    /// That may be left open of what a few blocks cost.
    pub gap: f64,
    pub end: Instant,
    pub watch: &'a Watch,
}

struct Job {
    ideas: Vec<Choice>,
    /// Pairs that may come to be used.
    pool: Vec<bool>,
}

pub(crate) struct Beside {
    jobs: Option<Sender<Job>>,
    done: Receiver<Result<Choice, PlanError>>,
    waiting: usize,
}

impl Beside {
    pub fn start<'s, 'a: 's>(scope: &'s Scope<'s, 'a>, terms: Terms<'a>, best: Choice) -> Self {
        let (jobs, asked) = channel::<Job>();
        let (answer, done) = channel();
        scope.spawn(move || {
            let mut bench = Bench::new(terms, best);
            for job in asked {
                let better = bench.better(job).map(|()| bench.best.clone());
                let failed = better.is_err();
                if answer.send(better).is_err() || failed {
                    return;
                }
            }
        });
        Self {
            jobs: Some(jobs),
            done,
            waiting: 0,
        }
    }

    pub fn ask(&mut self, ideas: Vec<Choice>, pool: Vec<bool>) {
        if let Some(jobs) = &self.jobs
            && jobs.send(Job { ideas, pool }).is_ok()
        {
            self.waiting += 1;
        }
    }

    /// The oldest answer, when so many are under way that it is its turn.
    pub fn hear(&mut self) -> Result<Option<Choice>, PlanError> {
        if self.waiting < AHEAD {
            return Ok(None);
        }
        self.next()
    }

    fn next(&mut self) -> Result<Option<Choice>, PlanError> {
        self.waiting -= 1;
        let failed = |_| Err(PlanError::Solver("a thread that ended early".to_owned()));
        self.done.recv().unwrap_or_else(failed).map(Some)
    }

    /// Ends the work; the last answer.
    pub fn end(mut self) -> Result<Option<Choice>, PlanError> {
        self.jobs = None;
        let mut last = None;
        while self.waiting > 0 {
            last = self.next()?;
        }
        Ok(last)
    }
}

struct Bench<'a> {
    terms: Terms<'a>,
    best: Choice,
    /// Blocks in the order in which they come next.
    queue: Vec<usize>,
    draw: Draw,
    /// Questions so far.
    asked: usize,
    /// Plans that were put on the scale before.
    tried: Vec<Vec<f64>>,
}

impl<'a> Bench<'a> {
    fn new(terms: Terms<'a>, best: Choice) -> Self {
        Self {
            terms,
            best,
            queue: Vec::new(),
            draw: Draw(1),
            asked: 0,
            tried: Vec::new(),
        }
    }

    fn better(&mut self, job: Job) -> Result<(), PlanError> {
        let farm = self.terms.farm;
        let used: Vec<bool> = self.best.0.iter().map(|lb| *lb > 0.0).collect();
        self.asked += 1;
        if self.asked == ALL_AT {
            return self.plan_anew(|i| Use::of(false, used[i] || job.pool[i]));
        }
        let fresh = |idea: &Choice| !self.tried.contains(&idea.0);
        let ideas: Vec<Choice> = job.ideas.into_iter().filter(fresh).collect();
        if ideas.is_empty() {
            let here = self.next_blocks();
            return self.plan_anew(|i| match here.contains(&farm.pairs[i].block) {
                true => Use::of(false, used[i] || job.pool[i]),
                false => Use::of(used[i], false),
            });
        }
        for idea in &ideas {
            self.weigh(idea);
        }
        self.cross(&ideas)?;
        self.tried.extend(ideas.into_iter().map(|idea| idea.0));
        Ok(())
    }

    /// Plans anew what the best plan and others do not have in common.
    fn cross(&mut self, ideas: &[Choice]) -> Result<(), PlanError> {
        let mut any: Vec<bool> = self.best.0.iter().map(|lb| *lb > 0.0).collect();
        let mut every = any.clone();
        for idea in ideas {
            for (i, lb) in idea.0.iter().enumerate() {
                any[i] |= *lb > 0.0;
                every[i] &= *lb > 0.0;
            }
        }
        self.plan_anew(|i| Use::of(every[i], any[i]))
    }

    fn weigh(&mut self, raw: &Choice) {
        let terms = &self.terms;
        let best = std::mem::take(&mut self.best);
        self.best = weigh(terms.farm, raw, best, terms.unavoidable, terms.end);
    }

    /// The blocks whose turn it is.
    fn next_blocks(&mut self) -> Vec<usize> {
        if self.queue.is_empty() {
            self.queue = (0..self.terms.farm.ground.len()).collect();
            for i in (1..self.queue.len()).rev() {
                let other = (self.draw.unit() * (i + 1) as f64) as usize;
                self.queue.swap(i, other);
            }
        }
        let left = self.queue.len().saturating_sub(BLOCKS);
        self.queue.split_off(left)
    }

    fn plan_anew(&mut self, may: impl Fn(usize) -> Use) -> Result<(), PlanError> {
        let Terms {
            farm,
            gap,
            end,
            watch,
            ..
        } = self.terms;
        let left = end.saturating_duration_since(Instant::now()).as_secs_f64();
        if left <= 0.0 || watch.cancelled() {
            return Ok(());
        }
        let limits = Limits {
            seconds: 0.9 * left,
            gap,
            absolute: 1e-6,
            linear: false,
            nodes: Some(NODES),
        };
        let raw = model::run(farm, &self.best, may, limits, watch)?;
        if raw.choice.0 != self.best.0 {
            self.weigh(&raw.choice);
        }
        Ok(())
    }
}
