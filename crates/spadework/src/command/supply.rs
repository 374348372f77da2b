//! What the grower may use, and who sells it.

use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, CountPrice, LotOnHand, MaterialChoice, PackPrice, Supplier};
use farmwork::{supply, words};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework supplier farm.book \"Hollow Mill\" --delivery 85 --free-from 600 --lead-days 10\n  spadework supplier farm.book"
)]
pub(crate) struct SupplierArgs {
    /// The book
    book: PathBuf,
    /// The supplier’s name; without one all are listed
    name: Option<String>,
    /// Money for a delivery
    #[arg(long)]
    delivery: Option<f64>,
    /// An order of this much money comes free
    #[arg(long)]
    free_from: Option<f64>,
    /// Days from the order to the delivery
    #[arg(long)]
    lead_days: Option<u16>,
    /// Take the supplier out of the book
    #[arg(long)]
    remove: bool,
}

pub(super) fn supplier(args: SupplierArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let all = book.suppliers()?;
    if let Some(name) = &args.name {
        let known = all
            .iter()
            .find(|s| s.name.eq_ignore_ascii_case(name.trim()));
        if args.remove {
            let known = known.with_context(|| format!("There is no supplier “{name}”."))?;
            book.remove_supplier(known.id)?;
        } else {
            let mut set = known.cloned().unwrap_or_else(|| Supplier {
                name: name.clone(),
                ..Supplier::default()
            });
            set.delivery = args.delivery.unwrap_or(set.delivery);
            set.free_from = args.free_from.or(set.free_from);
            set.lead_days = args.lead_days.or(set.lead_days);
            book.set_supplier(&set)?;
        }
    }
    let all = book.suppliers()?;
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("No supplier is entered.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|s| {
            vec![
                s.name.clone(),
                words::cents(s.delivery),
                s.free_from.map_or_else(String::new, words::cents),
                s.lead_days.map_or_else(String::new, |d| d.to_string()),
            ]
        })
        .collect();
    text::line(text::columns(
        &["Supplier", "delivery", "free from", "days"],
        &[false, true, true, true],
        &rows,
    ))?;
    Ok(())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework material farm.book feather_meal --use yes --pack \"50 lb bag=50@41.50\" --break 20=38 --from \"Hollow Mill\"\n  spadework material farm.book lime_calcitic --stock 0 --lot \"L-204=150\"\n\n`spadework tables materials` lists the keys."
)]
pub(crate) struct MaterialArgs {
    /// The book
    book: PathBuf,
    /// Key of the material
    material: String,
    /// Whether plans may use it
    #[arg(long = "use", value_name = "yes|no")]
    use_it: Option<String>,
    /// lb on hand that stand in no lot
    #[arg(long)]
    stock: Option<f64>,
    /// A lot on hand: LOT=LB; all lots together take the place of those before
    #[arg(long, value_name = "LOT=LB")]
    lot: Vec<String>,
    /// A size it is sold in: LABEL=LB@PRICE; all sizes together take the place of those before
    #[arg(long, value_name = "LABEL=LB@PRICE")]
    pack: Vec<String>,
    /// Who sells the sizes given here
    #[arg(long)]
    from: Option<String>,
    /// The fewest sold at once of the sizes given here
    #[arg(long)]
    least: Option<u32>,
    /// A lower price from a count on, for the sizes given here: COUNT=PRICE
    #[arg(long = "break", value_name = "COUNT=PRICE")]
    breaks: Vec<String>,
    /// A block that it must not go on
    #[arg(long, value_name = "BLOCK")]
    keep_off: Vec<String>,
}

pub(super) fn material(args: MaterialArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let Some(known) = agronomy::material::find(&args.material) else {
        bail!(
            "There is no material “{}”; `spadework tables materials` lists the keys.",
            args.material
        );
    };
    let mut choice = book.material(&known.id)?.unwrap_or_else(|| {
        let mut fresh = MaterialChoice::new(&known.id);
        fresh.packs = supply::usual_packs(known, false);
        fresh
    });
    match args.use_it.as_deref() {
        None => {}
        Some("yes") => choice.use_it = true,
        Some("no") => choice.use_it = false,
        Some(other) => bail!("--use takes yes or no, not “{other}”."),
    }
    choice.stock_lb = args.stock.unwrap_or(choice.stock_lb);
    if !args.lot.is_empty() {
        choice.lots = args.lot.iter().map(|l| lot(l)).collect::<Result<_, _>>()?;
    }
    if !args.pack.is_empty() {
        let supplier = match &args.from {
            None => None,
            Some(name) => Some(
                book.suppliers()?
                    .into_iter()
                    .find(|s| s.name.eq_ignore_ascii_case(name.trim()))
                    .with_context(|| {
                        format!(
                            "There is no supplier “{name}”: add it with `spadework supplier` first."
                        )
                    })?
                    .id,
            ),
        };
        let breaks = args
            .breaks
            .iter()
            .map(|b| lower_price(b))
            .collect::<Result<Vec<_>, _>>()?;
        choice.packs = args
            .pack
            .iter()
            .map(|p| {
                Ok(PackPrice {
                    supplier,
                    least_count: args.least,
                    breaks: breaks.clone(),
                    ..pack(p)?
                })
            })
            .collect::<anyhow::Result<_>>()?;
    } else if args.from.is_some() || args.least.is_some() || !args.breaks.is_empty() {
        bail!("--from, --least and --break belong to sizes: give --pack with them.");
    }
    for name in &args.keep_off {
        let block = book
            .block_by_name(name)?
            .with_context(|| format!("There is no block “{name}”."))?;
        if !choice.refused_on.contains(&block.id) {
            choice.refused_on.push(block.id);
        }
    }
    book.set_material(&choice)?;
    if json {
        return text::json(&choice);
    }
    text::line(format!(
        "{}: {}, {} on hand, {}.",
        known.name,
        if choice.use_it {
            "plans may use it"
        } else {
            "plans leave it"
        },
        words::lb(choice.on_hand()),
        match choice.packs.as_slice() {
            [] => "no size it is sold in".to_owned(),
            packs => packs
                .iter()
                .map(|p| p.label.clone())
                .collect::<Vec<_>>()
                .join(", "),
        }
    ))?;
    Ok(())
}

fn lot(text: &str) -> anyhow::Result<LotOnHand> {
    let usage = || format!("“{text}” is not LOT=LB, as in L-204=150");
    let (lot, lb) = text.rsplit_once('=').with_context(usage)?;
    Ok(LotOnHand {
        lot: lot.to_owned(),
        lb: lb.trim().parse().ok().with_context(usage)?,
    })
}

fn pack(text: &str) -> anyhow::Result<PackPrice> {
    let usage = || format!("“{text}” is not LABEL=LB@PRICE, as in 50 lb bag=50@41.50");
    let (label, rest) = text.rsplit_once('=').with_context(usage)?;
    let (lb, price) = match rest.split_once('@') {
        Some((lb, price)) => (lb, Some(price.trim().parse().ok().with_context(usage)?)),
        None => (rest, None),
    };
    Ok(PackPrice {
        label: label.to_owned(),
        lb: lb.trim().parse().ok().with_context(usage)?,
        price,
        ..PackPrice::default()
    })
}

fn lower_price(text: &str) -> anyhow::Result<CountPrice> {
    let usage = || format!("“{text}” is not COUNT=PRICE, as in 20=38");
    let (count, price) = text.split_once('=').with_context(usage)?;
    Ok(CountPrice {
        from_count: count.trim().parse().ok().with_context(usage)?,
        price: price.trim().parse().ok().with_context(usage)?,
    })
}
