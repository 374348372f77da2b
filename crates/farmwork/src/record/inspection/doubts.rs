//! What an inspector would ask about, found first.

use super::super::stock::{LotBalance, Moves};
use super::CompostLot;
use crate::Result;
use crate::compost::Composts;
use crate::raw_manure::Wait;
use crate::words::weighed;
use agronomy::material;
use farmbook::{Book, Correction, Farm, Harvest, Id, Spread};
use jiff::civil::Date;
use quantity::Weight;
use std::collections::{HashMap, HashSet};

fn name(key: &str) -> String {
    material::find(key).map_or_else(|| key.to_owned(), |m| m.name.clone())
}

fn lot_of(b: &LotBalance) -> String {
    if b.lot.is_empty() {
        format!("{}, no lot", name(&b.material))
    } else {
        format!("{}, lot {}", name(&b.material), b.lot)
    }
}

/// What does not add up lot by lot, and deliveries without a paper.
pub(super) fn of_the_shed(
    farm: &Farm,
    balance: &[LotBalance],
    moves: &Moves,
    (first, last): (Date, Date),
) -> Vec<String> {
    let mut out = Vec::new();
    for b in balance {
        if b.end < Weight::ZERO || b.short_from.is_some_and(|d| d >= first) {
            let by = if b.end < Weight::ZERO {
                format!(": {} more than came in", weighed(-b.end))
            } else {
                " for a time".to_owned()
            };
            let from = b
                .short_from
                .map_or_else(String::new, |d| format!(" from {d} on"));
            out.push(format!(
                "{}: more was used than there was{from}{by}.",
                lot_of(b)
            ));
        }
        if !b.counted.is_zero() {
            let (size, which) = if b.counted < Weight::ZERO {
                (-b.counted, "less")
            } else {
                (b.counted, "more")
            };
            out.push(format!(
                "{}: counts found {} {which} than the record made it.",
                lot_of(b),
                weighed(size)
            ));
        }
        let rule = material::find(&b.material).map(|m| &m.rule);
        if farm.organic && !b.used.is_zero() && rule.is_some_and(|r| !r.may_use()) {
            out.push(format!(
                "{} was used and is not for organic ground ({}).",
                name(&b.material),
                rule.map_or_else(String::new, |r| r.sentence())
            ));
        }
    }
    let within = |day: Date| (first..=last).contains(&day);
    for a in moves.arrivals.iter().filter(|a| within(a.day)) {
        if a.paper.is_none() {
            out.push(format!(
                "{} of {}: no paper is kept with the delivery.",
                a.day,
                name(&a.material).to_lowercase()
            ));
        }
    }
    out
}

/// Composts of which nobody said how they were made or where the paper is.
pub(super) fn of_composts(farm: &Farm, all: &[CompostLot]) -> Vec<String> {
    let mut out = Vec::new();
    for c in all {
        let mut what = name(&c.material);
        if !c.lot.is_empty() {
            what.push_str(&format!(", lot {}", c.lot));
        }
        match &c.made {
            Some(made) if made.paper.is_empty() && c.verdict.made_hot => out.push(format!(
                "{what}: {}; where the paper is, is not said.",
                c.verdict.why
            )),
            None if !farm.organic => out.push(format!(
                "{what}: {}. If it was not made hot it is raw manure ({}).",
                c.verdict.why, c.verdict.source.text
            )),
            _ if c.verdict.raw => out.push(format!(
                "{what}: {} ({}).",
                c.verdict.why, c.verdict.source.text
            )),
            _ => {}
        }
    }
    out
}

/// The entries that are looked at, with what is beside them.
pub(super) struct Entries<'a> {
    pub(super) spreads: &'a [Spread],
    pub(super) corrections: &'a HashMap<Id, Correction>,
    /// From the first day on, by day.
    pub(super) harvests: &'a [Harvest],
    pub(super) balance: &'a [LotBalance],
    pub(super) composts: &'a Composts,
    pub(super) blocks: &'a HashMap<Id, String>,
}

/// What an entry that stands does not say, and raw manure that did not wait.
pub(super) fn of_entries(book: &Book, all: &Entries<'_>) -> Result<Vec<String>> {
    let in_lots: HashSet<&str> = all
        .balance
        .iter()
        .filter(|b| !b.lot.is_empty())
        .map(|b| b.material.as_str())
        .collect();
    let mut picked: HashMap<Id, Vec<&Harvest>> = HashMap::new();
    for h in all.harvests {
        picked.entry(h.block).or_default().push(h);
    }
    let mut out = Vec::new();
    let standing = |s: &&Spread| !s.takes_back() && !all.corrections.contains_key(&s.id);
    for s in all.spreads.iter().filter(standing) {
        let block = all.blocks.get(&s.block).map_or("", String::as_str);
        if s.lot.is_empty() && in_lots.contains(s.material.as_str()) {
            out.push(format!(
                "Entry {}, {} on {block}: the lot is not named though lots are kept.",
                s.id,
                name(&s.material).to_lowercase()
            ));
        }
        if s.person.is_empty() {
            out.push(format!("Entry {} on {block}: nobody is named.", s.id));
        }
        let after = picked.get(&s.block).map_or(&[][..], Vec::as_slice);
        out.extend(manure(book, all.composts, after, s, block)?);
    }
    Ok(out)
}

/// Raw manure that did not wait for the harvest, by the block’s harvests, by day.
fn manure(
    book: &Book,
    composts: &Composts,
    picked: &[&Harvest],
    s: &Spread,
    block: &str,
) -> Result<Option<String>> {
    let Some(of) = material::find(&s.material) else {
        return Ok(None);
    };
    let compost = composts.verdict(of, &s.lot);
    let what = match &compost {
        Some(verdict) if verdict.raw => {
            format!("{} ({})", of.name.to_lowercase(), verdict.why)
        }
        _ if of.raw_manure => "raw manure".to_owned(),
        _ => return Ok(None),
    };
    let Some(harvest) = picked.iter().find(|h| h.day >= s.day) else {
        return Ok(None);
    };
    let crop = if harvest.crop.is_empty() {
        book.planting(s.block, harvest.season)?
            .map_or_else(String::new, |p| p.crop)
    } else {
        harvest.crop.clone()
    };
    let wait = Wait::of(agronomy::crop::find(&crop));
    Ok(wait.broken(s.day, harvest.day).map(|days| {
        format!(
            "Entry {} on {block}: {what} on {} and a harvest on {}, {days} days later; {} asks for {} ({}).",
            s.id,
            s.day,
            harvest.day,
            "the rule",
            wait.days,
            wait.rule()
        )
    }))
}
