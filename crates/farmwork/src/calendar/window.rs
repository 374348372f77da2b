//! Between which days a material goes on a block in a pass, worked back from planting and harvest.

use super::OnBlock;
use super::anchors::Anchors;
use super::warmth::{self, Closed};
use crate::needs::BlockNeeds;
use crate::raw_manure::Wait;
use crate::soil_temperature::SoilYear;
use agronomy::lime::{self, Form};
use agronomy::material::{
    self, CountedFrom, Edge, Fit, Kind, Material, Pass, Place, Warmth, advice, in_pass, pass_edges,
    soil_warmth,
};
use agronomy::nitrogen;
use agronomy::sulfur;
use agronomy::working::{Caution, Source};
use farmbook::BlockKind;
use jiff::ToSpan;
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;

/// A day with the reason for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bound {
    pub day: Date,
    pub why: String,
    pub source: Source,
    /// What it is counted from, and by how many days.
    #[serde(skip)]
    pub(super) from: (CountedFrom, i64),
}

/// The days of one application.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Window {
    /// The first day.
    pub earliest: Bound,
    pub best: Bound,
    /// The last day on which it does all that it is spread for.
    pub latest: Bound,
    /// The last day on which it may go on at all; none where the book tells none.
    pub stop: Option<Bound>,
    /// Days between them on which the soil is too cold or too warm for it, by what the grower knows.
    pub closed: Vec<Closed>,
    /// What else is printed on the time of it.
    pub notes: Vec<Caution>,
}

impl Window {
    /// Whether no day is left between the first and the last.
    pub(super) fn is_shut(&self) -> bool {
        self.stop
            .as_ref()
            .is_some_and(|s| s.day < self.earliest.day)
    }

    /// Whether every day that is left is later than the material asks for.
    pub(super) fn is_late_by_itself(&self) -> bool {
        self.latest.day < self.earliest.day
    }
}

/// A day of the book that a window needs and that is not set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    PlantingDay,
    HarvestDay,
}

impl Missing {
    pub fn name(self) -> &'static str {
        match self {
            Self::PlantingDay => "planting day",
            Self::HarvestDay => "first day of harvest",
        }
    }
}

/// Bounds on one side, as they are gathered.
#[derive(Default)]
struct Gathered {
    earliest: Vec<Bound>,
    best: Vec<Bound>,
    latest: Vec<Bound>,
    stop: Vec<Bound>,
    notes: Vec<Caution>,
    missing: Vec<Missing>,
}

/// The window of a material on a block in a pass.
///
/// # Errors
/// The days that have to be set first.
pub(super) fn window(of: &Material, pass: Pass, on: &OnBlock<'_>) -> Result<Window, Vec<Missing>> {
    let (n, anchors) = (on.needs, &on.anchors);
    let rules = soil_warmth(of, pass);
    let place = place(of, pass, n);
    let mut all = Gathered::default();
    by_pass(pass, place, anchors, &mut all);
    let pass_opens = all.earliest.iter().min_by_key(|b| b.day).cloned();
    let pass_latest = all.latest.clone();
    all.earliest = pass_opens.into_iter().collect();
    if pass == Pass::Sidedress {
        by_sign(n, anchors, &mut all);
    } else if place != Place::Standing && !pass.beside_the_crop() {
        by_lead(of, anchors, (on.soil, &rules), &mut all);
    }
    by_manure(of, n, anchors, &mut all);
    if !all.missing.is_empty() {
        all.missing.sort_unstable();
        all.missing.dedup();
        return Err(all.missing);
    }
    // A pass that the table allows for the material is not late by itself: what is printed on the lead
    // is then told beside it.
    let opens = all.earliest.iter().map(|b| b.day).max();
    let allowed = in_pass(of, pass).is_none_or(|f| f.fit != Fit::Late);
    if allowed && let Some(opens) = opens {
        let (kept, told): (Vec<_>, Vec<_>) = all
            .latest
            .into_iter()
            .partition(|b| b.day >= opens || pass_latest.contains(b));
        all.latest = kept;
        all.notes.extend(told.into_iter().map(|b| Caution {
            text: format!("Sooner would do more for this crop: {}.", b.why),
            source: b.source,
        }));
    }
    settle(all)
        .map(|w| warmth::hold(w, &rules, on.soil))
        .ok_or_else(|| vec![Missing::PlantingDay])
}

/// Puts the gathered bounds together: the last opening, the first end, the best day between them.
fn settle(all: Gathered) -> Option<Window> {
    let earliest = all.earliest.into_iter().max_by_key(|b| b.day)?;
    let stop = all.stop.into_iter().min_by_key(|b| b.day);
    let mut latest = all.latest.into_iter().min_by_key(|b| b.day)?;
    if let Some(stop) = &stop
        && stop.day < latest.day
    {
        latest = stop.clone();
    }
    // The material’s own best day stands before the pass’s; one after the last day gives way to it.
    let wanted = all
        .best
        .iter()
        .rev()
        .find(|b| b.day <= latest.day)
        .or(all.best.last())?;
    let best = if wanted.day < earliest.day {
        Bound {
            day: earliest.day,
            why: format!("{}; {}", earliest.why, wanted.why),
            source: wanted.source.clone(),
            from: earliest.from,
        }
    } else if wanted.day > latest.day {
        latest.clone()
    } else {
        wanted.clone()
    };
    Some(Window {
        earliest,
        best,
        latest,
        stop,
        closed: Vec::new(),
        notes: all.notes,
    })
}

fn place(of: &Material, pass: Pass, n: &BlockNeeds) -> Place {
    let kind = n.reading.block.kind;
    match Place::of(crate::timing::ground(kind), kind == BlockKind::Tunnel) {
        Place::Standing => Place::Standing,
        _ if of.kind == Kind::Mulch && pass == Pass::Planting => Place::Mulch,
        place => place,
    }
}

fn after(day: Date, days: i64) -> Option<Date> {
    day.checked_add(days.days()).ok()
}

/// The days of the pass itself.
fn by_pass(pass: Pass, place: Place, anchors: &Anchors, all: &mut Gathered) {
    let mut edges = pass_edges(pass, place);
    if edges.is_empty() {
        // Plants that stand are fed in spring in place of planting.
        let other = match pass.beside_the_crop() {
            true => Pass::Sidedress,
            false => Pass::Spring,
        };
        edges = pass_edges(other, place);
    }
    // Where the harvest of the year before is known, nothing else opens the autumn.
    let known =
        anchors.last_harvest.is_some() && edges.iter().any(|e| e.from == CountedFrom::LastHarvest);
    for e in edges {
        if known && e.edge == Edge::Earliest && e.from != CountedFrom::LastHarvest {
            continue;
        }
        let Some(from) = anchors.day(e.from) else {
            match e.from {
                CountedFrom::Planting | CountedFrom::Sidedress | CountedFrom::SecondSidedress => {
                    all.missing.push(Missing::PlantingDay);
                }
                CountedFrom::Harvest if place == Place::Standing => {
                    all.missing.push(Missing::HarvestDay);
                }
                CountedFrom::Harvest | CountedFrom::LastHarvest | CountedFrom::NewYear => {}
            }
            continue;
        };
        let Some(day) = after(from, e.days) else {
            continue;
        };
        let bound = Bound {
            day,
            why: e.why.clone(),
            source: e.source.clone(),
            from: (e.from, e.days),
        };
        match e.edge {
            Edge::Earliest => all.earliest.push(bound),
            Edge::Best => all.best.push(match anchors.part(e.from) {
                Some(part) => Bound {
                    why: part.timing.clone(),
                    source: part.source.clone(),
                    ..bound
                },
                None => bound,
            }),
            Edge::Latest => all.latest.push(bound),
            Edge::Stop => all.stop.push(bound),
        }
    }
}

/// How long ahead of planting the material goes on, as printed; what works through soil life counts warm
/// weeks, where they are known.
fn by_lead(
    of: &Material,
    anchors: &Anchors,
    (soil, rules): (&SoilYear, &[&Warmth]),
    all: &mut Gathered,
) {
    let Some(planting) = anchors.planting else {
        return;
    };
    let ahead = |days: f64, why: String, source: &Source| {
        let days = -(days.round() as i64);
        after(planting, days).map(|day| Bound {
            day,
            why,
            source: source.clone(),
            from: (CountedFrom::Planting, days),
        })
    };
    let warm = |least: f64, most: f64, why: &str, source: &Source| {
        let (days, cold) = warmth::warm_days_ahead(
            soil,
            rules,
            planting,
            least.round() as i64,
            most.round() as i64,
        );
        let why = match cold {
            Some(cold) => format!("{why}; {cold}"),
            None => why.to_owned(),
        };
        ahead(days as f64, why, source)
    };
    if of.kind == Kind::Acid {
        if let Ok(time) = sulfur::time_to_act()
            && let (Some(low), Some(high), Some(first)) =
                (time.low, time.high, time.working.first())
        {
            let why = format!("it takes {} to {} months", plain(low, 2), plain(high, 2));
            let days = |months: f64| months * DAYS_OF_MONTH;
            all.latest
                .extend(warm(days(low), days(high), &why, &first.source));
            all.best.extend(ahead(days(high), why, &first.source));
        }
        return;
    }
    for t in advice().timing_of(of) {
        // Days of raw manure run back from the harvest; the rule itself gives them. Of a compost that
        // counts as such the table speaks as of any compost.
        if of.raw_manure && of.raw_because.is_none() {
            continue;
        }
        if let Some(least) = t.days.0 {
            let most = t.days.1.unwrap_or(least);
            let bound = warm(least, most, &t.text, &t.source);
            if t.later_harms {
                all.stop.extend(bound.clone());
            }
            all.latest.extend(bound);
        }
        if let Some(most) = t.days.1.filter(|_| t.sooner_is_lost) {
            all.earliest.extend(ahead(most, t.text.clone(), &t.source));
        }
        let best = if t.sooner_is_lost { t.days.0 } else { t.days.1 };
        if let Some(best) = best {
            all.best.extend(ahead(best, t.text.clone(), &t.source));
        }
    }
    if let Some(form) = lime_form(of)
        && let Ok(time) = lime::timing(form)
        && let (Some(low), Some(high), Some(due)) = (time.low, time.high, time.working.last())
    {
        let why = format!(
            "{} takes {} to {} months to work",
            form.name(),
            plain(low, 2),
            plain(high, 2)
        );
        let bound = ahead(low * DAYS_OF_MONTH, why, &due.source);
        // Of ash no table prints how long ahead; the shortest time that it takes serves.
        if form == Form::Ash {
            all.latest.extend(bound);
        } else {
            all.best.extend(bound);
        }
    }
}

/// Days of an average month.
const DAYS_OF_MONTH: f64 = 365.25 / 12.0;

/// As which form of lime a material works.
fn lime_form(of: &Material) -> Option<Form> {
    Some(match (of.kind, of.id.as_str()) {
        (Kind::Lime, "lime_hydrated") => Form::Hydrated,
        (Kind::Lime, "lime_burned") => Form::Burnt,
        (Kind::Lime, "wood_ash") => Form::Ash,
        (Kind::Lime, _) => Form::Ground,
        _ => return None,
    })
}

/// By which sign of the crop a sidedressing is due.
fn by_sign(n: &BlockNeeds, anchors: &Anchors, all: &mut Gathered) {
    let Some(crop) = &n.reading.crop else { return };
    for sign in nitrogen::sidedress_signs(crop) {
        if let (Some((first, last)), Some(planting)) = (sign.weeks, anchors.planting) {
            let bound = |weeks: f64| {
                let days = (weeks * 7.0).round() as i64;
                after(planting, days).map(|day| Bound {
                    day,
                    why: sign.sign.clone(),
                    source: sign.source.clone(),
                    from: (CountedFrom::Planting, days),
                })
            };
            all.earliest = bound(first).into_iter().collect();
            all.latest = bound(last).into_iter().collect();
        } else {
            all.notes.push(Caution {
                text: format!("By the look of the crop: {}.", sign.sign),
                source: sign.source.clone(),
            });
        }
    }
}

/// Raw manure ends with its wait for the harvest.
fn by_manure(of: &Material, n: &BlockNeeds, anchors: &Anchors, all: &mut Gathered) {
    if !of.raw_manure {
        return;
    }
    let wait = Wait::of(n.reading.crop);
    if wait.days == 0 {
        return;
    }
    let Some(harvest) = anchors.harvest else {
        all.missing.push(Missing::HarvestDay);
        return;
    };
    if let Some(day) = wait.last_day(harvest) {
        all.stop.push(Bound {
            day,
            why: match &of.raw_because {
                Some(why) => format!("worked in {} days before the harvest: {why}", wait.days),
                None => format!("worked in {} days before the harvest", wait.days),
            },
            source: wait.source.clone(),
            from: (CountedFrom::Harvest, -i64::from(wait.days)),
        });
    }
}

/// Whether a material brings enough of a nutrient to stand in for another.
pub(super) fn brings(of: &Material, key: &str) -> bool {
    material::supplied(of, key).is_ok_and(|f| f.value > 0.01)
}
