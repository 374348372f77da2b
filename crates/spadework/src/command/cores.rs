use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::core_walk::{self, Ask};
use ground::{Coordinates, Corner, LeaveOut, Start};
use quantity::{Length, plain};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework cores farm.book \"Barn Field\" --gpx barn.gpx\n  spadework cores farm.book \"Creek Field\" --cores 20 --margin 15 --leave-out 39.90010,-73.59871,25 --csv creek.csv\n\nCores are spread evenly by chance; the same seed gives the same places. Keep off odd spots you meet on the way: old piles, wet holes, spills."
)]
pub(crate) struct Cores {
    /// The book
    book: PathBuf,
    /// The block
    block: String,
    /// Cores mixed into the sample; as the block has it, or 15
    #[arg(long)]
    cores: Option<u32>,
    /// Feet kept from the edges, or from the ends of beds
    #[arg(long, value_name = "FEET", allow_hyphen_values = true)]
    margin: Option<f64>,
    /// Gives other places; the season where not given
    #[arg(long)]
    seed: Option<u64>,
    /// Where the walk begins: southwest, northwest, northeast, southeast, or LATITUDE,LONGITUDE
    #[arg(long, default_value = "southwest", allow_hyphen_values = true)]
    start: String,
    /// Come back to the start
    #[arg(long)]
    back: bool,
    /// A spot without cores, with its radius: LATITUDE,LONGITUDE,FEET (on a plain grid NORTH,EAST,FEET)
    #[arg(long, value_name = "LAT,LON,FEET", allow_hyphen_values = true)]
    leave_out: Vec<String>,
    /// A CSV file to write
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// A GPX file to write, for a receiver or a phone
    #[arg(long, value_name = "FILE")]
    gpx: Option<PathBuf>,
}

fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let list: Vec<f64> = text
        .split(',')
        .map(|t| t.trim().parse().ok().filter(|v: &f64| v.is_finite()))
        .collect::<Option<_>>()?;
    list.try_into().ok()
}

pub(super) fn run(args: Cores, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let block = book
        .block_by_name(&args.block)?
        .with_context(|| format!("There is no block “{}”.", args.block))?;
    let start = match (Corner::from_name(&args.start), numbers::<2>(&args.start)) {
        (Some(corner), _) => Start::Corner(corner),
        (None, Some([lat, lon])) => Start::Place([lon, lat]),
        (None, None) => bail!(
            "“{}” is no corner such as southwest and no place such as 39.9001,-73.5987.",
            args.start
        ),
    };
    let mut leave_out = Vec::new();
    for spot in &args.leave_out {
        let [lat, lon, feet] = numbers(spot)
            .filter(|[_, _, feet]| *feet > 0.0)
            .with_context(|| format!("“{spot}” is not LATITUDE,LONGITUDE,FEET"))?;
        leave_out.push(LeaveOut {
            at: [lon, lat],
            radius: Length::feet(feet),
        });
    }
    let ask = Ask {
        cores: args.cores,
        margin: args.margin.map(Length::feet),
        leave_out,
        seed: args.seed,
        start: Some(start),
        back: args.back,
    };
    let found = core_walk::of_block(&book, block.id, &ask)?;
    if let Some(path) = &args.gpx {
        let gpx = found.gpx()?;
        crate::write::whole(path, gpx.as_bytes())
            .with_context(|| format!("{} cannot be written", path.display()))?;
    }
    if let Some(path) = &args.csv {
        crate::write::whole(path, found.csv().as_bytes())
            .with_context(|| format!("{} cannot be written", path.display()))?;
    }
    let walk = &found.walk;
    let degrees = found.outline.outline.coordinates == Coordinates::Degrees;
    if json {
        let cores: Vec<_> = walk
            .cores
            .iter()
            .map(|c| {
                serde_json::json!({
                    "core": c.number, "where": c.told, "x": c.at[0], "y": c.at[1],
                })
            })
            .collect();
        return text::json(&serde_json::json!({
            "block": found.block.name,
            "seed": found.plan.seed,
            "degrees": degrees,
            "walk_ft": walk.length.to_feet(),
            "shortest": walk.shortest,
            "margin_ft": walk.site.margin().to_feet(),
            "cores": cores,
        }));
    }
    let rows: Vec<Vec<String>> = walk
        .cores
        .iter()
        .map(|c| vec![c.number.to_string(), c.told.clone()])
        .collect();
    text::line(format!(
        "{}: {} cores from {}, a walk of {} ft.",
        found.block.name,
        rows.len(),
        walk.from,
        plain(walk.length.to_feet().round(), 6)
    ))?;
    text::line(text::columns(&["Core", "where"], &[true, false], &rows))?;
    text::line(format!(
        "{} ft are kept from the {}. Seed {}: the same seed gives the same places.",
        plain(walk.site.margin().to_feet(), 2),
        if walk.site.beds.is_some() {
            "ends of the beds"
        } else {
            "edges"
        },
        found.plan.seed
    ))?;
    Ok(())
}
