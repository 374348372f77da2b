//! What the season’s spreading cost.

use crate::text;
use clap::{Args, ValueEnum};
use farmbook::Book;
use farmwork::record::costs;
use farmwork::words;
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
    /// What stands first
    #[arg(long, value_enum, default_value_t = Sort::Money)]
    sort: Sort,
}

#[derive(Clone, Copy, ValueEnum)]
enum Sort {
    /// The dearest
    Money,
    /// The dearest by the acre
    Acre,
    /// By name
    Name,
}

impl Sort {
    fn key(self) -> &'static str {
        match self {
            Self::Money => "money",
            Self::Acre => "acre",
            Self::Name => "name",
        }
    }
}

pub(super) fn run(args: CostsArgs, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let season = match args.season {
        Some(season) => season,
        None => book.farm()?.season,
    };
    let mut all = costs::of(&book, season)?;
    costs::sort(&mut all, args.sort.key());
    if json {
        return text::json(&all);
    }
    text::line(format!(
        "{season}: {} for what was spread.",
        words::money(all.money, &all.currency)
    ))?;
    if all.deliveries > 0 {
        text::line(format!(
            "{} for {} by the suppliers’ charges.",
            words::money(all.delivery, &all.currency),
            if all.deliveries == 1 {
                "one delivery".to_owned()
            } else {
                format!("{} deliveries", all.deliveries)
            }
        ))?;
    }
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
    let seasons = costs::seasons(&book)?;
    if seasons.len() > 1 {
        let rows: Vec<Vec<String>> = seasons
            .iter()
            .map(|s| {
                vec![
                    s.season.to_string(),
                    words::cents(s.money),
                    words::cents(s.delivery),
                ]
            })
            .collect();
        text::line(text::columns(
            &["Season", "spread", "delivery"],
            &[false, true, true],
            &rows,
        ))?;
    }
    if !all.unpriced.is_empty() {
        text::line(format!("Without a price: {}.", words::and(&all.unpriced)))?;
    }
    text::line("Labour and machines are not in it.")?;
    Ok(())
}
