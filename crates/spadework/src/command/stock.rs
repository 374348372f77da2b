//! Orders placed, what came in, and what is in the shed.

use crate::text;
use anyhow::Context;
use clap::Args;
use farmbook::{Book, new_mark};
use farmwork::calendar;
use farmwork::record::delivery::{self, Typed};
use farmwork::record::stock::{self, Moves};
use farmwork::record::{entry, ordering};
use farmwork::{planning, words};
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::path::PathBuf;

fn the_day(text: Option<&String>) -> anyhow::Result<Date> {
    Ok(match text {
        Some(day) => entry::day(day)?,
        None => ZonedDateTime::now().date(),
    })
}

fn name(material: &str) -> String {
    agronomy::material::find(material).map_or_else(|| material.to_owned(), |m| m.name.clone())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework order farm.book\n  spadework order farm.book --place \"Hollow Mill\"\n  spadework order farm.book --close 1"
)]
pub(crate) struct OrderArgs {
    /// The book
    book: PathBuf,
    /// Write down that what is needed from a supplier was ordered; "" for what names nobody
    #[arg(long, value_name = "SUPPLIER")]
    place: Option<String>,
    /// Number of an order of which nothing more will come
    #[arg(long, value_name = "NUMBER")]
    close: Option<i64>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
}

pub(super) fn order(args: OrderArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let day = the_day(args.day.as_ref())?;
    if let Some(id) = args.close {
        book.close_order(id, Some(day))?;
    }
    let made = planning::latest(&book)?;
    if let Some(supplier) = &args.place {
        let made = made.as_ref().with_context(|| {
            format!(
                "There is no plan to order for yet: run `spadework plan {}` first.",
                args.book.display()
            )
        })?;
        ordering::place(&mut book, made, supplier, day, &new_mark())?;
    }
    let wanted = match &made {
        Some(made) => ordering::to_order(&book, made, &calendar::of_plan(&book, made, day)?)?,
        None => Vec::new(),
    };
    let placed = ordering::placed(&book)?;
    if json {
        return text::json(&serde_json::json!({ "to_order": wanted, "placed": placed }));
    }
    if wanted.is_empty() && placed.is_empty() {
        text::line("Nothing is to be ordered and nothing was.")?;
        return Ok(());
    }
    let nobody = |name: &str| {
        if name.is_empty() {
            "no supplier named".to_owned()
        } else {
            name.to_owned()
        }
    };
    for o in &wanted {
        let by = match (o.order_by, o.needed_by) {
            (Some(order), Some(need)) => {
                format!(": order by {order}, needed on {need} for {}", o.needed_for)
            }
            _ => String::new(),
        };
        text::line(format!("To order, {}{by}", nobody(&o.supplier)))?;
        for l in &o.lines {
            text::line(format!("  {} × {} {}", l.count, l.pack, name(&l.material)))?;
        }
    }
    for s in &placed {
        let how = match (s.order.closed_on, s.is_open()) {
            (Some(day), _) => format!("closed on {day}"),
            (None, true) => "open".to_owned(),
            (None, false) => "all of it came".to_owned(),
        };
        text::line(format!(
            "Order {} of {}, {}: {how}",
            s.order.id,
            s.order.day,
            nobody(&s.order.supplier)
        ))?;
        for l in &s.lines {
            let open = if l.open.is_zero() {
                String::new()
            } else {
                format!(", {} still to come", words::weighed(l.open))
            };
            text::line(format!(
                "  {} × {} {}: {} came{open}",
                l.line.count,
                l.line.pack,
                name(&l.line.material),
                words::weighed(l.came)
            ))?;
        }
    }
    Ok(())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework receive farm.book feather_meal \"12 x 50 lb\" --order 1 --lot \"FM 12/26\" --paid 510 --paper note.pdf --day 2027-02-20\n  spadework receive farm.book lime_calcitic \"1 ton\" --from \"Hollow Mill\"\n  spadework receive farm.book --correct 3 --lot \"FM 13\" --note \"the lot was misread\"\n  spadework receive farm.book --take-back 3 --note \"it was for the neighbour\"\n\nNothing is overwritten: a correction stands beside what it corrects."
)]
pub(crate) struct Receive {
    /// The book
    book: PathBuf,
    /// Key or name of the material
    #[arg(required_unless_present_any = ["correct", "take_back"])]
    material: Option<String>,
    /// How much came, with its unit, or so many packs of a weight
    #[arg(required_unless_present_any = ["correct", "take_back"])]
    amount: Option<String>,
    /// The supplier’s name; that of the order where none is given
    #[arg(long)]
    from: Option<String>,
    /// Number of the order it answers
    #[arg(long)]
    order: Option<i64>,
    /// The lot, as printed on the bag
    #[arg(long)]
    lot: Option<String>,
    /// Money paid for it
    #[arg(long)]
    paid: Option<String>,
    /// A file to keep beside it: the delivery note or the bill
    #[arg(long, value_name = "FILE")]
    paper: Option<PathBuf>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
    /// Of a correction, why
    #[arg(long)]
    note: Option<String>,
    /// A UUID that tells this entry from others: the same entry sent twice is one
    #[arg(long)]
    mark: Option<String>,
    /// Number of the delivery to correct: what is given here changes, the rest stays
    #[arg(long, value_name = "NUMBER")]
    correct: Option<i64>,
    /// Number of a delivery that should not be there
    #[arg(long, value_name = "NUMBER")]
    take_back: Option<i64>,
}

pub(super) fn receive(args: Receive, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let bytes = match &args.paper {
        None => None,
        Some(path) => Some((
            path.file_name()
                .map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
            std::fs::read(path).with_context(|| format!("{} cannot be read", path.display()))?,
        )),
    };
    let text_of = |v: &Option<String>| v.clone().unwrap_or_default();
    let typed = Typed {
        mark: text_of(&args.mark),
        material: text_of(&args.material),
        amount: text_of(&args.amount),
        from: text_of(&args.from),
        lot: text_of(&args.lot),
        day: text_of(&args.day),
        paid: text_of(&args.paid),
        order: args.order,
        note: text_of(&args.note),
        corrects: args.correct,
        clears: false,
    };
    let today = ZonedDateTime::now().date();
    let id = match args.take_back {
        Some(id) => {
            let back = delivery::take_back(&book, id, &text_of(&args.note))?;
            book.log_arrival(&back)?
        }
        None => delivery::write(&mut book, &typed, bytes, today)?,
    };
    let kept = book.arrival(id)?;
    if json {
        return text::json(&kept);
    }
    text::line(format!(
        "Delivery {id}: {} of {}{}.",
        words::weighed(kept.weight),
        name(&kept.material).to_lowercase(),
        if kept.lot.is_empty() {
            String::new()
        } else {
            format!(", lot {}", kept.lot)
        }
    ))?;
    Ok(())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework stock farm.book\n  spadework stock farm.book --count feather_meal --lot \"FM 12/26\" --amount \"118 lb\" --day 2027-11-30\n  spadework stock farm.book --correct 2 --amount \"181 lb\" --note \"misread the scale\"\n  spadework stock farm.book --take-back 2 --note \"it was the neighbour’s heap\""
)]
pub(crate) struct Stock {
    /// The book
    book: PathBuf,
    /// Key or name of a material that was weighed in the shed
    #[arg(long, value_name = "MATERIAL")]
    count: Option<String>,
    /// The lot that was weighed
    #[arg(long)]
    lot: Option<String>,
    /// What the scale showed, with its unit
    #[arg(long)]
    amount: Option<String>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
    /// Number of a count to correct: what is given here changes, the rest stays
    #[arg(long, value_name = "NUMBER")]
    correct: Option<i64>,
    /// Number of a count that should not have been written down
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["correct", "count", "lot", "amount", "day"])]
    take_back: Option<i64>,
    /// Of a correction or of what is taken back, why
    #[arg(long, default_value = "")]
    note: String,
}

pub(super) fn stock(args: Stock, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if let Some(id) = args.take_back {
        book.log_count(&delivery::take_back_count(&book, id, &args.note)?)?;
    } else if let Some(id) = args.correct {
        let on = args.day.as_deref().map(entry::day).transpose()?;
        let amount = args.amount.as_deref().unwrap_or_default();
        let new =
            delivery::correct_count(&book, id, amount, (args.lot.as_deref(), on), &args.note)?;
        book.log_count(&new)?;
    } else if let Some(material) = &args.count {
        let amount = args
            .amount
            .as_deref()
            .context("Say what the scale showed: --amount \"118 lb\".")?;
        let lot = args.lot.as_deref().unwrap_or_default();
        let new = delivery::count(material, lot, amount, the_day(args.day.as_ref())?)?;
        book.log_count(&new)?;
    }
    let all = stock::now(&book.materials()?, &Moves::of(&book)?);
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("Nothing is in the shed by the record.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|b| {
            vec![
                name(&b.material),
                b.lot.clone(),
                words::weighed(b.begin),
                words::weighed(b.came),
                words::weighed(b.used),
                words::weighed(b.counted),
                words::weighed(b.end),
            ]
        })
        .collect();
    text::line(text::columns(
        &[
            "Material",
            "lot",
            "at first",
            "came",
            "used",
            "counted ±",
            "on hand",
        ],
        &[false, false, true, true, true, true, true],
        &rows,
    ))?;
    Ok(())
}
