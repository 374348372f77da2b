//! What share of a material’s nitrogen becomes available, by class, by % N or by C:N.

use super::release::{Anchor, ReleaseClass, release_class, rule};
use super::{NitrogenError, checked, constant, warn};
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::sync::OnceLock;

/// A material with a published carbon to nitrogen ratio.
#[derive(Debug, Clone)]
pub struct CarbonRatio {
    pub key: String,
    pub name: String,
    pub c_to_n: f64,
    pub source: Source,
}

#[derive(Deserialize)]
struct Raw {
    key: String,
    name: String,
    c_to_n: f64,
    source: String,
    evidence: String,
}

fn load_ratios() -> Result<Vec<CarbonRatio>, TableError> {
    let name = "nitrogen/c_to_n.csv";
    let text = include_str!("../../../../reference/nitrogen/c_to_n.csv");
    table::rows::<Raw>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(CarbonRatio {
                key: r.key,
                name: r.name,
                c_to_n: r.c_to_n,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

pub(super) fn load() -> Result<(), TableError> {
    load_ratios().map(|_| ())
}

/// Published C:N ratios.
pub fn carbon_ratios() -> &'static [CarbonRatio] {
    static RATIOS: OnceLock<Vec<CarbonRatio>> = OnceLock::new();
    RATIOS.get_or_init(|| load_ratios().unwrap_or_default())
}

/// Share (0 to 1) of the nitrogen of green cover-crop tissue with `n_pct` % N in its dry matter:
/// the straight line of PNW 636 (none at 1.5 % N, 35 lb/ton at 3.5 %) over the N in a ton.
fn green_share(n_pct: f64) -> Result<f64, NitrogenError> {
    let (low, high, most) = (
        constant("cover_low_n_pct")?.value,
        constant("cover_high_n_pct")?.value,
        constant("cover_pan_at_high")?.value,
    );
    if n_pct <= low {
        return Ok(0.0);
    }
    let held = n_pct.min(high);
    Ok(most * (held - low) / (high - low) / (20.0 * held))
}

/// What green plant matter with `n_pct` % N in its dry matter is held to.
///
/// # Errors
/// A content that cannot be.
pub fn green_by_n(n_pct: f64) -> Result<Anchor, NitrogenError> {
    checked(n_pct, 10.0, "nitrogen content in percent")?;
    let source = &constant("cover_pan_at_high")?.source;
    let (weeks, temp) = (rule("residue_weeks")?, rule("residue_temp_c")?);
    Ok(Anchor {
        what: format!("green plant matter of {} % nitrogen", plain(n_pct, 3)),
        share: green_share(n_pct)?,
        low: None,
        high: None,
        of_organic: false,
        weeks: weeks.value,
        temp_c: temp.value,
        note: format!(
            "straight line from none at 1.5 % N to 35 lb/ton at 3.5 %; {}",
            weeks.source.text
        ),
        source: Source::new(source.text.clone(), source.evidence.max(Evidence::Derived)),
    })
}

/// What a dry organic fertilizer with `n_pct` % N is held to, where its class is not known.
///
/// Up to 3.5 % N the line of PNW 636; from there straight to the mean of four meals (62.25 % of their
/// N) at 11.7 % N and above (Hartz and Johnstone). Between the two nothing was read: a straight line,
/// marked `derived`, with Lazicki’s range of such products beside it.
///
/// # Errors
/// A content that cannot be.
pub fn dry_by_n(n_pct: f64) -> Result<Anchor, NitrogenError> {
    checked(n_pct, 46.0, "nitrogen content in percent")?;
    let top = constant("cover_high_n_pct")?.value;
    let mut anchor = green_by_n(n_pct.min(top))?;
    anchor.what = format!("dry organic material of {} % nitrogen", plain(n_pct, 3));
    if n_pct <= top {
        return Ok(anchor);
    }
    let (rich, mean) = (rule("meals_least_n_pct")?, rule("meals_mean")?);
    let (granular, quick) = (release_class("granular")?, release_class("quick")?);
    let along = ((n_pct - top) / (rich.value - top)).min(1.0);
    let start = anchor.share;
    anchor.share = start + (mean.value / 100.0 - start) * along;
    anchor.low = granular.low.map(|v| (v / 100.0).min(anchor.share));
    anchor.high = quick.high.map(|v| v / 100.0);
    anchor.weeks = 8.0;
    anchor.temp_c = 17.5;
    anchor.note = format!(
        "straight line from {} % at {} % N to {} % at {} % N",
        plain(start * 100.0, 3),
        plain(top, 2),
        plain(mean.value, 4),
        plain(rich.value, 3)
    );
    anchor.source = Source::new(
        format!(
            "between {} and {}; range: {}",
            anchor.source.text, mean.source.text, quick.source.text
        ),
        Evidence::Derived,
    );
    Ok(anchor)
}

/// What plant matter or a dry organic fertilizer with this C:N ratio is held to.
///
/// None at 24 and above, where microbes take up all that is let go (USDA NRCS); a straight line in C:N
/// down to the point of PNW 636 at 3.5 % N (C:N 11.4 at 40 % carbon); below it as [`dry_by_n`] at
/// 40 % carbon. A higher ratio never gives more.
///
/// # Errors
/// A ratio that cannot be.
pub fn by_carbon(c_to_n: f64) -> Result<Anchor, NitrogenError> {
    if !c_to_n.is_finite() || !(1.0..=1_000.0).contains(&c_to_n) {
        return Err(NitrogenError::BadValue(
            plain(c_to_n, 4),
            "C:N ratio, which lies between 1 and 1,000",
        ));
    }
    let (carbon, even) = (rule("carbon_pct")?, rule("break_even_c_to_n")?);
    let top = constant("cover_high_n_pct")?.value;
    let at_top = carbon.value / top;
    let mut anchor = dry_by_n((carbon.value / c_to_n).clamp(top, 46.0))?;
    if c_to_n > at_top {
        let along = ((even.value - c_to_n) / (even.value - at_top)).max(0.0);
        anchor = green_by_n(top)?;
        anchor.share *= along;
        anchor.note = format!(
            "straight line in C:N from {} % at {} to none at {}",
            plain(green_share(top)? * 100.0, 3),
            plain(at_top, 3),
            plain(even.value, 3)
        );
    }
    anchor.what = format!("material with C:N {}", plain(c_to_n, 3));
    anchor.source = Source::new(
        format!(
            "{}; {}; {} % carbon",
            anchor.source.text,
            even.source.text,
            plain(carbon.value, 3)
        ),
        anchor.source.evidence.max(carbon.source.evidence),
    );
    Ok(anchor)
}

/// Nitrogen available from an amount by what a material is held to: lb N/acre of the lb N/acre given,
/// or percent where no amount is given.
///
/// # Errors
/// An amount that cannot be.
pub fn available(anchor: &Anchor, n_lb_per_acre: Option<f64>) -> Result<Figure, NitrogenError> {
    let basis = if anchor.of_organic {
        "% of organic N"
    } else {
        "% of total N"
    };
    let mut figure = Figure::new(format!("Available nitrogen of {}", anchor.what));
    let pct = figure.step(
        "share that becomes available",
        anchor.share * 100.0,
        basis,
        if anchor.note.is_empty() {
            format!("{} %", plain(anchor.share * 100.0, 4))
        } else {
            anchor.note.clone()
        },
        anchor.source.clone(),
    );
    figure.low = anchor.low.map(|v| v * 100.0);
    figure.high = anchor.high.map(|v| v * 100.0);
    if let Some(lb) = n_lb_per_acre {
        checked(lb, 5_000.0, "nitrogen spread in lb per acre")?;
        figure.step(
            "available nitrogen",
            lb * pct / 100.0,
            "lb N/acre",
            format!("{} × {} %", plain(lb, 4), plain(pct, 4)),
            Source::arithmetic(),
        );
        for bound in [&mut figure.low, &mut figure.high] {
            *bound = bound.map(|v| lb * v / 100.0);
        }
    }
    if anchor.share <= 0.0 {
        warn(&mut figure, "tie_up");
    }
    if anchor.source.evidence == Evidence::Memory {
        figure.caution(
            "This share is recalled, not read in the source: check it with your adviser.",
            anchor.source.clone(),
        );
    }
    if anchor.of_organic {
        figure.caution(
            "The share is of organic nitrogen: ammonium and nitrate in the material come on top.",
            anchor.source.clone(),
        );
    }
    Ok(figure)
}

/// The published availability of a class by its key.
///
/// # Errors
/// No such class, or an amount that cannot be.
pub fn available_of_class(
    key: &str,
    n_lb_per_acre: Option<f64>,
) -> Result<(&'static ReleaseClass, Figure), NitrogenError> {
    let class = release_class(key)?;
    let mut figure = available(&class.anchor(), n_lb_per_acre)?;
    match class.family.as_str() {
        "manure" => {
            warn(&mut figure, "raw_manure");
            warn(&mut figure, "n_based_p");
        }
        "compost" => warn(&mut figure, "compost_most"),
        _ => {}
    }
    Ok((class, figure))
}
