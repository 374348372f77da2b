//! The farm at a glance: what needs attention, most urgent first, each with its reason and next step.

use crate::at_hand;
use crate::calendar::State;
use crate::compost::Composts;
use crate::needs::BlockNeeds;
use crate::season::lime_share;
use crate::{Result, words};
use agronomy::material;
use agronomy::sampling;
use agronomy::soil::Analyte;
use farmbook::{Book, Id, ReportStatus, TestSpan};
use jiff::civil::Date;
use planner::Nutrient;
use serde::Serialize;

/// How urgent a matter is; the first comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Matter {
    TooLate,
    Late,
    Doubtful,
    Compost,
    Lime,
    Untested,
    Old,
    Due,
    NoCrop,
    KeepOff,
    Awaited,
}

impl Matter {
    /// What is to be done, as a heading.
    pub fn heading(self) -> &'static str {
        match self {
            Self::TooLate => "May no longer go on as planned",
            Self::Late => "Is late and can still go on",
            Self::Doubtful => "Reports wait to be looked at",
            Self::Compost => "Say how the compost was made",
            Self::Lime => "Lime comes before anything else",
            Self::Untested => "No soil test yet",
            Self::Old => "The soil test is too old to plan by",
            Self::Due => "Sample again this season",
            Self::NoCrop => "No crop is chosen",
            Self::KeepOff => "Keep phosphate off",
            Self::Awaited => "Boxes sent, no report yet",
        }
    }

    /// How many it concerns, in a sentence.
    pub fn says(self, count: usize) -> String {
        let (one, many) = match self {
            Self::TooLate => (
                "job can no longer go on as planned",
                "jobs can no longer go on as planned",
            ),
            Self::Late => (
                "job is late and can still be done",
                "jobs are late and can still be done",
            ),
            Self::Doubtful => (
                "lab report waits to be looked at",
                "lab reports wait to be looked at",
            ),
            Self::Compost => (
                "compost has no record of how it was made",
                "composts have no record of how they were made",
            ),
            Self::Lime => (
                "block needs lime before anything else",
                "blocks need lime before anything else",
            ),
            Self::Untested => ("block has no soil test yet", "blocks have no soil test yet"),
            Self::Old => (
                "block has a soil test that is too old to plan by",
                "blocks have soil tests that are too old to plan by",
            ),
            Self::Due => (
                "block is due for sampling this season",
                "blocks are due for sampling this season",
            ),
            Self::NoCrop => (
                "block has no crop chosen yet",
                "blocks have no crop chosen yet",
            ),
            Self::KeepOff => (
                "block should get no phosphate",
                "blocks should get no phosphate",
            ),
            Self::Awaited => (
                "box went to the lab and has no report yet",
                "boxes went to the lab and have no report yet",
            ),
        };
        let what = if count == 1 { one } else { many };
        format!("{} {what}.", words::capital(&words::count(count)))
    }

    /// Why it matters, in a sentence.
    pub fn why(self) -> &'static str {
        match self {
            Self::TooLate => {
                "The wait before harvest or the end of the season stands in the way; the calendar offers another way."
            }
            Self::Late => "It does less the longer it waits.",
            Self::Doubtful => "Nothing is planned by a value that nobody decided on.",
            Self::Compost => {
                "What was not made hot is raw manure by the organic rule and waits for the harvest (7 CFR 205.203(c)); without a record nobody can tell."
            }
            Self::Lime => "Lime takes months, and other nutrients serve little in sour ground.",
            Self::Untested => "Without a test neither lime nor phosphate nor potash gets a rate.",
            Self::Old => "Nutrient management rules take a test for five years at most.",
            Self::Due => {
                "Vegetable ground is tested every two to three years (University of Minnesota Extension)."
            }
            Self::NoCrop => "What is not said to grow is not planned for.",
            Self::KeepOff => {
                "The soil holds more phosphorus than a crop can use, and more of it reaches water."
            }
            Self::Awaited => "Ask the lab if they take longer than it said.",
        }
    }

    /// Where to go next: words and address.
    pub fn next(self) -> (&'static str, &'static str) {
        match self {
            Self::TooLate | Self::Late => ("The calendar", "/calendar"),
            Self::Doubtful => ("The reports", "/lab"),
            Self::Compost => ("The materials", "/materials"),
            Self::Lime => ("The plan", "/plan"),
            Self::Untested | Self::Old | Self::Due => ("Boxes and labels", "/lab/boxes"),
            Self::NoCrop => ("The ground", "/ground"),
            Self::KeepOff => ("The readings", "/reading"),
            Self::Awaited => ("The boxes", "/lab/boxes"),
        }
    }
}

/// One thing of a matter: what, and the block’s page where there is one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct One {
    pub block: Option<Id>,
    pub name: String,
    pub reason: String,
}

/// A matter with everything it concerns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Attention {
    pub matter: Matter,
    pub what: Vec<One>,
}

/// This season beside the last one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    pub what: String,
    pub this: f64,
    pub last: f64,
}

/// The farm as it stands on a day.
#[derive(Debug, Clone, Serialize)]
pub struct Glance {
    /// Most urgent first; empty where nothing waits.
    pub attention: Vec<Attention>,
    pub beside: Vec<Beside>,
    /// The day by which the next block is due for sampling, and its name.
    pub next_sampling: Option<(Date, String)>,
}

/// The farm as it stands today.
///
/// # Errors
/// The book’s own.
pub fn of_farm(book: &Book, today: Date) -> Result<Glance> {
    let farm = book.farm()?;
    let all = at_hand::needs(book)?;
    let spans = book.test_spans()?;
    let mut found: Vec<(Matter, One)> = Vec::new();
    jobs(book, today, &mut found)?;
    for report in book.reports()? {
        if report.status != ReportStatus::Read {
            found.push((Matter::Doubtful, one(None, &report.file_name, "")));
        }
    }
    for b in book
        .boxes()?
        .into_iter()
        .filter(farmbook::SampleBox::awaited)
    {
        let sent = b.sent_on.map_or_else(String::new, |d| format!("sent {d}"));
        found.push((Matter::Awaited, one(Some(b.block), &b.label, &sent)));
    }
    composts(book, &mut found)?;
    let interval = interval_years();
    for n in all.iter() {
        ground(n, &spans, today, interval, &mut found);
    }
    found.sort_by_key(|(matter, _)| *matter);
    let attention = found
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|same| {
            Some(Attention {
                matter: same.first()?.0,
                what: same.iter().map(|(_, one)| one.clone()).collect(),
            })
        })
        .collect();
    let next_sampling = all
        .iter()
        .filter_map(|n| {
            let last = span(&spans, n.reading.block.id)?.last?;
            Some((years_on(last, interval)?, n.reading.block.name.clone()))
        })
        .min();
    Ok(Glance {
        attention,
        beside: beside(book, farm.season, &spans)?,
        next_sampling,
    })
}

fn one(block: Option<Id>, name: &str, reason: &str) -> One {
    One {
        block,
        name: name.to_owned(),
        reason: reason.to_owned(),
    }
}

/// The longest that is advised between tests of vegetable ground.
fn interval_years() -> i16 {
    sampling::practice("interval")
        .into_iter()
        .find(|p| p.item == "retest vegetables")
        .and_then(|p| p.high)
        .map_or(3, |years| years as i16)
}

fn years_on(day: Date, years: i16) -> Option<Date> {
    day.checked_add(jiff::Span::new().years(years)).ok()
}

fn span(spans: &[TestSpan], block: Id) -> Option<&TestSpan> {
    spans
        .binary_search_by_key(&block, |s| s.block)
        .ok()
        .and_then(|at| spans.get(at))
}

fn jobs(book: &Book, today: Date, found: &mut Vec<(Matter, One)>) -> Result<()> {
    let Some(made) = at_hand::plan(book)? else {
        return Ok(());
    };
    for a in &at_hand::calendar(book, &made, today)?.applications {
        let matter = match a.state {
            State::Shut => Matter::TooLate,
            State::Late => Matter::Late,
            _ => continue,
        };
        let what = format!("{} of {}", words::lb(a.lb), a.material.to_lowercase());
        found.push((matter, one(Some(a.block_id), &a.block, &what)));
    }
    Ok(())
}

/// Composts that plans may use and of which nobody said how they were made.
fn composts(book: &Book, found: &mut Vec<(Matter, One)>) -> Result<()> {
    let said = Composts::of(book)?;
    for choice in book.materials()?.iter().filter(|c| c.use_it) {
        let Some(of) = material::find(&choice.material) else {
            continue;
        };
        let verdict = said.verdict(of, "");
        if let Some(verdict) = verdict.filter(|_| said.said(&of.id, "").is_none()) {
            found.push((Matter::Compost, one(None, &of.name, &verdict.why)));
        }
    }
    Ok(())
}

fn ground(
    n: &BlockNeeds,
    spans: &[TestSpan],
    today: Date,
    interval: i16,
    found: &mut Vec<(Matter, One)>,
) {
    let block = &n.reading.block;
    let mut add = |matter, reason: &str| {
        found.push((matter, one(Some(block.id), &block.name, reason)));
    };
    match span(spans, block.id).and_then(|s| s.last) {
        None => add(Matter::Untested, ""),
        Some(last) => {
            let past = |years| years_on(last, years).is_some_and(|d| d <= today);
            if past(5) {
                add(Matter::Old, &format!("last tested {last}"));
            } else if past(interval) {
                add(Matter::Due, &format!("last tested {last}"));
            }
        }
    }
    if !n.ready() {
        add(Matter::NoCrop, "");
    }
    if let Some(lime) = n
        .line(Nutrient::Lime)
        .filter(|l| l.asked.is_some() && l.need > 0.0)
    {
        let ph = n.reading.line(Analyte::Ph).map_or_else(String::new, |l| {
            format!("pH {}, ", words::measured(Analyte::Ph, l.measured.value))
        });
        let lb = words::lb(lime.need * n.acres());
        add(Matter::Lime, &format!("{ph}{lb} of calcium carbonate"));
    }
    if let Some(p) = n
        .reading
        .reading(Analyte::P)
        .filter(|r| r.level.above_optimum())
    {
        let shown = words::measured(Analyte::P, p.value);
        add(Matter::KeepOff, &format!("{shown} ppm, {}", p.category));
    }
}

/// What was spread and tested this season and last, farm-wide.
fn beside(book: &Book, this: i64, spans: &[TestSpan]) -> Result<Vec<Beside>> {
    let mut rows: Vec<Beside> = ["N", "P2O5", "K2O", "Lime, as CaCO3"]
        .iter()
        .map(|item| Beside {
            what: format!("lb of {item} spread"),
            this: 0.0,
            last: 0.0,
        })
        .collect();
    for (season, weights) in [
        (this, book.spread_sums(this)?),
        (this - 1, book.spread_sums(this - 1)?),
    ] {
        for (material, weight) in weights {
            let Some(of) = material::find(&material) else {
                continue;
            };
            let lb = weight.to_pounds();
            let brought = [
                material::total(of, "n"),
                material::total(of, "p2o5"),
                material::total(of, "k2o"),
                lime_share(of).unwrap_or(0.0).max(0.0),
            ];
            for (row, share) in rows.iter_mut().zip(brought) {
                let cell = if season == this {
                    &mut row.this
                } else {
                    &mut row.last
                };
                *cell += lb * share;
            }
        }
    }
    let tested = |season: i64| {
        spans
            .iter()
            .filter(|s| s.last.is_some_and(|d| i64::from(d.year()) == season))
            .count() as f64
    };
    rows.push(Beside {
        what: "blocks last tested in that year".to_owned(),
        this: tested(this),
        last: tested(this - 1),
    });
    Ok(rows)
}
