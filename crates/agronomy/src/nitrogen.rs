//! What nitrogen a crop needs, and what it already finds: soil, cover crop, earlier spreading, water.

mod ammonia;
mod available;
mod climate;
mod course;
mod credit;
mod given;
mod limit;
mod manure;
mod nitrate_test;
mod release;
mod residue;
mod sidedress;
mod sign;
mod split;
mod supply;
mod uptake;
mod weeks;
mod yields;

pub use ammonia::{Covered, Weather, ammonia_loss, ammonium_kept};
pub use available::{
    CarbonRatio, available, available_of_class, by_carbon, carbon_ratios, dry_by_n, green_by_n,
};

pub use climate::stand_in_soil_c;
pub use course::Spreading;
pub use credit::{
    CoverCrop, CoverCropKind, Credit, Irrigation, Past, carry_over, cover_crop, cover_crop_kinds,
    irrigation, manure_available, organic_matter,
};
pub use given::{given_by, soil_half_life};
pub use limit::{Limit, limits, on_leaching, on_manure, on_unanalyzed, within_limit};
pub use manure::{ManureYear, manure_kind, manure_per_ton, manure_years, residual, three_years};
pub use nitrate_test::{
    BeforeCorn, CornHistory, NitrateLevel, nitrate_level, nitrate_levels, pennsylvania_corn,
    raise_to_level,
};
pub use release::{
    Anchor, BasisOf, Kinetics, Pools, ReleaseClass, kinetics, release_class, release_classes,
    warmth,
};
pub use residue::{
    PreviousCrop, ResidueOf, previous_crop, previous_crops, residue, residue_parts, residues,
};
pub use sidedress::sidedress;
pub use sign::{SidedressSign, sidedress_signs};
pub use split::{
    Split, System, When, half_before_planting, need_split, need_split_on, split_systems,
    split_systems_of,
};
pub use supply::{cover_crop_share, organic_matter_by};
pub use uptake::{Season, Uptake, season, uptake};
pub use weeks::{Plan, Week, Weeks, weeks};

use crate::constant::{Cautions, Constant, Constants};
use crate::crop::{Crop, NeedKind};
use crate::soil::{Recommendable, Recommended};
use crate::table::TableError;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// What decides the nitrogen of one block.
#[derive(Debug, Clone, Default)]
pub struct Request<'a> {
    /// The rate that the lab printed, believed first.
    pub printed: Option<&'a Recommended>,
    /// Organic matter of the soil test, percent
    pub organic_matter_pct: Option<f64>,
    pub cover_crop: Option<CoverCrop>,
    pub past: Vec<Past>,
    pub irrigation: Option<Irrigation>,
    /// Key of [`previous_crops`]: what grew last year.
    pub previous: Option<String>,
    /// What an earlier crop of the same year left on the ground.
    pub residue: Option<Left>,
    /// The nitrate test before sidedressing; it takes the place of rate and credits.
    pub nitrate: Option<NitrateTest>,
    /// The harvest that is expected, lb of fresh weight per acre.
    pub yield_lb_per_acre: Option<f64>,
}

/// A crop of the same year whose residues stay.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Left {
    /// Key of the crop.
    pub crop: String,
    /// One of [`residue_parts`]; none for the usual one.
    pub part: Option<String>,
    /// The whole plant was taken off.
    pub taken_off: bool,
}

/// Nitrate in the top 12 inches just before sidedressing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NitrateTest {
    /// ppm NO3-N
    pub ppm: f64,
    /// Whether manure went on for this crop; one published table asks.
    pub manured: bool,
}

/// What the rate rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    Lab,
    Table,
    /// The nitrate test before sidedressing.
    NitrateTest,
}

/// The nitrogen of one block, lb N/acre.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Need {
    /// Before credits.
    pub asked: Figure,
    pub credits: Vec<Credit>,
    /// After credits, never below zero.
    pub net: Figure,
    pub basis: Basis,
    /// Whether the asked figure already allows for the soil’s own supply.
    pub kind: NeedKind,
}

/// Why there is no nitrogen figure.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum NitrogenError {
    #[error("{0} is not a usable {1}.")]
    BadValue(String, &'static str),
    #[error("No nitrogen figure is held for {0}; enter a rate of your own or use the lab’s.")]
    NoFigure(String),
    #[error("“{0}” is not a kind of cover crop held here.")]
    UnknownCoverCrop(String),
    #[error("A sidedress table from the nitrate test is held for sweet corn only, not for {0}.")]
    NoSidedress(String),
    #[error("“{found}” is not a {what}; those are {known}.")]
    Unknown {
        what: &'static str,
        found: String,
        known: String,
    },
    #[error("“{system}” holds no nitrogen figure for {crop}; the systems that do: {known}.")]
    UnknownSystem {
        system: String,
        crop: String,
        known: String,
    },
    #[error(
        "No ammonia figure is held for {weather} weather here; use {known}. A figure that the review of the table doubts is left out."
    )]
    NoAmmonia {
        weather: &'static str,
        known: String,
    },
    #[error("No season is held for {0}: give its length in weeks.")]
    NoSeason(String),
    #[error("The {0} could not be read from the reference tables.")]
    Table(&'static str),
}

fn constants() -> &'static Constants {
    static CONSTANTS: OnceLock<Constants> = OnceLock::new();
    CONSTANTS.get_or_init(|| load_constants().unwrap_or_default())
}

fn load_constants() -> Result<Constants, TableError> {
    Constants::parse(
        "nitrogen/constants.csv",
        include_str!("../../../reference/nitrogen/constants.csv"),
    )
}

pub(crate) fn constant(key: &'static str) -> Result<&'static Constant, NitrogenError> {
    constants().get(key).ok_or(NitrogenError::Table(key))
}

/// Checks the nitrogen tables that come with the program.
pub fn load() -> Result<(), TableError> {
    load_constants()?;
    credit::load()?;
    release::load()?;
    available::load()?;
    ammonia::load()?;
    manure::load()?;
    residue::load()?;
    nitrate_test::load()?;
    split::load()?;
    sign::load()?;
    uptake::load()?;
    climate::load()?;
    limit::load()?;
    sidedress::load()
}

/// Adds the cautions of one situation, each with its source.
pub(crate) fn warn(figure: &mut Figure, when: &str) {
    static CAUTIONS: OnceLock<Cautions> = OnceLock::new();
    for (text, source) in CAUTIONS
        .get_or_init(|| limit::load_cautions().unwrap_or_default())
        .when(when)
    {
        figure.caution(text, source.clone());
    }
}

pub(crate) fn checked(value: f64, most: f64, what: &'static str) -> Result<f64, NitrogenError> {
    if value.is_finite() && (0.0..=most).contains(&value) {
        Ok(value)
    } else {
        Err(NitrogenError::BadValue(plain(value, 4), what))
    }
}

/// The nitrogen need of a crop, lb N/acre, before and after credits.
///
/// A printed recommendation or a recommendation table already allows for the soil’s usual supply, so
/// organic matter is credited only against a total requirement. Cover crop, earlier spreading and
/// irrigation water are credited against all three. A table figure that the source moves with the
/// yield is moved to the expected one; where it prints no rule, a caution says for which yield it is.
///
/// # Errors
/// No figure for the crop, a previous crop or residue that no table holds, or a value that cannot be.
pub fn need(crop: &Crop, request: &Request<'_>) -> Result<Need, NitrogenError> {
    if let Some(test) = request.nitrate {
        return by_nitrate(crop, test);
    }
    let mut asked = Figure::new(format!("Nitrogen for {}", crop.name.to_lowercase()));
    let (kind, basis) =
        if let Some(printed) = request.printed.filter(|r| r.nutrient == Recommendable::N) {
            checked(printed.lb_per_acre, 1_000.0, "nitrogen rate")?;
            asked.step(
                "the lab’s recommendation",
                printed.lb_per_acre,
                "lb N/acre",
                format!("{} {}", printed.printed, printed.printed_unit),
                Source::stated("the lab’s report"),
            );
            (NeedKind::Recommendation, Basis::Lab)
        } else {
            let rate = crop
                .nitrogen
                .first()
                .ok_or_else(|| NitrogenError::NoFigure(crop.name.clone()))?;
            asked.step(
                format!(
                    "{}: {}{}{}",
                    rate.system,
                    match rate.kind {
                        NeedKind::Total => "all the nitrogen the crop must find",
                        NeedKind::Recommendation => "to spread on usual ground",
                    },
                    if rate.note.is_empty() { "" } else { "; " },
                    rate.note
                ),
                rate.value,
                "lb N/acre",
                rate.printed.clone(),
                rate.source.clone(),
            );
            if rate.low < rate.high {
                asked.low = Some(rate.low);
                asked.high = Some(rate.high);
            }
            if rate.source.evidence == Evidence::Memory {
                asked.caution(
                    "This rate is recalled, not read in the source: check it with your adviser.",
                    rate.source.clone(),
                );
            }
            yields::adjust(&mut asked, rate, request.yield_lb_per_acre)?;
            (rate.kind, Basis::Table)
        };

    let mut credits = Vec::new();
    if let (Some(om), NeedKind::Total) = (request.organic_matter_pct, kind) {
        credits.push(organic_matter(om)?);
    }
    if let Some(cover) = &request.cover_crop {
        credits.push(cover_crop(cover)?);
    }
    for past in &request.past {
        if let Some(credit) = carry_over(past)? {
            credits.push(credit);
        }
    }
    if let Some(before) = &request.previous {
        credits.push(previous_crop(before, None)?);
    }
    if let Some(left) = &request.residue {
        let of = crate::crop::find(&left.crop)
            .ok_or_else(|| NitrogenError::NoFigure(left.crop.clone()))?;
        credits.push(residue(of, left.part.as_deref(), left.taken_off, None)?);
    }
    if let Some(water) = &request.irrigation {
        credits.push(irrigation(water)?);
    }

    let sum: f64 = credits.iter().map(|c| c.lb_per_acre).sum();
    let mut net = Figure::new(format!("Nitrogen to add for {}", crop.name.to_lowercase()));
    net.working.clone_from(&asked.working);
    for credit in &credits {
        net.working.extend(credit.figure.working.iter().cloned());
        net.cautions.extend(credit.figure.cautions.iter().cloned());
    }
    net.cautions.extend(asked.cautions.iter().cloned());
    let formula = if credits.is_empty() {
        format!("{}, no credits", plain(asked.value, 3))
    } else {
        format!(
            "{} − ({}), not below 0",
            plain(asked.value, 3),
            credits
                .iter()
                .map(|c| plain(c.lb_per_acre, 3))
                .collect::<Vec<_>>()
                .join(" + ")
        )
    };
    net.step(
        "nitrogen to add",
        (asked.value - sum).max(0.0),
        "lb N/acre",
        formula,
        Source::arithmetic(),
    );
    // The least that may be due is the low rate less the most that may be credited, and the other way.
    let most: f64 = credits
        .iter()
        .map(|c| c.figure.high.unwrap_or(c.lb_per_acre))
        .sum();
    let least: f64 = credits
        .iter()
        .map(|c| c.figure.low.unwrap_or(c.lb_per_acre))
        .sum();
    if asked.low.is_some() || least < most {
        net.low = Some((asked.low.unwrap_or(asked.value) - most).max(0.0));
        net.high = Some((asked.high.unwrap_or(asked.value) - least).max(0.0));
    }
    Ok(Need {
        asked,
        credits,
        net,
        basis,
        kind,
    })
}

/// What to sidedress from a nitrate test: by the crop’s own printed table where there is one, else up to
/// the published level. The test has seen what soil, cover crop, residues and manure released, so no
/// credit is taken beside it.
fn by_nitrate(crop: &Crop, test: NitrateTest) -> Result<Need, NitrogenError> {
    let mut net = match sidedress(crop, test.ppm, test.manured) {
        Err(NitrogenError::NoSidedress(_)) => raise_to_level(&crop.key, None, test.ppm, false)?,
        other => other?,
    };
    if let Some(source) = net.working.last().map(|step| step.source.clone()) {
        net.caution(
            "The nitrate test takes the place of the rate before planting and of its credits: what it asks goes on now, beside the crop.",
            source,
        );
    }
    Ok(Need {
        asked: net.clone(),
        credits: Vec::new(),
        net,
        basis: Basis::NitrateTest,
        kind: NeedKind::Recommendation,
    })
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_credits;
#[cfg(test)]
mod tests_weeks;
