use super::boxes::{a_day, block_of};
use crate::text;
use agronomy::doubt::Confidence;
use agronomy::sampling::{self as science, Reason, SHOWN, TestKind};
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, GroundNote};
use farmwork::sampling::{self, Purpose, Sampling};
use farmwork::words;
use jiff::ZonedDateTime;
use quantity::plain;
use std::path::PathBuf;

/// Counts of the table of what cores buy.
const COUNTS: [u32; 8] = [3, 5, 8, 12, 15, 20, 30, 40];

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework sampling farm.book\n  spadework sampling farm.book --fee standard=18 --fee salts=6 --soil \"Barn Field=creek bottom\"\n  spadework sampling farm.book --why \"Tunnel 1\"\n  spadework sampling farm.book --make \"Barn Field\" --make \"Lower Field 1+Lower Field 2\"\n  spadework sampling farm.book --make-due"
)]
pub(crate) struct SamplingArgs {
    /// The book
    book: PathBuf,
    /// The day to reckon from; today where not given
    #[arg(long, value_name = "DAY")]
    day: Option<String>,
    /// What your lab asks for a test: standard, buffer_ph, salts, lead or nitrate; nothing after = forgets it
    #[arg(long, value_name = "TEST=MONEY")]
    fee: Vec<String>,
    /// What the soil of a block is called; blocks of one name are one soil
    #[arg(long, value_name = "BLOCK=NAME")]
    soil: Vec<String>,
    /// An old orchard, a house or a busy road stood on a block or near it
    #[arg(long, value_name = "BLOCK=yes|no")]
    old_ground: Vec<String>,
    /// The last lime on a block
    #[arg(long, value_name = "BLOCK=DAY")]
    limed: Vec<String>,
    /// The last manure or compost on a block
    #[arg(long, value_name = "BLOCK=DAY")]
    manured: Vec<String>,
    /// Every reason for one block
    #[arg(long, value_name = "BLOCK")]
    why: Option<String>,
    /// What fewer or more cores would buy in one block
    #[arg(long, value_name = "BLOCK")]
    cores: Option<String>,
    /// Make a box; blocks that may share one are joined with +
    #[arg(long, value_name = "BLOCK[+BLOCK]")]
    make: Vec<String>,
    /// Make a box for each block that is due or was never tested
    #[arg(long)]
    make_due: bool,
    /// Make them for nitrate before sidedressing
    #[arg(long)]
    nitrate: bool,
}

pub(super) fn run(args: SamplingArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let today = match &args.day {
        Some(day) => a_day(day)?,
        None => ZonedDateTime::now().date(),
    };
    keep(&mut book, &args)?;
    let plan = sampling::of_farm(&book, today)?;
    if let Some(name) = &args.why {
        return why(&book, &plan, name, json);
    }
    if let Some(name) = &args.cores {
        return cores(&book, &plan, name, json);
    }
    if !args.make.is_empty() || args.make_due {
        let picks = picks(&book, &plan, &args)?;
        let purpose = if args.nitrate {
            Purpose::Nitrate
        } else {
            Purpose::Standard
        };
        let made = sampling::make(&mut book, &plan, &picks, purpose, today)?;
        let boxes: Vec<_> = made
            .iter()
            .map(|id| book.sample_box(*id))
            .collect::<Result<_, _>>()?;
        if json {
            return text::json(&boxes);
        }
        let labels: Vec<String> = boxes.into_iter().map(|b| b.label).collect();
        text::line(format!("Made to fill: {}.", words::and(&labels)))?;
        return Ok(());
    }
    if json {
        return text::json(&plan);
    }
    list(&plan, &book.farm()?.currency)
}

fn pair<'a>(given: &'a str, example: &str) -> anyhow::Result<(&'a str, &'a str)> {
    given
        .rsplit_once('=')
        .with_context(|| format!("“{given}” is not as in {example}"))
}

/// Keeps fees and what is known of the ground, all or nothing.
fn keep(book: &mut Book, args: &SamplingArgs) -> anyhow::Result<()> {
    let mut fees = Vec::new();
    for given in &args.fee {
        let (test, money) = pair(given, "standard=18")?;
        let kind = TestKind::from_key(test.trim()).with_context(|| {
            let all: Vec<String> = TestKind::ALL.iter().map(|k| k.key().to_owned()).collect();
            format!("“{test}” is no test; there are {}.", words::and(&all))
        })?;
        let fee = match money.trim() {
            "" => None,
            text => Some(
                text.parse::<f64>()
                    .ok()
                    .filter(|v| v.is_finite())
                    .with_context(|| format!("“{text}” is not a fee such as 18 or 6.50."))?,
            ),
        };
        fees.push((kind.key(), fee));
    }
    let mut notes: Vec<GroundNote> = Vec::new();
    {
        let mut change =
            |given: &str,
             example: &str,
             set: &dyn Fn(&mut GroundNote, &str) -> anyhow::Result<()>| {
                let (name, value) = pair(given, example)?;
                let block = block_of(book, name)?;
                let at = match notes.iter().position(|n| n.block == block.id) {
                    Some(at) => at,
                    None => {
                        notes.push(book.ground_note(block.id)?);
                        notes.len() - 1
                    }
                };
                set(&mut notes[at], value.trim())
            };
        for given in &args.soil {
            change(given, "Barn Field=creek bottom", &|n, v| {
                n.soil = v.to_owned();
                Ok(())
            })?;
        }
        for given in &args.old_ground {
            change(given, "Barn Field=yes", &|n, v| {
                n.old_ground = match v {
                    "yes" => true,
                    "no" => false,
                    other => bail!("“{other}” is neither yes nor no."),
                };
                Ok(())
            })?;
        }
        let day = |v: &str| (!v.is_empty()).then(|| a_day(v)).transpose();
        for given in &args.limed {
            change(given, "Barn Field=2026-10-01", &|n, v| {
                n.limed_on = day(v)?;
                Ok(())
            })?;
        }
        for given in &args.manured {
            change(given, "Barn Field=2026-10-01", &|n, v| {
                n.manured_on = day(v)?;
                Ok(())
            })?;
        }
    }
    if fees.is_empty() && notes.is_empty() {
        return Ok(());
    }
    book.together("Set what the sampling goes by", |book| {
        for (test, fee) in fees {
            book.set_lab_fee(test, fee)?;
        }
        notes.iter().try_for_each(|n| book.set_ground_note(n))
    })?;
    Ok(())
}

fn picks(book: &Book, plan: &Sampling, args: &SamplingArgs) -> anyhow::Result<Vec<Vec<i64>>> {
    let mut picks = Vec::new();
    for given in &args.make {
        // A name may hold a plus sign itself.
        let ids = match book.block_by_name(given)? {
            Some(block) => vec![block.id],
            None => given
                .split('+')
                .map(|name| Ok(block_of(book, name)?.id))
                .collect::<anyhow::Result<Vec<_>>>()?,
        };
        if let Some(why) = plan.apart(&ids) {
            bail!("{given}: these may not share a box. {why}");
        }
        picks.push(ids);
    }
    if args.make_due {
        let named: Vec<i64> = picks.iter().flatten().copied().collect();
        let due = plan.blocks.iter().filter(|b| b.wanted());
        picks.extend(
            due.map(|b| b.block.id)
                .filter(|id| !named.contains(id))
                .map(|id| vec![id]),
        );
        if picks.is_empty() {
            bail!("No block is due that has no box yet.");
        }
    }
    Ok(picks)
}

fn list(plan: &Sampling, currency: &str) -> anyhow::Result<()> {
    if plan.blocks.is_empty() {
        text::line("There is no block yet.")?;
        return Ok(());
    }
    let day = |d: Option<jiff::civil::Date>| d.map_or_else(String::new, |d| d.to_string());
    let rows: Vec<Vec<String>> = plan
        .blocks
        .iter()
        .map(|b| {
            let (fee, unknown) = plan.fee(b.tests());
            let tests: Vec<&str> = b.asks.iter().map(|(k, _)| k.key()).collect();
            vec![
                b.block.name.clone(),
                b.due.name().to_owned(),
                day(b.last),
                day(b.by),
                b.not_before
                    .as_ref()
                    .map_or_else(String::new, |(d, _)| d.to_string()),
                plain(b.depth_in, 2),
                b.cores.to_string(),
                tests.join(" "),
                if unknown.is_empty() {
                    words::cents(fee)
                } else {
                    String::new()
                },
                b.open
                    .iter()
                    .map(|x| x.label.as_str())
                    .collect::<Vec<_>>()
                    .join(" "),
            ]
        })
        .collect();
    let fee = format!("fee {currency}");
    text::line(text::columns(
        &[
            "Block",
            "",
            "last",
            "due by",
            "not before",
            "in deep",
            "cores",
            "ask for",
            &fee,
            "box",
        ],
        &[
            false, false, false, false, false, true, true, false, true, false,
        ],
        &rows,
    ))?;
    let name = |id: &i64| {
        plan.block(*id)
            .map_or_else(String::new, |b| b.block.name.clone())
    };
    for t in &plan.sharing.together {
        let names: Vec<String> = t.blocks.iter().map(name).collect();
        text::line(format!("May share a box: {}.", words::and(&names)))?;
    }
    for a in plan.sharing.alone.iter().filter(|a| !a.why.is_empty()) {
        text::line(format!(
            "A box of its own: {}{}. {}",
            name(&a.block),
            a.nearest
                .map_or_else(String::new, |o| format!(", even from {}", name(&o))),
            a.why
                .iter()
                .map(|r| r.text.as_str())
                .collect::<Vec<_>>()
                .join(" ")
        ))?;
    }
    Ok(())
}

fn reasons(head: &str, all: &[Reason]) -> anyhow::Result<()> {
    text::line(head)?;
    for r in all {
        text::line(format!(
            "  {}\n    {} [{}]",
            r.text,
            r.source.text,
            r.source.evidence.word()
        ))?;
    }
    Ok(())
}

fn why(book: &Book, plan: &Sampling, name: &str, json: bool) -> anyhow::Result<()> {
    let id = block_of(book, name)?.id;
    let b = plan.block(id).context("That block is out of use.")?;
    if json {
        return text::json(b);
    }
    text::line(format!("{}: {}", b.block.name, b.due.name()))?;
    reasons("When it is due", &b.why_due)?;
    if let Some((day, why)) = &b.not_before {
        reasons(
            &format!("Better not before {day}"),
            std::slice::from_ref(why),
        )?;
    }
    reasons("When in the year", &b.when)?;
    reasons("How deep", &b.depth)?;
    for (kind, why) in &b.asks {
        reasons(
            &format!("Ask for: {}", kind.name()),
            std::slice::from_ref(why),
        )?;
    }
    Ok(())
}

fn cores(book: &Book, plan: &Sampling, name: &str, json: bool) -> anyhow::Result<()> {
    let id = block_of(book, name)?.id;
    let b = plan.block(id).context("That block is out of use.")?;
    let reading = farmwork::readings::one(book, id)?;
    let all: Vec<_> = SHOWN
        .into_iter()
        .filter_map(|a| {
            let own = reading.scatter.get(&a).map(|o| o.spread);
            science::buys(a, own, &COUNTS, Confidence::USUAL).ok()
        })
        .collect();
    if json {
        return text::json(&all);
    }
    let heads: Vec<String> = all
        .iter()
        .map(|x| format!("{} ± {}", x.analyte.name(), x.unit))
        .collect();
    let mut head = vec!["Cores"];
    head.extend(heads.iter().map(String::as_str));
    let rows: Vec<Vec<String>> = COUNTS
        .iter()
        .enumerate()
        .map(|(i, n)| {
            let mut row = vec![n.to_string()];
            row.extend(all.iter().map(|x| {
                x.at.get(i)
                    .map_or_else(String::new, |a| plain(a.with_lab, 2))
            }));
            row
        })
        .collect();
    text::line(text::columns(&head, &vec![true; head.len()], &rows))?;
    text::line(format!(
        "How near a box comes to the ground, in 8 of 10 cases, the lab’s own repeat in it. {} has {} cores to a box.",
        b.block.name, b.cores
    ))?;
    Ok(())
}
