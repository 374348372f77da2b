//! When each application of a kept plan goes on: its window, how it stands today, and ways out where the
//! day has gone by.
//!
//! Everything is worked back from the days that the grower set. Where one is missing no day is given: it
//! is said what to set. Today is handed in and read nowhere.

mod anchors;
pub mod ical;
mod standing;
mod warmth;
mod window;

pub use standing::State;
pub use window::{Bound, Missing, Window};

use crate::at_hand;
use crate::compost::Composts;
use crate::needs::{self, BlockNeeds};
use crate::planning::{self, Made};
use crate::record::standing::{self as jobs, OfJob, of_job};
use crate::setback::{Near, Setbacks, for_the_rest};
use crate::soil_temperature::{SoilTemperatures, SoilYear};
use crate::supply::Choice;
use crate::{Result, timing, words};
use agronomy::material::{self, Fit, Material, Pass, ground_conditions, in_pass};
use agronomy::working::Caution;
use anchors::Anchors;
use farmbook::{BlockKind, Book, Id, Spread};
use jiff::civil::Date;
use planner::Amount;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// One application: a material on a block in a pass.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Application {
    /// The same for this block, material and pass in every plan of the season.
    pub key: String,
    pub block_id: Id,
    pub block: String,
    pub crop: Option<String>,
    /// Id of the material.
    pub material_id: String,
    pub material: String,
    pub pass: Pass,
    /// lb on the whole block still to go on; where it is done, what was planned
    pub lb: f64,
    /// What was written down of it since the plan was made.
    pub spread: OfJob,
    /// The ground of the block that gets none of it; `lb` is for the rest.
    pub near: Option<Near>,
    /// None where a day is missing.
    pub window: Option<Window>,
    /// The days of the book that have to be set first.
    pub missing: Vec<Missing>,
    pub state: State,
    /// The day to do it, given today; none where it is too late or cannot be told.
    pub on: Option<Date>,
    /// How it stands, in a sentence.
    pub says: String,
    /// What can be done where it is late or too late.
    pub ways: Vec<String>,
    /// What must be kept in mind on this ground and beside the other materials there.
    pub conditions: Vec<Caution>,
}

impl Application {
    /// How far it is by the record, in a sentence; empty where nothing of it went on.
    pub fn how_far(&self) -> String {
        let Some(day) = self.spread.last_on else {
            return String::new();
        };
        let on = words::weighed(self.spread.so_far);
        if self.state == State::Done {
            return format!("{on} went on, the last on {day}: done.");
        }
        let all = self.spread.so_far.to_pounds() + self.lb;
        format!(
            "{on} of {} went on, the last on {day}; {} left.",
            words::lb(all),
            words::lb(self.lb)
        )
    }

    /// The day under which it stands in a list: when to do it, else when it should have been done.
    pub fn listed(&self) -> Option<Date> {
        self.on.or_else(|| {
            let window = self.window.as_ref()?;
            Some(
                window
                    .stop
                    .as_ref()
                    .map_or(window.latest.day, |stop| stop.day),
            )
        })
    }
}

/// An application of an earlier plan that the newest no longer has.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dropped {
    pub key: String,
    pub block: String,
    pub material: String,
}

/// The season’s applications in the order of their days.
#[derive(Debug, Clone, Serialize)]
pub struct Calendar {
    pub farm: String,
    pub season: i64,
    pub today: Date,
    /// Told apart from the calendars of other books.
    pub mark: String,
    /// Goes up with every change of the book and with the days.
    pub revision: i64,
    pub applications: Vec<Application>,
    /// What an earlier plan of the season had and this one has not.
    pub dropped: Vec<Dropped>,
    /// What holds for every spreading under the sky.
    pub conditions: Vec<Caution>,
}

impl Calendar {
    /// Those that are in a state.
    pub fn in_state(&self, state: State) -> impl Iterator<Item = &Application> {
        self.applications.iter().filter(move |a| a.state == state)
    }
}

/// What every application of a block is worked out from.
struct OnBlock<'a> {
    made: &'a Made,
    /// What the plan spreads on it.
    amounts: &'a [&'a Amount],
    /// What was written down on it since.
    since: &'a [Spread],
    /// And in all of the season.
    all: &'a [Spread],
    choices: &'a [Choice],
    /// How warm its soil is, where that is known.
    soil: &'a SoilYear,
    composts: &'a Composts,
    setbacks: &'a Setbacks,
    needs: &'a BlockNeeds,
    anchors: Anchors,
    today: Date,
}

/// The calendar of a plan as of today.
///
/// # Errors
/// The book’s own.
pub fn of_plan(book: &Book, made: &Made, today: Date) -> Result<Calendar> {
    let farm = book.farm()?;
    let choices = at_hand::choices(book)?;
    let composts = Composts::of(book)?;
    let soil = SoilTemperatures::of(book)?;
    let setbacks = Setbacks::of(book)?;
    let all_needs = at_hand::needs(book)?;
    let needs_of = needs::by_plan_id(&all_needs);
    let amounts = made.by_block();
    let since = by_block(jobs::since_plan(book, made)?);
    let all = by_block(jobs::of_season(book, made)?);
    let before: HashMap<Id, Date> = book
        .plantings(farm.season - 1)?
        .into_iter()
        .filter_map(|p| Some((p.block, p.harvest_on?)))
        .collect();
    let mut applications = Vec::new();
    for asked in &made.problem.blocks {
        let Some(needs) = needs_of.get(&asked.id).copied() else {
            continue;
        };
        let block = needs.reading.block.id;
        let last_harvest = before.get(&block).copied();
        let on_block = OnBlock {
            made,
            amounts: amounts.get(asked.id.as_str()).map_or(&[], Vec::as_slice),
            since: since.get(&block).map_or(&[], Vec::as_slice),
            all: all.get(&block).map_or(&[], Vec::as_slice),
            choices: &choices,
            soil: soil.on(needs.reading.block.kind),
            composts: &composts,
            setbacks: &setbacks,
            needs,
            anchors: Anchors::of(needs, farm.season, last_harvest),
            today,
        };
        applications.extend(of_block(&on_block, asked, farm.season));
    }
    applications.sort_by_key(|a| {
        (
            a.listed().unwrap_or(Date::MAX),
            a.pass,
            a.block.clone(),
            a.material.clone(),
        )
    });
    Ok(Calendar {
        dropped: dropped(book, made, farm.season, &applications)?,
        farm: farm.name,
        season: farm.season,
        today,
        mark: mark(book)?,
        revision: revision(book, today)?,
        applications,
        conditions: ground_conditions().iter().map(|c| c.1.clone()).collect(),
    })
}

fn by_block(all: Vec<Spread>) -> HashMap<Id, Vec<Spread>> {
    let mut out: HashMap<Id, Vec<Spread>> = HashMap::new();
    for s in all {
        out.entry(s.block).or_default().push(s);
    }
    out
}

fn key(season: i64, block: &str, material: &str, pass: &str) -> String {
    format!("{season}-{block}-{material}-{pass}")
}

fn of_block(on: &OnBlock<'_>, asked: &planner::Block, season: i64) -> Vec<Application> {
    let id = asked.id.as_str();
    let here = || on.amounts.iter().filter(|a| a.lb > 0.0);
    let used: Vec<Material> = here()
        .filter_map(|a| material_of(on, &a.material))
        .collect();
    let apart = timing::apart(&used);
    here()
        .filter_map(|amount| {
            let of = material_of(on, &amount.material)?;
            // A plan made before there were passes names none: the one that suits best is taken.
            let pass = Pass::from_key(&amount.pass).or_else(|| suits_best(&of))?;
            let block = &on.needs.reading.block;
            let near = on.setbacks.on(block, &of);
            let lb = for_the_rest(amount.lb, asked.share_of(&amount.material), near.as_ref());
            let mut a = Application {
                key: key(season, id, &amount.material, &amount.pass),
                block_id: block.id,
                block: block.name.clone(),
                crop: on.needs.reading.crop.as_ref().map(|c| c.name.clone()),
                material_id: amount.material.clone(),
                material: of.name.clone(),
                pass,
                lb,
                spread: of_job(on.since, on.all, (&amount.material, &amount.pass), lb),
                near,
                window: None,
                missing: Vec::new(),
                state: State::Missing,
                on: None,
                says: String::new(),
                ways: Vec::new(),
                conditions: if timing::meets_ammonia(&of) {
                    apart.clone()
                } else {
                    Vec::new()
                },
            };
            if a.spread.done {
                a.state = State::Done;
                a.says = format!("{} written down.", words::weighed(a.spread.weight));
                return Some(a);
            }
            a.lb = a.spread.left_lb(lb);
            match window::window(&of, pass, on) {
                Err(missing) => {
                    a.says = standing::asks(&block.name, &missing);
                    a.missing = missing;
                }
                Ok(window) => {
                    a.state = standing::state(&window, on.today);
                    a.on = standing::day(&window, a.state, on.today);
                    a.says = standing::says(&window, a.state, on);
                    if matches!(a.state, State::Late | State::Shut) {
                        a.ways = standing::ways(&of, pass, &window, a.state, on);
                    }
                    a.window = Some(window);
                }
            }
            if a.spread.last_on.is_some() {
                a.says = format!("{} {}", a.how_far(), a.says);
            }
            if block.kind != BlockKind::Tunnel {
                a.conditions
                    .extend(ground_conditions().iter().map(|c| c.1.clone()));
            }
            Some(a)
        })
        .collect()
}

fn suits_best(of: &Material) -> Option<Pass> {
    Pass::ALL
        .into_iter()
        .rev()
        .max_by_key(|p| in_pass(of, *p).map_or(Fit::No, |f| f.fit))
}

/// A material as the grower has it; one that plans may no longer use as the table has it.
fn material_of(on: &OnBlock<'_>, id: &str) -> Option<Material> {
    on.choices
        .iter()
        .find(|c| c.material.id == id)
        .map(|c| c.material.clone())
        .or_else(|| Some(on.composts.counted(material::find(id)?.clone())))
}

/// What the season’s earlier plans had and this one has not.
fn dropped(
    book: &Book,
    made: &Made,
    season: i64,
    applications: &[Application],
) -> Result<Vec<Dropped>> {
    let mut out: Vec<Dropped> = Vec::new();
    let mut known: HashSet<String> = applications.iter().map(|a| a.key.clone()).collect();
    for stored in book.plans_before(made.stored.id, season)? {
        for a in planning::amounts_in(&stored)? {
            let key = key(season, &a.block, &a.material, &a.pass);
            if a.lb > 0.0 && known.insert(key.clone()) {
                let block = a.block.parse().ok().and_then(|id| book.block(id).ok());
                out.push(Dropped {
                    key,
                    block: block.map_or(a.block, |b| b.name),
                    material: material::find(&a.material).map_or(a.material, |m| m.name.clone()),
                });
            }
        }
    }
    Ok(out)
}

/// The moment at which the book was begun, shortened (FNV-1a, 64 bit): two farms whose calendars lie on
/// one phone do not take each other’s places.
fn mark(book: &Book) -> Result<String> {
    let begun = book
        .history("farm", 1)?
        .last()
        .map_or_else(String::new, |e| e.at.clone());
    let hash = begun.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |h, byte| {
        (h ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    Ok(format!("{hash:016x}"))
}

/// The number of the newest change and the days since 2020: both only go up.
fn revision(book: &Book, today: Date) -> Result<i64> {
    let newest = book.changes(1)?.first().map_or(0, |c| c.id);
    let days = jiff::civil::date(2020, 1, 1)
        .until(today)
        .map_or(0, |s| i64::from(s.get_days()));
    Ok(newest + days.max(0))
}
