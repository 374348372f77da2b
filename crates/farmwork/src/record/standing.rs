//! How the jobs of a plan stand by the record.

use crate::Result;
use crate::planning::Made;
use farmbook::{Book, Done, Id, Spread};
use jiff::civil::Date;
use quantity::Weight;
use serde::Serialize;
use std::collections::HashSet;

/// What was written down of one job since its plan was made, and of what earlier plans had of it.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct OfJob {
    /// Numbers of the entries.
    pub entries: Vec<i64>,
    pub weight: Weight,
    /// Whether nothing of it is left to do.
    pub done: bool,
    /// What went on in the season in all, by earlier plans too.
    pub so_far: Weight,
    /// The last day on which any of it went on.
    pub last_on: Option<Date>,
}

impl OfJob {
    /// lb of `planned` still to do.
    pub fn left_lb(&self, planned: f64) -> f64 {
        if self.done {
            0.0
        } else {
            (planned - self.weight.to_pounds()).max(0.0)
        }
    }
}

/// The entries of a plan’s season written down after it was made: those before are taken off already.
///
/// # Errors
/// The book’s own.
pub fn since_plan(book: &Book, made: &Made) -> Result<Vec<Spread>> {
    let later: HashSet<Id> = book
        .added_since_plan(made.stored.id, "spread")?
        .into_iter()
        .collect();
    if later.is_empty() {
        return Ok(Vec::new());
    }
    let mut all = of_season(book, made)?;
    all.retain(|s| later.contains(&s.id));
    Ok(all)
}

/// Every entry of a plan’s season that stands.
///
/// # Errors
/// The book’s own.
pub fn of_season(book: &Book, made: &Made) -> Result<Vec<Spread>> {
    Ok(book.spreads_in(made.stored.season, &[])?)
}

/// What was written down of one job of a block: `since` its plan was made, and in all of the `season`,
/// both of that block alone.
pub(crate) fn of_job(
    since: &[Spread],
    season: &[Spread],
    (material, pass): (&str, &str),
    planned_lb: f64,
) -> OfJob {
    let mut out = OfJob::default();
    let mine = |s: &&Spread| s.material == material && s.pass == pass;
    for s in season.iter().filter(mine) {
        out.so_far = out.so_far + s.weight;
        out.last_on = out.last_on.max(Some(s.day));
    }
    for s in since {
        if mine(&s) {
            out.entries.push(s.id);
            out.weight = out.weight + s.weight;
            out.done |= s.how != Done::Partly;
        }
    }
    out.done |= !out.entries.is_empty() && out.weight >= Weight::pounds(planned_lb);
    out
}

/// What was done otherwise than the plan has it since it was made, in words; empty where nothing was.
///
/// # Errors
/// The book’s own.
pub fn otherwise(book: &Book, made: &Made) -> Result<Vec<String>> {
    let mut out = Vec::new();
    let since = since_plan(book, made)?;
    let odd = since
        .iter()
        .filter(|s| matches!(s.how, Done::Differently | Done::Extra))
        .count();
    if odd > 0 {
        let were = if odd == 1 {
            "1 job was"
        } else {
            &format!("{odd} jobs were")
        };
        out.push(format!("{were} done otherwise than planned"));
    }
    if !book
        .added_since_plan(made.stored.id, "stock_count")?
        .is_empty()
    {
        out.push("what is in the shed was counted".to_owned());
    }
    let made_on = crate::order::day(&made.stored.made_at);
    let short = crate::record::ordering::placed(book)?
        .iter()
        .filter(|s| s.order.closed_on.is_some_and(|d| d.to_string() >= made_on))
        .any(|s| s.lines.iter().any(|l| l.came < l.line.weight));
    if short {
        out.push("an order was closed with less than was ordered".to_owned());
    }
    Ok(out)
}
