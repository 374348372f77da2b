//! What an inspector asks for: inputs, where each went and when, from which lot and paper, and whether what
//! came in is what was used and what is left.

mod doubts;
mod tables;
mod workbook;

pub use tables::{Cell, Part};
pub use workbook::{csv, xlsx};

use super::beside::{self, Beside, Entry};
use super::stock::{self, LotBalance, Moves};
use crate::compost::Composts;
use crate::{Result, WorkError};
use agronomy::compost::{Making, Verdict};
use agronomy::material;
use doubts::Entries;
use farmbook::{Arrival, Book, Farm, Harvest, Id, Paper, Spread, StockCount};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{BTreeSet, HashMap};

/// One material that came in, was used or was there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Input {
    /// Key of the material table.
    pub material: String,
    pub name: String,
    /// Whether organic rules allow it and by which paragraph, in words; empty on other farms.
    pub rule: String,
    pub suppliers: Vec<String>,
    pub lots: Vec<String>,
    /// Names of the papers kept with its deliveries.
    pub papers: Vec<String>,
}

/// How a lot of compost that came in, was used or was there was made, and what the rule makes of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompostLot {
    /// Key of the material table.
    pub material: String,
    pub lot: String,
    /// None where nobody said it.
    pub made: Option<Making>,
    pub verdict: Verdict,
}

/// The record from one day to another.
#[derive(Debug, Clone, Serialize)]
pub struct Inspection {
    pub farm: Farm,
    pub first: Date,
    pub last: Date,
    pub inputs: Vec<Input>,
    /// Every entry, those corrected included, by day.
    pub spreads: Vec<Spread>,
    pub arrivals: Vec<Arrival>,
    pub harvests: Vec<Harvest>,
    pub counts: Vec<StockCount>,
    /// How each of them stands beside the others, in that order.
    pub stands: Stands,
    pub balance: Vec<LotBalance>,
    pub papers: Vec<Paper>,
    /// How each lot of compost with manure in it was made.
    pub composts: Vec<CompostLot>,
    /// What does not add up, is missing or breaks a rule, a sentence each.
    pub doubts: Vec<String>,
    /// Names of the blocks, those taken out included.
    pub blocks: HashMap<Id, String>,
}

/// How entries stand: one for each entry of [`Inspection`], in its order.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Stands {
    pub spreads: Vec<Beside>,
    pub arrivals: Vec<Beside>,
    pub harvests: Vec<Beside>,
    pub counts: Vec<Beside>,
}

/// The entries of some days, and how each stands beside all others, those of other days too.
fn within<E: Entry>(all: Vec<E>, day: impl Fn(&E) -> bool) -> (Vec<E>, Vec<Beside>) {
    let stands = beside::all_stand(&all);
    all.into_iter().zip(stands).filter(|(e, _)| day(e)).unzip()
}

/// The record of a stretch of days, both included.
///
/// # Errors
/// The last day lies before the first, or the book’s own.
pub fn of(book: &Book, first: Date, last: Date) -> Result<Inspection> {
    if last < first {
        return Err(WorkError::Said(format!(
            "Found {first} as the first day and {last} as the last, expected the first to come first."
        )));
    }
    let farm = book.farm()?;
    let moves = Moves::of(book)?;
    let choices = book.materials()?;
    let papers = book.papers()?;
    let days = first..=last;
    let balance: Vec<LotBalance> = stock::balance(&choices, &moves, first, last)
        .into_iter()
        .filter(|b| {
            let still = b.begin.is_zero() && b.end.is_zero();
            !(still && b.came.is_zero() && b.used.is_zero() && b.counted.is_zero())
        })
        .collect();
    let (arrivals, of_arrivals) = within(book.all_arrivals()?, |a| days.contains(&a.day));
    let spreads = book.all_spreads_between(first, last)?;
    let corrections = book.spread_corrections()?;
    let of_spreads = spreads
        .iter()
        .map(|s| beside::stand(&corrections, s))
        .collect();
    let (harvests, of_harvests) = within(book.all_harvests()?, |h| days.contains(&h.day));
    let (counts, of_counts) = within(book.all_counts()?, |c| days.contains(&c.day));
    let keys: BTreeSet<String> = balance.iter().map(|b| b.material.clone()).collect();
    let inputs = keys
        .into_iter()
        .map(|key| input(&farm, &key, &balance, &moves, &papers))
        .collect();
    let blocks: HashMap<Id, String> = book
        .all_blocks()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let said = Composts::of(book)?;
    let composts = compost_lots(&said, &balance);
    let mut doubts = doubts::of_the_shed(&farm, &balance, &moves, (first, last));
    doubts.extend(doubts::of_composts(&farm, &composts));
    doubts.extend(doubts::of_entries(
        book,
        &Entries {
            spreads: &spreads,
            corrections: &corrections,
            // Manure waits for harvests that may come after the last day.
            harvests: &book.harvests_from(first)?,
            balance: &balance,
            composts: &said,
            blocks: &blocks,
        },
    )?);
    Ok(Inspection {
        farm,
        first,
        last,
        inputs,
        spreads,
        arrivals,
        harvests,
        counts,
        stands: Stands {
            spreads: of_spreads,
            arrivals: of_arrivals,
            harvests: of_harvests,
            counts: of_counts,
        },
        balance,
        papers,
        composts,
        doubts,
        blocks,
    })
}

fn compost_lots(said: &Composts, balance: &[LotBalance]) -> Vec<CompostLot> {
    balance
        .iter()
        .filter_map(|b| {
            let of = material::find(&b.material)?;
            Some(CompostLot {
                verdict: said.verdict(of, &b.lot)?,
                material: b.material.clone(),
                lot: b.lot.clone(),
                made: said.said(&b.material, &b.lot).map(|c| c.made.clone()),
            })
        })
        .collect()
}

fn input(farm: &Farm, key: &str, balance: &[LotBalance], moves: &Moves, papers: &[Paper]) -> Input {
    let known = material::find(key);
    let came: Vec<&Arrival> = moves
        .arrivals
        .iter()
        .filter(|a| a.material == key)
        .collect();
    let distinct = |all: Vec<String>| -> Vec<String> {
        let set: BTreeSet<String> = all.into_iter().filter(|t| !t.is_empty()).collect();
        set.into_iter().collect()
    };
    Input {
        material: key.to_owned(),
        name: known.map_or_else(|| key.to_owned(), |m| m.name.clone()),
        rule: known
            .filter(|_| farm.organic)
            .map_or_else(String::new, |m| m.rule.sentence()),
        suppliers: distinct(came.iter().map(|a| a.supplier.clone()).collect()),
        lots: distinct(
            balance
                .iter()
                .filter(|b| b.material == key)
                .map(|b| b.lot.clone())
                .collect(),
        ),
        papers: distinct(
            came.iter()
                .filter_map(|a| a.paper)
                .filter_map(|id| papers.iter().find(|p| p.id == id))
                .map(|p| p.file_name.clone())
                .collect(),
        ),
    }
}

/// Five calendar years back, to the end of the year of a day.
pub fn five_years(today: Date) -> (Date, Date) {
    let year = today.year();
    (
        jiff::civil::date(year - 4, 1, 1),
        jiff::civil::date(year, 12, 31),
    )
}
