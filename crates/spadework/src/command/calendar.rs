use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::Book;
use farmwork::calendar::{self, Application, Calendar, State, ical};
use farmwork::{planning, words};
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework calendar farm.book\n  spadework calendar farm.book --block \"Tunnel 1\" --why\n  spadework calendar farm.book --ics spreading.ics"
)]
pub(crate) struct CalendarArgs {
    /// The book
    book: PathBuf,
    /// One block only
    #[arg(long)]
    block: Option<String>,
    /// With the reason and its source beside each day
    #[arg(long)]
    why: bool,
    /// The day to take for today, as in 2027-03-01
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
    /// Write a file for phones and calendar programs (iCalendar)
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
}

/// The day that is given to stand for today, or today.
pub(super) fn today_of(given: Option<&str>) -> anyhow::Result<Date> {
    let Some(day) = given else {
        return Ok(ZonedDateTime::now().date());
    };
    day.parse()
        .ok()
        .with_context(|| format!("“{day}” is not a day such as 2027-03-01."))
}

pub(super) fn run(args: CalendarArgs, json: bool) -> anyhow::Result<()> {
    let today = today_of(args.today.as_deref())?;
    let book = Book::open(&args.book)?;
    let Some(made) = planning::latest(&book)? else {
        bail!(
            "There is no plan to take days from yet: run `spadework plan {}` first.",
            args.book.display()
        );
    };
    let mut all = calendar::of_plan(&book, &made, today)?;
    if let Some(name) = &args.block {
        if book.block_by_name(name)?.is_none() {
            bail!("There is no block “{name}”.");
        }
        all.applications
            .retain(|a| a.block.eq_ignore_ascii_case(name));
        all.dropped.retain(|d| d.block.eq_ignore_ascii_case(name));
    }
    if let Some(out) = &args.ics {
        crate::write::whole(out, ical::file(&all).as_bytes())
            .with_context(|| format!("{} cannot be written", out.display()))?;
    }
    if json {
        return text::json(&all);
    }
    show(&all, args.why)?;
    if let Some(out) = &args.ics {
        let days = all.applications.iter().filter(|a| a.window.is_some());
        text::line(format!("Wrote {}, {} days.", out.display(), days.count()))?;
    }
    Ok(())
}

fn show(all: &Calendar, why: bool) -> anyhow::Result<()> {
    if all.applications.is_empty() {
        text::line("The plan spreads nothing here.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = all.applications.iter().map(row).collect();
    text::line(text::columns(
        &[
            "Day",
            "How it stands",
            "Block",
            "Material",
            "amount",
            "from",
            "best",
            "by",
        ],
        &[false, false, false, false, true, false, false, false],
        &rows,
    ))?;
    for a in &all.applications {
        if matches!(a.state, State::Shut | State::Late | State::Missing) {
            text::line(format!("\n{} on {}: {}", a.material, a.block, a.says))?;
            for way in &a.ways {
                text::line(format!("  {way}"))?;
            }
        }
    }
    for a in &all.applications {
        if let Some(near) = &a.near {
            text::line(format!("\n{} on {}: {}", a.material, a.block, near.says()))?;
        }
        let told = matches!(
            a.state,
            State::Shut | State::Late | State::Missing | State::Done
        );
        if !told && a.spread.last_on.is_some() {
            text::line(format!("\n{} on {}: {}", a.material, a.block, a.how_far()))?;
        }
    }
    if why {
        for a in &all.applications {
            reasons(a)?;
        }
    }
    text::line("")?;
    for c in &all.conditions {
        text::line(format!("{} ({})", c.text, c.source.text))?;
    }
    text::line("Follow the label, local rules and a licensed adviser.")?;
    Ok(())
}

fn row(a: &Application) -> Vec<String> {
    let day = |d: Option<Date>| d.map_or_else(|| "–".to_owned(), |d| d.to_string());
    let w = a.window.as_ref();
    vec![
        day(a.on),
        a.state.name().to_owned(),
        a.block.clone(),
        a.material.clone(),
        words::lb(a.lb),
        day(w.map(|w| w.earliest.day)),
        day(w.map(|w| w.best.day)),
        day(w.map(|w| w.latest.day)),
    ]
}

fn reasons(a: &Application) -> anyhow::Result<()> {
    let Some(w) = &a.window else { return Ok(()) };
    text::line(format!("\n{} on {}", a.material, a.block))?;
    let bounds = [
        ("from", Some(&w.earliest)),
        ("best", Some(&w.best)),
        ("by", Some(&w.latest)),
        ("never after", w.stop.as_ref()),
    ];
    for (name, bound) in bounds {
        let Some(b) = bound else { continue };
        text::line(format!(
            "  {name} {}: {} [{}; {}]",
            b.day,
            b.why,
            b.source.text,
            mark(&b.source)
        ))?;
    }
    for n in w.notes.iter().chain(&a.conditions) {
        text::line(format!(
            "  {} [{}; {}]",
            n.text,
            n.source.text,
            mark(&n.source)
        ))?;
    }
    Ok(())
}

fn mark(source: &agronomy::working::Source) -> &'static str {
    if source.evidence.unconfirmed() {
        "unconfirmed"
    } else {
        source.evidence.word()
    }
}
