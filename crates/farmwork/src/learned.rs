//! What a block’s own tests change in its needs: how far it answers to lime, phosphate and potash by its
//! history, whether that is strong enough to plan by, and what the grower decided of it.

use crate::ledger::{self, Shared, Taught};
use crate::readings::BlockReading;
use crate::weights::{weight, weights};
use crate::{Result, WorkError, needs, per_block};
use agronomy::working::{Evidence, Figure, Source};
use farmbook::{Book, Id, Learnable, LearnedChoice, TestSpan};
use jiff::civil::Date;
use quantity::plain;
use serde::{Serialize, Serializer};
use std::cell::{Cell, OnceCell};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What stands above all that a block’s tests teach, on page and paper.
pub const OPENING: &str = "Each test beside what the published figures had led to expect from everything that was spread and picked since the first. The next need of lime, and of phosphate and potash where their rates build the soil up, goes by it only as said here.";

/// Whether needs go by the block’s own answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Too few tests or too little moved: it is shown and cannot be used yet.
    TooLittle { why: String },
    /// It may be used where the grower says so.
    Offered { why: String },
    /// The tests are strong enough that it is used unless the grower refuses.
    Used,
    /// The grower said that it is used.
    Taken { on: Date },
    /// The grower refused it.
    Refused { on: Date },
}

impl Standing {
    /// What became of an answer, in a sentence, where no need is at hand.
    pub fn says(&self) -> String {
        match self {
            Self::TooLittle { why } => format!("Needs go by the published figure: {why}."),
            Self::Offered { why } => {
                format!("Needs go by the published figure unless you take the block’s own: {why}.")
            }
            Self::Used => "Needs go by the block’s own answer, within bounds; where the lab printed a rate, that is believed first.".to_owned(),
            Self::Taken { on } => {
                format!("You took it on {on}: needs go by the block’s own answer, within bounds.")
            }
            Self::Refused { on } => {
                format!("You refused it on {on}: needs go by the published figure.")
            }
        }
    }
}

/// The need as a multiple of the published one, held within bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Times {
    pub value: f64,
    pub low: f64,
    pub high: f64,
    /// What the tests say without the bounds.
    pub said: f64,
}

impl Times {
    /// Whether the tests say more than the bounds let through.
    pub fn held(&self) -> bool {
        (self.said - self.value).abs() > 1e-9
    }
}

/// A block’s own answer with what became of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Own {
    /// Each pair of tests and what lay between them, and how the answer came of it.
    #[serde(serialize_with = "shared")]
    pub taught: Arc<Taught>,
    pub times: Times,
    pub standing: Standing,
}

fn shared<S: Serializer>(taught: &Arc<Taught>, to: S) -> std::result::Result<S::Ok, S::Error> {
    taught.as_ref().serialize(to)
}

/// What one need is by the published figures and by the block’s own answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnNeed {
    pub own: Own,
    /// lb per acre
    pub published: f64,
    /// By the block’s own answer, with its likely ends, lb per acre.
    pub learned: f64,
    pub low: f64,
    pub high: f64,
    /// Whether the published need was printed by the lab.
    pub printed: bool,
    /// Whether the need goes by it.
    pub used: bool,
    /// In a sentence or two.
    pub says: String,
}

/// The answers of one block.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Learned(Vec<Own>);

impl Learned {
    pub fn of(&self, item: Learnable) -> Option<&Own> {
        self.0.iter().find(|o| o.taught.item == item)
    }
}

/// The multiple of a need that an answer makes, within bounds.
fn times(answer: &ledger::Answer) -> Times {
    let (least, most) = (weight("learned_least_times"), weight("learned_most_times"));
    let of = |answer: f64| inverse(answer).clamp(least, most);
    Times {
        value: of(answer.mean),
        low: of(answer.high),
        high: of(answer.low),
        said: inverse(answer.mean),
    }
}

/// How many times the published need an answer asks for; a ground that does not answer asks without end.
fn inverse(answer: f64) -> f64 {
    if answer > 0.0 {
        1.0 / answer
    } else {
        f64::INFINITY
    }
}

/// What becomes of an answer: by its evidence, and by what the grower decided.
fn standing(taught: &Taught, choice: Option<&LearnedChoice>) -> Standing {
    let a = &taught.answer;
    let least = weight("learned_own_share");
    if a.own < least {
        return Standing::TooLittle {
            why: format!(
                "only {} % of it rests on the block’s own tests, and it takes {} %: the next test after lime or feeding tells more",
                plain((a.own * 100.0).round(), 3),
                plain(least * 100.0, 3)
            ),
        };
    }
    match choice {
        Some(c) if c.take => return Standing::Taken { on: c.decided_on },
        Some(c) => return Standing::Refused { on: c.decided_on },
        None => {}
    }
    let tests = weight("learned_tests") as usize;
    if taught.counted < tests {
        return Standing::Offered {
            why: format!(
                "it rests on {} tests before the newest, and one of them may be off: with {tests} it can be used by itself",
                taught.counted
            ),
        };
    }
    if !a.differs {
        return Standing::Offered {
            why: "within its doubt, nineteen cases of twenty, the published figure may be right"
                .to_owned(),
        };
    }
    Standing::Used
}

impl Own {
    fn new(taught: &Arc<Taught>, choice: Option<&LearnedChoice>) -> Self {
        Self {
            times: times(&taught.answer),
            standing: standing(taught, choice),
            taught: Arc::clone(taught),
        }
    }

    /// The part of a need that rests on how far the ground answers, lb per acre, by both; none where
    /// nothing is needed. What the lab printed is believed first: there it is used only where the grower
    /// said so.
    pub(crate) fn need(&self, published: f64, printed: bool) -> Option<OwnNeed> {
        if published <= 0.0 {
            return None;
        }
        let used = match self.standing {
            Standing::Used => !printed,
            Standing::Taken { .. } => true,
            _ => false,
        };
        let mut own = OwnNeed {
            own: self.clone(),
            published,
            learned: published * self.times.value,
            low: published * self.times.low,
            high: published * self.times.high,
            printed,
            used,
            says: String::new(),
        };
        own.says = self.says(&own, printed);
        Some(own)
    }

    fn says(&self, own: &OwnNeed, printed: bool) -> String {
        let lb = |v: f64| plain(v, 3);
        let what = match self.taught.item {
            Learnable::Lime => "lime",
            Learnable::P2o5 | Learnable::K2o => "build-up",
        };
        let by = if printed {
            "The lab printed"
        } else {
            "Published:"
        };
        let a = &self.taught.answer;
        let said = |answer: f64| own.published * inverse(answer);
        let takes = match (said(a.mean), said(a.high), said(a.low)) {
            (mean, low, high) if high.is_finite() => {
                format!("about {} ({} to {})", about(mean), about(low), about(high))
            }
            (mean, low, _) if mean.is_finite() => {
                format!("about {} ({} or more)", about(mean), about(low))
            }
            (_, low, _) => format!("{} or more", about(low)),
        };
        let mut text = format!(
            "{by} {} lb/acre of {what}; by its own tests this block’s soil takes {takes}.",
            lb(own.published)
        );
        let used = match (self.times.held(), self.times.value > 1.0) {
            (false, _) => format!("{} is used.", lb(own.learned)),
            (true, true) => format!(
                "{} is used: never more than {} times the published. Look for another cause, too: coarse lime, lime that was not worked in, samples from another depth.",
                lb(own.learned),
                lb(self.times.value)
            ),
            (true, false) => format!(
                "{} is used: never less than {} times the published. Look for another cause, too: lime, ash or manure that nobody wrote down.",
                lb(own.learned),
                lb(self.times.value)
            ),
        };
        text.push(' ');
        text.push_str(&match &self.standing {
            Standing::Refused { on } => {
                format!("You refused that on {on}: {} is used.", lb(own.published))
            }
            Standing::Taken { on } => {
                format!("You took it on {on}. {used}")
            }
            Standing::Used if own.used => used,
            Standing::Used => format!(
                "The lab is believed first: {} is used unless you say otherwise.",
                lb(own.published)
            ),
            Standing::Offered { why } => {
                format!("{} is used unless you take it: {why}.", lb(own.published))
            }
            Standing::TooLittle { why } => format!("{} is used: {why}.", lb(own.published)),
        });
        text
    }
}

/// A number in doubt, with no more figures than it bears: two.
fn about(v: f64) -> String {
    if !(v.is_finite() && v > 0.0) {
        return plain(v, 3);
    }
    let unit = 10f64.powf(v.log10().floor() - 1.0);
    plain((v / unit).round() * unit, 3)
}

impl OwnNeed {
    /// Whether the need goes by it, or the grower refused that: what a sheet must say.
    pub fn decided(&self) -> bool {
        self.used || matches!(self.own.standing, Standing::Refused { .. })
    }

    /// Puts the block’s own answer into a figure where it is used; the range takes its doubt along.
    pub(crate) fn apply(&self, figure: &mut Figure) {
        if !self.used {
            return;
        }
        let (unit, was) = (figure.unit.clone(), figure.value);
        let (low, high) = (figure.low, figure.high);
        let change = self.learned - self.published;
        figure.step(
            "by this block’s own answer",
            was + change,
            unit,
            format!(
                "{} {} {}: {} where the published figure asks {}",
                plain(was, 4),
                if change < 0.0 { "−" } else { "+" },
                plain(change.abs(), 4),
                plain(self.learned, 4),
                plain(self.published, 4)
            ),
            bounds(),
        );
        // The doubt of the published need keeps its share of what it was; the answer’s own is added as
        // variances are.
        let scale = if was > 0.0 { figure.value / was } else { 1.0 };
        let less = low
            .map_or(0.0, |l| (was - l) * scale)
            .hypot(self.learned - self.low);
        let more = high
            .map_or(0.0, |h| (h - was) * scale)
            .hypot(self.high - self.learned);
        figure.low = Some((figure.value - less).max(0.0));
        figure.high = Some(figure.value + more);
    }
}

fn bounds() -> Source {
    let judged = weights()
        .get("learned_most_times")
        .map(|w| w.source.text.clone());
    Source::new(
        format!(
            "published need over the block’s own answer; never below {} nor above {} times the published need{}",
            plain(weight("learned_least_times"), 3),
            plain(weight("learned_most_times"), 3),
            judged.map_or_else(String::new, |j| format!(" ({j})"))
        ),
        Evidence::Derived,
    )
}

/// Asks what the tests of blocks teach, and only where it may matter.
pub(crate) struct Teacher {
    choices: BTreeMap<(Id, Learnable), LearnedChoice>,
    spans: Vec<TestSpan>,
    shared: OnceCell<Shared>,
    /// Whether what was learned before has been looked over since.
    fresh: Cell<bool>,
}

/// One test sets the need, and two before it make the shortest history.
const FEWEST_REPORTS: u32 = 3;

impl Teacher {
    pub(crate) fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            choices: book
                .learned_choices()?
                .into_iter()
                .map(|c| ((c.block, c.item), c))
                .collect(),
            spans: book.test_spans()?,
            shared: OnceCell::new(),
            fresh: Cell::new(false),
        })
    }

    pub(crate) fn shared(&self, book: &Book) -> Result<&Shared> {
        if let Some(shared) = self.shared.get() {
            return Ok(shared);
        }
        let made = Shared::of(book)?;
        Ok(self.shared.get_or_init(|| made))
    }

    /// What the tests of a block teach; empty where its history is too short.
    fn taught(&self, book: &Book, reading: &BlockReading) -> Result<Vec<Arc<Taught>>> {
        let id = reading.block.id;
        let enough = self
            .spans
            .binary_search_by_key(&id, |s| s.block)
            .ok()
            .and_then(|at| self.spans.get(at))
            .is_some_and(|s| s.reports >= FEWEST_REPORTS);
        if !enough {
            return Ok(Vec::new());
        }
        if !self.fresh.replace(true) {
            per_block::refresh::<Vec<Arc<Taught>>>(book)?;
        }
        if let Some(found) = per_block::find(book, id) {
            return Ok(found);
        }
        let found: Vec<Arc<Taught>> = ledger::taught(book, reading, self.shared(book)?)?
            .into_iter()
            .map(Arc::new)
            .collect();
        per_block::put(book, id, found.clone());
        Ok(found)
    }

    fn learned(&self, id: Id, taught: &[Arc<Taught>]) -> Learned {
        let own = |t: &Arc<Taught>| Own::new(t, self.choices.get(&(id, t.item)));
        Learned(taught.iter().map(own).collect())
    }

    /// All that the tests of a block teach.
    pub(crate) fn all(&self, book: &Book, reading: &BlockReading) -> Result<Vec<Own>> {
        let taught = self.taught(book, reading)?;
        Ok(self.learned(reading.block.id, &taught).0)
    }

    /// What may change a need of the block as it stands; nothing is asked where no need rests on it.
    pub(crate) fn for_needs(&self, book: &Book, reading: &BlockReading) -> Result<Learned> {
        if !needs::rests_on_an_answer(reading) {
            return Ok(Learned::default());
        }
        let taught = self.taught(book, reading)?;
        Ok(self.learned(reading.block.id, &taught))
    }
}

/// What a grower may decide of a block’s own answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    Take,
    Refuse,
    /// As if nothing had been decided.
    Forget,
}

impl Decision {
    pub fn from_key(key: &str) -> Option<Self> {
        Some(match key {
            "take" => Self::Take,
            "refuse" => Self::Refuse,
            "forget" => Self::Forget,
            _ => return None,
        })
    }
}

/// Keeps what the grower decided of a block’s own answer.
///
/// # Errors
/// Nothing was learned there that could be decided on, or the book’s own.
pub fn decide(
    book: &mut Book,
    block: Id,
    item: Learnable,
    decision: Decision,
    today: Date,
) -> Result<()> {
    if decision == Decision::Forget {
        return Ok(book.clear_learned_choice(block, item)?);
    }
    let reading = crate::readings::one(book, block)?;
    let all = Teacher::of(book)?.all(book, &reading)?;
    let name = &reading.block.name;
    match all.iter().find(|o| o.taught.item == item) {
        None => Err(WorkError::Said(format!(
            "The tests of “{name}” have taught nothing of {} yet: it takes two tests of one lab and method before the newest, and something spread between them.",
            item.name()
        ))),
        Some(Own {
            standing: Standing::TooLittle { why },
            ..
        }) => Err(WorkError::Said(format!(
            "What the tests of “{name}” taught of {} cannot be used yet: {why}.",
            item.name()
        ))),
        Some(_) => Ok(book.set_learned_choice(&LearnedChoice {
            block,
            item,
            take: decision == Decision::Take,
            decided_on: today,
        })?),
    }
}
