//! Ammonia that leaves manure before it is covered.

use super::{NitrogenError, checked, warn};
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// How soon manure is covered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Covered {
    /// Worked in within so many days.
    WithinDays(f64),
    /// Put under the surface.
    Injected,
    /// Left on bare ground, liquid.
    LeftLiquid,
    /// Left on the surface, solid.
    LeftSolid,
    /// Broadcast on a cover crop or residue and left.
    OnResidue,
}

/// Weather of the first days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weather {
    Average,
    CoolWet,
    CoolDry,
    WarmWet,
    WarmDry,
}

impl Weather {
    pub const ALL: [Self; 5] = [
        Self::Average,
        Self::CoolWet,
        Self::CoolDry,
        Self::WarmWet,
        Self::WarmDry,
    ];

    /// The word of the table.
    pub fn word(self) -> &'static str {
        match self {
            Self::Average => "average",
            Self::CoolWet => "cool-wet",
            Self::CoolDry => "cool-dry",
            Self::WarmWet => "warm-wet",
            Self::WarmDry => "warm-dry",
        }
    }

    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.word() == word)
    }
}

#[derive(Deserialize)]
struct Raw {
    place: String,
    days: Option<f64>,
    weather: String,
    kept: f64,
    printed: String,
    source: String,
    evidence: String,
}

struct Row {
    place: String,
    days: Option<f64>,
    weather: Weather,
    kept: f64,
    printed: String,
    source: Source,
}

fn load_rows() -> Result<Vec<Row>, TableError> {
    let name = "nitrogen/ammonia.csv";
    let text = include_str!("../../../../reference/nitrogen/ammonia.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let bad = |problem: String| table::wrong(name, i, problem);
            if !(0.0..=1.0).contains(&r.kept) {
                return Err(bad(format!("{} kept is not a share", r.kept)));
            }
            Ok(Row {
                weather: Weather::from_word(&r.weather)
                    .ok_or_else(|| bad(format!("“{}” is not a weather", r.weather)))?,
                place: r.place,
                days: r.days,
                kept: r.kept,
                printed: r.printed,
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

/// Share of ammonium N kept, 0 to 1, with what the table calls the case and its source.
///
/// Days are taken up to the next printed row; later than the last row counts as left.
///
/// # Errors
/// A time that cannot be, or a case that the table does not hold (two were held back as doubtful).
pub fn ammonium_kept(
    covered: Covered,
    weather: Weather,
) -> Result<(f64, String, Source), NitrogenError> {
    let place = match covered {
        Covered::WithinDays(days) => {
            checked(days, 365.0, "time to working in, in days")?;
            rows()
                .iter()
                .filter_map(|r| r.days)
                .filter(|d| *d >= days)
                .min_by(f64::total_cmp)
                .map_or_else(
                    || "left_liquid".to_owned(),
                    |d| format!("worked_in_{}", plain(d, 1)),
                )
        }
        Covered::Injected => "injected".to_owned(),
        Covered::LeftLiquid => "left_liquid".to_owned(),
        Covered::LeftSolid => "left_solid".to_owned(),
        Covered::OnResidue => "on_residue".to_owned(),
    };
    rows()
        .iter()
        .find(|r| r.place == place && r.weather == weather)
        .map(|r| {
            (
                r.kept,
                format!("{}, {} weather", r.printed, r.weather.word()),
                r.source.clone(),
            )
        })
        .ok_or_else(|| NitrogenError::NoAmmonia {
            weather: weather.word(),
            known: rows()
                .iter()
                .filter(|r| r.place == place)
                .map(|r| r.weather.word())
                .collect::<Vec<_>>()
                .join(", "),
        })
}

/// Ammonium N lost to the air: percent of it, or of the amount given (any unit of N) in that unit.
///
/// loss = ammonium × (1 − share kept); the shares are those of Alberta’s table, and for solid manure
/// left on the surface Montana’s.
///
/// # Errors
/// As [`ammonium_kept`].
pub fn ammonia_loss(
    ammonium: Option<(f64, &str)>,
    covered: Covered,
    weather: Weather,
) -> Result<Figure, NitrogenError> {
    let (kept, printed, source) = ammonium_kept(covered, weather)?;
    let mut figure = Figure::new("Ammonia lost to the air");
    let pct = figure.step(
        "share of ammonium lost",
        (1.0 - kept) * 100.0,
        "%",
        format!("(1 − {}) × 100; {printed}", plain(kept, 3)),
        source,
    );
    if let Some((amount, unit)) = ammonium {
        checked(amount, 5_000.0, "amount of ammonium nitrogen")?;
        figure.step(
            "ammonia nitrogen lost",
            amount * pct / 100.0,
            unit,
            format!("{} × {} %", plain(amount, 4), plain(pct, 3)),
            Source::arithmetic(),
        );
    }
    if matches!(covered, Covered::WithinDays(days) if days < 1.0) {
        warn(&mut figure, "first_day");
    }
    warn(&mut figure, "ammonia_hours");
    Ok(figure)
}
