use crate::text;
use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use farmbook::{Book, BoxState};
use farmwork::sampling::paper;
use farmwork::{adviser, block_sheet, job_map, job_sheet, nutrient_plan, order, planning};
use jiff::ZonedDateTime;
use sheets::{LabelStock, Language, Pdf};
use std::path::PathBuf;

#[derive(Clone, Copy, ValueEnum)]
enum What {
    /// What to buy
    Order,
    /// A sheet for each block
    Sheets,
    /// A page for each job, for the crew
    Jobs,
    /// Labels for the boxes of soil at home
    Labels,
    /// The walks for the cores of the boxes at home, a page a block
    Walks,
    /// A page for the adviser for each block
    Adviser,
    /// The draft of a nutrient management plan for a licensed planner
    NutrientPlan,
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework print farm.book order --out order.pdf\n  spadework print farm.book sheets --working --out jobs.pdf\n  spadework print farm.book jobs --language es --bucket 2 --out trabajos.pdf\n  spadework print farm.book labels --stock letter-30 --address http://localhost:8737 --out labels.pdf\n  spadework print farm.book walks --language es --out recorridos.pdf\n  spadework print farm.book adviser --out adviser.pdf\n  spadework print farm.book nutrient-plan --out draft.pdf"
)]
pub(crate) struct Print {
    /// The book
    book: PathBuf,
    what: What,
    /// The PDF to write
    #[arg(long)]
    out: Option<PathBuf>,
    /// With the working as an appendix
    #[arg(long)]
    working: bool,
    /// One block only
    #[arg(long)]
    block: Option<String>,
    /// The language of the crew’s job sheets: en or es
    #[arg(long, default_value = "en")]
    language: String,
    /// The crew’s bucket, gallons; the one in the book where none is given
    #[arg(long, value_name = "GALLONS")]
    bucket: Option<f64>,
    /// What labels are printed on: letter-30, letter-10, a4-21 or single
    #[arg(long, default_value = "letter-30")]
    stock: String,
    /// The first free label of the sheet, counted along the rows
    #[arg(long, value_name = "LABEL", default_value_t = 1)]
    from: u32,
    /// Where the pages are reached; the code on a label then opens its box there
    #[arg(long, default_value = "")]
    address: String,
}

fn language(args: &Print) -> anyhow::Result<Language> {
    Language::from_key(&args.language).with_context(|| {
        format!(
            "Found the language “{}”, expected en for English or es for Spanish.",
            args.language
        )
    })
}

/// What is printed of the sampling, which needs no plan.
fn of_sampling(
    book: &Book,
    args: &Print,
    json: bool,
) -> anyhow::Result<Option<(Pdf, &'static str)>> {
    let mut boxes = book.boxes()?;
    boxes.retain(|b| b.state() <= BoxState::Filled);
    boxes.reverse();
    if let Some(name) = &args.block {
        let id = super::boxes::block_of(book, name)?.id;
        boxes.retain(|b| b.blocks().contains(&id));
    }
    if boxes.is_empty() {
        bail!(
            "No box is to be filled: run `spadework sampling {} --make-due` first.",
            args.book.display()
        );
    }
    if matches!(args.what, What::Labels) {
        let stock = LabelStock::from_key(&args.stock).with_context(|| {
            let all: Vec<String> = LabelStock::ALL.iter().map(|s| s.key().to_owned()).collect();
            format!(
                "Found the labels “{}”, expected {}.",
                args.stock,
                farmwork::words::or(&all)
            )
        })?;
        let labels = paper::labels(book, &boxes, &args.address)?;
        if json && args.out.is_none() {
            text::json(&labels)?;
            return Ok(None);
        }
        return Ok(Some((
            sheets::box_labels(&labels, stock, args.from)?,
            "labels.pdf",
        )));
    }
    let walks = paper::walks(book, &boxes, ZonedDateTime::now().date())?;
    if json && args.out.is_none() {
        text::json(&walks)?;
        return Ok(None);
    }
    Ok(Some((
        sheets::core_walks(&walks, language(args)?)?,
        "walks.pdf",
    )))
}

pub(super) fn run(args: Print, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let printed = match args.what {
        What::Labels | What::Walks => of_sampling(&book, &args, json)?,
        What::Order | What::Sheets | What::Jobs => of_the_plan(&book, &args, json)?,
        What::Adviser | What::NutrientPlan => for_the_adviser(&book, &args, json)?,
    };
    let Some((pdf, usual_name)) = printed else {
        return Ok(());
    };
    let out = args.out.unwrap_or_else(|| PathBuf::from(usual_name));
    crate::write::whole(&out, &pdf.bytes)
        .with_context(|| format!("{} cannot be written", out.display()))?;
    if json {
        return text::json(&serde_json::json!({ "file": out, "pages": pdf.pages }));
    }
    text::line(format!("Wrote {}, {} pages.", out.display(), pdf.pages))?;
    Ok(())
}

/// What is printed for the adviser, with a plan or without one.
fn for_the_adviser(
    book: &Book,
    args: &Print,
    json: bool,
) -> anyhow::Result<Option<(Pdf, &'static str)>> {
    let today = ZonedDateTime::now().date();
    if matches!(args.what, What::NutrientPlan) {
        let plan = nutrient_plan::of_farm(book, today)?;
        if json && args.out.is_none() {
            text::json(&plan)?;
            return Ok(None);
        }
        return Ok(Some((
            sheets::nutrient_plan(&plan)?,
            "nutrient-plan-draft.pdf",
        )));
    }
    let all = match &args.block {
        None => adviser::of_farm(book, today)?,
        Some(name) => {
            let id = super::boxes::block_of(book, name)?.id;
            vec![adviser::of_block(book, id, today)?]
        }
    };
    if json && args.out.is_none() {
        text::json(&all)?;
        return Ok(None);
    }
    Ok(Some((sheets::adviser(&all)?, "adviser.pdf")))
}

/// What is printed of the plan; none where it went out as JSON.
fn of_the_plan(
    book: &Book,
    args: &Print,
    json: bool,
) -> anyhow::Result<Option<(Pdf, &'static str)>> {
    let Some(made) = planning::latest(book)? else {
        bail!(
            "There is no plan to print yet: run `spadework plan {}` first.",
            args.book.display()
        );
    };
    if !made.out_of_date.is_empty() {
        eprintln!(
            "The plan is out of date: {}. Make it again before you buy.",
            farmwork::words::and(&made.out_of_date)
        );
    }
    Ok(Some(match args.what {
        What::Order => {
            let list = order::of_plan(book, &made)?;
            if json && args.out.is_none() {
                text::json(&list)?;
                return Ok(None);
            }
            (sheets::order_list(&list)?, "order.pdf")
        }
        What::Sheets => {
            let mut all = block_sheet::of_plan(book, &made)?;
            if let Some(name) = &args.block {
                all.retain(|s| s.block.eq_ignore_ascii_case(name));
                if all.is_empty() {
                    bail!("The plan has no sheet for “{name}”.");
                }
            }
            if json && args.out.is_none() {
                text::json(&all)?;
                return Ok(None);
            }
            (sheets::block_sheets(&all, args.working)?, "jobs.pdf")
        }
        What::Jobs => {
            let language = language(args)?;
            let today = ZonedDateTime::now().date();
            let bucket = match args.bucket {
                Some(gallons) => gallons,
                None => job_sheet::own_bucket(book)?,
            };
            let mut jobs = job_sheet::of_plan(book, &made, today, bucket)?;
            if let Some(name) = &args.block {
                jobs.retain(|j| j.block.eq_ignore_ascii_case(name));
                if jobs.is_empty() {
                    bail!("The plan has no job on “{name}”.");
                }
            }
            if json && args.out.is_none() {
                text::json(&jobs)?;
                return Ok(None);
            }
            job_map::put_on(book, &mut jobs)?;
            (sheets::job_sheets(&jobs, language)?, "job-sheets.pdf")
        }
        What::Labels | What::Walks | What::Adviser | What::NutrientPlan => return Ok(None),
    }))
}
