use crate::text;
use agronomy::reading::Fault;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::own_tables::{self, OwnFiles};
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Args)]
#[command(after_help = "Example:\n  spadework tables check my_state")]
pub(super) struct Check {
    /// A folder with system.csv and bands.csv; its name is the table’s id
    folder: PathBuf,
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework tables add farm.book my_state")]
pub(super) struct Add {
    /// The book
    book: PathBuf,
    /// A folder with system.csv and bands.csv; its name is the table’s id
    folder: PathBuf,
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework tables remove farm.book MY_STATE")]
pub(super) struct Remove {
    /// The book
    book: PathBuf,
    /// The table’s id
    table: String,
}

fn files(folder: &Path) -> anyhow::Result<OwnFiles> {
    let name = folder
        .canonicalize()
        .with_context(|| format!("{} is not there", folder.display()))?
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .with_context(|| format!("{} has no name of its own", folder.display()))?;
    let read = |file: &str| {
        let path = folder.join(file);
        std::fs::read_to_string(&path)
            .with_context(|| format!("{} cannot be read as text", path.display()))
    };
    Ok(OwnFiles {
        folder: name,
        system: read("system.csv")?,
        bands: read("bands.csv")?,
    })
}

fn list(faults: &[Fault]) -> anyhow::Result<()> {
    for fault in faults {
        let word = if fault.stops {
            "stops it"
        } else {
            "worth a look"
        };
        text::line(format!("{fault} ({word})"))?;
    }
    Ok(())
}

pub(super) fn check(args: &Check, as_json: bool) -> anyhow::Result<()> {
    let files = files(&args.folder)?;
    let faults = own_tables::check(&files);
    if as_json {
        text::json(&faults)?;
    } else {
        list(&faults)?;
    }
    match faults.iter().filter(|f| f.stops).count() {
        0 if as_json => Ok(()),
        0 => Ok(text::line(format!("{} can be used.", files.folder))?),
        1 => bail!("One fault keeps {} from being used.", files.folder),
        n => bail!("{n} faults keep {} from being used.", files.folder),
    }
}

pub(super) fn add(args: &Add, as_json: bool) -> anyhow::Result<()> {
    let files = files(&args.folder)?;
    let mut book = Book::open(&args.book)?;
    let faults = own_tables::add(&mut book, &files)?;
    if as_json {
        return text::json(&json!({ "added": files.folder, "worth_a_look": faults }));
    }
    list(&faults)?;
    Ok(text::line(format!(
        "{} is in {} and is read before the tables that come along.",
        files.folder,
        args.book.display()
    ))?)
}

pub(super) fn remove(args: &Remove, as_json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.remove_own_table(&args.table)?;
    if as_json {
        return text::json(&json!({ "removed": args.table }));
    }
    Ok(text::line(format!(
        "{} is out of {}; undo brings it back.",
        args.table,
        args.book.display()
    ))?)
}
