use crate::text;
use agronomy::soil::Bound;
use anyhow::Context;
use clap::Args;
use farmbook::Book;
use farmwork::history::{self, Course, History};
use farmwork::ledger::{self, Ledger};
use farmwork::words;
use quantity::plain;
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
        let taught = ledger::of_block(&book, block.id)?.taught;
        let pdf = sheets::history(&farm.name, &farm.season.to_string(), &history, &taught)?;
        crate::write::whole(out, &pdf.bytes)
            .with_context(|| format!("{} cannot be written", out.display()))?;
        if json {
            return text::json(&serde_json::json!({ "file": out, "pages": pdf.pages }));
        }
        text::line(format!("Wrote {}, {} pages.", out.display(), pdf.pages))?;
        return Ok(());
    }
    let ledger = ledger::of_block(&book, block.id)?;
    if json {
        return text::json(&serde_json::json!({ "history": history, "ledger": ledger }));
    }
    text::line(format!("{}\n{}", history.block.name, history.opening()))?;
    for course in &history.courses {
        show(course)?;
    }
    account(&ledger)?;
    happened(&history)
}

fn account(ledger: &Ledger) -> anyhow::Result<()> {
    for t in &ledger.taught {
        text::line(format!(
            "\n{}, as the soil taught: {}\n  {}",
            t.taught.analyte.name(),
            t.taught.says,
            t.standing.says()
        ))?;
    }
    text::line("\nIn and out, lb per acre: on, off, balance")?;
    for h in &ledger.headings {
        text::line(format!("  {}: {}", h.analyte.name(), h.says))?;
    }
    for s in &ledger.seasons {
        text::line(format!("  {}", s.season))?;
        for (item, a) in &s.items {
            let on = a.spread + a.credited;
            let shown = |v: Option<f64>| v.map_or_else(|| "not known".to_owned(), |v| plain(v, 3));
            if on.abs() > 0.05 || a.removed.is_some() {
                text::line(format!(
                    "    {:<15} {}, {}, {}",
                    item.name(),
                    plain(on, 3),
                    shown(a.removed),
                    shown(a.balance())
                ))?;
            }
        }
        for note in &s.notes {
            text::line(format!("    {note}"))?;
        }
    }
    Ok(())
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
            let about = match p.about() {
                about if about.is_empty() => about,
                about => format!("  ({about}, an estimate)"),
            };
            text::line(format!(
                "    {}  {sign}{}{likely}{about}",
                p.on,
                words::measured(course.analyte, p.value)
            ))?;
        }
        for said in run.said() {
            text::line(format!("    {}", said.says))?;
        }
    }
    for why in course.apart.iter().chain(&course.estimated) {
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
