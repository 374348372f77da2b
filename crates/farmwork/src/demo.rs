//! Pipit Lane, an invented farm, filled in the way a grower would fill the book.

use crate::{Result, ground_file, lab, outlines, supply};
use agronomy::compost::{Making, Way};
use farmbook::{Book, CompostMade, Farm};
use std::path::Path;

/// The invented farm’s ground.
pub const GROUND: &[u8] = include_bytes!("../../../demo/ground.csv");
/// Where the blocks of the invented farm lie: at sea, so that nobody’s ground is shown.
pub const OUTLINES: &[u8] = include_bytes!("../../../demo/outlines.geojson");
/// The invented lab’s file.
pub const REPORT: &[u8] = include_bytes!("../../../demo/soil_report.csv");
/// The name the invented lab’s file arrives under.
pub const REPORT_NAME: &str = "soil_report.csv";

/// Makes the farm’s book at a path: ground, crops, materials with invented prices, the lab’s file.
/// A plan is not made yet: that is for the visitor.
///
/// # Errors
/// A file is there already, or cannot be written.
pub fn create(path: &Path, season: i64) -> Result<Book> {
    let mut farm = Farm::new("Pipit Lane", season);
    farm.organic = true;
    farm.region = "New Jersey".to_owned();
    let mut book = Book::create(path, &farm)?;
    book.as_person("demo");
    ground_file::add(&mut book, "ground.csv", GROUND)?;
    let lie = outlines::propose(
        &book,
        "outlines.geojson",
        OUTLINES,
        &outlines::Ask::default(),
    )?;
    outlines::keep(&mut book, &lie)?;
    supply::tick_usual(&mut book, true)?;
    for (id, lb) in [("feather_meal", 60.0), ("lime_calcitic", 200.0)] {
        if let Some(mut choice) = book.material(id)? {
            choice.stock_lb = lb;
            book.set_material(&choice)?;
        }
    }
    book.set_compost(&CompostMade {
        material: "compost_general".to_owned(),
        lot: String::new(),
        made: Making {
            c_to_n: Some(30.0),
            days_hot: Some(18),
            turned: Some(6),
            paper: "invented log of temperatures, green folder".to_owned(),
            ..Making::new(Way::Windrow)
        },
    })?;
    let report = lab::take_in(&mut book, REPORT_NAME, REPORT, &lab::Answers::default())?;
    // One box was labelled otherwise; the grower says whose it is.
    if let Some(tunnel) = book.block_by_name("Tunnel 1")? {
        let placed: Vec<_> = book
            .tests_in(report)?
            .iter()
            .filter(|t| t.sample == "Tunnel one")
            .map(|t| (t.id, Some(tunnel.id)))
            .collect();
        lab::place(&mut book, &placed)?;
    }
    Ok(book)
}
