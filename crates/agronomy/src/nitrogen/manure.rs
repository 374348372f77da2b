//! What manure and compost give in the year they are spread and in the years after.

mod tables;

pub(super) use self::tables::load;

use self::tables::{Named, tables};
use super::{NitrogenError, checked, warn};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// One year of a published sequence.
#[derive(Debug, Clone)]
pub struct ManureYear {
    /// e.g. `cow`, `compost`
    pub kind: String,
    pub name: String,
    /// `cornell` or `germany`
    pub system: String,
    /// Whether the share is of organic N (`true`) or of total N.
    pub of_organic: bool,
    /// 1 is the year of spreading.
    pub year: u8,
    /// Percent, for the wetter and the drier class.
    pub pct: (f64, f64),
    /// Dry matter, percent, from which the drier class counts.
    pub dry_from: Option<f64>,
    /// Ids of the materials it stands for.
    pub materials: Vec<String>,
    pub note: String,
    pub source: Source,
}

/// The published shares by year.
pub fn manure_years() -> &'static [ManureYear] {
    &tables().years
}

/// The kind of [`manure_years`] that a material is, such as `cow`.
pub fn manure_kind(material: &str) -> Option<&'static str> {
    manure_years()
        .iter()
        .find(|y| y.materials.iter().any(|m| m == material))
        .map(|y| y.kind.as_str())
}

/// Nitrogen that manure or compost spread at one rate gives this year, lb N/acre.
///
/// `lb_per_acre` is organic N for the manures of the Cornell table (cow, sheep, swine, horse, poultry;
/// ammonium and nitrate come on top and are not in it) and total N for `organic` and `compost` of the
/// German ordinance. `years_ago` lists the years it was spread at that rate: 0 is this year. Years the
/// source gives nothing for add nothing and are named in a caution.
///
/// # Errors
/// An unknown kind, or a value that cannot be.
pub fn residual(
    kind: &str,
    lb_per_acre: f64,
    dry_matter_pct: Option<f64>,
    years_ago: &[u8],
) -> Result<Figure, NitrogenError> {
    checked(lb_per_acre, 5_000.0, "nitrogen spread in lb per acre")?;
    if let Some(dm) = dry_matter_pct {
        checked(dm, 100.0, "dry matter in percent")?;
    }
    let of: Vec<_> = manure_years().iter().filter(|y| y.kind == kind).collect();
    let Some(first) = of.first() else {
        let mut known: Vec<_> = manure_years().iter().map(|y| y.kind.as_str()).collect();
        known.dedup();
        return Err(NitrogenError::Unknown {
            what: "kind of manure or compost with shares by year",
            found: kind.to_owned(),
            known: known.join(", "),
        });
    };
    let basis = if first.of_organic { "organic" } else { "total" };
    let mut figure = Figure::new(format!(
        "Nitrogen from {} by year",
        first.name.to_lowercase()
    ));
    figure.step(
        "spread each time",
        lb_per_acre,
        format!("lb {basis} N/acre"),
        format!("{} lb/acre", plain(lb_per_acre, 4)),
        Source::stated("the analysis and the amount you gave"),
    );
    let mut sum = 0.0;
    let mut asked: Vec<u8> = years_ago.to_vec();
    asked.sort_unstable();
    asked.dedup();
    let mut terms = Vec::new();
    for ago in asked {
        let Some(year) = of.iter().find(|y| y.year == ago.saturating_add(1)) else {
            figure.caution(
                format!(
                    "The source gives no share for {ago} years after spreading: nothing is counted."
                ),
                first.source.clone(),
            );
            continue;
        };
        let dry = year
            .dry_from
            .zip(dry_matter_pct)
            .map(|(from, dm)| dm >= from);
        // Without an analysis the drier class counts: it never gives more.
        let pct = match dry {
            Some(false) => year.pct.0,
            _ => year.pct.0.min(year.pct.1),
        };
        if dry.is_none() && (year.pct.0 - year.pct.1).abs() > 1e-9 {
            figure.caution(
                format!(
                    "Dry matter is not given: {} % is counted; below {} % dry matter it is {} %.",
                    plain(year.pct.0.min(year.pct.1), 3),
                    plain(year.dry_from.unwrap_or(0.0), 3),
                    plain(year.pct.0.max(year.pct.1), 3)
                ),
                year.source.clone(),
            );
        }
        let lb = figure.step(
            if ago == 0 {
                "spread this year".to_owned()
            } else {
                format!("spread {ago} year{} ago", if ago == 1 { "" } else { "s" })
            },
            lb_per_acre * pct / 100.0,
            "lb N/acre",
            format!("{} × {} %", plain(lb_per_acre, 4), plain(pct, 3)),
            year.source.clone(),
        );
        terms.push(plain(lb, 4));
        sum += lb;
    }
    figure.step(
        "available this year",
        sum,
        "lb N/acre",
        if terms.is_empty() {
            "nothing counted".to_owned()
        } else {
            terms.join(" + ")
        },
        Source::arithmetic(),
    );
    if first.of_organic && years_ago.contains(&0) {
        figure.caution(
            "Ammonium and nitrate of this year’s manure come on top; how much ammonium stays depends on how soon it is worked in.",
            first.source.clone(),
        );
        warn(&mut figure, "raw_manure");
        warn(&mut figure, "n_based_p");
    }
    Ok(figure)
}

/// All that manure or compost gives over three years, lb N/acre of the total N spread (Nebraska).
///
/// # Errors
/// An unknown kind, or a value that cannot be.
pub fn three_years(kind: &str, total_n_lb_per_acre: f64) -> Result<Figure, NitrogenError> {
    checked(
        total_n_lb_per_acre,
        5_000.0,
        "nitrogen spread in lb per acre",
    )?;
    let of = find(&tables().sums, kind, "material with a three-year figure")?;
    let mut figure = Figure::new(format!(
        "Nitrogen from {} over three years",
        of.name.to_lowercase()
    ));
    figure.step(
        "over three years",
        total_n_lb_per_acre * of.low / 100.0,
        "lb N/acre",
        format!(
            "{} lb total N × {} %",
            plain(total_n_lb_per_acre, 4),
            plain(of.low, 3)
        ),
        of.source.clone(),
    );
    figure.caution(format!("The source: {}.", of.note), of.source.clone());
    Ok(figure)
}

/// First-year nitrogen of manure that was not analyzed, by a guide's figure per ton, lb N/acre.
///
/// # Errors
/// An unknown guide, or an amount that cannot be.
pub fn manure_per_ton(guide: &str, tons_per_acre: f64) -> Result<Figure, NitrogenError> {
    checked(tons_per_acre, 200.0, "amount of manure in tons per acre")?;
    let of = find(&tables().per_ton, guide, "guide with a figure per ton")?;
    let mut figure = Figure::new("Nitrogen from manure that was not analyzed");
    figure.step(
        of.name.to_lowercase(),
        tons_per_acre * (of.low + of.high) / 2.0,
        "lb N/acre",
        format!(
            "{} tons × {} lb/ton",
            plain(tons_per_acre, 4),
            plain((of.low + of.high) / 2.0, 3)
        ),
        of.source.clone(),
    );
    if of.low < of.high {
        figure.low = Some(tons_per_acre * of.low);
        figure.high = Some(tons_per_acre * of.high);
    }
    figure.caution(
        format!(
            "{}. Manures differ severalfold: have a load analyzed.",
            of.note
        ),
        Source::new(
            of.source.text.clone(),
            of.source.evidence.max(Evidence::CommonPractice),
        ),
    );
    warn(&mut figure, "raw_manure");
    Ok(figure)
}

fn find<'a>(all: &'a [Named], key: &str, what: &'static str) -> Result<&'a Named, NitrogenError> {
    all.iter()
        .find(|n| n.key == key)
        .ok_or_else(|| NitrogenError::Unknown {
            what,
            found: key.to_owned(),
            known: all
                .iter()
                .map(|n| n.key.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        })
}
