use crate::text;
use anyhow::{Context, ensure};
use clap::Args;
use farmbook::{Book, Farm};
use jiff::ZonedDateTime;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework new farm.book --name \"Pipit Lane\" --organic --region \"New Jersey\" --ground demo/ground.csv"
)]
pub(crate) struct New {
    /// The file to make
    file: PathBuf,
    /// The farm’s name
    #[arg(long)]
    name: String,
    /// The year being planned; next year from July on where not given
    #[arg(long)]
    season: Option<i64>,
    /// Certified organic, or farmed by the same rules
    #[arg(long)]
    organic: bool,
    /// Whose soil-test tables come first; `spadework tables readings` lists the regions
    #[arg(long, default_value = "")]
    region: String,
    /// Three letters
    #[arg(long, default_value = "USD")]
    currency: String,
    /// A CSV file of blocks, as demo/ground.csv
    #[arg(long)]
    ground: Option<PathBuf>,
}

/// Off-season work from July on is for the year that comes.
pub(super) fn season_now() -> i64 {
    let today = ZonedDateTime::now();
    i64::from(today.year()) + i64::from(today.month() >= 7)
}

pub(super) fn run(args: New, json: bool) -> anyhow::Result<()> {
    let ground = match &args.ground {
        None => None,
        Some(path) => Some((
            path.file_name()
                .map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
            std::fs::read(path).with_context(|| format!("{} cannot be read", path.display()))?,
        )),
    };
    ensure!(
        !args.file.exists(),
        "{} is there already; choose another name, nothing was changed.",
        args.file.display()
    );
    let regions = farmwork::readings::regions();
    ensure!(
        args.region.is_empty() || regions.contains(&args.region.as_str()),
        "No table is held for the region “{}”; leave it out or use one of: {}.",
        args.region,
        regions.join("; ")
    );
    let mut farm = Farm::new(args.name, args.season.unwrap_or_else(season_now));
    farm.organic = args.organic;
    farm.region = args.region;
    farm.currency = args.currency.to_uppercase();
    let mut book = Book::create(&args.file, &farm)?;
    book.as_person("command line");
    let blocks = match ground {
        None => 0,
        Some((name, bytes)) => match farmwork::ground_file::add(&mut book, &name, &bytes) {
            Ok(count) => count,
            Err(e) => {
                // A book without the ground it was asked for would only be in the way.
                drop(book);
                let _ = std::fs::remove_file(&args.file);
                return Err(e.into());
            }
        },
    };
    if json {
        return text::json(&serde_json::json!({
            "book": args.file, "farm": farm.name, "season": farm.season, "blocks": blocks,
        }));
    }
    text::line(format!(
        "Made {} for {}, season {}, with {blocks} blocks.",
        args.file.display(),
        farm.name,
        farm.season
    ))?;
    text::line(format!(
        "Next: spadework import {0} LAB-FILE, or spadework serve {0}",
        args.file.display()
    ))?;
    Ok(())
}
