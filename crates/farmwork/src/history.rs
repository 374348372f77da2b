//! One block through the years: what happened on it, what each test found, and whether it moved.

mod chart;
mod course;

pub use chart::chart;
pub(crate) use course::method;
pub use course::{Course, Moved, Point, Run};

use crate::{Result, boxes, readings, words};
use agronomy::{crop, material};
use farmbook::{Block, Book, Harvest, Id, Planting, ReportFile, Spread, StoredTest};
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;

/// What kind of thing happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    Spread,
    Crop,
    Test,
    Harvest,
}

impl Kind {
    pub fn name(self) -> &'static str {
        match self {
            Self::Spread => "spread",
            Self::Crop => "crop",
            Self::Test => "soil test",
            Self::Harvest => "harvest",
        }
    }
}

/// One thing that happened on the block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Event {
    /// The day; none where only the season is known.
    pub on: Option<Date>,
    pub season: i64,
    pub kind: Kind,
    pub what: String,
    /// Further facts, empty where there are none.
    pub more: String,
}

impl Event {
    /// The day, else the season: `2025-10-14`, `2025`.
    pub fn when(&self) -> String {
        self.on
            .map_or_else(|| self.season.to_string(), |d| d.to_string())
    }
}

/// A block through the years.
#[derive(Debug, Clone, Serialize)]
pub struct History {
    pub block: Block,
    /// Newest first.
    pub events: Vec<Event>,
    /// One for each thing a lab measured, pH first.
    pub courses: Vec<Course>,
}

impl History {
    /// What there is to say first: what moved, or that nothing did.
    pub fn opening(&self) -> String {
        let tests = self.events.iter().filter(|e| e.kind == Kind::Test).count();
        match tests {
            0 => return "No soil test is matched to this block yet.".to_owned(),
            1 => {
                return "One test so far. From the second on, this page says whether the soil moved by more than noise."
                    .to_owned();
            }
            _ => {}
        }
        let moved: Vec<String> = self
            .courses
            .iter()
            .filter(|c| c.runs.iter().any(|r| r.said().any(|m| m.larger)))
            .map(|c| match c.analyte {
                agronomy::soil::Analyte::Ph => "pH".to_owned(),
                a => a.name().to_lowercase(),
            })
            .collect();
        if moved.is_empty() {
            return format!(
                "{tests} tests, and nothing moved by more than the noise of sampling and lab."
            );
        }
        format!(
            "{tests} tests. Larger than the noise of sampling and lab {}: {}.",
            if moved.len() == 1 {
                "is the move of one value"
            } else {
                "are the moves of"
            },
            words::and(&moved)
        )
    }
}

/// A test of the block as one value each, with where and when it comes from.
pub(crate) struct Tested {
    pub(crate) test: StoredTest,
    pub(crate) boxes: u32,
    pub(crate) lab: Option<String>,
    /// The day it was taken, else the day the report came.
    pub(crate) day: Date,
    pub(crate) day_known: bool,
}

/// The history of one block, in use or put away.
///
/// # Errors
/// No such block, or the book’s own.
pub fn of_block(book: &Book, id: Id) -> Result<History> {
    let reading = readings::one(book, id)?;
    let tested = tests(book, id)?;
    let mut events: Vec<Event> = tested.iter().map(test_event).collect();
    for planting in book.plantings_of(id)? {
        of_planting(&planting, &mut events);
    }
    events.extend(book.spreads_of(id)?.iter().map(spread_event));
    events.extend(book.harvests_of(id)?.iter().map(harvest_event));
    events.sort_by(|a, b| {
        let key = |e: &Event| (e.season, e.on.is_some(), e.on, e.kind);
        key(b).cmp(&key(a))
    });
    Ok(History {
        courses: courses(&reading, &tested),
        block: reading.block,
        events,
    })
}

/// What each measured thing did through the tests of a block.
pub(crate) fn courses(reading: &readings::BlockReading, tested: &[Tested]) -> Vec<Course> {
    course::all(reading, tested)
}

/// Every test of a block, oldest first, several boxes of one report as their mean.
pub(crate) fn tests(book: &Book, block: Id) -> Result<Vec<Tested>> {
    let all = book.tests_of(block)?;
    let reports = book.reports()?;
    let mut out: Vec<Tested> = Vec::new();
    let mut done: Vec<Id> = Vec::new();
    for test in &all {
        if done.contains(&test.report) {
            continue;
        }
        done.push(test.report);
        let same: Vec<&StoredTest> = all.iter().filter(|t| t.report == test.report).collect();
        let report = reports.iter().find(|r| r.id == test.report);
        let Some(day) = test.sampled_on.or_else(|| received(report)) else {
            continue;
        };
        if let Some(one) = boxes::together(&same) {
            out.push(Tested {
                day_known: one.sampled_on.is_some(),
                test: one,
                boxes: same.len() as u32,
                lab: report.and_then(|r| r.lab.clone()),
                day,
            });
        }
    }
    out.sort_by_key(|t| t.day);
    Ok(out)
}

fn received(report: Option<&ReportFile>) -> Option<Date> {
    report?.received_at.get(..10)?.parse().ok()
}

fn test_event(t: &Tested) -> Event {
    let lab = t.lab.as_deref().unwrap_or("a lab that is not named");
    Event {
        on: Some(t.day),
        season: i64::from(t.day.year()),
        kind: Kind::Test,
        what: format!("Soil test, sample {}", t.test.sample),
        more: if t.day_known {
            format!("by {lab}, {} values", t.test.test.measured.len())
        } else {
            format!(
                "by {lab}; the day it was taken is not known, so the day the report came stands here"
            )
        },
    }
}

/// The material’s name, else its key.
pub(crate) fn material_name(key: &str) -> String {
    material::find(key).map_or_else(|| key.to_owned(), |m| m.name.clone())
}

/// The crop’s name, else its key.
pub(crate) fn crop_name(key: &str) -> String {
    crop::find(key).map_or_else(|| key.to_owned(), |c| c.name.clone())
}

fn spread_event(s: &Spread) -> Event {
    let facts = [
        s.beds.clone(),
        s.how.name().to_owned(),
        if s.lot.is_empty() {
            String::new()
        } else {
            format!("lot {}", s.lot)
        },
        s.person.clone(),
        s.note.clone(),
    ];
    Event {
        on: Some(s.day),
        season: i64::from(s.day.year()),
        kind: Kind::Spread,
        what: format!(
            "{} of {}",
            words::lb(s.weight.to_pounds()),
            material_name(&s.material).to_lowercase()
        ),
        more: together(&facts),
    }
}

fn harvest_event(h: &Harvest) -> Event {
    let name = if h.crop.is_empty() {
        "a crop that is not named".to_owned()
    } else {
        crop_name(&h.crop).to_lowercase()
    };
    Event {
        on: Some(h.day),
        season: i64::from(h.day.year()),
        kind: Kind::Harvest,
        what: format!("{} of {name}", words::lb(h.weight.to_pounds())),
        more: together(&[h.person.clone(), h.note.clone()]),
    }
}

fn together(facts: &[String]) -> String {
    let said: Vec<&str> = facts
        .iter()
        .map(String::as_str)
        .filter(|f| !f.is_empty())
        .collect();
    said.join(", ")
}

fn of_planting(p: &Planting, events: &mut Vec<Event>) {
    let name = crop_name(&p.crop);
    let mut add = |on: Option<Date>, season, kind, what, more| {
        events.push(Event {
            on,
            season,
            kind,
            what,
            more,
        });
    };
    let expected = p.yield_lb_per_acre.map_or_else(String::new, |lb| {
        format!("{} lb per acre expected", plain(lb, 4))
    });
    add(p.plant_on, p.season, Kind::Crop, name.clone(), expected);
    if let Some(day) = p.harvest_on {
        let what = format!("{name}, harvest day as planned");
        add(Some(day), p.season, Kind::Harvest, what, String::new());
    }
    for past in &p.credits.past {
        let of = material_name(&past.material);
        add(
            None,
            p.season - i64::from(past.years_ago),
            Kind::Spread,
            of,
            format!(
                "{} lb per acre, as told with the ground of {}",
                plain(past.lb_per_acre, 4),
                p.season
            ),
        );
    }
    if let Some(lime) = &p.credits.lime {
        add(
            None,
            p.season - i64::from(lime.months_ago / 12),
            Kind::Spread,
            "Lime".to_owned(),
            format!(
                "{} of effective calcium carbonate per acre, {} months before the season of {}",
                words::lb(lime.lb_ecce_per_acre),
                lime.months_ago,
                p.season
            ),
        );
    }
}
