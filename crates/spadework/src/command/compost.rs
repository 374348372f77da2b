//! How a compost was made, and whether it stands as compost or counts as raw manure.

use crate::text;
use agronomy::compost::{self, Making, Way};
use agronomy::material;
use anyhow::bail;
use clap::Args;
use farmbook::{Book, CompostMade};
use farmwork::compost::Composts;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework compost farm.book\n  spadework compost farm.book compost_dairy --made windrow --c-to-n 30 --days-hot 16 --turned 6 --paper \"log in the green folder\"\n  spadework compost farm.book compost_dairy --lot P-7 --made not_hot\n  spadework compost farm.book compost_dairy --lot P-7 --forget\n\n--made is aerated (in a vessel or static aerated pile), windrow, not_hot (or not known) or plants (nothing of animals in it)."
)]
pub(crate) struct CompostArgs {
    /// The book
    book: PathBuf,
    /// Key of the material; without one all composts are listed
    material: Option<String>,
    /// The lot that it is said of; without one it holds for all that is not said by lot
    #[arg(long, default_value = "")]
    lot: String,
    /// How it was made
    #[arg(long, value_name = "aerated|windrow|not_hot|plants")]
    made: Option<String>,
    /// Carbon to nitrogen at the start: 30 for 30:1
    #[arg(long, requires = "made")]
    c_to_n: Option<f64>,
    /// Days at 131 to 170 °F, or the temperature of each day: "128, 141, 150, 139"
    #[arg(long, requires = "made")]
    days_hot: Option<String>,
    /// How often it was turned in those days
    #[arg(long, requires = "made")]
    turned: Option<u32>,
    /// Where the paper is
    #[arg(long, requires = "made")]
    paper: Option<String>,
    /// Forget what was said
    #[arg(long, conflicts_with = "made")]
    forget: bool,
}

pub(super) fn run(args: CompostArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if let Some(key) = &args.material {
        if material::find(key).is_none_or(|m| compost::asked(m).is_none()) {
            bail!("“{key}” is no compost that may hold manure; `spadework compost` lists them.");
        }
        if let Some(way) = &args.made {
            let Some(way) = Way::from_key(way) else {
                bail!(
                    "--made takes one of {}, not “{way}”.",
                    Way::ALL.map(Way::key).join(", ")
                );
            };
            let days = args.days_hot.as_deref().unwrap_or_default();
            book.set_compost(&CompostMade {
                material: key.clone(),
                lot: args.lot.clone(),
                made: Making {
                    way,
                    c_to_n: args.c_to_n,
                    days_hot: compost::typed_days(days).map_err(anyhow::Error::msg)?,
                    turned: args.turned,
                    paper: args.paper.unwrap_or_default(),
                },
            })?;
        }
        if args.forget {
            book.clear_compost(key, args.lot.trim())?;
        }
    } else if args.made.is_some() || args.forget || !args.lot.is_empty() {
        bail!("Name the material too: `spadework compost farm.book compost_dairy --made windrow`.");
    }
    show(&book, args.material.as_deref(), json)
}

fn show(book: &Book, only: Option<&str>, json: bool) -> anyhow::Result<()> {
    let composts = Composts::of(book)?;
    let mut rows = Vec::new();
    let mut all = Vec::new();
    for of in material::materials() {
        if only.is_some_and(|key| key != of.id) {
            continue;
        }
        let lots = composts.lots(&of.id).map(|c| c.lot.as_str());
        for lot in std::iter::once("").chain(lots) {
            let Some(verdict) = composts.verdict(of, lot) else {
                continue;
            };
            let said = composts.said(&of.id, lot);
            rows.push(vec![
                of.name.clone(),
                if lot.is_empty() {
                    "all not said by lot".to_owned()
                } else {
                    lot.to_owned()
                },
                said.map_or_else(|| "not said".to_owned(), |c| c.made.sentence()),
                if verdict.raw { "raw manure" } else { "compost" }.to_owned(),
                verdict.why.clone(),
            ]);
            all.push(serde_json::json!({
                "material": of.id, "lot": lot, "made": said.map(|c| &c.made), "verdict": verdict,
            }));
        }
    }
    if json {
        return text::json(&all);
    }
    text::line(text::columns(
        &["Compost", "Lot", "Made", "counts as", "Why"],
        &[false; 5],
        &rows,
    ))?;
    text::line(
        "By 7 CFR 205.203(c)(2). Your certifier decides; keep the statement or log of temperatures.",
    )?;
    Ok(())
}
