use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, SampleBox};
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework boxes farm.book --fill \"Barn Field=17\" --fill \"Tunnel 1=18\"\n  spadework boxes farm.book --sent 2026-10-20"
)]
pub(crate) struct Boxes {
    /// The book
    book: PathBuf,
    /// A box that was filled: BLOCK=WHAT IS WRITTEN ON IT
    #[arg(long, value_name = "BLOCK=LABEL")]
    fill: Vec<String>,
    /// The day on which every box at home was sent
    #[arg(long, value_name = "DAY")]
    sent: Option<String>,
    /// Take out a box that has no results, by what is written on it
    #[arg(long, value_name = "LABEL")]
    drop: Vec<String>,
}

pub(super) fn run(args: Boxes, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let sent: Option<Date> = args
        .sent
        .as_deref()
        .map(|day| {
            day.parse()
                .ok()
                .with_context(|| format!("“{day}” is not a day such as 2026-10-20."))
        })
        .transpose()?;
    for label in &args.drop {
        let Some(b) = book
            .boxes()?
            .into_iter()
            .find(|b| b.report.is_none() && b.label.eq_ignore_ascii_case(label.trim()))
        else {
            bail!("No box without results has “{label}” written on it.");
        };
        book.remove_box(b.id)?;
    }
    for fill in &args.fill {
        let (name, label) = fill
            .rsplit_once('=')
            .with_context(|| format!("“{fill}” is not BLOCK=LABEL, as in Barn Field=17"))?;
        let block = book
            .block_by_name(name)?
            .with_context(|| format!("There is no block “{name}”."))?;
        book.set_box(&SampleBox::new(block.id, label))?;
    }
    if sent.is_some() {
        for b in book.boxes()?.into_iter().filter(|b| b.sent_on.is_none()) {
            book.set_box(&SampleBox { sent_on: sent, ..b })?;
        }
    }
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
        rows.push(vec![
            book.block(b.block)?.name,
            b.label.clone(),
            b.sent_on
                .map_or_else(|| "at home".to_owned(), |d| d.to_string()),
            match b.report {
                Some(id) => book.report(id)?.file_name,
                None if b.awaited() => "waiting".to_owned(),
                None => String::new(),
            },
        ]);
    }
    text::line(text::columns(
        &["Block", "on the box", "sent", "results"],
        &[false; 4],
        &rows,
    ))?;
    Ok(())
}
