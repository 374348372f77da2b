//! The record for an inspector.

use crate::text;
use anyhow::Context;
use clap::Args;
use farmbook::Book;
use farmwork::record::{entry, inspection};
use jiff::ZonedDateTime;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework record farm.book\n  spadework record farm.book --from 2027-01-01 --to 2027-12-31 --pdf record.pdf --xlsx record.xlsx --csv record-csv"
)]
pub(crate) struct RecordArgs {
    /// The book
    book: PathBuf,
    /// The first day; five calendar years back where none is given
    #[arg(long)]
    from: Option<String>,
    /// The last day; the end of this year where none is given
    #[arg(long)]
    to: Option<String>,
    /// Write a PDF
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Write a workbook
    #[arg(long, value_name = "FILE")]
    xlsx: Option<PathBuf>,
    /// Write a CSV file for each table into a folder
    #[arg(long, value_name = "FOLDER")]
    csv: Option<PathBuf>,
}

pub(super) fn run(args: RecordArgs, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let (mut first, mut last) = inspection::five_years(ZonedDateTime::now().date());
    if let Some(day) = &args.from {
        first = entry::day(day)?;
    }
    if let Some(day) = &args.to {
        last = entry::day(day)?;
    }
    let all = inspection::of(&book, first, last)?;
    let write = |path: &PathBuf, bytes: &[u8]| {
        crate::write::whole(path, bytes)
            .with_context(|| format!("{} cannot be written", path.display()))
    };
    if let Some(path) = &args.pdf {
        write(path, &sheets::record(&all)?.bytes)?;
    }
    if let Some(path) = &args.xlsx {
        write(path, &inspection::xlsx(&all)?)?;
    }
    let parts = all.parts();
    if let Some(folder) = &args.csv {
        std::fs::create_dir_all(folder)
            .with_context(|| format!("{} cannot be made", folder.display()))?;
        for part in &parts {
            let path = folder.join(format!("{}.csv", part.key));
            write(&path, &inspection::csv(part)?)?;
        }
    }
    if json {
        return text::json(&serde_json::json!({
            "first": all.first, "last": all.last, "doubts": all.doubts,
            "balance": all.balance, "parts": parts,
        }));
    }
    for part in &parts {
        text::line(format!("{}, {} to {}", part.title, all.first, all.last))?;
        if part.rows.is_empty() {
            text::line("  nothing\n")?;
            continue;
        }
        let right: Vec<bool> = part.rows[0]
            .iter()
            .map(inspection::Cell::is_number)
            .collect();
        let rows: Vec<Vec<String>> = part
            .rows
            .iter()
            .map(|r| r.iter().map(inspection::Cell::shown).collect())
            .collect();
        text::line(format!("{}\n", text::columns(&part.head, &right, &rows)))?;
    }
    if all.doubts.is_empty() {
        text::line("Everything adds up.")?;
    } else {
        text::line("To look at:")?;
        for d in &all.doubts {
            text::line(format!("  {d}"))?;
        }
    }
    Ok(())
}
