//! One block through the years: what happened on it, what each test found, and whether it moved.

mod axis;
mod chart;
mod course;
mod strip;

pub use axis::Years;
pub(crate) use axis::escaped;
pub use chart::chart;
pub(crate) use course::method;
pub use course::{Course, Moved, Point, Run};
pub use strip::strip;

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
    Lime,
    Crop,
    Test,
    Harvest,
}

impl Kind {
    pub fn name(self) -> &'static str {
        match self {
            Self::Spread => "spread",
            Self::Lime => "lime",
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
    /// The last day of what lasts, as a crop from planting to harvest; none where it is not known.
    pub until: Option<Date>,
    pub season: i64,
    pub kind: Kind,
    /// Whether it was only planned when it was written down.
    pub planned: bool,
    /// A word or two for a picture.
    pub short: String,
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
    /// The years that every picture of the block shows, from the first thing that happened to the last.
    pub fn years(&self) -> Option<Years> {
        let of_event = |e: &Event| {
            let season = i16::try_from(e.season).ok();
            let first = e.on.map(Date::year).or(season)?;
            Some((first, e.until.map_or(first, |d| d.year().max(first))))
        };
        let all = self.events.iter().filter_map(of_event);
        all.reduce(|(a, b), (c, d)| (a.min(c), b.max(d)))
            .map(|(first, last)| Years { first, last })
    }

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
    tests_in(book, block, &book.reports()?)
}

/// The same where the reports are at hand.
pub(crate) fn tests_in(book: &Book, block: Id, reports: &[ReportFile]) -> Result<Vec<Tested>> {
    let all = book.tests_of(block)?;
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
        until: None,
        season: i64::from(t.day.year()),
        kind: Kind::Test,
        planned: false,
        short: t.test.sample.clone(),
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

/// Lime is told apart from what feeds.
fn kind_of(material: &str) -> Kind {
    match material::find(material).map(|m| m.kind) {
        Some(material::Kind::Lime) => Kind::Lime,
        _ => Kind::Spread,
    }
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
    let name = material_name(&s.material);
    Event {
        on: Some(s.day),
        until: None,
        season: i64::from(s.day.year()),
        kind: kind_of(&s.material),
        planned: false,
        what: format!(
            "{} of {}",
            words::lb(s.weight.to_pounds()),
            name.to_lowercase()
        ),
        short: name,
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
        until: None,
        season: i64::from(h.day.year()),
        kind: Kind::Harvest,
        planned: false,
        what: format!("{} of {name}", words::lb(h.weight.to_pounds())),
        short: name,
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
    let mut add = |on: Option<Date>, season, kind, what: String, more| {
        events.push(Event {
            on,
            until: p.harvest_on.filter(|_| kind == Kind::Crop),
            season,
            kind,
            planned: kind == Kind::Harvest,
            short: what.clone(),
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
            kind_of(&past.material),
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
            Kind::Lime,
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
