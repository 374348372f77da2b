use crate::text;
use agronomy::material::Pass;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, Lock};
use farmwork::planning::Made;
use farmwork::{block_sheet, order, planning, supply, words};
use quantity::plain;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework plan farm.book --usual\n  spadework plan farm.book --hold \"Tunnel 1:feather_meal=20\""
)]
pub(crate) struct PlanArgs {
    /// The book
    book: PathBuf,
    /// Tick the materials such a farm usually buys before planning
    #[arg(long)]
    usual: bool,
    /// Hold an amount: BLOCK:MATERIAL=LB, or BLOCK:MATERIAL@PASS=LB for one pass (autumn, spring, planting, sidedress); an empty LB lets it go
    #[arg(long, value_name = "BLOCK:MATERIAL=LB")]
    hold: Vec<String>,
}

pub(super) fn run(args: PlanArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if args.usual {
        supply::tick_usual(&mut book, false)?;
    }
    for hold in &args.hold {
        self::hold(&mut book, hold)?;
    }
    if !json {
        eprintln!("Planning …");
    }
    let made = planning::make(&mut book)?;
    let list = order::of_plan(&book, &made)?;
    let sheets = block_sheet::of_plan(&book, &made)?;
    if json {
        return text::json(&serde_json::json!({
            "problem": made.problem, "plan": made.plan, "order": list, "sheets": sheets,
        }));
    }
    show(&made)?;
    for sheet in &sheets {
        for b in &sheet.balance {
            if b.short() {
                text::line(format!(
                    "{}: {} {} lb/acre short{}",
                    sheet.block,
                    b.nutrient,
                    plain(-b.left_over, 3),
                    b.binding
                        .as_ref()
                        .map_or_else(String::new, |w| format!(" ({w})"))
                ))?;
            }
        }
    }
    for sheet in &sheets {
        for b in sheet.balance.iter().filter(|b| b.surplus()) {
            text::line(format!(
                "{}: {} {} lb/acre more than {}{}",
                sheet.block,
                b.nutrient,
                plain(b.left_over, 3),
                if b.known {
                    "asked"
                } else {
                    "is known to be needed"
                },
                b.binding
                    .as_ref()
                    .map_or_else(String::new, |w| format!(" ({w})"))
            ))?;
        }
    }
    text::line("")?;
    let rows: Vec<Vec<String>> = list
        .lines
        .iter()
        .map(|l| {
            vec![
                l.name.clone(),
                words::lb(l.need_lb),
                words::lb(l.from_stock_lb),
                l.buy
                    .iter()
                    .map(|b| format!("{} × {}", b.count, b.size))
                    .collect::<Vec<_>>()
                    .join(", "),
                l.cost
                    .map_or_else(|| "no price".to_owned(), |c| format!("{c:.2}")),
            ]
        })
        .collect();
    text::line(text::columns(
        &["Order", "needed", "on hand", "buy", "cost"],
        &[false, true, true, false, true],
        &rows,
    ))?;
    text::line(match list.unpriced {
        0 => format!(
            "In all {}{}.",
            words::money(list.cost, &list.currency),
            if list.invented_prices {
                ", at invented prices"
            } else {
                ""
            }
        ),
        n => format!(
            "{n} materials have no price yet; the choice was made with stand-in prices. Those with a price come to {}.",
            words::money(list.cost, &list.currency)
        ),
    })?;
    for caution in &list.cautions {
        text::line(format!("Take care: {}", caution.text))?;
    }
    text::line(format!(
        "{} Within {} % of the proven best, in {} s.",
        made.plan.status.says(),
        plain(made.plan.gap * 100.0, 2),
        plain(made.plan.seconds, 2)
    ))?;
    Ok(())
}

fn hold(book: &mut Book, text: &str) -> anyhow::Result<()> {
    let usage = || format!("“{text}” is not BLOCK:MATERIAL=LB, as in Tunnel 1:feather_meal=20");
    let (place, lb) = text.rsplit_once('=').with_context(usage)?;
    let (block, material) = place.rsplit_once(':').with_context(usage)?;
    let (material, pass) = material.split_once('@').unwrap_or((material, ""));
    if !pass.is_empty() && Pass::from_key(pass).is_none() {
        bail!("“{pass}” is no pass: use autumn, spring, planting or sidedress.");
    }
    let Some(block) = book.block_by_name(block)? else {
        bail!("There is no block “{block}”.");
    };
    let usable = supply::chosen(book)?;
    if !usable
        .iter()
        .any(|c| c.material.id == material && c.left_out.is_none())
    {
        bail!(
            "“{material}” is not among the materials that plans may use here; tick it first, or see `spadework tables materials` for its key."
        );
    }
    let season = book.farm()?.season;
    if lb.trim().is_empty() {
        book.clear_lock(season, block.id, material, pass)?;
    } else {
        let lb: f64 = lb.trim().parse().ok().with_context(usage)?;
        book.set_lock(&Lock {
            season,
            block: block.id,
            material: material.to_owned(),
            lb,
            pass: pass.to_owned(),
        })?;
    }
    Ok(())
}

/// One table for each pass, in the order of the season.
fn show(made: &Made) -> anyhow::Result<()> {
    let columns = made.columns();
    let mut rest = columns.as_slice();
    while let Some(first) = rest.first() {
        let (here, later) = rest.split_at(rest.iter().take_while(|c| c.pass == first.pass).count());
        rest = later;
        let rows: Vec<Vec<String>> = made
            .problem
            .blocks
            .iter()
            .filter(|b| here.iter().any(|c| made.lb(&b.id, c) > 0.0))
            .map(|b| {
                let mut row = vec![b.name.clone()];
                row.extend(here.iter().map(|c| match made.lb(&b.id, c) {
                    0.0 => "·".to_owned(),
                    lb => words::lb(lb),
                }));
                row
            })
            .collect();
        let mut head = vec!["Block"];
        head.extend(here.iter().map(|c| c.material.name.as_str()));
        let right: Vec<bool> = std::iter::once(false)
            .chain(here.iter().map(|_| true))
            .collect();
        if !first.pass_name.is_empty() {
            text::line(first.pass_name)?;
        }
        text::line(text::columns(&head, &right, &rows))?;
    }
    Ok(())
}
