use super::calendar;
use crate::text;
use anyhow::Context;
use clap::Args;
use farmbook::{Block, Book, Learnable};
use farmwork::learned::{self, Decision, Own};
use farmwork::needs::{self, BlockNeeds};
use farmwork::{ledger, words};
use serde_json::json;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework taught farm.book\n  spadework taught farm.book \"North field\"\n  spadework taught farm.book \"North field\" --refuse lime\n  spadework taught farm.book \"North field\" --forget lime"
)]
pub(crate) struct TaughtArgs {
    /// The book
    book: PathBuf,
    /// One block, with every pair of tests; all blocks where not given
    block: Option<String>,
    /// Let needs go by the block’s own answer: lime, p2o5 or k2o
    #[arg(long, value_name = "ITEM", requires = "block")]
    take: Option<String>,
    /// Let needs go by the published figure
    #[arg(long, value_name = "ITEM", requires = "block", conflicts_with = "take")]
    refuse: Option<String>,
    /// Take a decision back, so that the strength of the tests decides again
    #[arg(long, value_name = "ITEM", requires = "block", conflicts_with_all = ["take", "refuse"])]
    forget: Option<String>,
    /// The day to take for today, as in 2027-03-01
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
}

pub(super) fn run(args: &TaughtArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    let Some(name) = &args.block else {
        return list(&book, json);
    };
    let block = book
        .block_by_name(name)?
        .with_context(|| format!("There is no block “{name}”."))?;
    for (item, decision) in [
        (&args.take, Decision::Take),
        (&args.refuse, Decision::Refuse),
        (&args.forget, Decision::Forget),
    ] {
        let Some(key) = item else { continue };
        let item = Learnable::from_key(key).with_context(|| {
            format!("“{key}” is nothing that is learned; say lime, p2o5 or k2o.")
        })?;
        let today = calendar::today_of(args.today.as_deref())?;
        learned::decide(&mut book, block.id, item, decision, today)?;
    }
    one(&book, &block, json)
}

fn list(book: &Book, json: bool) -> anyhow::Result<()> {
    let mut all = Vec::new();
    for block in book.blocks()? {
        let taught = ledger::of_block(book, block.id)?.taught;
        if !taught.is_empty() {
            all.push((block.name, taught));
        }
    }
    if json {
        let all: Vec<_> = all
            .iter()
            .map(|(block, taught)| json!({ "block": block, "taught": taught }))
            .collect();
        return text::json(&all);
    }
    if all.is_empty() {
        text::line(
            "No block has a history that teaches anything yet: it takes two tests of one lab and method before the newest, and something spread between them.",
        )?;
    }
    for (block, taught) in &all {
        for own in taught {
            said(block, own)?;
        }
    }
    Ok(())
}

fn said(block: &str, own: &Own) -> anyhow::Result<()> {
    text::line(format!(
        "{block}, {}: {}\n  {}",
        own.taught.item.name(),
        own.taught.says,
        own.standing.says()
    ))?;
    Ok(())
}

fn one(book: &Book, block: &Block, json: bool) -> anyhow::Result<()> {
    let taught = ledger::of_block(book, block.id)?.taught;
    let needs: Option<BlockNeeds> = if block.archived {
        None
    } else {
        Some(needs::one(book, block.id)?)
    };
    let lines: Vec<_> = needs
        .iter()
        .flat_map(|n| &n.lines)
        .filter_map(|l| l.own.as_ref())
        .collect();
    if json {
        return text::json(&json!({ "block": block.name, "taught": taught, "needs": lines }));
    }
    if taught.is_empty() {
        text::line(format!(
            "The tests of “{}” teach nothing yet: it takes two tests of one lab and method before the newest, and something spread between them.",
            block.name
        ))?;
    }
    for own in &taught {
        said(&block.name, own)?;
        for need in lines
            .iter()
            .filter(|n| n.own.taught.item == own.taught.item)
        {
            text::line(format!("  {}", need.says))?;
        }
        text::line("  By the published figures, by its own answer, found")?;
        for b in &own.taught.tests {
            let shown = |v: f64| words::measured(own.taught.analyte, v);
            text::line(format!(
                "    {}  {:>6}  {:>6}  {:>6}{}",
                b.on,
                shown(b.expected),
                shown(b.learned),
                shown(b.measured),
                b.left_out
                    .as_ref()
                    .map_or_else(String::new, |why| format!("  not counted: {why}"))
            ))?;
        }
        for figure in &own.taught.working {
            text::line(text::figure(figure))?;
        }
    }
    Ok(())
}
