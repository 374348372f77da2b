//! What a weight of material brings, and how much brings a target.

use super::{Kind, Material, tables::constants};
use crate::working::{Caution, Figure, Source, Step};
use quantity::{Area, FT2_PER_ACRE, Rate, Volume, plain};
use thiserror::Error;

/// Why there is no amount.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum AmountError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error(
        "“{0}” is not something a material is counted for; use one of n, p2o5, k2o, lime, sulfur, ca, mg, s, b, zn, mn, cu, fe."
    )]
    UnknownNutrient(String),
    #[error(
        "No usable {nutrient} is counted in {material}, so no amount of it meets a need for {nutrient}."
    )]
    Nothing { material: String, nutrient: String },
    /// A micronutrient above the most that may go on.
    #[error("{0}")]
    TooMuch(String),
}

/// lb of a nutrient counted as available in the first season per lb of material as spread, with its
/// working.
///
/// `n` is plant-available nitrogen; `p2o5` and `k2o` are the available part; `lime` is calcium
/// carbonate equivalent of materials spread as lime; `sulfur` is elemental sulfur that acidifies.
///
/// # Errors
/// A nutrient that is not known. A material that holds none gives zero.
pub fn supplied(material: &Material, nutrient: &str) -> Result<Figure, AmountError> {
    let a = &material.analysis;
    let (percent, source) = match nutrient {
        "n" => (a.n, material.source.clone()),
        "p2o5" => (a.p2o5_available, material.source.clone()),
        "k2o" => (a.k2o_available, material.source.clone()),
        "lime" => (
            a.cce.filter(|_| material.kind == Kind::Lime),
            material
                .cce_source
                .clone()
                .unwrap_or_else(|| material.source.clone()),
        ),
        "sulfur" => (
            a.s.filter(|_| material.kind == Kind::Acid),
            material.source.clone(),
        ),
        "ca" => (a.ca, material.source.clone()),
        "mg" => (a.mg, material.source.clone()),
        "s" => (a.s, material.source.clone()),
        "b" => (a.b, material.source.clone()),
        "zn" => (a.zn, material.source.clone()),
        "mn" => (a.mn, material.source.clone()),
        "cu" => (a.cu, material.source.clone()),
        "fe" => (a.fe, material.source.clone()),
        other => return Err(AmountError::UnknownNutrient(other.to_owned())),
    };
    let percent = percent.unwrap_or(0.0).max(0.0);
    let mut figure = Figure::new(format!(
        "{} in {}",
        label(nutrient),
        material.name.to_lowercase()
    ));
    let share = as_spread(&mut figure, material, nutrient, percent, source);
    if nutrient == "n" && share > 0.0 {
        let r = &material.release;
        figure.step(
            "available to the first crop",
            share * r.value / 100.0,
            "lb/lb",
            format!(
                "{} × {} % of {}",
                plain(share, 3),
                plain(r.value, 3),
                r.basis
            ),
            r.source.clone(),
        );
        figure.low = Some(share * r.low / 100.0);
        figure.high = Some(share * r.high / 100.0);
    }
    Ok(figure)
}

/// A nutrient’s key as a person writes it: `n` is N, `p2o5` is P2O5.
pub fn label(nutrient: &str) -> String {
    match nutrient {
        "n" | "p2o5" | "k2o" | "s" | "b" => nutrient.to_uppercase(),
        "ca" | "mg" | "zn" | "mn" | "cu" | "fe" => nutrient[..1].to_uppercase() + &nutrient[1..],
        other => other.to_owned(),
    }
}

/// Percent of weight as a share of what is spread, its water allowed for.
pub(super) fn as_spread(
    figure: &mut Figure,
    material: &Material,
    nutrient: &str,
    percent: f64,
    source: Source,
) -> f64 {
    let share = figure.step(
        format!("{} in {}", label(nutrient), material.name.to_lowercase()),
        percent / 100.0,
        "lb/lb",
        format!("{} % of weight", plain(percent, 3)),
        source,
    );
    if !material.analysis.dry_basis || share == 0.0 {
        return share;
    }
    let (water, source) = match material.analysis.moisture {
        Some(water) => (water, Source::stated("the load’s own analysis")),
        None => constants()
            .get("moisture_dry_basis")
            .map_or((0.0, Source::arithmetic()), |c| (c.value, c.source.clone())),
    };
    figure.step(
        "as spread, with its water",
        share * (1.0 - water / 100.0),
        "lb/lb",
        format!("{} × (1 − {} %)", plain(share, 3), plain(water, 3)),
        source,
    )
}

/// All the nitrogen or phosphate in a material, available or not, lb per lb as spread.
pub fn total(material: &Material, nutrient: &str) -> f64 {
    let percent = match nutrient {
        "n" => material.analysis.n,
        "p2o5" => material.analysis.p2o5,
        "k2o" => material.analysis.k2o,
        _ => None,
    };
    let mut figure = Figure::new("total");
    as_spread(
        &mut figure,
        material,
        nutrient,
        percent.unwrap_or(0.0),
        material.source.clone(),
    )
}

/// All the `n`, `p2o5` or `k2o` in a material, available or not, lb per lb as spread, with its working.
///
/// # Errors
/// Another nutrient, or a content that is not known, which is not zero.
pub fn total_share(material: &Material, nutrient: &str) -> Result<Figure, AmountError> {
    let percent = match nutrient {
        "n" => material.analysis.n,
        "p2o5" => material.analysis.p2o5,
        "k2o" => material.analysis.k2o,
        other => return Err(AmountError::UnknownNutrient(other.to_owned())),
    };
    let percent = percent.ok_or_else(|| AmountError::Nothing {
        material: material.name.to_lowercase(),
        nutrient: nutrient.to_owned(),
    })?;
    let mut figure = Figure::new(format!(
        "{} in {}",
        label(nutrient),
        material.name.to_lowercase()
    ));
    as_spread(
        &mut figure,
        material,
        nutrient,
        percent.max(0.0),
        material.source.clone(),
    );
    Ok(figure)
}

/// How many lb of a material bring `target_lb` of a nutrient. Where the material has a limit, a
/// caution names it and the least ground that the weight may go on.
///
/// # Errors
/// A target that is not a number above zero, or a material that brings none of it.
pub fn amount_for(
    material: &Material,
    nutrient: &str,
    target_lb: f64,
) -> Result<Figure, AmountError> {
    amount_on(material, nutrient, target_lb, None)
}

/// How many lb of a material bring `target_lb` of a nutrient to `area`, held against the most of it
/// that may go on.
///
/// # Errors
/// As [`amount_for`]; ground of no size; a micronutrient above its limit, whose margin between
/// enough and harm is narrow. Any other material above its limit carries a caution, first of all.
pub fn amount_on(
    material: &Material,
    nutrient: &str,
    target_lb: f64,
    area: Option<Area>,
) -> Result<Figure, AmountError> {
    if let Some(area) = area
        && !(area.to_acres().is_finite() && area.to_acres() > 0.0)
    {
        let ft2 = plain(area.to_square_feet(), 4);
        return Err(AmountError::BadValue(ft2, "area in ft2"));
    }
    if !(target_lb.is_finite() && target_lb >= 0.0) {
        return Err(AmountError::BadValue(plain(target_lb, 4), "target in lb"));
    }
    let share = supplied(material, nutrient)?;
    if share.value <= 0.0 {
        return Err(AmountError::Nothing {
            material: material.name.to_lowercase(),
            nutrient: nutrient.to_owned(),
        });
    }
    let mut figure = Figure::new(format!(
        "{} for {} lb of {nutrient}",
        material.name,
        plain(target_lb, 3)
    ));
    figure.working.clone_from(&share.working);
    let lb = target_lb / share.value;
    if let Some(area) = area {
        figure.step(
            "rate on this ground",
            lb / area.to_acres(),
            "lb/acre",
            format!(
                "{} / {} / {} acre",
                plain(target_lb, 4),
                plain(share.value, 3),
                plain(area.to_acres(), 4)
            ),
            Source::arithmetic(),
        );
    }
    figure.cautions.extend(limit(material, lb, area)?);
    figure.cautions.extend(material.cautions.iter().cloned());
    if nutrient == "lime" {
        figure.cautions.extend(crate::lime::quality_caution());
    }
    figure.step(
        material.name.clone(),
        lb,
        "lb",
        format!("{} / {}", plain(target_lb, 4), plain(share.value, 3)),
        Source::arithmetic(),
    );
    if let (Some(low), Some(high)) = (share.low, share.high) {
        figure.low = (high > 0.0).then(|| target_lb / high);
        figure.high = (low > 0.0).then(|| target_lb / low);
    }
    Ok(figure)
}

/// The most of a material that may go on, held against a weight of it and the ground if given.
fn limit(material: &Material, lb: f64, area: Option<Area>) -> Result<Option<Caution>, AmountError> {
    let Some(most) = &material.most else {
        return Ok(None);
    };
    let least_ft2 = lb / most.lb_per_acre * FT2_PER_ACRE;
    // Rounded up, so that the ground named is always enough.
    let ground = plain((least_ft2 - 1e-6).ceil(), 3);
    let limit = format!(
        "{} lb per acre, {} lb per 1,000 ft2 ({})",
        plain(most.lb_per_acre, 3),
        plain(
            most.lb_per_acre / Rate::lb_per_1000_ft2(1.0).to_lb_per_acre(),
            3
        ),
        most.why
    );
    let rate = area.map(|a| lb / a.to_acres());
    let text = match rate {
        Some(rate) if rate > most.lb_per_acre * (1.0 + 1e-9) => {
            if material.kind == Kind::Micronutrient {
                return Err(AmountError::TooMuch(format!(
                    "{} lb of {} on this ground is {} lb per acre, and the most that may go on is {limit}, by {}: take at least {ground} ft2 or a smaller target.",
                    plain(lb, 3),
                    material.name.to_lowercase(),
                    plain(rate, 3),
                    most.source.text
                )));
            }
            format!(
                "TOO MUCH FOR THIS GROUND: {} lb per acre, where the most is {limit}. This weight needs at least {ground} ft2.",
                plain(rate, 3)
            )
        }
        Some(_) => format!("The most that may go on is {limit}; this is within it."),
        None => format!(
            "The most that may go on is {limit}. This weight is right only if it is spread on at least {ground} ft2."
        ),
    };
    Ok(Some(Caution {
        text,
        source: most.source.clone(),
    }))
}

/// What a full five-gallon bucket of it weighs, lb; none where the density is not known.
pub fn bucket_lb(material: &Material) -> Option<Figure> {
    let usual = constants().get("bucket_gallons")?;
    bucket(material, usual.value, usual.source.clone())
}

/// What a full bucket of so many gallons weighs, lb; none where the density is not known or there is no
/// such bucket.
pub fn bucket_lb_of(material: &Material, gallons: f64) -> Option<Figure> {
    bucket(material, gallons, Source::stated("the bucket you named"))
}

fn bucket(material: &Material, gallons: f64, whose: Source) -> Option<Figure> {
    let ([low, mid, high], source) = material.density.as_ref()?;
    if !(gallons.is_finite() && gallons > 0.0) {
        return None;
    }
    let ft3 = Volume::gallons(gallons).to_cubic_feet();
    let mut figure = Figure::new(format!("A bucket of {}", material.name.to_lowercase()));
    figure.working.push(Step {
        what: "a bucket".to_owned(),
        value: ft3,
        unit: "ft3".to_owned(),
        formula: format!("{} gal × 0.1337", plain(gallons, 3)),
        source: whose,
    });
    figure.step(
        "weight of a full bucket",
        ft3 * mid,
        "lb",
        format!("{} ft3 × {} lb/ft3", plain(ft3, 3), plain(*mid, 3)),
        source.clone(),
    );
    figure.low = Some(ft3 * low);
    figure.high = Some(ft3 * high);
    Some(figure)
}
