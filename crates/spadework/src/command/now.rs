use super::calendar;
use crate::text;
use clap::Args;
use farmbook::Book;
use farmwork::glance;
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
    let today = calendar::today_of(args.today.as_deref())?;
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
