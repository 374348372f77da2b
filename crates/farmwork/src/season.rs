//! When the passes of a season fall on a block, what may go on in each, and what it brings there.

use crate::needs::BlockNeeds;
use crate::nitrogen_weeks::{WEEK_OF_PLANTING, anchor};
use crate::raw_manure::Wait;
use crate::timing;
use agronomy::material::{self, Fit, Ground, Kind, Material, Pass, in_pass};
use agronomy::nitrogen::{self, Covered, Split, Spreading, Weather, When};
use jiff::ToSpan;
use jiff::civil::{Date, date};

/// Spring work stands this many days ahead of planting, as lime and slow meals ask.
const SPRING_DAYS: i64 = 30;

/// What is worked in before planting stands this many days ahead of it.
const BEFORE_DAYS: i64 = 14;

/// Weeks from planting to the first sidedressing where no split is printed for the crop.
pub(crate) const SIDEDRESS_WEEKS: f64 = 4.0;

/// A sidedressing needs this many days to the harvest to be of use.
const USEFUL_DAYS: i64 = 14;

/// The days of a block’s season. Where the grower set no day, planting is taken for the middle of
/// May, and the harvest for the end of the crop’s published season.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    pub planting: Date,
    pub harvest: Option<Date>,
    pub sidedress: Date,
    /// Where a source prints a second one for the crop.
    pub second_sidedress: Option<Date>,
    season: i16,
    /// Whether the grower set the planting day.
    pub planting_set: bool,
    /// Whether the grower set the harvest day.
    pub harvest_set: bool,
}

impl Days {
    /// The days of a block with a crop; none without one.
    pub fn of(n: &BlockNeeds) -> Option<Self> {
        let planting = n.reading.planting.as_ref()?;
        let season = i16::try_from(planting.season).ok()?;
        let crop = n.reading.crop;
        let day = planting
            .plant_on
            .unwrap_or_else(|| middle_of_planting(season));
        let after = |weeks: f64| {
            day.checked_add(((weeks * 7.0).round() as i64).days())
                .unwrap_or(day)
        };
        let parts = sidedress_parts(n);
        let grown = crop.and_then(nitrogen::season).map(|s| after(s.weeks()));
        Some(Self {
            planting: day,
            harvest: planting.harvest_on.or(grown),
            sidedress: after(parts.first().map_or(SIDEDRESS_WEEKS, |part| part.week)),
            second_sidedress: parts.get(1).map(|part| after(part.week)),
            season,
            planting_set: planting.plant_on.is_some(),
            harvest_set: planting.harvest_on.is_some(),
        })
    }

    /// The day a pass is reckoned with.
    pub fn day(&self, pass: Pass) -> Date {
        match pass {
            Pass::Autumn => Date::new(self.season - 1, 10, 15).unwrap_or(self.planting),
            Pass::Spring => self
                .planting
                .checked_sub(SPRING_DAYS.days())
                .unwrap_or(self.planting),
            Pass::BeforePlanting => self
                .planting
                .checked_sub(BEFORE_DAYS.days())
                .unwrap_or(self.planting),
            Pass::Planting => self.planting,
            Pass::Sidedress => self.sidedress,
            Pass::SecondSidedress => self.second_sidedress.unwrap_or(self.sidedress),
        }
    }

    /// Days from a pass to the harvest.
    fn to_harvest(&self, pass: Pass) -> Option<i64> {
        let days = self.day(pass).until(self.harvest?).ok()?.get_days();
        Some(i64::from(days))
    }
}

/// The week of the year of a day, 1 to 52: 1 to 7 January are the first.
pub(crate) fn week_of(day: Date) -> u32 {
    ((u32::from(day.day_of_year().unsigned_abs()) - 1) / 7 + 1).min(52)
}

/// The day of the week in which planting is taken to be where no day is set.
fn middle_of_planting(season: i16) -> Date {
    let first = Date::new(season, 1, 1).unwrap_or(date(2000, 1, 1));
    let days = (WEEK_OF_PLANTING - 1) * 7 + 3;
    first.checked_add(i64::from(days).days()).unwrap_or(first)
}

/// The parts of a season's nitrogen that a source prints for the crop.
fn parts(n: &BlockNeeds) -> Vec<Split> {
    let Some(crop) = n.reading.crop.as_ref() else {
        return Vec::new();
    };
    let system = nitrogen::split_systems_of(crop).into_iter().next();
    system
        .and_then(|s| nitrogen::need_split(crop, &s.key).ok())
        .unwrap_or_default()
}

/// The sidedressings that a source prints for the crop, the first two of which are planned.
pub(crate) fn sidedress_parts(n: &BlockNeeds) -> Vec<Split> {
    let mut beside = parts(n);
    beside.retain(is_beside);
    beside.truncate(2);
    beside
}

fn is_beside(part: &Split) -> bool {
    part.when == When::Sidedress && part.week > 0.0
}

/// A season's nitrogen in the parts that a source prints for a block's crop.
pub struct InParts {
    parts: Vec<Split>,
    /// lb N per acre
    need: f64,
}

impl InParts {
    /// None where no source prints all of its parts. `need` is the block's in lb N per acre.
    pub fn of(n: &BlockNeeds, need: f64) -> Option<Self> {
        let parts = parts(n);
        (parts.len() > 1 && parts.iter().all(|p| p.printed)).then_some(Self { parts, need })
    }

    /// lb N per acre that may go on in a pass at most: the part as printed, or the same share of the
    /// block's need where that is more. Ahead of the crop it holds for nitrogen that is there at once;
    /// what lets go slowly feeds all season.
    pub fn most(&self, of: &Material, pass: Pass) -> Option<f64> {
        let mut beside = self.parts.iter().filter(|p| is_beside(p));
        let ahead = |p: &&Split| matches!(p.when, When::Preplant | When::Planting);
        let here: Vec<&Split> = match pass {
            Pass::Sidedress => beside.next().into_iter().collect(),
            Pass::SecondSidedress => beside.nth(1).into_iter().collect(),
            Pass::Spring | Pass::BeforePlanting | Pass::Planting if of.kind == Kind::Synthetic => {
                self.parts.iter().filter(ahead).collect()
            }
            _ => Vec::new(),
        };
        let season: f64 = self.parts.iter().map(|p| p.value).sum();
        if here.is_empty() || season <= 0.0 {
            return None;
        }
        let printed: f64 = here.iter().map(|p| p.high).sum();
        let share = here.iter().map(|p| p.value).sum::<f64>() / season;
        Some(printed.max(share * self.need))
    }
}

/// Why a material may not go on a block in a pass; none where it may. `made` are the passes that the
/// farm makes.
pub fn shut(
    of: &Material,
    n: &BlockNeeds,
    days: &Days,
    pass: Pass,
    made: &[Pass],
) -> Option<String> {
    let ground = timing::ground(n.reading.block.kind);
    if let Some(why) = closed(of, n, days, pass, ground) {
        return Some(why);
    }
    let found = in_pass(of, pass)?;
    if pass == Pass::BeforePlanting {
        // Another trip weeks before or after that does as much makes this one needless.
        return made
            .iter()
            .filter(|p| matches!(p, Pass::Spring | Pass::Planting))
            .find(|p| {
                in_pass(of, **p).is_some_and(|f| f.fit >= found.fit)
                    && closed(of, n, days, **p, ground).is_none()
            })
            .map(|other| format!("{} serves as well", other.name().to_lowercase()));
    }
    if found.fit != Fit::Late {
        return None;
    }
    made.iter()
        .filter(|p| **p != pass)
        .find(|p| {
            in_pass(of, **p).is_some_and(|f| f.fit >= Fit::May)
                && closed(of, n, days, **p, ground).is_none()
        })
        .map(|better| format!("{}: {} is better", found.why, better.name().to_lowercase()))
}

/// What closes a pass whatever else the farm does.
fn closed(
    of: &Material,
    n: &BlockNeeds,
    days: &Days,
    pass: Pass,
    ground: Ground,
) -> Option<String> {
    let found = in_pass(of, pass)?;
    if ground == Ground::Standing {
        // Standing plants are fed in spring or after harvest, and beside the row while they grow.
        if matches!(pass, Pass::BeforePlanting | Pass::Planting) {
            return Some("the plants stand already".to_owned());
        }
        if pass == Pass::SecondSidedress {
            return Some("standing plants are fed once beside the row".to_owned());
        }
        if pass == Pass::Spring && found.fit == Fit::No {
            let beside = in_pass(of, Pass::Sidedress).is_some_and(|f| f.fit >= Fit::May);
            let at_planting = in_pass(of, Pass::Planting).is_some_and(|f| f.fit >= Fit::May);
            return (!beside && !at_planting).then(|| found.why.clone());
        }
    }
    if found.fit == Fit::No {
        return Some(found.why.clone());
    }
    if of.raw_manure {
        let wait = Wait::of(n.reading.crop);
        let (needed, rule, what) = (wait.days, wait.rule(), of.raw_name());
        match days.harvest {
            Some(harvest) => {
                if let Some(there) = wait.broken(days.day(pass), harvest) {
                    return Some(format!(
                        "{what} waits {needed} days for the harvest, {there} are left ({rule})"
                    ));
                }
            }
            None if needed > 0 && pass != Pass::Autumn => {
                return Some(format!(
                    "{what} waits {needed} days for the harvest, whose day is not set ({rule})"
                ));
            }
            None => {}
        }
    }
    if pass == Pass::SecondSidedress && days.second_sidedress.is_none() {
        return Some("no second sidedressing is printed for this crop".to_owned());
    }
    if pass.beside_the_crop()
        && let Some(there) = days.to_harvest(pass)
        && there < USEFUL_DAYS
    {
        return Some("the harvest comes too soon after it".to_owned());
    }
    None
}

/// Share of the first season’s nitrogen that the crop finds when the material goes on in the pass:
/// 1 where it is all of what the source prints.
///
/// Beside the standing crop only what is let go from there to the harvest counts, by the same release
/// that the nitrogen of a block is drawn with.
pub fn nitrogen_share(of: &Material, days: &Days, pass: Pass) -> f64 {
    if let Some(share) = in_pass(of, pass).and_then(|f| f.n_share) {
        return share;
    }
    if !pass.beside_the_crop() || of.kind == Kind::Synthetic {
        return 1.0;
    }
    let weeks = |from: Date| {
        let days = from.until(days.harvest?).ok()?.get_days();
        u32::try_from(days / 7).ok().map(|w| w.clamp(1, 60))
    };
    let given = |from: Date| {
        let weeks = weeks(from)?;
        let (soil_c, source) = nitrogen::stand_in_soil_c(week_of(from), weeks as usize).ok()?;
        let spread = Spreading {
            anchor: anchor(of),
            total_n: 1.0,
            ammonium_n: 0.0,
            nitrate_n: 0.0,
            week: 1,
            covered: Covered::WithinDays(0.0),
            weather: Weather::Average,
        };
        Some(
            nitrogen::given_by(&spread, weeks, &soil_c, &source)
                .ok()?
                .value,
        )
    };
    match (given(days.day(pass)), given(days.planting)) {
        (Some(late), Some(early)) if early > 0.0 => (late / early).clamp(0.0, 1.0),
        _ => 1.0,
    }
}

/// The passes that the farm makes, in the order of the season.
pub fn made(left_out: &[String]) -> Vec<Pass> {
    Pass::ALL
        .into_iter()
        .filter(|p| !left_out.iter().any(|key| key == p.key()))
        .collect()
}

/// lb of pure lime that a lb of the material counts as; below zero where its nitrogen makes acid.
pub(crate) fn lime_share(of: &Material) -> Option<f64> {
    let spread_as_lime = material::supplied(of, "lime").map_or(0.0, |f| f.value);
    if spread_as_lime > 0.0 {
        return Some(spread_as_lime);
    }
    let share = material::lime_effect(of, 1.0).ok()??.value;
    (share.abs() > 1e-6).then_some(share)
}

/// When a pass falls on a block, in words for a sheet.
pub fn when(days: Option<&Days>, pass: Pass) -> String {
    let Some(days) = days else {
        return pass.name().to_owned();
    };
    match pass {
        Pass::Autumn => format!("Autumn {}", days.season - 1),
        Pass::Spring if days.planting_set => {
            format!("Early spring, by {}", days.day(Pass::Spring))
        }
        Pass::Planting if days.planting_set => format!("At planting, {}", days.planting),
        Pass::BeforePlanting if days.planting_set => {
            format!("Before planting, about {}", days.day(pass))
        }
        Pass::Sidedress if days.planting_set => format!("Sidedress, about {}", days.sidedress),
        Pass::SecondSidedress if days.planting_set => {
            format!("Second sidedress, about {}", days.day(pass))
        }
        _ => pass.name().to_owned(),
    }
}
