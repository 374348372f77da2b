use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::results::{self, FileForm};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework results farm.book --out results.csv\n  spadework results farm.book --report 1 --out results.xml"
)]
pub(crate) struct Results {
    /// The book
    book: PathBuf,
    /// Only this report, by its number
    #[arg(long)]
    report: Option<i64>,
    /// The file to write: .csv, .xlsx, or .xml and .json for the lab-data exchange standard
    #[arg(short, long)]
    out: PathBuf,
}

pub(super) fn run(args: Results, json: bool) -> anyhow::Result<()> {
    let end = args
        .out
        .extension()
        .map_or_else(String::new, |e| e.to_string_lossy().into_owned());
    let Some(form) = FileForm::from_key(&end) else {
        bail!(
            "“{}” says no form: end the name in .csv, .xlsx, .xml or .json.",
            args.out.display()
        );
    };
    let book = Book::open(&args.book)?;
    let tests = results::written(&book, args.report)?.len();
    let bytes = results::bytes(&book, args.report, form)?;
    crate::write::whole(&args.out, &bytes)
        .with_context(|| format!("{} cannot be written", args.out.display()))?;
    if json {
        return text::json(&serde_json::json!({ "file": args.out, "samples": tests }));
    }
    Ok(text::line(format!(
        "{tests} samples in {}.",
        args.out.display()
    ))?)
}
