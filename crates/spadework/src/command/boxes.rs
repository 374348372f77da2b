use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Block, Book, BoxState, SampleBox};
use farmwork::sampling::{self, Step};
use farmwork::words;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework boxes farm.book --fill \"Barn Field=17\" --fill \"Tunnel 1=18\"\n  spadework boxes farm.book --took \"2601=1,2,3\" --filled 2601\n  spadework boxes farm.book --sent 2026-10-20\n  spadework boxes farm.book --form"
)]
pub(crate) struct Boxes {
    /// The book
    book: PathBuf,
    /// A box that was filled without a plan: BLOCK=WHAT IS WRITTEN ON IT
    #[arg(long, value_name = "BLOCK=LABEL")]
    fill: Vec<String>,
    /// Cores that were taken for a box; with several blocks in it LABEL/BLOCK=1,2,3
    #[arg(long, value_name = "LABEL[/BLOCK]=CORES")]
    took: Vec<String>,
    /// A box of the plan that is filled now, by what is written on it
    #[arg(long, value_name = "LABEL")]
    filled: Vec<String>,
    /// The day on which every filled box was sent
    #[arg(long, value_name = "DAY")]
    sent: Option<String>,
    /// The day on which the lab received every box that was sent
    #[arg(long, value_name = "DAY")]
    received: Option<String>,
    /// Take a box one step back
    #[arg(long, value_name = "LABEL")]
    back: Vec<String>,
    /// Take out a box that has no results, by what is written on it
    #[arg(long, value_name = "LABEL")]
    drop: Vec<String>,
    /// What to write on the lab’s form for the boxes at home, and how the soil is handled
    #[arg(long)]
    form: bool,
}

/// A day as a person writes it for a program.
pub(super) fn a_day(day: &str) -> anyhow::Result<Date> {
    day.trim()
        .parse()
        .ok()
        .with_context(|| format!("“{day}” is not a day such as 2026-10-20."))
}

/// The block in use that goes by a name.
pub(super) fn block_of(book: &Book, name: &str) -> anyhow::Result<Block> {
    book.block_by_name(name.trim())?
        .with_context(|| format!("There is no block “{}”.", name.trim()))
}

/// The box without results that has this written on it.
fn open_box(book: &Book, label: &str) -> anyhow::Result<SampleBox> {
    book.boxes()?
        .into_iter()
        .find(|b| b.report.is_none() && b.label.eq_ignore_ascii_case(label.trim()))
        .with_context(|| format!("No box without results has “{label}” written on it."))
}

pub(super) fn run(args: Boxes, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let sent = args.sent.as_deref().map(a_day).transpose()?;
    let received = args.received.as_deref().map(a_day).transpose()?;
    let today = ZonedDateTime::now().date();
    for label in &args.drop {
        let id = open_box(&book, label)?.id;
        book.remove_box(id)?;
    }
    for label in &args.back {
        let id = open_box(&book, label)?.id;
        sampling::back(&mut book, id)?;
    }
    for fill in &args.fill {
        let (name, label) = fill
            .rsplit_once('=')
            .with_context(|| format!("“{fill}” is not BLOCK=LABEL, as in Barn Field=17"))?;
        let block = block_of(&book, name)?;
        book.set_box(&SampleBox {
            filled_on: Some(sent.map_or(today, |d| d.min(today))),
            ..SampleBox::new(block.id, label)
        })?;
    }
    for took in &args.took {
        take(&mut book, took)?;
    }
    for label in &args.filled {
        let id = open_box(&book, label)?.id;
        sampling::step(
            &mut book,
            id,
            Step::Fill,
            sent.map_or(today, |d| d.min(today)),
        )?;
    }
    for (day, state, step) in [
        (sent, BoxState::Filled, Step::Send),
        (received, BoxState::Sent, Step::Receive),
    ] {
        let Some(day) = day else { continue };
        for b in book.boxes()?.into_iter().filter(|b| b.state() == state) {
            sampling::step(&mut book, b.id, step, day)?;
        }
    }
    if args.form {
        return form(&book, json);
    }
    list(&book, json)
}

fn take(book: &mut Book, given: &str) -> anyhow::Result<()> {
    let usage = || format!("“{given}” is not LABEL=CORES, as in 2601=1,2,3");
    let (whose, cores) = given.rsplit_once('=').with_context(usage)?;
    let cores: Vec<u32> = cores
        .split(',')
        .map(|n| n.trim().parse().ok())
        .collect::<Option<_>>()
        .with_context(usage)?;
    let (b, block) = match whose.split_once('/') {
        Some((label, name)) => (open_box(book, label)?, block_of(book, name)?.id),
        None => {
            let b = open_box(book, whose)?;
            if b.parts.len() > 1 {
                bail!(
                    "Box “{}” is of several blocks; name one, as in {}/BLOCK=1,2,3",
                    b.label,
                    b.label
                );
            }
            let block = b.block;
            (b, block)
        }
    };
    for core in cores {
        sampling::mark_core(book, b.id, block, core, true)?;
    }
    Ok(())
}

fn list(book: &Book, json: bool) -> anyhow::Result<()> {
    let all = book.boxes()?;
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("No box is written down yet.")?;
        return Ok(());
    }
    let mut rows = Vec::new();
    for b in all.iter().rev() {
        let names = b
            .blocks()
            .into_iter()
            .map(|id| Ok(book.block(id)?.name))
            .collect::<anyhow::Result<Vec<_>>>()?;
        let (taken, of) = b.cores();
        rows.push(vec![
            b.label.clone(),
            words::and(&names),
            b.state().name().to_owned(),
            b.received_on
                .or(b.sent_on)
                .or(b.filled_on)
                .map_or_else(String::new, |d| d.to_string()),
            if of > 0 {
                format!("{taken} of {of}")
            } else {
                String::new()
            },
            match b.report {
                Some(id) => book.report(id)?.file_name,
                None => String::new(),
            },
        ]);
    }
    text::line(text::columns(
        &["On the box", "block", "", "since", "cores", "results"],
        &[false, false, false, false, true, false],
        &rows,
    ))?;
    Ok(())
}

fn form(book: &Book, json: bool) -> anyhow::Result<()> {
    let mut boxes = book.boxes()?;
    boxes.retain(|b| b.state() <= BoxState::Filled);
    boxes.reverse();
    let lines = sampling::form(book, &boxes)?;
    if json {
        return text::json(&lines);
    }
    if lines.is_empty() {
        text::line("No box is at home.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|l| {
            let tests: Vec<&str> = l.tests.iter().map(|t| t.name()).collect();
            vec![
                l.sample.clone(),
                words::and(&l.blocks),
                l.crop.clone(),
                l.ground.clone(),
                l.depth.clone(),
                tests.join(", "),
            ]
        })
        .collect();
    text::line(text::columns(
        &[
            "Sample",
            "field",
            "crop to be grown",
            "ground",
            "depth",
            "tests",
        ],
        &[false; 6],
        &rows,
    ))?;
    for advice in sampling::handling(&boxes) {
        text::line(format!(
            "- {} ({}, {})",
            advice.text,
            advice.source.text,
            advice.source.evidence.word()
        ))?;
    }
    Ok(())
}
