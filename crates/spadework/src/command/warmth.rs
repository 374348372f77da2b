//! How warm the soil is by the farm’s own thermometer.

use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, SoilPlace};
use farmwork::soil_temperature::{self as soil, Degrees, shown};
use jiff::ZonedDateTime;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework soil-warmth farm.book\n  spadework soil-warmth farm.book --add \"2027-03-15 44\" --add \"week 20 58\"\n  spadework soil-warmth farm.book --file weeks.txt --celsius\n  spadework soil-warmth farm.book --place cover --clear\n\nA file holds a line for each day (2027-03-15) or week of the year (1 to 52) with its temperature, and takes the place of what there was."
)]
pub(crate) struct WarmthArgs {
    /// The book
    book: PathBuf,
    /// Where it was taken: open ground or tunnels
    #[arg(long, value_name = "open|cover", default_value = "open")]
    place: String,
    /// One more day or week and its temperature
    #[arg(long, value_name = "DAY|WEEK TEMPERATURE")]
    add: Vec<String>,
    /// A list in place of what there was
    #[arg(long, conflicts_with = "clear")]
    file: Option<PathBuf>,
    /// Forget all that there was
    #[arg(long)]
    clear: bool,
    /// Numbers without a unit are °C, not °F
    #[arg(long)]
    celsius: bool,
}

pub(super) fn run(args: WarmthArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let Some(place) = SoilPlace::from_key(&args.place) else {
        bail!("--place takes open or cover, not “{}”.", args.place);
    };
    let unit = if args.celsius {
        Degrees::Celsius
    } else {
        Degrees::Fahrenheit
    };
    let today = ZonedDateTime::now().date();
    let typed = |text: &str| soil::typed(text, unit, today).map_err(anyhow::Error::msg);
    let mut list = book.soil_temperatures(place)?;
    if args.clear {
        list.clear();
    }
    if let Some(path) = &args.file {
        let text = std::fs::read_to_string(path)
            .with_context(|| format!("{} cannot be read.", path.display()))?;
        list = typed(&text)?;
    }
    list.extend(typed(&args.add.join("\n"))?);
    book.set_soil_temperatures(place, &list)?;
    if json {
        let rows: Vec<_> = list
            .iter()
            .map(|(time, celsius)| {
                serde_json::json!({ "place": place, "at": time.key(), "celsius": celsius })
            })
            .collect();
        return text::json(&rows);
    }
    if list.is_empty() {
        text::line(format!(
            "Nothing is known of the soil’s warmth in {}: days of spreading do not go by it.",
            place.name()
        ))?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|(time, celsius)| vec![time.key(), shown(*celsius)])
        .collect();
    text::line(text::columns(
        &["Day or week", "soil"],
        &[false, true],
        &rows,
    ))?;
    Ok(())
}
