//! The nitrate test before sidedressing, by every published way of reading it held here.

use super::release::rule;
use super::{NitrogenError, checked, warn};
use crate::constant::{Constant, Constants};
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::sync::OnceLock;

/// A published level of nitrate above which sidedressing is not expected to pay.
#[derive(Debug, Clone)]
pub struct NitrateLevel {
    /// A crop’s key, `field_corn`, or `any` for annual vegetables at large.
    pub crop: String,
    pub system: String,
    /// ppm NO3-N
    pub low: f64,
    pub high: f64,
    /// Depth sampled, inches
    pub depth_in: f64,
    pub note: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Raw {
    crop: String,
    system: String,
    ppm_low: f64,
    ppm_high: f64,
    depth_in: f64,
    note: String,
    source: String,
    evidence: String,
}

fn load_levels() -> Result<Vec<NitrateLevel>, TableError> {
    let name = "nitrogen/nitrate_levels.csv";
    let text = include_str!("../../../../reference/nitrogen/nitrate_levels.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(NitrateLevel {
                crop: r.crop,
                system: r.system,
                low: r.ppm_low,
                high: r.ppm_high,
                depth_in: r.depth_in,
                note: r.note,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

fn load_pennsylvania() -> Result<Constants, TableError> {
    Constants::parse(
        "nitrogen/nitrate_pennsylvania.csv",
        include_str!("../../../../reference/nitrogen/nitrate_pennsylvania.csv"),
    )
}

pub(super) fn load() -> Result<(), TableError> {
    load_levels()?;
    load_pennsylvania().map(|_| ())
}

/// The published levels.
pub fn nitrate_levels() -> &'static [NitrateLevel] {
    static LEVELS: OnceLock<Vec<NitrateLevel>> = OnceLock::new();
    LEVELS.get_or_init(|| load_levels().unwrap_or_default())
}

/// The published level for a crop: its own first, then the one for annual vegetables at large.
///
/// # Errors
/// The named system holds no level for the crop.
pub fn nitrate_level(
    crop: &str,
    system: Option<&str>,
) -> Result<&'static NitrateLevel, NitrogenError> {
    let of = |crop: &str| {
        nitrate_levels()
            .iter()
            .find(|l| l.crop == crop && system.is_none_or(|s| l.system == s))
    };
    of(crop)
        .or_else(|| of("any"))
        .ok_or_else(|| NitrogenError::Unknown {
            what: "published nitrate level for that crop",
            found: system.map_or_else(|| crop.to_owned(), |s| format!("{crop} by {s}")),
            known: nitrate_levels()
                .iter()
                .map(|l| format!("{} ({})", l.crop, l.system))
                .collect::<Vec<_>>()
                .join(", "),
        })
}

/// lb N/acre to sidedress so that the top foot is raised to the published level and no further
/// (the rule of Texas A&M): (level − test) × lb per ppm, not below 0.
///
/// `nitrate_ppm` is NO3-N in the top 12 inches, sampled just before sidedressing. One ppm in that
/// depth is 3.6 to 4 lb/acre with the soil’s bulk density.
///
/// # Errors
/// No level for the crop, or a test that cannot be.
pub fn raise_to_level(
    crop: &str,
    system: Option<&str>,
    nitrate_ppm: f64,
    sandy_low_organic: bool,
) -> Result<Figure, NitrogenError> {
    checked(nitrate_ppm, 500.0, "nitrate test in ppm")?;
    let level = nitrate_level(crop, system)?;
    let (light, heavy) = (rule("ppm_to_lb_low")?, rule("ppm_to_lb_high")?);
    let mut figure = Figure::new("Nitrogen to sidedress from a nitrate test");
    let at = figure.step(
        "level above which more is not expected to pay",
        (level.low + level.high) / 2.0,
        "ppm",
        format!(
            "{} ppm nitrate nitrogen in the top {} inches{}{}",
            if level.low < level.high {
                format!("{} to {}", plain(level.low, 3), plain(level.high, 3))
            } else {
                plain(level.low, 3)
            },
            plain(level.depth_in, 2),
            if level.note.is_empty() { "" } else { "; " },
            level.note
        ),
        level.source.clone(),
    );
    let per = figure.step(
        "nitrogen in the top foot for one ppm",
        (light.value + heavy.value) / 2.0,
        "lb N/acre per ppm",
        format!(
            "between {} and {}",
            plain(light.value, 2),
            plain(heavy.value, 2)
        ),
        light.source.clone(),
    );
    figure.step(
        "nitrogen to sidedress",
        ((at - nitrate_ppm) * per).max(0.0),
        "lb N/acre",
        format!(
            "({} − {}) × {}, not below 0",
            plain(at, 3),
            plain(nitrate_ppm, 3),
            plain(per, 3)
        ),
        Source::arithmetic(),
    );
    figure.low = Some(((level.low - nitrate_ppm) * light.value).max(0.0));
    figure.high = Some(((level.high - nitrate_ppm) * heavy.value).max(0.0));
    if level.crop != crop {
        figure.caution(
            "No level was published here for this crop alone: that of annual vegetables is used.",
            level.source.clone(),
        );
    }
    if sandy_low_organic {
        warn(&mut figure, "sand_test");
    }
    if figure.value > 0.0 {
        warn(&mut figure, "leaching");
    }
    Ok(figure)
}

/// What grew before the corn, for Pennsylvania’s worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BeforeCorn {
    Corn,
    Soybean,
    ForageLegume,
    Other,
}

/// The field’s history, for Pennsylvania’s worksheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CornHistory {
    /// Expected yield, bushels of grain per acre
    pub yield_bu: f64,
    /// Manure since the last harvest
    pub manured_since_harvest: bool,
    /// Manure in the three years before that
    pub manured_before: bool,
    pub previous: BeforeCorn,
}

/// lb N/acre to sidedress field corn by Penn State’s worksheet (Agronomy Guide, Table 1.4-4):
/// 0 from 21 ppm NO3-N in the top 12 inches, else 1.1 × yield − (h1 + h2 + h3) × ppm, not below 0.
///
/// # Errors
/// A test or a yield that cannot be.
pub fn pennsylvania_corn(nitrate_ppm: f64, history: &CornHistory) -> Result<Figure, NitrogenError> {
    static TABLE: OnceLock<Constants> = OnceLock::new();
    let all = TABLE.get_or_init(|| load_pennsylvania().unwrap_or_default());
    let get = |key: &str| -> Result<&Constant, NitrogenError> {
        all.get(key)
            .ok_or(NitrogenError::Table("Pennsylvania worksheet"))
    };
    checked(nitrate_ppm, 500.0, "nitrate test in ppm")?;
    checked(history.yield_bu, 500.0, "yield in bushels per acre")?;
    let enough = get("enough_ppm")?;
    let mut figure = Figure::new("Nitrogen to sidedress field corn");
    if nitrate_ppm >= enough.value {
        figure.step(
            "sidedress",
            0.0,
            "lb N/acre",
            format!(
                "{} ppm is at or above {}",
                plain(nitrate_ppm, 3),
                plain(enough.value, 3)
            ),
            enough.source.clone(),
        );
        return Ok(figure);
    }
    let yes = |b: bool| if b { "yes" } else { "no" };
    let h1 = get(&format!(
        "manured_since_harvest_{}",
        yes(history.manured_since_harvest)
    ))?;
    let h2 = get(&format!("manured_before_{}", yes(history.manured_before)))?;
    let h3 = get(match history.previous {
        BeforeCorn::Corn => "previous_corn",
        BeforeCorn::Soybean => "previous_soybean",
        BeforeCorn::ForageLegume => "previous_forage_legume",
        BeforeCorn::Other => "previous_other",
    })?;
    let per = get("per_bushel")?;
    let factor = figure.step(
        "nitrogen for one ppm, by the field’s history",
        h1.value + h2.value + h3.value,
        "lb N/acre per ppm",
        format!("{} + {} + {}", h1.value, h2.value, h3.value),
        h1.source.clone(),
    );
    figure.step(
        "sidedress",
        (per.value * history.yield_bu - factor * nitrate_ppm).max(0.0),
        "lb N/acre",
        format!(
            "{} × {} bu − {} × {} ppm, not below 0",
            per.value,
            plain(history.yield_bu, 4),
            plain(factor, 3),
            plain(nitrate_ppm, 3)
        ),
        per.source.clone(),
    );
    Ok(figure)
}
