//! A farm that was drawn on a plain grid is given its place on the earth.

use crate::text;
use anyhow::bail;
use clap::Args;
use farmbook::Book;
use farmwork::placing::{self, Axis, Placing};
use quantity::Length;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework place farm.book --latitude 44.1234 --longitude=-72.5678\n  spadework place farm.book --latitude \"44 07 24.2 N\" --longitude \"72 34 04.1 W\" --east 120 --north=-40 --turned 15"
)]
pub(crate) struct PlaceArgs {
    /// The book
    book: PathBuf,
    /// Latitude of one point, decimal or in degrees, minutes and seconds
    #[arg(long, allow_hyphen_values = true)]
    latitude: String,
    /// Its longitude
    #[arg(long, allow_hyphen_values = true)]
    longitude: String,
    /// Where the point is on the sheet, feet east of its middle
    #[arg(long, default_value_t = 0.0, allow_hyphen_values = true)]
    east: f64,
    /// and feet north of it
    #[arg(long, default_value_t = 0.0, allow_hyphen_values = true)]
    north: f64,
    /// To where the sheet’s north points, degrees clockwise from true north
    #[arg(long, default_value_t = 0.0, allow_hyphen_values = true)]
    turned: f64,
    /// What is doubted is right
    #[arg(long)]
    sure: bool,
}

pub(super) fn run(args: PlaceArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let read = |text: &str, axis| placing::degrees(text, axis).map_err(anyhow::Error::msg);
    let asked = Placing {
        at: [
            read(&args.longitude, Axis::Longitude)?,
            read(&args.latitude, Axis::Latitude)?,
        ],
        sheet: [args.east, args.north].map(|feet| Length::feet(feet).si()),
        turned: args.turned,
    };
    if let Some(doubt) = placing::doubt(&asked).filter(|_| !args.sure) {
        bail!("{doubt} (--sure)");
    }
    let said = placing::place(&mut book, &asked)?;
    if json {
        return text::json(&serde_json::json!({ "said": said, "longitude_latitude": asked.at }));
    }
    text::line(said)?;
    Ok(())
}
