//! Other ways to plan: plans to choose from, what holds one back, two side by side.

use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::offers::Name;
use farmwork::planning::{self, Made};
use farmwork::{left_out, limits, offers, side_by_side, words, years};
use planner::{Warm, Watch};
use quantity::plain;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework offers farm.book\n  spadework offers farm.book --choose cheapest"
)]
pub(crate) struct Offers {
    /// The book
    book: PathBuf,
    /// Keep one of them: cheapest, closest, fewest-visits
    #[arg(long, value_name = "NAME")]
    choose: Option<String>,
}

pub(super) fn offers(args: Offers, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if let Some(name) = &args.choose
        && ![Name::Cheapest, Name::Closest, Name::FewestVisits]
            .iter()
            .any(|n| n.key() == name)
    {
        bail!("“{name}” is none of cheapest, closest and fewest-visits.");
    }
    let asked = offers::asked(&book)?;
    let all = offers::offers(&asked, &Warm::default(), &Watch::default())?;
    if let Some(name) = &args.choose {
        let offer = all
            .iter()
            .find(|o| o.name.key() == name)
            .context("That plan could not be made.")?;
        offers::choose(&mut book, offer)?;
    }
    if json {
        return text::json(&all);
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|o| {
            vec![
                o.name.words().to_owned(),
                words::cents(o.cost),
                plain(o.short_lb, 3),
                plain(o.over_lb, 3),
                o.visits.to_string(),
                o.materials.to_string(),
                format!("{} %", plain(o.plan.gap * 100.0, 2)),
            ]
        })
        .collect();
    text::line(text::columns(
        &[
            "Plan",
            "cost",
            "lb short",
            "lb over",
            "visits",
            "materials",
            "within",
        ],
        &[false, true, true, true, true, true, true],
        &rows,
    ))?;
    text::line(
        "Short and over are lb of N, P2O5 and K2O on the whole farm; within is against the proven best.",
    )?;
    if let Some(name) = &args.choose {
        text::line(format!("The plan “{name}” is kept."))?;
    }
    Ok(())
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework limits farm.book")]
pub(crate) struct Limits {
    /// The book
    book: PathBuf,
}

pub(super) fn limits(args: &Limits, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let made = latest(&book)?;
    let found = limits::limits(&made, &Warm::default(), &Watch::default())?;
    if json {
        return text::json(&found);
    }
    if found.is_empty() {
        text::line("Nothing that could be eased would save anything worth telling.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = found
        .iter()
        .map(|h| {
            vec![
                h.eased.clone(),
                words::cents(h.saves),
                words::cents(h.saves_at_most),
            ]
        })
        .collect();
    text::line(text::columns(
        &["With", "would save", "no more than"],
        &[false, true, true],
        &rows,
    ))?;
    Ok(())
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework left-out farm.book")]
pub(crate) struct LeftOut {
    /// The book
    book: PathBuf,
}

pub(super) fn left_out(args: &LeftOut, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let made = latest(&book)?;
    let found = left_out::left_out(&made, &Warm::default(), &Watch::default())?;
    if json {
        return text::json(&found);
    }
    if found.is_empty() {
        text::line("Every material for sale is in the plan.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = found
        .iter()
        .map(|l| {
            vec![
                l.material.clone(),
                l.pack.clone(),
                words::cents(l.price),
                l.would_enter_at
                    .map_or_else(|| "not even as a gift".to_owned(), words::cents),
                l.cheaper_by()
                    .map_or_else(String::new, |by| format!("{} %", plain(by, 2))),
            ]
        })
        .collect();
    text::line(text::columns(
        &["Material", "Pack", "price now", "comes in at", "cheaper by"],
        &[false, false, true, true, true],
        &rows,
    ))?;
    Ok(())
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework years farm.book")]
pub(crate) struct Years {
    /// The book
    book: PathBuf,
}

pub(super) fn years(args: &Years, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let made = latest(&book)?;
    let all = years::look_ahead(&book, &made)?;
    if json {
        return text::json(&all);
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .flat_map(|b| b.courses.iter().map(move |c| (b, c)))
        .map(|(b, c)| {
            let mut row = vec![b.block.clone(), c.analyte.name().to_owned()];
            row.extend(
                (0..=years::YEARS)
                    .map(|i| c.at.get(i).map_or_else(String::new, |r| plain(r.value, 2))),
            );
            row.push(c.says.clone());
            row
        })
        .collect();
    text::line(text::columns(
        &[
            "Block", "", "now", "1 year", "2 years", "3 years", "heading",
        ],
        &[false, false, true, true, true, true, false],
        &rows,
    ))?;
    Ok(())
}

fn latest(book: &Book) -> anyhow::Result<Made> {
    planning::latest(book)?
        .context("There is no plan for this season yet: make one with `spadework plan`.")
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework compare farm.book\n  spadework compare farm.book --this 4 --against 1"
)]
pub(crate) struct Compare {
    /// The book
    book: PathBuf,
    /// Number of a plan; the newest where none is given
    #[arg(long)]
    this: Option<i64>,
    /// Number of the plan it is held against; the one before the newest where none is given
    #[arg(long)]
    against: Option<i64>,
}

pub(super) fn compare(args: &Compare, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let plans = book.plans_made(book.farm()?.season)?;
    let at = |wanted: Option<i64>, usual: usize| {
        wanted
            .or_else(|| plans.get(usual).map(|(id, _)| *id))
            .context("There are no two plans of this season to compare yet.")
    };
    let this = planning::numbered(&book, at(args.this, 0)?)?;
    let against = planning::numbered(&book, at(args.against, 1)?)?;
    let found = side_by_side::compare(&this, &against);
    if json {
        return text::json(&found);
    }
    let (a, b) = (
        format!("no. {}", this.stored.id),
        format!("no. {}", against.stored.id),
    );
    let facts: Vec<Vec<String>> = found
        .facts
        .iter()
        .map(|(what, new, old)| vec![what.clone(), new.clone(), old.clone()])
        .collect();
    text::line(text::columns(&["", &a, &b], &[false, true, true], &facts))?;
    text::line("")?;
    let rows: Vec<Vec<String>> = found
        .rows
        .iter()
        .map(|r| {
            vec![
                r.block.clone(),
                r.material.clone(),
                r.pass.clone(),
                words::lb(r.new_lb),
                words::lb(r.old_lb),
            ]
        })
        .collect();
    if rows.is_empty() {
        text::line("Every amount is the same.")?;
    } else {
        text::line(text::columns(
            &["Block", "material", "pass", &a, &b],
            &[false, false, false, true, true],
            &rows,
        ))?;
    }
    Ok(())
}
