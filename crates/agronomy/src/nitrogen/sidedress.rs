//! What to sidedress from a nitrate test taken before it.

use super::{NitrogenError, checked};
use crate::crop::Crop;
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::sync::OnceLock;

struct Row {
    crop: String,
    manured: bool,
    up_to: Option<f64>,
    lb_per_acre: f64,
    source: Source,
}

#[derive(Deserialize)]
struct Raw {
    crop: String,
    manured: String,
    ppm_up_to: Option<f64>,
    lb_per_acre: f64,
    source: String,
    evidence: String,
}

fn load_rows() -> Result<Vec<Row>, TableError> {
    let name = "nitrogen/sidedress.csv";
    let text = include_str!("../../../../reference/nitrogen/sidedress.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Row {
                crop: r.crop,
                manured: r.manured == "yes",
                up_to: r.ppm_up_to,
                lb_per_acre: r.lb_per_acre,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn load() -> Result<(), TableError> {
    load_rows().map(|_| ())
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| load_rows().unwrap_or_default())
}

/// lb N/acre to sidedress, from ppm NO3-N in the top 12 inches. The table counts whole ppm, so the
/// test is rounded first and a bound belongs to the row that it closes.
pub fn sidedress(crop: &Crop, nitrate_ppm: f64, manured: bool) -> Result<Figure, NitrogenError> {
    checked(nitrate_ppm, 500.0, "nitrate test in ppm")?;
    let whole = nitrate_ppm.round();
    let row = rows()
        .iter()
        .filter(|r| r.crop == crop.key && r.manured == manured)
        .find(|r| r.up_to.is_none_or(|most| whole <= most))
        .ok_or_else(|| NitrogenError::NoSidedress(crop.name.to_lowercase()))?;
    let mut figure = Figure::new(format!(
        "Nitrogen to sidedress {}",
        crop.name.to_lowercase()
    ));
    figure.step(
        "sidedress",
        row.lb_per_acre,
        "lb N/acre",
        format!(
            "{} ppm nitrate nitrogen, {}",
            plain(whole, 3),
            if manured { "manured" } else { "not manured" }
        ),
        row.source.clone(),
    );
    Ok(figure)
}
