use crate::text;
use anyhow::Context;
use clap::Args;
use farmbook::Book;
use farmwork::glance;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Args)]
#[command(after_help = "Example:\n  spadework now farm.book")]
pub(crate) struct Now {
    /// The book
    book: PathBuf,
    /// The day to take for today, as in 2027-03-01
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
}

pub(super) fn run(args: &Now, json: bool) -> anyhow::Result<()> {
    let today: Date = match &args.today {
        None => ZonedDateTime::now().date(),
        Some(day) => day
            .parse()
            .ok()
            .with_context(|| format!("“{day}” is not a day such as 2027-03-01."))?,
    };
    let glance = glance::of_farm(&Book::open(&args.book)?, today)?;
    if json {
        return text::json(&glance);
    }
    if glance.attention.is_empty() {
        text::line("Nothing waits.")?;
    }
    for a in &glance.attention {
        text::line(format!("{}\n  {}", a.matter.heading(), a.matter.why()))?;
        for one in &a.what {
            let reason = if one.reason.is_empty() {
                String::new()
            } else {
                format!(": {}", one.reason)
            };
            text::line(format!("    {}{reason}", one.name))?;
        }
    }
    if let Some((day, block)) = &glance.next_sampling {
        text::line(format!("Next sampling: {block}, due by {day}."))?;
    }
    Ok(())
}
