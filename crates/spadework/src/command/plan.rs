use crate::text;
use agronomy::material::Pass;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, Lock};
use farmwork::collisions::{self, Change};
use farmwork::planning::Made;
use farmwork::{block_sheet, order, planning, supply, words};
use quantity::plain;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework plan farm.book --usual\n  spadework plan farm.book --hold \"Tunnel 1:feather_meal=20\"\n  spadework plan farm.book --without autumn --budget 2500"
)]
pub(crate) struct PlanArgs {
    /// The book
    book: PathBuf,
    /// Tick the materials such a farm usually buys before planning
    #[arg(long)]
    usual: bool,
    /// Hold an amount: BLOCK:MATERIAL=LB, or BLOCK:MATERIAL@PASS=LB for one pass (autumn, spring, before_planting, planting, sidedress, second_sidedress); an empty LB lets it go
    #[arg(long, value_name = "BLOCK:MATERIAL=LB")]
    hold: Vec<String>,
    /// Money for materials and deliveries; `none` for no budget
    #[arg(long)]
    budget: Option<String>,
    /// A pass the farm does not make: autumn, spring, before_planting, planting, sidedress, second_sidedress
    #[arg(long, value_name = "PASS")]
    without: Vec<String>,
    /// A pass the farm makes after all
    #[arg(long, value_name = "PASS")]
    with: Vec<String>,
    /// How many different materials the farm may use; 0 for any number
    #[arg(long, value_name = "COUNT")]
    most_materials: Option<u32>,
    /// How many different materials a block may get; 0 for any number
    #[arg(long, value_name = "COUNT")]
    most_per_block: Option<u32>,
    /// A material that is used only where nothing else will do
    #[arg(long, value_name = "MATERIAL")]
    rather_not: Vec<String>,
    /// How much being close to the need counts against money; 1 as usual
    #[arg(long, value_name = "TIMES")]
    closeness: Option<f64>,
    /// How much few visits and materials count against money; 1 as usual
    #[arg(long, value_name = "TIMES")]
    visits: Option<f64>,
}

/// Sets how the season is planned where the command says so.
fn wish(book: &mut Book, args: &PlanArgs) -> anyhow::Result<()> {
    let season = book.farm()?.season;
    let before = book.wish(season)?;
    let mut wish = before.clone();
    if let Some(budget) = &args.budget {
        wish.budget = match budget.as_str() {
            "none" => None,
            money => Some(
                money
                    .parse()
                    .ok()
                    .with_context(|| format!("“{money}” is no budget; give money, or none"))?,
            ),
        };
    }
    for pass in args.without.iter().chain(&args.with) {
        is_pass(pass)?;
    }
    wish.passes_left_out.extend(args.without.iter().cloned());
    wish.passes_left_out.sort_unstable();
    wish.passes_left_out.dedup();
    wish.passes_left_out.retain(|p| !args.with.contains(p));
    let most = |set: Option<u32>, before: Option<u32>| match set {
        None => before,
        Some(0) => None,
        set => set,
    };
    wish.most_materials = most(args.most_materials, wish.most_materials);
    wish.most_materials_per_block = most(args.most_per_block, wish.most_materials_per_block);
    for id in &args.rather_not {
        if agronomy::material::find(id).is_none() {
            bail!("There is no material “{id}”; `spadework tables materials` lists the keys.");
        }
        if !wish.rather_not.contains(id) {
            wish.rather_not.push(id.clone());
        }
    }
    wish.closeness = args.closeness.unwrap_or(wish.closeness);
    wish.visits = args.visits.unwrap_or(wish.visits);
    if wish != before {
        book.set_wish(season, &wish)?;
    }
    Ok(())
}

pub(super) fn run(args: PlanArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if args.usual {
        supply::tick_usual(&mut book, false)?;
    }
    wish(&mut book, &args)?;
    for hold in &args.hold {
        self::hold(&mut book, hold)?;
    }
    collide(&book)?;
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
    for d in &list.deliveries {
        text::line(format!(
            "Delivery by {}: {}",
            d.from,
            if d.charge > 0.0 {
                words::money(d.charge, &list.currency)
            } else {
                "free".to_owned()
            }
        ))?;
    }
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

/// Ends with what collides, where anything does, and the changes that would help.
fn collide(book: &Book) -> anyhow::Result<()> {
    let question = planning::question(book)?;
    let found = collisions::collisions(&question, &book.farm()?.currency)?;
    if found.is_empty() {
        return Ok(());
    }
    let mut text = String::new();
    for one in found {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&one.sentence);
        for way in one.ways {
            text.push_str("\n  · ");
            text.push_str(&way.text);
            if let Some(option) = option(book, &way.change)? {
                text.push_str(&format!(": {option}"));
            }
        }
    }
    bail!(text)
}

/// A change as an option of this command.
fn option(book: &Book, change: &Change) -> anyhow::Result<Option<String>> {
    let place = |block: &str, material: &str, pass: &str| -> anyhow::Result<String> {
        let name = book.block(block.parse()?)?.name;
        let at = if pass.is_empty() {
            String::new()
        } else {
            format!("@{pass}")
        };
        Ok(format!("{name}:{material}{at}"))
    };
    Ok(Some(match change {
        Change::Hold {
            block,
            material,
            pass,
            lb,
        } => format!("--hold \"{}={lb}\"", place(block, material, pass)?),
        Change::LetGo {
            block,
            material,
            pass,
        } => format!("--hold \"{}=\"", place(block, material, pass)?),
        Change::Budget(money) => format!(
            "--budget {}",
            money.map_or_else(|| "none".to_owned(), |m| m.to_string())
        ),
        Change::MaterialsPerBlock(most) => format!("--most-per-block {}", most.unwrap_or(0)),
        Change::Materials(most) => format!("--most-materials {}", most.unwrap_or(0)),
    }))
}

fn is_pass(word: &str) -> anyhow::Result<()> {
    if Pass::from_key(word).is_none() {
        let all: Vec<&str> = Pass::ALL.into_iter().map(Pass::key).collect();
        bail!("“{word}” is no pass: use one of {}.", all.join(", "));
    }
    Ok(())
}

fn hold(book: &mut Book, text: &str) -> anyhow::Result<()> {
    let usage = || format!("“{text}” is not BLOCK:MATERIAL=LB, as in Tunnel 1:feather_meal=20");
    let (place, lb) = text.rsplit_once('=').with_context(usage)?;
    let (block, material) = place.rsplit_once(':').with_context(usage)?;
    let (material, pass) = material.split_once('@').unwrap_or((material, ""));
    if !pass.is_empty() {
        is_pass(pass)?;
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
