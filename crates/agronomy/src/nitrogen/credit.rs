//! Credits: nitrogen that the crop finds without being fed.

use super::{NitrogenError, checked, constant};
use crate::table::{self, TableError};
use crate::working::{Figure, Source};
use quantity::{Mass, Rate, plain};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Nitrogen that comes from somewhere else than this season’s materials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Credit {
    /// e.g. `soil organic matter`
    pub what: String,
    pub lb_per_acre: f64,
    pub figure: Figure,
}

impl Credit {
    pub(super) fn of(what: impl Into<String>, figure: Figure) -> Self {
        Self {
            what: what.into(),
            lb_per_acre: figure.value,
            figure,
        }
    }
}

/// A cover crop worked in or left on the surface before this crop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverCrop {
    /// Key of [`cover_crop_kinds`].
    pub kind: String,
    /// Dry matter, lb/acre, where it was cut and weighed.
    pub dry_lb_per_acre: Option<f64>,
    /// Nitrogen in the dry matter, percent, where it was tested.
    pub n_pct: Option<f64>,
    /// Worked in, or left on the surface.
    pub worked_in: bool,
}

/// A class of cover crop.
#[derive(Debug, Clone)]
pub struct CoverCropKind {
    pub key: String,
    pub name: String,
    /// Percent N of dry matter where it was not tested: the low end is used.
    pub n_pct: Option<(f64, f64, Source)>,
    /// kg N/ha where it was not weighed.
    pub without_biomass_kg_ha: f64,
    pub class_source: Source,
}

/// Manure, compost or other organic material spread in an earlier year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Past {
    pub what: String,
    pub compost: bool,
    /// Kind of [`super::manure_years`], such as `cow`; it gives the years that the first rule does not.
    pub manure: Option<String>,
    /// Total nitrogen spread, lb N/acre
    pub total_n_lb_per_acre: f64,
    pub years_ago: u8,
}

/// Nitrate in irrigation water.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Irrigation {
    /// ppm NO3-N in the water
    pub nitrate_n_ppm: f64,
    /// Water put on in the season, inches
    pub inches: f64,
}

#[derive(Deserialize)]
struct KindRow {
    key: String,
    name: String,
    n_low: Option<f64>,
    n_high: Option<f64>,
    without_biomass_kg_ha: f64,
    source: String,
    evidence: String,
    class_source: String,
    class_evidence: String,
}

fn load_kinds() -> Result<Vec<CoverCropKind>, TableError> {
    let name = "nitrogen/cover_crops.csv";
    let text = include_str!("../../../../reference/nitrogen/cover_crops.csv");
    table::rows::<KindRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let n_pct = match (r.n_low, r.n_high) {
                (Some(low), Some(high)) => Some((
                    low,
                    high,
                    table::source(name, i + 2, &r.source, &r.evidence)?,
                )),
                _ => None,
            };
            Ok(CoverCropKind {
                key: r.key,
                name: r.name,
                n_pct,
                without_biomass_kg_ha: r.without_biomass_kg_ha,
                class_source: table::source(name, i + 2, &r.class_source, &r.class_evidence)?,
            })
        })
        .collect()
}

pub(super) fn load() -> Result<(), TableError> {
    load_kinds().map(|_| ())
}

/// The classes of cover crop.
pub fn cover_crop_kinds() -> &'static [CoverCropKind] {
    static KINDS: OnceLock<Vec<CoverCropKind>> = OnceLock::new();
    KINDS.get_or_init(|| load_kinds().unwrap_or_default())
}

/// From soil organic matter, percent → lb N/acre.
pub fn organic_matter(pct: f64) -> Result<Credit, NitrogenError> {
    checked(pct, 100.0, "organic matter in percent")?;
    let per = constant("om_per_pct")?;
    let mut figure = Figure::new("Nitrogen from soil organic matter");
    figure.step(
        "soil organic matter",
        pct * per.value,
        "lb N/acre",
        format!("{} % × {} lb per %", plain(pct, 3), plain(per.value, 3)),
        per.source.clone(),
    );
    if pct > 5.0 {
        figure.caution(
            "The source states no upper limit; cold, wet or peaty ground releases less than this.",
            per.source.clone(),
        );
    }
    Ok(Credit::of("soil organic matter", figure))
}

/// From a cover crop: by weight and nitrogen content where known, otherwise by class.
///
/// Plant-available N rises in a straight line from none at 1.5 % N to 35 lb per ton of dry matter at
/// 3.5 % N (Sullivan and Andrews 2012); richer tissue is held at 3.5 %.
pub fn cover_crop(cover: &CoverCrop) -> Result<Credit, NitrogenError> {
    let kind = cover_crop_kinds()
        .iter()
        .find(|k| k.key == cover.kind)
        .ok_or_else(|| NitrogenError::UnknownCoverCrop(cover.kind.clone()))?;
    let mut figure = Figure::new(format!("Nitrogen from {}", kind.name.to_lowercase()));
    let weighed = match cover.dry_lb_per_acre {
        Some(lb) => Some(checked(
            lb,
            40_000.0,
            "weight of a cover crop in lb per acre",
        )?),
        None => None,
    };
    let content = match (cover.n_pct, &kind.n_pct) {
        (Some(n), _) => Some((
            checked(n, 10.0, "nitrogen content in percent")?,
            Source::stated("the cover crop’s own analysis"),
        )),
        (None, Some((low, _, source))) => Some((*low, source.clone())),
        (None, None) => None,
    };
    if let (Some(lb), Some((n, n_source))) = (weighed, content) {
        let low = constant("cover_low_n_pct")?;
        let high = constant("cover_high_n_pct")?;
        let most = constant("cover_pan_at_high")?;
        figure.step(
            "nitrogen in the dry matter",
            n,
            "%",
            format!("{} % of dry matter", plain(n, 3)),
            n_source,
        );
        let per_ton = figure.step(
            "available nitrogen in a ton of dry matter",
            most.value * (n.clamp(low.value, high.value) - low.value) / (high.value - low.value),
            "lb N/ton",
            format!(
                "{} × ({} − {}) / ({} − {}), from 0 to {}",
                most.value,
                plain(n, 3),
                low.value,
                high.value,
                low.value,
                most.value
            ),
            most.source.clone(),
        );
        let tons = Mass::pounds(lb) / Mass::short_tons(1.0);
        figure.step(
            format!("from {}", kind.name.to_lowercase()),
            per_ton * tons,
            "lb N/acre",
            format!("{} lb/ton × {} tons", plain(per_ton, 3), plain(tons, 3)),
            Source::arithmetic(),
        );
        if n < low.value {
            figure.caution(
                "Tissue this poor in nitrogen ties some up as it rots: watch the crop early on.",
                low.source.clone(),
            );
        }
    } else {
        let lb = Rate::kg_per_ha(kind.without_biomass_kg_ha).to_lb_per_acre();
        figure.step(
            format!("from {}, not weighed", kind.name.to_lowercase()),
            lb,
            "lb N/acre",
            format!("{} kg/ha × 0.892", plain(kind.without_biomass_kg_ha, 3)),
            kind.class_source.clone(),
        );
    }
    if !cover.worked_in {
        let share = constant("cover_surface_share")?;
        let before = figure.value;
        figure.step(
            "left on the surface",
            before * share.value,
            "lb N/acre",
            format!("{} × {}", plain(before, 3), share.value),
            share.source.clone(),
        );
    }
    Ok(Credit::of(
        format!("cover crop: {}", kind.name.to_lowercase()),
        figure,
    ))
}

/// From what was spread in earlier years; none where the source gives nothing for that year.
pub fn carry_over(past: &Past) -> Result<Option<Credit>, NitrogenError> {
    checked(
        past.total_n_lb_per_acre,
        5_000.0,
        "nitrogen spread in lb per acre",
    )?;
    let share = match (past.compost, past.years_ago) {
        (true, 1) => constant("carry_compost_1")?,
        (true, 2) => constant("carry_compost_2")?,
        (true, 3) => constant("carry_compost_3")?,
        (false, 1) => constant("carry_organic_1")?,
        (false, _) => return by_manure_years(past),
        _ => return Ok(None),
    };
    let mut figure = Figure::new(format!(
        "Nitrogen from earlier {}",
        past.what.to_lowercase()
    ));
    figure.step(
        format!(
            "{}, {} year{} ago",
            past.what.to_lowercase(),
            past.years_ago,
            if past.years_ago == 1 { "" } else { "s" }
        ),
        past.total_n_lb_per_acre * share.value / 100.0,
        "lb N/acre",
        format!(
            "{} lb total N × {} %",
            plain(past.total_n_lb_per_acre, 3),
            plain(share.value, 3)
        ),
        share.source.clone(),
    );
    Ok(Some(Credit::of(
        format!("earlier {}", past.what.to_lowercase()),
        figure,
    )))
}

/// From manure of two or more years ago, by a published share of its organic N.
///
/// Without an analysis all its nitrogen counts as organic, so the credit is the most it can be, and the
/// low end is nothing.
fn by_manure_years(past: &Past) -> Result<Option<Credit>, NitrogenError> {
    let Some(kind) = &past.manure else {
        return Ok(None);
    };
    let year = past.years_ago.saturating_add(1);
    if past.years_ago < 2
        || !super::manure_years()
            .iter()
            .any(|y| y.kind == *kind && y.year == year)
    {
        return Ok(None);
    }
    let mut figure = super::residual(kind, past.total_n_lb_per_acre, None, &[past.years_ago])?;
    figure.low = Some(0.0);
    figure.high = Some(figure.value);
    if let Some(source) = figure.working.get(1).map(|step| step.source.clone()) {
        figure.caution(
            "All the manure’s nitrogen is counted as organic; what was ammonium is gone, so the credit is the most it can be.",
            source,
        );
    }
    Ok(Some(Credit::of(
        format!("earlier {}", past.what.to_lowercase()),
        figure,
    )))
}

/// From nitrate in irrigation water: ppm NO3-N × 0.227 × acre-inches → lb N/acre.
pub fn irrigation(water: &Irrigation) -> Result<Credit, NitrogenError> {
    checked(water.nitrate_n_ppm, 500.0, "nitrate in the water in ppm")?;
    checked(water.inches, 200.0, "depth of irrigation in inches")?;
    let factor = constant("irrigation")?;
    let mut figure = Figure::new("Nitrogen from irrigation water");
    figure.step(
        "irrigation water",
        water.nitrate_n_ppm * factor.value * water.inches,
        "lb N/acre",
        format!(
            "{} ppm × {} × {} in",
            plain(water.nitrate_n_ppm, 3),
            factor.value,
            plain(water.inches, 3)
        ),
        factor.source.clone(),
    );
    Ok(Credit::of("irrigation water", figure))
}

/// Available nitrogen in a manure from its analysis: organic N × share mineralised + ammonium ×
/// share kept + nitrate, all in the unit of the analysis (lb/ton).
pub fn manure_available(
    total_n: f64,
    ammonium_n: f64,
    nitrate_n: f64,
    organic_share: f64,
    ammonium_kept: f64,
) -> Result<Figure, NitrogenError> {
    for (value, most, what) in [
        (total_n, 400.0, "total nitrogen in lb per ton"),
        (ammonium_n, 400.0, "ammonium nitrogen in lb per ton"),
        (nitrate_n, 400.0, "nitrate nitrogen in lb per ton"),
        (organic_share, 1.0, "share of organic nitrogen released"),
        (ammonium_kept, 1.0, "share of ammonium kept"),
    ] {
        checked(value, most, what)?;
    }
    if ammonium_n + nitrate_n > total_n {
        return Err(NitrogenError::BadValue(
            plain(total_n, 4),
            "total nitrogen: it is less than its ammonium and nitrate",
        ));
    }
    let source = || {
        Source::new(
            "Montana State Univ. Extension, nutrient management plan step 5",
            crate::working::Evidence::Seen,
        )
    };
    let mut figure = Figure::new("Available nitrogen in manure");
    let organic = figure.step(
        "organic nitrogen",
        total_n - (ammonium_n + nitrate_n),
        "lb N/ton",
        format!(
            "{} − ({} + {})",
            plain(total_n, 4),
            plain(ammonium_n, 4),
            plain(nitrate_n, 4)
        ),
        source(),
    );
    let released = figure.step(
        "organic nitrogen released",
        organic * organic_share,
        "lb N/ton",
        format!("{} × {}", plain(organic, 4), plain(organic_share, 3)),
        source(),
    );
    figure.step(
        "available nitrogen",
        released + ammonium_n * ammonium_kept + nitrate_n,
        "lb N/ton",
        format!(
            "{} + {} × {} + {}",
            plain(released, 4),
            plain(ammonium_n, 4),
            plain(ammonium_kept, 3),
            plain(nitrate_n, 4)
        ),
        source(),
    );
    Ok(figure)
}
