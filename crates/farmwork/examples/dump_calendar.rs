//! The invented farm’s calendar as JSON and as the file for phones, for a reader written elsewhere:
//! `cargo run --release -p farmwork --example dump_calendar -- FOLDER` writes `calendar.json` and
//! `calendar.ics`, and `moved.json` and `moved.ics` after a planting was moved and a material dropped.

use farmwork::calendar::{self, ical};
use farmwork::{demo, planning};
use jiff::ToSpan;
use jiff::civil::date;
use std::error::Error;
use std::path::{Path, PathBuf};

/// A name that a careless writer would break at.
const ODD: &str = "Señora’s; Field, \\North — “ü” 北の畑 whose name is longer than a line";

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or("name a folder")?);
    let scratch = tempfile::tempdir()?;
    let mut book = demo::create(&scratch.path().join("farm.book"), 2027)?;
    let mut creek = book
        .block_by_name("Creek Field")?
        .ok_or("the demo has no Creek Field")?;
    ODD.clone_into(&mut creek.name);
    book.change_block(&creek)?;
    let made = planning::make(&mut book)?;
    // Late enough for every state.
    let today = date(2027, 4, 5);
    write(
        &folder,
        "calendar",
        &calendar::of_plan(&book, &made, today)?,
    )?;

    let planting = book
        .plantings(2027)?
        .into_iter()
        .find(|p| p.block == creek.id);
    let mut planting = planting.ok_or("nothing grows on the field")?;
    planting.plant_on = planting.plant_on.and_then(|d| d.checked_add(9.days()).ok());
    book.set_planting(&planting)?;
    let mut plan = made.plan.clone();
    plan.amounts.remove(0);
    planning::keep(&mut book, &made.problem, plan)?;
    let made = planning::latest(&book)?.ok_or("the plan is gone")?;
    write(&folder, "moved", &calendar::of_plan(&book, &made, today)?)
}

fn write(folder: &Path, name: &str, all: &calendar::Calendar) -> Result<(), Box<dyn Error>> {
    let path = folder.join(name);
    std::fs::write(path.with_extension("json"), serde_json::to_vec_pretty(all)?)?;
    std::fs::write(path.with_extension("ics"), ical::file(all))?;
    Ok(())
}
