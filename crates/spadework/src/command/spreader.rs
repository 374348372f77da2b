//! Spreaders and buckets: walks written down, the setting for a rate, what a full bucket weighs.

use crate::text;
use agronomy::spreader;
use agronomy::working::Evidence;
use clap::Args;
use farmbook::{Book, Bucket};
use farmwork::record::entry;
use farmwork::spreaders::{self, Known, Typed, full_buckets};
use farmwork::{job_sheet, words};
use jiff::ZonedDateTime;
use quantity::plain;
use serde_json::json;
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework spreader farm.book --name \"Drop cart\" --material feather_meal --setting 6 --width 3ft --length 100ft --used 1.2lb\n  spadework spreader farm.book --way broadcast --name Broadcaster --material lime_calcitic --setting 4 --pans \"1 3 6 7 6 3 1\" --pans-apart 2ft --length 100ft --put-in 20lb --left 12lb\n  spadework spreader farm.book --way hand --material feather_meal --width 30in --length 100ft --count 12 --of handful --each 4oz\n  spadework spreader farm.book --wanted 5\n  spadework spreader farm.book --forget 3\n\nLengths without a unit are ft, weights lb. --try says what a walk laid down and keeps nothing."
)]
pub(crate) struct SpreaderArgs {
    /// The book
    book: PathBuf,
    /// drop, broadcast or hand
    #[arg(long)]
    way: Option<String>,
    /// What the crew calls the spreader
    #[arg(long)]
    name: Option<String>,
    /// Key or name of the material
    #[arg(long)]
    material: Option<String>,
    /// As marked on the spreader
    #[arg(long)]
    setting: Option<String>,
    /// The day; today where none is given
    #[arg(long)]
    day: Option<String>,
    /// Inside of the hopper, the effective swath, or the ground spread by hand
    #[arg(long)]
    width: Option<String>,
    /// Percent that one throw laps over the next; the width is then the throw
    #[arg(long, value_name = "PERCENT")]
    overlap: Option<String>,
    /// What each pan across the path caught, left to right
    #[arg(long)]
    pans: Option<String>,
    /// From the middle of a pan to the next
    #[arg(long, value_name = "LENGTH")]
    pans_apart: Option<String>,
    /// Walked with the gate open
    #[arg(long)]
    length: Option<String>,
    /// Times that the same strip was walked before weighing
    #[arg(long)]
    trips: Option<String>,
    /// Caught or used up
    #[arg(long)]
    used: Option<String>,
    /// Put into the hopper
    #[arg(long)]
    put_in: Option<String>,
    /// Left in it
    #[arg(long)]
    left: Option<String>,
    /// How many handfuls, cups and the like
    #[arg(long)]
    count: Option<String>,
    /// handful, cup, pint, scoop, can or bucket
    #[arg(long)]
    of: Option<String>,
    /// What one of them weighs
    #[arg(long)]
    each: Option<String>,
    #[arg(long)]
    note: Option<String>,
    /// lb on 1,000 ft2 that is wanted: the setting for it
    #[arg(long, value_name = "RATE")]
    wanted: Option<f64>,
    /// Say what the walk laid down and keep nothing
    #[arg(long = "try")]
    only_try: bool,
    /// Number of the walk whose place this one takes: what is given here changes, the rest stays
    #[arg(long, value_name = "NUMBER", conflicts_with = "forget")]
    correct: Option<i64>,
    /// Number of a walk that should not count
    #[arg(long, value_name = "NUMBER")]
    forget: Option<i64>,
}

impl SpreaderArgs {
    /// The walk as it was typed, over the one that it corrects.
    fn typed(&self, mut typed: Typed) -> Typed {
        // A new way of measuring takes the place of the old one.
        if self.used.is_some() || self.put_in.is_some() || self.count.is_some() {
            for field in [
                &mut typed.used,
                &mut typed.before,
                &mut typed.left,
                &mut typed.count,
                &mut typed.of,
                &mut typed.each,
            ] {
                field.clear();
            }
        }
        if self.width.is_some() || self.pans.is_some() {
            for field in [
                &mut typed.width,
                &mut typed.overlap,
                &mut typed.pans,
                &mut typed.spacing,
            ] {
                field.clear();
            }
        }
        for (given, field) in [
            (&self.way, &mut typed.way),
            (&self.name, &mut typed.spreader),
            (&self.material, &mut typed.material),
            (&self.setting, &mut typed.setting),
            (&self.day, &mut typed.day),
            (&self.width, &mut typed.width),
            (&self.overlap, &mut typed.overlap),
            (&self.pans, &mut typed.pans),
            (&self.pans_apart, &mut typed.spacing),
            (&self.length, &mut typed.length),
            (&self.trips, &mut typed.trips),
            (&self.used, &mut typed.used),
            (&self.put_in, &mut typed.before),
            (&self.left, &mut typed.left),
            (&self.count, &mut typed.count),
            (&self.of, &mut typed.of),
            (&self.each, &mut typed.each),
            (&self.note, &mut typed.note),
        ] {
            if let Some(given) = given {
                given.clone_into(field);
            }
        }
        typed
    }
}

pub(super) fn run(args: SpreaderArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if args.wanted.is_some_and(|w| !(w.is_finite() && w > 0.0)) {
        anyhow::bail!("A rate is more than zero: --wanted 5 is 5 lb on 1,000 ft2.");
    }
    if let Some(id) = args.forget {
        book.forget_walk(id)?;
    }
    let before = match args.correct {
        Some(id) => Typed::of(&book.walk(id)?)?,
        None => Typed::default(),
    };
    let typed = args.typed(before.clone());
    if typed != before {
        let kept = typed.walk(ZonedDateTime::now().date())?;
        let told = spreaders::told(kept.clone())?;
        if args.only_try && json {
            return text::json(&told);
        }
        if !args.only_try {
            book.keep_walk(&kept)?;
        }
        if !json {
            text::line(text::figure(&told.rate))?;
            for c in spreader::advice(told.walk.way, told.rate.value, args.wanted) {
                text::line(format!("  {} ({})", c.text, c.source.text))?;
            }
        }
        if args.only_try {
            return Ok(());
        }
    }
    let all = spreaders::all(&book)?;
    if json {
        return text::json(&listed(&all, args.wanted));
    }
    if all.is_empty() {
        text::line("No walk is written down yet; `spadework spreader --help` shows how.")?;
    }
    for known in &all {
        list(known, args.wanted)?;
    }
    Ok(())
}

fn listed(all: &[Known], wanted: Option<f64>) -> Vec<serde_json::Value> {
    all.iter()
        .map(|k| {
            let set = wanted.and_then(|w| spreader::with_passes(&k.settings, w));
            json!({
                "spreader": k.spreader,
                "material": k.material,
                "way": k.way,
                "settings": k.settings,
                "walks": k.walks,
                "wanted": set.map(|(passes, found)| json!({ "passes": passes, "found": found })),
            })
        })
        .collect()
}

fn list(known: &Known, wanted: Option<f64>) -> anyhow::Result<()> {
    let material = agronomy::material::find(&known.material)
        .map_or_else(|| known.material.clone(), |m| m.name.to_lowercase());
    text::line(format!("{} with {material}", known.spreader))?;
    let rows: Vec<Vec<String>> = known
        .walks
        .iter()
        .map(|t| {
            vec![
                t.kept.id.to_string(),
                t.kept.day.to_string(),
                t.kept.setting.clone(),
                format!(
                    "{} ft x {} ft",
                    plain(t.width_ft, 3),
                    plain(t.walk.length_ft, 4)
                ),
                plain(t.rate.value, 3),
            ]
        })
        .collect();
    text::line(text::columns(
        &["No", "Day", "Setting", "Strip", "lb/1000 ft2"],
        &[true, false, false, false, true],
        &rows,
    ))?;
    let (most, _) = spreader::most_apart();
    for s in known
        .settings
        .iter()
        .filter(|s| s.walks > 1 && s.apart() > most)
    {
        text::line(format!(
            "  Setting {}: {} walks lie {} % apart; walk it again.",
            s.setting,
            s.walks,
            plain(s.apart(), 2)
        ))?;
    }
    if let Some(wanted) = wanted {
        let of = [known.clone()];
        for s in spreaders::for_job(&of, &known.material, wanted, wanted, None) {
            text::line(format!(
                "  For {} lb on 1,000 ft2: {}",
                plain(wanted, 3),
                s.says("on 1,000 ft2")
            ))?;
        }
    }
    Ok(())
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework bucket farm.book --gallons 3\n  spadework bucket farm.book --material feather_meal --gallons 5 --full \"22.5 lb\"\n  spadework bucket farm.book --forget feather_meal"
)]
pub(crate) struct BucketArgs {
    /// The book
    book: PathBuf,
    /// How much it holds; the job sheets count in it
    #[arg(long)]
    gallons: Option<f64>,
    /// Key or name of a material that was weighed in it
    #[arg(long)]
    material: Option<String>,
    /// What a full one weighed, without the bucket
    #[arg(long)]
    full: Option<String>,
    /// Forget what a material weighed; “size” forgets the crew’s own size
    #[arg(long, value_name = "MATERIAL", conflicts_with = "gallons")]
    forget: Option<String>,
}

pub(super) fn bucket(args: BucketArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    if let Some(name) = &args.forget {
        let key = match name.as_str() {
            "size" => String::new(),
            name => entry::material_key(name)?,
        };
        book.forget_bucket(&key)?;
    } else if let Some(gallons) = args.gallons {
        let weight = args.full.as_deref().map(entry::weight).transpose()?;
        let material = match &args.material {
            Some(name) => entry::material_key(name)?,
            None => String::new(),
        };
        if weight.is_some() == material.is_empty() {
            anyhow::bail!(
                "Say both which material was weighed and what a full bucket of it weighed, or neither."
            );
        }
        book.set_bucket(&Bucket {
            material,
            gallons,
            measured_on: weight.map(|_| ZonedDateTime::now().date()),
            weight,
        })?;
    } else if args.full.is_some() || args.material.is_some() {
        anyhow::bail!("Say how much the bucket holds: --gallons 5.");
    }
    let gallons = job_sheet::own_bucket(&book)?;
    let all = full_buckets(&book)?;
    if json {
        return text::json(&json!({ "gallons": gallons, "full": all }));
    }
    text::line(format!(
        "Job sheets count in a bucket of {} gallons.",
        plain(gallons, 3)
    ))?;
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|b| {
            vec![
                b.name.clone(),
                b.lb.map_or_else(|| "not known".to_owned(), words::lb),
                match (b.measured_on(), b.published.as_ref()) {
                    (Some(day), _) => format!("your scale, {day}"),
                    (None, Some(f)) if f.weakest().is_some_and(Evidence::unconfirmed) => {
                        "a usual density, unconfirmed".to_owned()
                    }
                    (None, Some(_)) => "a published density".to_owned(),
                    (None, None) => "weigh one".to_owned(),
                },
            ]
        })
        .collect();
    if !rows.is_empty() {
        text::line(text::columns(
            &["Material", "a full one", "Known by"],
            &[false, true, false],
            &rows,
        ))?;
    }
    Ok(())
}
