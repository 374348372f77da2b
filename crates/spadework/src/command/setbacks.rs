//! How far what is spread is kept from water and wells, and which ground gets none.

use crate::text;
use agronomy::setback::Class;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, MarkKind, OwnSetback};
use farmwork::setback::{self, Setbacks};
use quantity::{Length, plain};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework setbacks farm.book\n  spadework setbacks farm.book --keep water:manure=150\n  spadework setbacks farm.book --local water:manure=50 --forget well:compost"
)]
pub(crate) struct SetbackArgs {
    /// The book
    book: PathBuf,
    /// Your own distance in feet; it holds where it is larger than the printed one: THING:MATERIAL=FEET
    #[arg(long, value_name = "THING:MATERIAL=FEET")]
    keep: Vec<String>,
    /// The same as the rule of your place: it holds even where the printed one is larger
    #[arg(long, value_name = "THING:MATERIAL=FEET")]
    local: Vec<String>,
    /// Forget your own distance
    #[arg(long, value_name = "THING:MATERIAL")]
    forget: Vec<String>,
}

fn of(text: &str) -> anyhow::Result<(MarkKind, Class)> {
    let (kind, class) = text
        .split_once(':')
        .with_context(|| format!("“{text}” is not THING:MATERIAL, as in water:manure."))?;
    let Some(kind) = MarkKind::from_key(kind.trim()) else {
        bail!(
            "Found the thing “{}”, expected one of {}.",
            kind.trim(),
            MarkKind::ALL.map(MarkKind::key).join(", ")
        );
    };
    let Some(class) = Class::from_key(class.trim()) else {
        bail!(
            "Found the material “{}”, expected one of {}.",
            class.trim(),
            Class::ALL.map(Class::key).join(", ")
        );
    };
    Ok((kind, class))
}

fn own(given: &str, local: bool) -> anyhow::Result<OwnSetback> {
    let (what, feet) = given.split_once('=').with_context(|| {
        format!("“{given}” is not THING:MATERIAL=FEET, as in water:manure=150.")
    })?;
    let (kind, class) = of(what)?;
    let feet: f64 = feet
        .trim()
        .parse()
        .ok()
        .filter(|f: &f64| f.is_finite())
        .with_context(|| format!("“{}” is not a distance in feet such as 150.", feet.trim()))?;
    Ok(OwnSetback {
        kind,
        class,
        distance: Length::feet(feet),
        local,
    })
}

pub(super) fn run(args: SetbackArgs, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let mut set = Vec::new();
    for given in &args.keep {
        set.push(own(given, false)?);
    }
    for given in &args.local {
        set.push(own(given, true)?);
    }
    let mut gone = Vec::new();
    for given in &args.forget {
        gone.push(of(given)?);
    }
    if !(set.is_empty() && gone.is_empty()) {
        book.together("Set how far things are kept from water and wells", |book| {
            for (kind, class) in &gone {
                book.clear_setback(*kind, *class)?;
            }
            for own in &set {
                book.set_setback(own)?;
            }
            Ok(())
        })?;
    }
    show(&book, json)
}

fn show(book: &Book, json: bool) -> anyhow::Result<()> {
    let mut rules = setback::rules(book)?;
    rules.retain(|r| r.holds().is_some());
    let setbacks = Setbacks::of(book)?;
    let mut strips = Vec::new();
    for block in book.blocks()? {
        for class in Class::ALL {
            if let Some(near) = setbacks.on_class(&block, class) {
                strips.push((block.name.clone(), class, near));
            }
        }
    }
    if json {
        let rules: Vec<_> = rules
            .iter()
            .map(|r| {
                serde_json::json!({
                    "thing": r.kind,
                    "material": r.class,
                    "feet": r.holds().map(Length::to_feet),
                    "why": r.why(),
                    "published": r.published,
                    "own": r.own,
                })
            })
            .collect();
        let strips: Vec<_> = strips
            .iter()
            .map(|(block, class, near)| {
                serde_json::json!({
                    "block": block, "material": class, "near": near, "says": near.says(),
                })
            })
            .collect();
        return text::json(&serde_json::json!({ "rules": rules, "none_on": strips }));
    }
    let rows: Vec<Vec<String>> = rules
        .iter()
        .map(|r| {
            vec![
                r.kind.name().to_owned(),
                r.class.name().to_owned(),
                r.holds()
                    .map_or_else(String::new, |d| format!("{} ft", plain(d.to_feet(), 4))),
                r.why(),
            ]
        })
        .collect();
    text::line(text::columns(
        &["Thing", "Material", "kept", "Why"],
        &[false, false, true, false],
        &rows,
    ))?;
    for (block, class, near) in &strips {
        text::line(format!("{block}, {}: {}", class.name(), near.says()))?;
    }
    if strips.is_empty() {
        text::line("No block lies too near to anything on the map.")?;
    }
    text::line("Your state, your certifier and the label may ask for more, and stand above this.")?;
    Ok(())
}
