use crate::text;
use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use farmbook::Book;
use farmwork::{block_sheet, job_sheet, order, planning};
use jiff::ZonedDateTime;
use sheets::Language;
use std::path::PathBuf;

#[derive(Clone, Copy, ValueEnum)]
enum What {
    /// What to buy
    Order,
    /// A sheet for each block
    Sheets,
    /// A page for each job, for the crew
    Jobs,
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework print farm.book order --out order.pdf\n  spadework print farm.book sheets --working --out jobs.pdf\n  spadework print farm.book jobs --language es --bucket 2 --out trabajos.pdf"
)]
pub(crate) struct Print {
    /// The book
    book: PathBuf,
    what: What,
    /// The PDF to write
    #[arg(long)]
    out: Option<PathBuf>,
    /// With the working as an appendix
    #[arg(long)]
    working: bool,
    /// One block only
    #[arg(long)]
    block: Option<String>,
    /// The language of the crew’s job sheets: en or es
    #[arg(long, default_value = "en")]
    language: String,
    /// The crew’s bucket, gallons; the one in the book where none is given
    #[arg(long, value_name = "GALLONS")]
    bucket: Option<f64>,
}

pub(super) fn run(args: Print, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let Some(made) = planning::latest(&book)? else {
        bail!(
            "There is no plan to print yet: run `spadework plan {}` first.",
            args.book.display()
        );
    };
    if !made.out_of_date.is_empty() {
        eprintln!(
            "The plan is out of date: {}. Make it again before you buy.",
            farmwork::words::and(&made.out_of_date)
        );
    }
    let (pdf, usual_name) = match args.what {
        What::Order => {
            let list = order::of_plan(&book, &made)?;
            if json && args.out.is_none() {
                return text::json(&list);
            }
            (sheets::order_list(&list)?, "order.pdf")
        }
        What::Sheets => {
            let mut all = block_sheet::of_plan(&book, &made)?;
            if let Some(name) = &args.block {
                all.retain(|s| s.block.eq_ignore_ascii_case(name));
                if all.is_empty() {
                    bail!("The plan has no sheet for “{name}”.");
                }
            }
            if json && args.out.is_none() {
                return text::json(&all);
            }
            (sheets::block_sheets(&all, args.working)?, "jobs.pdf")
        }
        What::Jobs => {
            let language = Language::from_key(&args.language).with_context(|| {
                format!(
                    "Found the language “{}”, expected en for English or es for Spanish.",
                    args.language
                )
            })?;
            let today = ZonedDateTime::now().date();
            let bucket = match args.bucket {
                Some(gallons) => gallons,
                None => job_sheet::own_bucket(&book)?,
            };
            let mut jobs = job_sheet::of_plan(&book, &made, today, bucket)?;
            if let Some(name) = &args.block {
                jobs.retain(|j| j.block.eq_ignore_ascii_case(name));
                if jobs.is_empty() {
                    bail!("The plan has no job on “{name}”.");
                }
            }
            if json && args.out.is_none() {
                return text::json(&jobs);
            }
            (sheets::job_sheets(&jobs, language)?, "job-sheets.pdf")
        }
    };
    let out = args.out.unwrap_or_else(|| PathBuf::from(usual_name));
    crate::write::whole(&out, &pdf.bytes)
        .with_context(|| format!("{} cannot be written", out.display()))?;
    if json {
        return text::json(&serde_json::json!({ "file": out, "pages": pdf.pages }));
    }
    text::line(format!("Wrote {}, {} pages.", out.display(), pdf.pages))?;
    Ok(())
}
