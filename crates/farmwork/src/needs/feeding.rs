//! Nitrogen less its credits; phosphate and potash by report, table or removal.

use super::Line;
use crate::learned::{Learned, Own};
use crate::readings::BlockReading;
use crate::sure;
use agronomy::crop::Crop;
use agronomy::material;
use agronomy::nitrogen::{self, Basis as NitrogenBasis};
use agronomy::phosphorus_potassium::{self as pk, Basis};
use agronomy::reading::Level;
use agronomy::soil::{Analyte, Recommendable};
use agronomy::working::{Evidence, Figure, Source};
use farmbook::{Learnable, Planting};
use planner::Nutrient;
use quantity::plain;

pub(super) fn nitrogen(
    reading: &BlockReading,
    planting: &Planting,
    crop: &Crop,
    notes: &mut Vec<String>,
) -> Line {
    let soil = reading.test.as_ref().map(|t| &t.test);
    let credits = &planting.credits;
    let mut past = Vec::new();
    for spread in &credits.past {
        let Some(of) = material::find(&spread.material) else {
            notes.push(format!(
                "Earlier spreading of “{}” is not credited: it is not in the tables.",
                spread.material
            ));
            continue;
        };
        past.push(nitrogen::Past {
            what: of.name.clone(),
            compost: of.kind == material::Kind::Compost,
            manure: nitrogen::manure_kind(&of.id).map(str::to_owned),
            total_n_lb_per_acre: spread.lb_per_acre * material::total(of, "n"),
            years_ago: spread.years_ago,
        });
    }
    let request = nitrogen::Request {
        yield_lb_per_acre: planting.yield_lb_per_acre,
        printed: super::printed(reading, crop, Recommendable::N),
        organic_matter_pct: soil.and_then(|s| s.value(Analyte::OrganicMatter)),
        cover_crop: credits.cover_crop.as_ref().map(|c| nitrogen::CoverCrop {
            kind: c.kind.clone(),
            dry_lb_per_acre: c.dry_lb_per_acre,
            n_pct: c.n_pct,
            worked_in: c.incorporated,
        }),
        past,
        irrigation: credits.irrigation.as_ref().map(|w| nitrogen::Irrigation {
            nitrate_n_ppm: w.no3n_ppm,
            inches: w.inches,
        }),
        previous: credits.previous.clone(),
        residue: credits.residue.as_ref().map(|r| nitrogen::Left {
            crop: r.crop.clone(),
            part: r.part.clone(),
            taken_off: r.taken_off,
        }),
        nitrate: credits.nitrate.map(|ppm| nitrogen::NitrateTest {
            ppm,
            manured: credits.past.iter().any(|p| {
                p.years_ago <= 1
                    && material::find(&p.material).is_some_and(|m| m.kind == material::Kind::Manure)
            }),
        }),
    };
    match nitrogen::need(crop, &request) {
        Ok(need) => Line {
            nutrient: Nutrient::N,
            asked: Some(need.asked.value),
            credits: need
                .credits
                .iter()
                .map(|c| (c.what.clone(), c.lb_per_acre))
                .collect(),
            need: need.net.value,
            range: need.net.low.zip(need.net.high),
            ceiling: None,
            basis: match need.basis {
                NitrogenBasis::Lab => "printed by the lab".to_owned(),
                NitrogenBasis::NitrateTest => "the nitrate test before sidedressing".to_owned(),
                NitrogenBasis::Table => crop
                    .nitrogen
                    .first()
                    .map_or_else(String::new, |r| r.system.clone()),
            },
            later: Vec::new(),
            others: crop
                .nitrogen
                .iter()
                .skip(usize::from(need.basis == NitrogenBasis::Table))
                .map(|r| {
                    format!(
                        "{}: {} lb/acre{}",
                        r.system,
                        plain(r.value, 3),
                        if r.source.evidence.unconfirmed() {
                            " (unconfirmed)"
                        } else {
                            ""
                        }
                    )
                })
                .collect(),
            very_high: false,
            own: None,
            working: vec![need.net],
        },
        Err(why) => {
            notes.push(format!("Nitrogen: {why}"));
            Line::none(Nutrient::N, why.to_string())
        }
    }
}

pub(super) fn phosphate_and_potash(
    reading: &BlockReading,
    planting: &Planting,
    crop: &Crop,
    learned: &Learned,
) -> Vec<Line> {
    let carried = crop.carried_off(planting.yield_lb_per_acre);
    [
        (pk::Nutrient::P2o5, Nutrient::P2o5, Recommendable::P2o5, 1),
        (pk::Nutrient::K2o, Nutrient::K2o, Recommendable::K2o, 2),
    ]
    .into_iter()
    .map(|(nutrient, planned, recommendable, at)| {
        let removal = carried
            .as_ref()
            .map(|(lb, source)| (lb[at], source.clone()));
        let read = reading.reading(nutrient.analyte());
        let printed = super::printed(reading, crop, recommendable);
        let mut line = match pk::need(nutrient, read, &crop.key, printed, removal.clone()) {
            Ok(need) => {
                let mut line = line(planned, &need, read.map(|r| r.level));
                if need.basis != Basis::Lab {
                    doubted(&mut line, reading, nutrient, crop, removal.clone());
                }
                build_up(&mut line, &need, learned.of(learnable(nutrient)));
                line
            }
            Err(_) if read.is_some() && removal.is_none() && crop.removal.is_some() => Line::none(
                planned,
                "no table covers this crop; give the expected yield with the block, and what the harvest carries off is used",
            ),
            Err(why) => {
                let because = reading
                    .line(nutrient.analyte())
                    .filter(|l| l.reading.is_none())
                    .map_or_else(|| why.to_string(), |l| format!("{why} {}", l.why));
                Line::none(planned, because)
            }
        };
        if planned == Nutrient::P2o5 {
            hold_down(&mut line, reading, removal);
        }
        line
    })
    .collect()
}

fn learnable(nutrient: pk::Nutrient) -> Learnable {
    match nutrient {
        pk::Nutrient::P2o5 => Learnable::P2o5,
        pk::Nutrient::K2o => Learnable::K2o,
    }
}

/// Whether a rate of the block would rest on build-up, as far as the reading alone tells.
pub(super) fn builds_up(reading: &BlockReading) -> bool {
    pk::Nutrient::ALL.into_iter().any(|nutrient| {
        reading
            .reading(nutrient.analyte())
            .is_some_and(|read| pk::builds_up(nutrient, read))
    })
}

/// Takes the part of a rate that builds the soil up by the block’s own answer, where it is used.
fn build_up(line: &mut Line, need: &pk::Need, own: Option<&Own>) {
    let Some(own) = own.and_then(|o| o.need(need.build_up?, false)) else {
        return;
    };
    if let Some(figure) = line.working.first_mut() {
        (figure.low, figure.high) = line.range.unzip();
        own.apply(figure);
        line.need = figure.value;
        line.asked = Some(figure.value);
        line.range = figure.low.zip(figure.high);
    }
    line.taught(Some(own));
}

/// Sets the range that the doubt of the test gives the rate.
fn doubted(
    line: &mut Line,
    reading: &BlockReading,
    nutrient: pk::Nutrient,
    crop: &Crop,
    removal: Option<(f64, Source)>,
) {
    let Some(found) = reading.line(nutrient.analyte()) else {
        return;
    };
    let Some(read) = &found.reading else {
        return;
    };
    let Some(ends) = sure::ends(reading, &found.measured) else {
        return;
    };
    let at = |value: f64| {
        let there = sure::read_at(reading, read, &found.measured, value)?;
        let need = pk::need(nutrient, Some(&there), &crop.key, None, removal.clone()).ok()?;
        Some(need.figure.value)
    };
    let unit = found.measured.analyte.unit();
    if let Some(((low, high), figure)) = sure::range("the rate", line.need, ends, unit, at) {
        let (low, high) = line
            .range
            .map_or((low, high), |(l, h)| (l.min(low), h.max(high)));
        line.range = Some((low, high));
        line.working.push(figure);
    }
}

/// How far phosphate must be held down.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Hold {
    No,
    /// What the harvest carries off may come along.
    ToHarvest,
    /// Nothing beyond what is asked.
    ToAsked,
}

/// Limits the phosphate that may come along: where the soil is rich, and where nobody knows.
///
/// The region’s own table decides; without one, the strictest table read for the extractant does, and a
/// published threshold stands above both.
fn hold_down(line: &mut Line, reading: &BlockReading, removal: Option<(f64, Source)>) {
    let of_level = |level: Level| match level {
        Level::VeryHigh => Hold::ToAsked,
        Level::High => Hold::ToHarvest,
        _ => Hold::No,
    };
    let (hold, why) = match reading.line(Analyte::P) {
        Some(found) if found.reading.is_some() => {
            let others = if found.own_region {
                [].iter()
            } else {
                found.others.iter()
            };
            // What is only recalled holds nothing down while another table was read.
            let all = found
                .reading
                .iter()
                .chain(others.filter(|r| !r.source.evidence.unconfirmed()));
            let level = all.map(|r| of_level(r.level)).max().unwrap_or(Hold::No);
            match found.reading.as_ref().and_then(pk::passed_threshold) {
                Some((text, _)) => (Hold::ToAsked, format!("phosphate is very high: {text}")),
                None if level == Hold::ToAsked => (
                    level,
                    "phosphate is very high: none beyond what is asked".to_owned(),
                ),
                None => (
                    level,
                    "phosphate is high: no more than the harvest carries off".to_owned(),
                ),
            }
        }
        _ => (
            Hold::ToHarvest,
            "the soil’s phosphorus is not known: no more than the harvest carries off".to_owned(),
        ),
    };
    if hold == Hold::No {
        return;
    }
    let asked = line.asked.unwrap_or(0.0);
    let (most, source) = match removal {
        Some((lb, source)) if hold == Hold::ToHarvest => (lb.max(asked), source),
        _ => (
            asked,
            Source::new(
                "common practice: a soil above optimum is drawn down, and an unknown one is not built up",
                Evidence::CommonPractice,
            ),
        ),
    };
    let mut limit = Figure::new("The most phosphate that may come along");
    limit.step(why.clone(), most, "lb/acre", plain(most, 3), source);
    line.working.push(limit);
    line.very_high = hold == Hold::ToAsked;
    line.ceiling = Some((most, why));
}

fn line(planned: Nutrient, need: &pk::Need, level: Option<Level>) -> Line {
    Line {
        nutrient: planned,
        asked: Some(need.figure.value),
        credits: Vec::new(),
        need: need.figure.value,
        range: need.figure.low.zip(need.figure.high),
        ceiling: None,
        basis: match &need.basis {
            Basis::Lab => "printed by the lab".to_owned(),
            Basis::Table(id) => pk::tables()
                .iter()
                .find(|t| t.id == *id)
                .map_or_else(|| id.clone(), |t| t.name.clone()),
            Basis::Removal if need.figure.value > 0.0 => {
                "what the harvest carries off, by the level of the test".to_owned()
            }
            Basis::Removal => "the level of the test".to_owned(),
        },
        later: Vec::new(),
        others: Vec::new(),
        very_high: level == Some(Level::VeryHigh),
        own: None,
        working: vec![need.figure.clone()],
    }
}
