//! What went onto a block and what was carried off, season by season, and where its tests are heading.

mod heading;
mod taught;

pub use heading::Heading;
pub use taught::{Answer, Beside, Taught};

use crate::history::{self, Tested, crop_name, material_name};
use crate::learned::{Own, Teacher};
use crate::readings::{self, BlockReading};
use crate::{Result, season, supply};
use agronomy::material::{self, Material};
use agronomy::{harvest, nitrogen};
use farmbook::{Book, Harvest, Id, Learnable, MaterialChoice, Planting, ReportFile, Spread};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What is accounted for, lb per acre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Item {
    N,
    P2o5,
    K2o,
    Ca,
    Mg,
    S,
    /// As pure calcium carbonate. The acid of nitrogen is what goes off; what harvests carry off in bases
    /// and rain leaches is printed by no source held here.
    Lime,
}

impl Item {
    pub const ALL: [Self; 7] = [
        Self::N,
        Self::P2o5,
        Self::K2o,
        Self::Ca,
        Self::Mg,
        Self::S,
        Self::Lime,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::N => "N",
            Self::P2o5 => "P2O5",
            Self::K2o => "K2O",
            Self::Ca => "Ca",
            Self::Mg => "Mg",
            Self::S => "S",
            Self::Lime => "Lime, as CaCO3",
        }
    }

    /// What is accounted for of something that a block's own answer is learned of.
    pub fn of_learnable(item: Learnable) -> Self {
        match item {
            Learnable::Lime => Self::Lime,
            Learnable::P2o5 => Self::P2o5,
            Learnable::K2o => Self::K2o,
        }
    }

    fn key(self) -> &'static str {
        match self {
            Self::N => "n",
            Self::P2o5 => "p2o5",
            Self::K2o => "k2o",
            Self::Ca => "ca",
            Self::Mg => "mg",
            Self::S => "s",
            Self::Lime => "lime",
        }
    }

    /// Of which sources print what a harvest holds. None prints bases as lime.
    const CARRIED_OFF: [Self; 6] = [Self::N, Self::P2o5, Self::K2o, Self::Ca, Self::Mg, Self::S];
}

/// One item of one season, lb per acre.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Account {
    /// All of it in what was spread, available or not.
    pub spread: f64,
    /// From cover crops and water.
    pub credited: f64,
    /// By harvest, and of lime by the acid of what was spread; none where it is not known, or only of a part
    /// of what was picked.
    pub removed: Option<f64>,
}

impl Account {
    /// In less out; none where what is carried off is not known.
    pub fn balance(&self) -> Option<f64> {
        self.removed.map(|out| self.spread + self.credited - out)
    }
}

/// One season of one block.
#[derive(Debug, Clone, Serialize)]
pub struct Season {
    pub season: i64,
    pub items: BTreeMap<Item, Account>,
    /// What to know of the figures, a sentence each.
    pub notes: Vec<String>,
}

/// The account of one block, newest season first.
#[derive(Debug, Clone, Serialize)]
pub struct Ledger {
    pub seasons: Vec<Season>,
    /// Where P and K are heading.
    pub headings: Vec<Heading>,
    /// What the tests say of how far this ground answers.
    pub taught: Vec<Own>,
}

/// What moved at a time: lb per acre, for what tests are set beside.
#[derive(Debug, Clone)]
pub(crate) struct Moved {
    pub(crate) on: Date,
    pub(crate) item: Item,
    pub(crate) lb: f64,
    /// The material that was spread; none for what a harvest carried off.
    pub(crate) material: Option<String>,
}

/// What the accounts of several blocks share, read once.
pub(crate) struct Shared {
    choices: Vec<MaterialChoice>,
    reports: Vec<ReportFile>,
    season: i64,
}

impl Shared {
    pub(crate) fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            choices: book.materials()?,
            reports: book.reports()?,
            season: book.farm()?.season,
        })
    }

    /// The material by its key, with the grower's own analysis where there is one.
    fn own(&self, key: &str) -> Result<Option<Material>> {
        let Some(generic) = material::find(key) else {
            return Ok(None);
        };
        match self.choices.iter().find(|c| c.material == key) {
            Some(choice) => supply::own_analysis(generic, choice).map(Some),
            None => Ok(Some(generic.clone())),
        }
    }
}

/// The account of one block.
///
/// # Errors
/// No such block, or the book’s own.
pub fn of_block(book: &Book, id: Id) -> Result<Ledger> {
    let reading = readings::one(book, id)?;
    let teacher = Teacher::of(book)?;
    let books = Books::of(book, &reading, teacher.shared(book)?)?;
    let seasons: Vec<Season> = books.seasons.into_values().rev().collect();
    Ok(Ledger {
        headings: heading::all(&reading, &seasons),
        taught: teacher.all(book, &reading)?,
        seasons,
    })
}

/// What the tests of a block teach of how far it answers to each of these.
pub(crate) fn taught(book: &Book, reading: &BlockReading, shared: &Shared) -> Result<Vec<Taught>> {
    let tested: Vec<Tested> = history::tests_in(book, reading.block.id, &shared.reports)?;
    let moved = Books::of(book, reading, shared)?.moved;
    Ok(taught::all(reading, &tested, &moved))
}

/// From when the months are counted that lime was told to be ago: the spring of the season.
const SPRING: (i8, i8) = (4, 1);
/// Two limes told or written down within so many days of each other are one.
const SAME_LIME_DAYS: i32 = 200;

#[derive(Default)]
struct Books {
    seasons: BTreeMap<i64, Season>,
    /// What a harvest of a season carried off that no source prints: what is known of the others is not
    /// the whole.
    unknown: BTreeSet<(i64, Item)>,
    moved: Vec<Moved>,
}

impl Books {
    fn of(book: &Book, reading: &BlockReading, shared: &Shared) -> Result<Self> {
        let id = reading.block.id;
        let acres = reading.block.shape.spread_area().to_acres();
        let mut books = Self::default();
        for s in book.spreads_of(id)? {
            let of = shared.own(&s.material)?;
            books.spread(&s, of.as_ref(), acres);
        }
        let harvests = book.harvests_of(id)?;
        for h in &harvests {
            books.picked(h, acres);
        }
        for planting in book.plantings_of(id)? {
            for past in &planting.credits.past {
                let of = shared.own(&past.material)?;
                let season = planting.season - i64::from(past.years_ago);
                books.told(season, &past.material, of.as_ref(), past.lb_per_acre);
            }
            books.planted(&planting, &harvests, shared.season);
            books.told_lime(&planting);
        }
        for (season, item) in std::mem::take(&mut books.unknown) {
            if let Some(account) = books.season(season).items.get_mut(&item) {
                account.removed = None;
            }
        }
        Ok(books)
    }

    fn season(&mut self, season: i64) -> &mut Season {
        self.seasons.entry(season).or_insert_with(|| Season {
            season,
            items: Item::ALL.map(|i| (i, Account::default())).into(),
            notes: Vec::new(),
        })
    }

    fn add(&mut self, season: i64, item: Item, lb: f64) {
        if let Some(account) = self.season(season).items.get_mut(&item) {
            if item == Item::Lime {
                // What makes acid takes lime off; with nothing of the kind that is none.
                *account.removed.get_or_insert(0.0) += (-lb).max(0.0);
                account.spread += lb.max(0.0);
            } else {
                account.spread += lb;
            }
        }
    }

    fn spread(&mut self, s: &Spread, of: Option<&Material>, acres: f64) {
        let Some(of) = of else {
            self.season(s.season).notes.push(format!(
                "“{}” is in no table, so what it brought is not counted.",
                s.material
            ));
            return;
        };
        let lb = s.weight.to_pounds() / acres;
        for item in Item::ALL {
            let brought = lb * share(of, item);
            if brought.abs() > 0.0 {
                self.add(s.season, item, brought);
                self.moved.push(Moved {
                    on: s.day,
                    item,
                    lb: brought,
                    material: Some(s.material.clone()),
                });
            }
        }
    }

    /// What was told with the ground of a later season, where nothing was written down for that time.
    fn told(&mut self, season: i64, key: &str, of: Option<&Material>, lb_per_acre: f64) {
        let written = self
            .seasons
            .get(&season)
            .is_some_and(|s| s.items.values().any(|a| a.spread.abs() > 0.0));
        let Some(of) = of.filter(|_| !written) else {
            return;
        };
        for item in Item::ALL {
            self.add(season, item, lb_per_acre * share(of, item));
        }
        self.season(season).notes.push(format!(
            "{} is counted as told with the ground: no entry of the log stands behind it.",
            material_name(key)
        ));
    }

    /// Lime that was told with the ground, unless a lime of about that time is there already: written down,
    /// or told with another season.
    fn told_lime(&mut self, planting: &Planting) {
        let Some(told) = &planting.credits.lime else {
            return;
        };
        let Some(on) = i16::try_from(planting.season)
            .ok()
            .and_then(|year| Date::new(year, SPRING.0, SPRING.1).ok())
            .and_then(|spring| {
                let ago = jiff::Span::new()
                    .try_months(i64::from(told.months_ago))
                    .ok()?;
                spring.checked_sub(ago).ok()
            })
        else {
            return;
        };
        let near = |m: &Moved| {
            m.item == Item::Lime
                && m.lb > 0.0
                && on
                    .since(m.on)
                    .is_ok_and(|apart| apart.get_days().abs() < SAME_LIME_DAYS)
        };
        if self.moved.iter().any(near) {
            return;
        }
        let season = i64::from(on.year());
        self.add(season, Item::Lime, told.lb_ecce_per_acre);
        self.moved.push(Moved {
            on,
            item: Item::Lime,
            lb: told.lb_ecce_per_acre,
            material: None,
        });
        self.season(season).notes.push(
            "Lime is counted as told with the ground: no entry of the log stands behind it."
                .to_owned(),
        );
    }

    fn take(&mut self, season: i64, crop: &str, lb_per_acre: f64, on: Option<Date>) {
        for item in Item::CARRIED_OFF {
            match harvest::carried_off(crop, item.key(), Some(lb_per_acre)) {
                Ok(figure) => {
                    if let Some(account) = self.season(season).items.get_mut(&item) {
                        *account.removed.get_or_insert(0.0) += figure.value;
                    }
                    if let Some(on) = on {
                        self.moved.push(Moved {
                            on,
                            item,
                            lb: -figure.value,
                            material: None,
                        });
                    }
                }
                Err(why) => {
                    self.unknown.insert((season, item));
                    let why = why.to_string();
                    let notes = &mut self.season(season).notes;
                    if !notes.contains(&why) {
                        notes.push(why);
                    }
                }
            }
        }
    }

    fn picked(&mut self, h: &Harvest, acres: f64) {
        if h.crop.is_empty() {
            self.season(h.season).notes.push(format!(
                "The harvest of {} names no crop, so what it carried off is not counted.",
                h.day
            ));
            self.unknown
                .extend(Item::CARRIED_OFF.map(|item| (h.season, item)));
            return;
        }
        self.take(h.season, &h.crop, h.weight.to_pounds() / acres, Some(h.day));
    }

    /// Credits of the season; and the harvest that was expected, where none was written down.
    fn planted(&mut self, p: &Planting, harvests: &[Harvest], this_season: i64) {
        let mut credited = 0.0;
        if let Some(c) = &p.credits.cover_crop {
            let cover = nitrogen::CoverCrop {
                kind: c.kind.clone(),
                dry_lb_per_acre: c.dry_lb_per_acre,
                n_pct: c.n_pct,
                worked_in: c.incorporated,
            };
            credited += nitrogen::cover_crop(&cover).map_or(0.0, |c| c.lb_per_acre);
        }
        if let Some(w) = &p.credits.irrigation {
            let water = nitrogen::Irrigation {
                nitrate_n_ppm: w.no3n_ppm,
                inches: w.inches,
            };
            credited += nitrogen::irrigation(&water).map_or(0.0, |c| c.lb_per_acre);
        }
        if let Some(account) = self.season(p.season).items.get_mut(&Item::N) {
            account.credited += credited;
        }
        let written = harvests.iter().any(|h| h.season == p.season);
        if written || p.season >= this_season {
            return;
        }
        let usual = agronomy::crop::find(&p.crop).and_then(|c| Some(c.usual_yield.as_ref()?.0));
        if let Some(lb) = p.yield_lb_per_acre.or(usual) {
            self.take(p.season, &p.crop, lb, p.harvest_on);
            self.season(p.season).notes.push(format!(
                "No harvest was written down: the {} yield of {} is taken.",
                if p.yield_lb_per_acre.is_some() {
                    "expected"
                } else {
                    "usual"
                },
                crop_name(&p.crop).to_lowercase()
            ));
        }
    }
}

/// lb of an item in a lb of a material as spread.
fn share(of: &Material, item: Item) -> f64 {
    match item {
        Item::N | Item::P2o5 | Item::K2o => material::total(of, item.key()),
        Item::Lime => season::lime_share(of).unwrap_or(0.0),
        _ => material::supplied(of, item.key()).map_or(0.0, |f| f.value),
    }
}
