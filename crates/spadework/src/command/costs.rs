//! What the season’s spreading cost, and the crew’s bucket.

use crate::text;
use clap::Args;
use farmbook::{Book, Bucket};
use farmwork::record::{costs, entry};
use farmwork::words;
use jiff::ZonedDateTime;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework costs farm.book\n  spadework costs farm.book --season 2026"
)]
pub(crate) struct CostsArgs {
    /// The book
    book: PathBuf,
    /// The crop year; the farm’s where none is given
    #[arg(long)]
    season: Option<i64>,
}

pub(super) fn run(args: CostsArgs, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let season = match args.season {
        Some(season) => season,
        None => book.farm()?.season,
    };
    let all = costs::of(&book, season)?;
    if json {
        return text::json(&all);
    }
    text::line(format!(
        "{season}: {} for what was spread.",
        words::money(all.money, &all.currency)
    ))?;
    let rows: Vec<Vec<String>> = all
        .blocks
        .iter()
        .chain(&all.crops)
        .map(|s| {
            vec![
                s.name.clone(),
                words::cents(s.money),
                s.per_acre.map_or_else(String::new, words::cents),
            ]
        })
        .collect();
    if !rows.is_empty() {
        text::line(text::columns(
            &["Block, crop", &all.currency, "an acre"],
            &[false, true, true],
            &rows,
        ))?;
    }
    for n in &all.nutrients {
        let cheapest = n
            .cheapest
            .as_ref()
            .map_or_else(String::new, |(name, each)| {
                format!(
                    "; cheapest in {}, {} a lb",
                    name.to_lowercase(),
                    words::cents(*each)
                )
            });
        text::line(format!(
            "{}: {} counted{cheapest}",
            n.nutrient,
            words::lb(n.lb)
        ))?;
    }
    if !all.unpriced.is_empty() {
        text::line(format!("Without a price: {}.", words::and(&all.unpriced)))?;
    }
    Ok(())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework bucket farm.book --gallons 3\n  spadework bucket farm.book --material feather_meal --gallons 5 --full \"22.5 lb\""
)]
pub(crate) struct BucketArgs {
    /// The book
    book: PathBuf,
    /// How much it holds; the job sheets count in it
    #[arg(long)]
    gallons: Option<f64>,
    /// Key or name of a material that was weighed in it
    #[arg(long)]
    material: Option<String>,
    /// What a full one weighed, without the bucket
    #[arg(long)]
    full: Option<String>,
}

pub(super) fn bucket(args: BucketArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if let Some(gallons) = args.gallons {
        let weight = args.full.as_deref().map(entry::weight).transpose()?;
        let material = match &args.material {
            Some(name) => entry::material_key(name)?,
            None => String::new(),
        };
        if weight.is_some() == material.is_empty() {
            anyhow::bail!(
                "Say both which material was weighed and what a full bucket of it weighed, or neither."
            );
        }
        book.set_bucket(&Bucket {
            material,
            gallons,
            measured_on: weight.map(|_| ZonedDateTime::now().date()),
            weight,
        })?;
    }
    let all = book.buckets()?;
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("No bucket is written down: job sheets count in one of 5 gallons.")?;
    }
    for b in &all {
        let what = agronomy::material::find(&b.material)
            .map_or_else(|| "The crew’s bucket".to_owned(), |m| m.name.clone());
        let weight = b
            .weight
            .map_or_else(String::new, |w| format!(", full {}", words::weighed(w)));
        text::line(format!(
            "{what}: {} gallons{weight}",
            quantity::plain(b.gallons, 3)
        ))?;
    }
    Ok(())
}
