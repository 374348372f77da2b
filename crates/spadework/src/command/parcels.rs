use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::{map_sheet, parcels};
use quantity::{Length, plain};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework split farm.book \"Creek Field\" --from north --feet 120 --into \"Creek North\" --into \"Creek South\"\n  spadework split farm.book \"Creek Field\" --line 39.9001,-73.5990 --line 39.9008,-73.5981 --into Left --into Right --year 2027"
)]
pub(crate) struct Split {
    /// The book
    book: PathBuf,
    /// The block to cut in two
    block: String,
    /// Cut along this edge of the block: north, southeast and so on
    #[arg(long, requires = "feet", conflicts_with = "line")]
    from: Option<String>,
    /// so far from the edge
    #[arg(long, requires = "from")]
    feet: Option<f64>,
    /// Or along a line through these places: LATITUDE,LONGITUDE (on a plain grid NORTH,EAST), twice or more
    #[arg(long, value_name = "LAT,LON", allow_hyphen_values = true)]
    line: Vec<String>,
    /// The names of the two parts: the one at the edge, or to the left of the line, first
    #[arg(long, value_name = "NAME", required = true)]
    into: Vec<String>,
    /// The first year of the parts; the season where not given
    #[arg(long)]
    year: Option<i64>,
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework merge farm.book \"Creek North\" \"Creek South\" --into \"Creek Field\" --year 2028"
)]
pub(crate) struct Merge {
    /// The book
    book: PathBuf,
    /// The blocks to lay together; the first gives soil, beds and planting
    #[arg(required = true)]
    blocks: Vec<String>,
    /// The name of the whole
    #[arg(long, value_name = "NAME")]
    into: String,
    /// Its first year; the season where not given
    #[arg(long)]
    year: Option<i64>,
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework map farm.book --out map.pdf")]
pub(crate) struct Map {
    /// The book
    book: PathBuf,
    /// The PDF to write
    #[arg(long, default_value = "map.pdf")]
    out: PathBuf,
}

fn block(book: &Book, name: &str) -> anyhow::Result<i64> {
    Ok(book
        .block_by_name(name)?
        .with_context(|| format!("There is no block “{}”.", name.trim()))?
        .id)
}

fn open(path: &PathBuf) -> anyhow::Result<Book> {
    let mut book = Book::open(path)?;
    book.as_person("command line");
    Ok(book)
}

pub(super) fn split(args: Split, json: bool) -> anyhow::Result<()> {
    let mut book = open(&args.book)?;
    let id = block(&book, &args.block)?;
    let [first, second] = args.into.as_slice() else {
        bail!(
            "Found {} names, expected two: --into NAME --into NAME.",
            args.into.len()
        );
    };
    let names = [first.as_str(), second.as_str()];
    let year = args.year.unwrap_or(book.farm()?.season);
    let made = match (&args.from, args.feet) {
        (Some(edge), Some(feet)) => {
            parcels::split_from(&mut book, id, (edge, Length::feet(feet)), names, year)?
        }
        _ => {
            let mut line = Vec::new();
            for place in &args.line {
                let at = place
                    .split_once(',')
                    .and_then(|(n, e)| Some([e.trim().parse().ok()?, n.trim().parse().ok()?]))
                    .with_context(|| format!("“{place}” is no place such as 39.9001,-73.5987."))?;
                line.push(at);
            }
            if line.len() < 2 {
                bail!("Say where to cut: --from EDGE --feet FEET, or --line twice.");
            }
            parcels::split(&mut book, id, &line, names, year)?
        }
    };
    tell(&book, &made, json)
}

pub(super) fn merge(args: Merge, json: bool) -> anyhow::Result<()> {
    let mut book = open(&args.book)?;
    let ids = args
        .blocks
        .iter()
        .map(|name| block(&book, name))
        .collect::<anyhow::Result<Vec<i64>>>()?;
    let year = args.year.unwrap_or(book.farm()?.season);
    let made = parcels::merge(&mut book, &ids, &args.into, year)?;
    tell(&book, &[made], json)
}

/// The new blocks with their area and the reports of the ground they came from.
fn tell(book: &Book, made: &[i64], json: bool) -> anyhow::Result<()> {
    let mut rows = Vec::new();
    for id in made {
        let block = book.block(*id)?;
        let before = parcels::before(book, *id)?;
        let reports: usize = before.iter().map(|b| b.tests.len()).sum();
        let from: Vec<String> = before.into_iter().map(|b| b.block.name).collect();
        rows.push((block, from, reports));
    }
    if json {
        let all: Vec<_> = rows
            .iter()
            .map(|(block, from, reports)| {
                serde_json::json!({
                    "block": block.name,
                    "ft2": block.shape.spread_area().to_square_feet(),
                    "came_from": from,
                    "earlier_tests": reports,
                })
            })
            .collect();
        return text::json(&all);
    }
    for (block, from, reports) in rows {
        text::line(format!(
            "{}: {} ft² to spread on, from {}; {reports} earlier tests are shown as of that ground.",
            block.name,
            plain(block.shape.spread_area().to_square_feet(), 5),
            farmwork::words::and(&from)
        ))?;
    }
    Ok(())
}

pub(super) fn map(args: Map, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let sheet = map_sheet::of_farm(&book)?;
    let pdf = sheets::farm_map(&sheet)?;
    crate::write::whole(&args.out, &pdf.bytes)
        .with_context(|| format!("{} cannot be written", args.out.display()))?;
    if json {
        return text::json(&serde_json::json!({
            "file": args.out, "scale": sheet.scale, "pages": pdf.pages,
        }));
    }
    text::line(format!(
        "Wrote {} at 1:{}; print it at 100 %.",
        args.out.display(),
        plain(f64::from(sheet.scale), 9)
    ))?;
    Ok(())
}
