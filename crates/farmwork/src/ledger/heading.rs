//! Where a test is heading at the balance of the last seasons, and when a rich block comes back.

use super::{Item, Season};
use crate::readings::BlockReading;
use crate::words;
use agronomy::phosphorus_potassium as pk;
use agronomy::reading::Level;
use agronomy::soil::Analyte;
use agronomy::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::Serialize;

/// How many seasons back the balance is looked at.
const SEASONS: usize = 5;

/// Where one test is heading.
#[derive(Debug, Clone, Serialize)]
pub struct Heading {
    pub analyte: Analyte,
    pub says: String,
    /// ppm a year; none where no figure is published for its extractant.
    pub ppm_a_year: Option<f64>,
    pub working: Vec<Figure>,
}

pub(super) fn all(reading: &BlockReading, seasons: &[Season]) -> Vec<Heading> {
    [
        (pk::Nutrient::P2o5, Item::P2o5),
        (pk::Nutrient::K2o, Item::K2o),
    ]
    .into_iter()
    .filter_map(|(nutrient, item)| one(reading, seasons, nutrient, item))
    .collect()
}

fn mean(all: &[f64]) -> Option<f64> {
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

fn one(
    reading: &BlockReading,
    seasons: &[Season],
    nutrient: pk::Nutrient,
    item: Item,
) -> Option<Heading> {
    let analyte = nutrient.analyte();
    let line = reading.line(analyte)?;
    let accounts: Vec<_> = seasons
        .iter()
        .filter_map(|s| s.items.get(&item))
        .filter(|a| a.removed.is_some())
        .take(SEASONS)
        .collect();
    let balances: Vec<f64> = accounts.iter().filter_map(|a| a.balance()).collect();
    let removals: Vec<f64> = accounts.iter().filter_map(|a| a.removed).collect();
    let (balance, removal) = (mean(&balances)?, mean(&removals)?);
    let says = |text: String| Heading {
        analyte,
        says: text,
        ppm_a_year: None,
        working: Vec::new(),
    };
    let Some(extractant) = line.measured.extractant else {
        return Some(says(
            "The report does not name the extractant, so nothing is said.".to_owned(),
        ));
    };
    let over = format!(
        "{} of {} a year over the last {}",
        words::lb(balance.abs()),
        item.name(),
        if balances.len() == 1 {
            "season".to_owned()
        } else {
            format!("{} seasons", balances.len())
        }
    );
    let change = match pk::test_change(nutrient, extractant, balance) {
        Ok(change) => change,
        Err(why) => {
            return Some(says(format!(
                "{} {over} per acre. {why}",
                if balance < 0.0 { "Short by" } else { "Over by" }
            )));
        }
    };
    let way = if change.value.abs() < 0.02 * line.measured.value.max(1.0) {
        "stays about where it is"
    } else if change.value > 0.0 {
        "rises"
    } else {
        "comes down"
    };
    let mut text = format!(
        "The test {way}, by about {} ppm a year: {over} per acre {} than was carried off.",
        plain(change.value.abs(), 2),
        if balance < 0.0 { "less" } else { "more" }
    );
    let ppm_a_year = Some(change.value);
    let mut working = vec![change];
    if let Some(read) = line.reading.as_ref().filter(|r| r.level.above_optimum()) {
        let optimum = read
            .bands
            .iter()
            .filter(|b| b.level <= Level::Optimum)
            .filter_map(|b| b.high)
            .fold(f64::NAN, f64::max);
        let by = Source::new(
            "mean of what the last seasons’ harvests carried off, by this ledger",
            Evidence::Derived,
        );
        match pk::years_to_draw_down(nutrient, extractant, (read.value, optimum), (removal, by)) {
            Ok(figure) => {
                let ends = match (figure.low, figure.high) {
                    (Some(l), Some(h)) => {
                        format!(" ({} to {} by what is published)", plain(l, 2), plain(h, 2))
                    }
                    _ => String::new(),
                };
                text.push_str(&format!(
                    " With none added it is back at {} ppm in about {} years{ends}.",
                    plain(optimum, 3),
                    plain(figure.value, 2)
                ));
                working.push(figure);
            }
            Err(why) => text.push_str(&format!(
                " When it comes back to optimum is not known: {why}"
            )),
        }
        if let Some(figure) = pk::halving(nutrient, read.value, optimum) {
            working.push(figure);
        }
    }
    Some(Heading {
        analyte,
        says: text,
        ppm_a_year,
        working,
    })
}
