//! What an inspector would ask about, found first.

use super::super::Record;
use super::super::stock::LotBalance;
use crate::Result;
use crate::raw_manure::Wait;
use crate::words::weighed;
use agronomy::material;
use farmbook::{Book, Farm, Id, Spread};
use jiff::civil::Date;
use quantity::Weight;
use std::collections::HashMap;

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

pub(super) fn all(
    book: &Book,
    farm: &Farm,
    record: &Record,
    balance: &[LotBalance],
    blocks: &HashMap<Id, String>,
    (first, last): (Date, Date),
) -> Result<Vec<String>> {
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
    for a in record.arrivals.iter().filter(|a| within(a.day)) {
        if a.paper.is_none() {
            out.push(format!(
                "{} of {}: no paper is kept with the delivery.",
                a.day,
                name(&a.material).to_lowercase()
            ));
        }
    }
    for s in record.spreads.iter().filter(|s| within(s.day)) {
        let block = blocks.get(&s.block).map_or("", String::as_str);
        let lots = balance
            .iter()
            .any(|b| b.material == s.material && !b.lot.is_empty());
        if s.lot.is_empty() && lots {
            out.push(format!(
                "Entry {}, {} on {block}: the lot is not named though lots are kept.",
                s.id,
                name(&s.material).to_lowercase()
            ));
        }
        if s.person.is_empty() {
            out.push(format!("Entry {} on {block}: nobody is named.", s.id));
        }
        out.extend(manure(book, record, s, block)?);
    }
    Ok(out)
}

/// Raw manure that did not wait for the harvest, by the harvests written down.
fn manure(book: &Book, record: &Record, s: &Spread, block: &str) -> Result<Option<String>> {
    if material::find(&s.material).is_none_or(|m| !m.raw_manure) {
        return Ok(None);
    }
    let harvest = record
        .harvests
        .iter()
        .filter(|h| h.block == s.block && h.day >= s.day)
        .min_by_key(|h| h.day);
    let Some(harvest) = harvest else {
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
            "Entry {} on {block}: raw manure on {} and a harvest on {}, {days} days later; {} asks for {} ({}).",
            s.id,
            s.day,
            harvest.day,
            "the rule",
            wait.days,
            wait.rule()
        )
    }))
}
