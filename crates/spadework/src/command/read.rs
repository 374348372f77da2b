use crate::text;
use agronomy::soil::Analyte;
use anyhow::bail;
use clap::Args;
use farmbook::Book;
use farmwork::letter;
use farmwork::needs::{self, BlockNeeds};
use planner::Nutrient;
use quantity::plain;
use serde_json::json;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework read farm.book\n  spadework read farm.book \"Tunnel 1\""
)]
pub(crate) struct Read {
    /// The book
    book: PathBuf,
    /// One block, with its working; all blocks where not given
    block: Option<String>,
}

pub(super) fn run(args: Read, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let all = needs::all(&book)?;
    match args.block {
        None if json => text::json(&all),
        None => list(&all),
        Some(name) => {
            let Some(block) = book.block_by_name(&name)? else {
                bail!("There is no block “{name}” in {}.", args.book.display());
            };
            let Some(one) = all.iter().find(|n| n.reading.block.id == block.id) else {
                bail!("“{name}” is put away.");
            };
            if json {
                text::json(&json!({ "needs": one, "letter": letter::of(one) }))
            } else {
                show(one)
            }
        }
    }
}

fn list(all: &[BlockNeeds]) -> anyhow::Result<()> {
    if all.is_empty() {
        text::line("No blocks yet: add them in the browser, or make the book with --ground.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|n| {
            let value = |a: Analyte| {
                n.reading.line(a).map_or_else(
                    || "–".to_owned(),
                    |l| {
                        let class = l
                            .reading
                            .as_ref()
                            .map_or_else(String::new, |r| format!(" {}", r.category));
                        format!("{}{class}", farmwork::words::measured(a, l.measured.value))
                    },
                )
            };
            let need = |nutrient: Nutrient| match n.line(nutrient) {
                None => "·".to_owned(),
                Some(l) => l
                    .asked
                    .map_or_else(|| "no rate".to_owned(), |_| plain(l.need, 3)),
            };
            vec![
                n.reading.block.name.clone(),
                n.reading
                    .crop
                    .as_ref()
                    .map_or_else(|| "–".to_owned(), |c| c.name.clone()),
                value(Analyte::Ph),
                value(Analyte::P),
                value(Analyte::K),
                need(Nutrient::Lime),
                need(Nutrient::Sulfur),
                need(Nutrient::N),
                need(Nutrient::P2o5),
                need(Nutrient::K2o),
            ]
        })
        .collect();
    text::line(text::columns(
        &[
            "Block",
            "Next crop",
            "pH",
            "P ppm",
            "K ppm",
            "Lime",
            "Sulfur",
            "N",
            "P2O5",
            "K2O",
        ],
        &[
            false, false, false, false, false, true, true, true, true, true,
        ],
        &rows,
    ))?;
    text::line(
        "Lime (fully effective) to K2O in lb/acre, after credits; the first dose of a split rate.",
    )?;
    for n in all {
        for note in &n.notes {
            text::line(format!("{}: {note}", n.reading.block.name))?;
        }
    }
    Ok(())
}

fn show(n: &BlockNeeds) -> anyhow::Result<()> {
    text::line(format!(
        "{}, {}",
        n.reading.block.name,
        farmwork::words::area(n.reading.block.shape.spread_area())
    ))?;
    let letter = letter::of(n);
    text::line(&letter.opening)?;
    for point in &letter.points {
        text::line(format!("\n{}\n  {}", point.heading, point.found))?;
        if let Some(sure) = &point.sure {
            text::line(format!("  {sure}"))?;
        }
        for said in &point.means {
            text::line(format!("  {} [{}]", said.text, said.source.text))?;
        }
        text::line(format!("  {}", point.advice))?;
        if let Some(taught) = &point.taught {
            text::line(format!("  {taught}"))?;
        }
        if let Some(confirm) = &point.confirm {
            text::line(format!("  {confirm}"))?;
        }
    }
    if let Some(fine) = &letter.in_order {
        text::line(format!("\n{fine}"))?;
    }
    for shown in &letter.shown {
        text::line(format!("\n{}\n  {}", shown.heading, shown.found))?;
        for said in &shown.means {
            text::line(format!("  {} [{}]", said.text, said.source.text))?;
        }
    }
    text::line("\nThe numbers")?;
    for line in &n.reading.lines {
        match &line.reading {
            Some(reading) => text::line(text::figure(&reading.figure))?,
            None => text::line(format!(
                "{}: {} {} ({})",
                line.measured.analyte.name(),
                plain(line.measured.value, 3),
                line.measured.analyte.unit(),
                line.why
            ))?,
        }
    }
    for line in &n.lines {
        text::line(format!("\n{} ({})", line.nutrient.name(), line.basis))?;
        let behind = line.own.iter().flat_map(|o| &o.own.taught.working);
        for figure in line.working.iter().chain(behind) {
            text::line(text::figure(figure))?;
        }
    }
    for note in &n.notes {
        text::line(format!("\n{note}"))?;
    }
    Ok(())
}
