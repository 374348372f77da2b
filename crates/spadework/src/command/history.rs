use crate::text;
use agronomy::soil::Bound;
use anyhow::Context;
use clap::Args;
use farmbook::Book;
use farmwork::history::{self, Course, History};
use farmwork::words;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework history farm.book \"North field\"\n  spadework history farm.book \"North field\" --out years.pdf"
)]
pub(crate) struct HistoryArgs {
    /// The book
    book: PathBuf,
    /// The block
    block: String,
    /// Write it as a PDF, with its pictures
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(super) fn run(args: HistoryArgs, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let block = book
        .block_by_name(&args.block)?
        .with_context(|| format!("There is no block “{}”.", args.block))?;
    let history = history::of_block(&book, block.id)?;
    if let Some(out) = &args.out {
        let farm = book.farm()?;
        let pdf = sheets::history(&farm.name, &farm.season.to_string(), &history)?;
        crate::write::whole(out, &pdf.bytes)
            .with_context(|| format!("{} cannot be written", out.display()))?;
        if json {
            return text::json(&serde_json::json!({ "file": out, "pages": pdf.pages }));
        }
        text::line(format!("Wrote {}, {} pages.", out.display(), pdf.pages))?;
        return Ok(());
    }
    if json {
        return text::json(&history);
    }
    text::line(format!("{}\n{}", history.block.name, history.opening()))?;
    for course in &history.courses {
        show(course)?;
    }
    happened(&history)
}

fn show(course: &Course) -> anyhow::Result<()> {
    text::line(format!("\n{} {}", course.analyte.name(), course.unit).trim_end())?;
    for run in &course.runs {
        text::line(format!("  {}", words::capital(&run.name())))?;
        for p in &run.points {
            let sign = match p.bound {
                Bound::Exact => "",
                Bound::Below => "< ",
                Bound::Above => "> ",
            };
            let likely = p.likely.map_or_else(String::new, |(l, h)| {
                format!(
                    "  (likely {} to {})",
                    words::measured(course.analyte, l),
                    words::measured(course.analyte, h)
                )
            });
            text::line(format!(
                "    {}  {sign}{}{likely}",
                p.on,
                words::measured(course.analyte, p.value)
            ))?;
        }
        for said in run.said() {
            text::line(format!("    {}", said.says))?;
        }
    }
    for why in &course.apart {
        text::line(format!("  {why}"))?;
    }
    for c in &course.cautions {
        text::line(format!("  {} ({})", c.text, c.source.text))?;
    }
    Ok(())
}

fn happened(history: &History) -> anyhow::Result<()> {
    text::line("\nWhat happened")?;
    for e in &history.events {
        let more = if e.more.is_empty() {
            String::new()
        } else {
            format!(" ({})", e.more)
        };
        text::line(format!(
            "  {:<10}  {:<9}  {}{more}",
            e.when(),
            e.kind.name(),
            e.what
        ))?;
    }
    Ok(())
}
