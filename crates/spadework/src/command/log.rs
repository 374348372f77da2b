//! The record of what was spread and carried off.

use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, Correction, Id, Spread};
use farmwork::record::beside;
use farmwork::record::entry::{self, Typed};
use farmwork::{planning, words};
use jiff::ZonedDateTime;
use std::collections::HashMap;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework log farm.book --block \"Barn Field\" --material feather_meal --amount \"24 lb\" --pass planting --day 2027-05-02 --by Ada --lot \"FM 12\"\n  spadework log farm.book --correct 3 --amount \"22 lb\"\n  spadework log farm.book --take-back 3 --note \"wrong block\"\n  spadework log farm.book\n\nNothing is overwritten: a correction stands beside what it corrects."
)]
pub(crate) struct Log {
    /// The book
    book: PathBuf,
    /// The block it went on
    #[arg(long)]
    block: Option<String>,
    /// Key or name of the material
    #[arg(long)]
    material: Option<String>,
    /// How much, with its unit
    #[arg(long)]
    amount: Option<String>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
    /// Which beds, in words; the whole block where none is given
    #[arg(long)]
    beds: Option<String>,
    /// The lot, as printed on the bag
    #[arg(long)]
    lot: Option<String>,
    /// The pass of the plan: autumn, spring, planting or sidedress; none for what is beside the plan
    #[arg(long)]
    pass: Option<String>,
    /// as_planned, partly, differently or extra
    #[arg(long)]
    how: Option<String>,
    /// Who spread it
    #[arg(long)]
    by: Option<String>,
    /// The weather, in words
    #[arg(long)]
    weather: Option<String>,
    /// The spreader or tool
    #[arg(long)]
    spreader: Option<String>,
    #[arg(long)]
    note: Option<String>,
    /// The crop year it is for; the farm’s where none is given
    #[arg(long)]
    season: Option<i64>,
    /// A UUID that tells this entry from others: the same entry sent twice is one
    #[arg(long)]
    mark: Option<String>,
    /// Number of the entry to correct: what is given here changes, the rest stays
    #[arg(long, value_name = "NUMBER")]
    correct: Option<i64>,
    /// Number of an entry that should not be there
    #[arg(long, value_name = "NUMBER")]
    take_back: Option<i64>,
}

pub(super) fn run(args: Log, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let today = ZonedDateTime::now().date();
    let text_of = |v: &Option<String>| v.clone().unwrap_or_default();
    if let Some(id) = args.take_back {
        let entry = entry::take_back(&book, id, &text_of(&args.note))?;
        book.log_spread(&entry)?;
    } else if args.correct.is_some() || args.block.is_some() {
        let pass = text_of(&args.pass);
        let plan = if pass.is_empty() {
            None
        } else {
            planning::latest(&book)?.map(|m| m.stored.id)
        };
        let typed = Typed {
            mark: text_of(&args.mark),
            block: text_of(&args.block),
            material: text_of(&args.material),
            amount: text_of(&args.amount),
            day: text_of(&args.day),
            beds: text_of(&args.beds),
            lot: text_of(&args.lot),
            pass,
            how: text_of(&args.how),
            person: text_of(&args.by),
            weather: text_of(&args.weather),
            spreader: text_of(&args.spreader),
            note: text_of(&args.note),
            plan,
            corrects: args.correct,
            season: args.season,
        };
        let id = book.log_spread(&typed.entry(&book, today)?)?;
        if !json {
            text::line(format!("Entry {id} is written down."))?;
        }
    } else if args.material.is_some() || args.amount.is_some() {
        bail!("Say on which block: --block \"Barn Field\".");
    }
    let all = book.all_spreads()?;
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("Nothing is written down yet.")?;
        return Ok(());
    }
    let (names, corrections) = (names(&book)?, book.spread_corrections()?);
    let rows: Vec<_> = all.iter().map(|s| row(&names, &corrections, s)).collect();
    text::line(text::columns(
        &[
            "No", "Day", "Block", "Material", "amount", "lot", "by", "how",
        ],
        &[true, false, false, false, true, false, false, false],
        &rows,
    ))?;
    Ok(())
}

fn row(
    names: &HashMap<Id, String>,
    corrections: &HashMap<Id, Correction>,
    s: &Spread,
) -> Vec<String> {
    vec![
        s.id.to_string(),
        s.day.to_string(),
        names.get(&s.block).cloned().unwrap_or_default(),
        agronomy::material::find(&s.material).map_or(s.material.clone(), |m| m.name.clone()),
        words::weighed(s.weight),
        s.lot.clone(),
        s.person.clone(),
        beside::how(corrections, s),
    ]
}

/// The names of the blocks, those taken out included.
fn names(book: &Book) -> anyhow::Result<HashMap<Id, String>> {
    let blocks = book.all_blocks()?;
    Ok(blocks.into_iter().map(|b| (b.id, b.name)).collect())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework harvest farm.book \"Barn Field\" 40 --unit box --each \"25 lb\" --day 2027-07-20\n  spadework harvest farm.book --correct 3 \"Barn Field\" 38 --unit box --each \"25 lb\" --note \"two boxes were yesterday’s\"\n  spadework harvest farm.book --take-back 3 --note \"wrong block\"\n  spadework harvest farm.book\n\nNothing is overwritten: a correction stands beside what it corrects."
)]
pub(crate) struct HarvestArgs {
    /// The book
    book: PathBuf,
    /// The block; without one the harvests are listed
    block: Option<String>,
    /// How many
    count: Option<f64>,
    /// Of what: lb, kg, cwt, ton, or boxes and the like with what one weighs
    #[arg(long, default_value = "lb")]
    unit: String,
    /// What one weighs, with its unit
    #[arg(long)]
    each: Option<String>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
    #[arg(long)]
    by: Option<String>,
    /// A UUID that tells this entry from others
    #[arg(long)]
    mark: Option<String>,
    /// Number of the harvest to correct; block, count and unit say how it should have been
    #[arg(long, value_name = "NUMBER")]
    correct: Option<i64>,
    /// Number of a harvest that should not be there
    #[arg(long, value_name = "NUMBER")]
    take_back: Option<i64>,
    /// Why it is corrected or taken back
    #[arg(long, default_value = "")]
    note: String,
}

pub(super) fn harvest(args: HarvestArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let today = ZonedDateTime::now().date();
    if let Some(id) = args.take_back {
        let back = entry::take_back_harvest(&book, id, &args.note)?;
        book.log_harvest(&back)?;
    } else if let Some(block) = &args.block {
        let count = args.count.context("Say how many were harvested.")?;
        let day = match (&args.day, args.correct) {
            (Some(day), _) => entry::day(day)?,
            (None, Some(id)) => book.harvest(id)?.day,
            (None, None) => today,
        };
        let each = args.each.as_deref().map(entry::weight).transpose()?;
        let mut new = entry::harvest(&book, block, day, count, &args.unit, each)?;
        new.person = args.by.clone().unwrap_or_default();
        if let Some(mark) = &args.mark {
            new.mark.clone_from(mark);
        }
        if let Some(id) = args.correct {
            new = entry::correct_harvest(&book, id, new, &args.note, today)?;
        }
        book.log_harvest(&new)?;
    } else if args.correct.is_some() {
        bail!(
            "Say how the harvest should have been: --correct 3 \"Barn Field\" 38 --unit box --each \"25 lb\"."
        );
    }
    let all = book.all_harvests()?;
    if json {
        return text::json(&all);
    }
    let names = names(&book)?;
    let mut rows = Vec::new();
    for h in &all {
        rows.push(vec![
            h.id.to_string(),
            h.day.to_string(),
            names.get(&h.block).cloned().unwrap_or_default(),
            h.crop.clone(),
            format!("{} {}", quantity::plain(h.count, 4), h.unit),
            words::weighed(h.weight),
            beside::stands(&all, h),
        ]);
    }
    if rows.is_empty() {
        text::line("No harvest is written down yet.")?;
        return Ok(());
    }
    text::line(text::columns(
        &["No", "Day", "Block", "Crop", "count", "weight", "stands"],
        &[true, false, false, false, true, true, false],
        &rows,
    ))?;
    Ok(())
}
