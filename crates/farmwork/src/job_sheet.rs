//! A sheet for one job: one material on one block in one pass, as the crew needs it.
//!
//! It holds keys and figures and no sentences, so that it can be printed in any language.

use crate::Result;
use crate::at_hand;
use crate::calendar::{Application, State};
use crate::job_map::JobMap;
use crate::order::day;
use crate::planning::Made;
use crate::setback::Near;
use crate::spreaders::{self, Setting};
use crate::supply::{self, Choice};
use crate::timing;
use agronomy::material::{self, Gear, Ground, Kind, Material, Pass};
use agronomy::spreader::{self, Reach};
use agronomy::working::Caution;
use farmbook::{Block, BlockKind, Book, Id, Shape};
use jiff::civil::Date;
use serde::Serialize;

/// How a material is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    Even,
    EvenBed,
    Moist,
    Thin,
    Lay,
    Dilute,
    Carrier,
    Row,
}

impl Spread {
    pub fn key(self) -> &'static str {
        match self {
            Self::Even => "spread-even",
            Self::EvenBed => "spread-even-bed",
            Self::Moist => "spread-moist",
            Self::Thin => "spread-thin",
            Self::Lay => "spread-lay",
            Self::Dilute => "spread-dilute",
            Self::Carrier => "spread-carrier",
            Self::Row => "spread-row",
        }
    }
}

/// How deep it goes into the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WorkIn {
    Depth,
    SameDay,
    Compost,
    Meal,
    Mineral,
    Scratch,
    No,
}

impl WorkIn {
    pub fn key(self) -> &'static str {
        match self {
            Self::Depth => "work-depth",
            Self::SameDay => "work-same-day",
            Self::Compost => "work-compost",
            Self::Meal => "work-meal",
            Self::Mineral => "work-mineral",
            Self::Scratch => "work-scratch",
            Self::No => "work-no",
        }
    }
}

/// Whether it is watered in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Water {
    In,
    Rain,
    Label,
}

impl Water {
    pub fn key(self) -> &'static str {
        match self {
            Self::In => "water-in",
            Self::Rain => "water-rain",
            Self::Label => "water-label",
        }
    }
}

/// The days of a job, as far as they can be told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Days {
    pub from: Date,
    pub best: Date,
    pub to: Date,
    pub stop: Option<Date>,
}

/// What went on of a job whose rest is to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoFar {
    pub lb: f64,
    /// With what is left.
    pub of_lb: f64,
    /// The last day on which any of it went on.
    pub last_on: Date,
}

/// The beds of a block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beds {
    pub count: u32,
    pub length_ft: f64,
    pub width_in: f64,
}

/// One job.
#[derive(Debug, Clone, Serialize)]
pub struct JobSheet {
    /// The same for this block, material and pass in every plan of the season.
    pub key: String,
    pub farm: String,
    pub season: String,
    /// The day the plan was made, ISO 8601.
    pub made_on: String,
    /// Which job of the season it is, in the order of their days, from 1.
    pub number: usize,
    pub count: usize,
    pub block_id: Id,
    pub block: String,
    pub kind: BlockKind,
    /// Key of the crop table.
    pub crop: Option<String>,
    /// Id of the material.
    pub material: String,
    /// Its analysis, and whether that is only recalled.
    pub grade: String,
    pub grade_unconfirmed: bool,
    pub pass: Pass,
    pub area_ft2: f64,
    pub acres: f64,
    /// None where the block is one piece.
    pub beds: Option<Beds>,
    /// lb on the whole block still to go on
    pub lb: f64,
    /// None where nothing of it went on yet.
    pub so_far: Option<SoFar>,
    /// lb on a bed that gets it from end to end; on the block where it is one piece.
    pub lb_each: f64,
    pub lb_per_1000_ft2: f64,
    /// The crew’s bucket, gallons.
    pub bucket_gallons: f64,
    /// What a full one weighs, lb; none where the density is not known.
    pub bucket_lb: Option<f64>,
    /// Buckets for a bed, or for the block where it is one piece; none where a spreader does the work.
    pub buckets: Option<f64>,
    /// How far a full one goes; none where a spreader does the work.
    pub bucket_goes: Option<Reach>,
    /// Cups for a bed, or for the block where it is one piece; only where it is little.
    pub cups: Option<f64>,
    /// What the spreaders that were walked with the material are set to.
    pub settings: Vec<Setting>,
    /// Whether a spreader could do the work and none was walked with the material yet.
    pub walk_first: bool,
    /// The bag it is bought in, lb; none where it comes loose.
    pub bag_lb: Option<f64>,
    pub days: Option<Days>,
    pub state: State,
    pub spread: Spread,
    pub work_in: WorkIn,
    pub water: Water,
    /// The ground that gets none; the amounts are for the rest.
    pub near: Option<Near>,
    /// Whether frost, rain and water beside it are its business.
    pub outdoors: bool,
    pub gear: Vec<Gear>,
    /// Each with the key under which it is kept in every language.
    pub cautions: Vec<(String, Caution)>,
    /// Where the block lies; none before it is drawn, and where the block has no outline.
    #[serde(skip)]
    pub map: Option<JobMap>,
}

/// The bucket most crews own, gallons.
pub const USUAL_BUCKET: f64 = 5.0;

/// The crew’s own bucket, gallons; the usual one where none is written down.
///
/// # Errors
/// The book’s own.
pub fn own_bucket(book: &Book) -> Result<f64> {
    let all = book.buckets()?;
    let own = all.iter().find(|b| b.material.is_empty());
    Ok(own.map_or(USUAL_BUCKET, |b| b.gallons))
}

/// Above this many buckets a spreader does the work.
const MOST_BUCKETS: f64 = 40.0;
/// Up to this many cups they measure better than a bucket.
const MOST_CUPS: f64 = 12.0;

/// The jobs of a plan as of today, in the order of their days, for buckets of so many gallons.
///
/// # Errors
/// A bucket that nobody carries, or the book’s own.
pub fn of_plan(
    book: &Book,
    made: &Made,
    today: Date,
    bucket_gallons: f64,
) -> Result<Vec<JobSheet>> {
    if !(0.25..=20.0).contains(&bucket_gallons) {
        return Err(crate::WorkError::Said(format!(
            "Found a bucket of {bucket_gallons} gallons, expected one from 0.25 to 20 that a person can carry."
        )));
    }
    let farm = book.farm()?;
    let choices = at_hand::choices(book)?;
    let all_needs = at_hand::needs(book)?;
    let calendar = at_hand::calendar(book, made, today)?;
    let count = calendar.applications.len();
    let made_on = day(&made.stored.made_at);
    let buckets = book.buckets()?;
    let walked = spreaders::all(book)?;
    let mut out = Vec::new();
    for (i, a) in calendar.applications.iter().enumerate() {
        if a.state == State::Done {
            continue;
        }
        let found = all_needs
            .iter()
            .find(|n| n.reading.block.id == a.block_id)
            .zip(material_of(&choices, &a.material_id));
        let Some((n, (of, bag_lb))) = found else {
            continue;
        };
        let crop = n.reading.crop.as_ref().map(|c| c.key.clone());
        let mut job = job(
            a.clone(),
            &n.reading.block,
            &of,
            bag_lb,
            crop,
            bucket_gallons,
        );
        job.bucket_lb = spreaders::full_lb(&buckets, &of, bucket_gallons);
        job.count_out();
        job.set_spreaders(&walked, &of);
        job.farm.clone_from(&farm.name);
        job.season = farm.season.to_string();
        job.made_on.clone_from(&made_on);
        (job.number, job.count) = (i + 1, count);
        out.push(job);
    }
    Ok(out)
}

fn job(
    a: Application,
    block: &Block,
    of: &Material,
    bag_lb: Option<f64>,
    crop: Option<String>,
    bucket_gallons: f64,
) -> JobSheet {
    let ground = timing::ground(block.kind);
    let area = block.shape.spread_area();
    let beds = beds(block);
    // The ground that gets it, and so what a whole bed of it gets.
    let kept = a.near.as_ref().map_or(1.0, Near::kept);
    let each = match &beds {
        Some(b) if kept > 0.0 => a.lb / (f64::from(b.count.max(1)) * kept),
        Some(_) => 0.0,
        None => a.lb,
    };
    JobSheet {
        key: a.key,
        farm: String::new(),
        season: String::new(),
        made_on: String::new(),
        number: 0,
        count: 0,
        block_id: block.id,
        block: block.name.clone(),
        kind: block.kind,
        crop,
        material: of.id.clone(),
        grade: of.grade(),
        grade_unconfirmed: of.source.evidence.unconfirmed(),
        pass: a.pass,
        area_ft2: area.to_square_feet(),
        acres: area.to_acres(),
        beds,
        lb: a.lb,
        so_far: a.spread.last_on.map(|last_on| {
            let lb = a.spread.so_far.to_pounds();
            SoFar {
                lb,
                of_lb: lb + a.lb,
                last_on,
            }
        }),
        lb_each: each,
        lb_per_1000_ft2: a.lb / (area.to_square_feet() * kept / 1_000.0),
        bucket_gallons,
        bucket_lb: None,
        buckets: None,
        bucket_goes: None,
        cups: None,
        settings: Vec::new(),
        walk_first: false,
        bag_lb,
        days: a.window.map(|w| Days {
            from: w.earliest.day,
            best: w.best.day,
            to: w.latest.day.max(w.earliest.day),
            stop: w.stop.map(|s| s.day),
        }),
        state: a.state,
        spread: spread(of, ground, a.pass),
        work_in: work_in(of, ground, a.pass),
        water: water(of, ground, a.pass),
        near: a.near,
        outdoors: block.kind != BlockKind::Tunnel,
        gear: material::gear(of),
        cautions: material::crew_cautions(of),
        map: None,
    }
}

impl JobSheet {
    /// Counts the amount out in buckets, and in cups where it is little.
    fn count_out(&mut self) {
        let Some(full) = self.bucket_lb else { return };
        self.buckets = Some(self.lb_each / full).filter(|n| *n <= MOST_BUCKETS);
        if self.buckets.is_none() {
            return;
        }
        self.bucket_goes = match &self.beds {
            Some(beds) => spreader::goes(full, self.lb_each, Some(beds.length_ft)),
            None => spreader::goes(full, self.lb_per_1000_ft2, None),
        };
        self.cups = spreader::cups(self.lb_each, full, self.bucket_gallons)
            .filter(|cups| *cups <= MOST_CUPS);
    }

    /// Takes the settings from the walks with the material. A band beside the row, a layer by its depth and
    /// what is diluted or carried have no rate that a spreader is set to.
    fn set_spreaders(&mut self, walked: &[spreaders::Known], of: &Material) {
        if !matches!(
            self.spread,
            Spread::Even | Spread::EvenBed | Spread::Moist | Spread::Thin
        ) {
            return;
        }
        self.settings = spreaders::for_job(
            walked,
            &self.material,
            self.lb_per_1000_ft2,
            self.lb_each,
            self.bucket_lb,
        );
        self.walk_first = self.settings.is_empty()
            && self.spread != Spread::Thin
            && !matches!(of.kind, Kind::Compost | Kind::Manure);
    }
}

/// A material with the grower’s analysis, and its largest bag.
fn material_of(choices: &[Choice], id: &str) -> Option<(Material, Option<f64>)> {
    let chosen = choices.iter().find(|c| c.material.id == id);
    let of = chosen
        .map(|c| c.material.clone())
        .or_else(|| material::find(id).cloned())?;
    Some((of, supply::bag(choices, id)))
}

fn beds(block: &Block) -> Option<Beds> {
    match &block.shape {
        Shape::Beds {
            beds,
            bed_length,
            bed_width,
            ..
        } if *beds > 1 => Some(Beds {
            count: *beds,
            length_ft: bed_length.to_feet(),
            width_in: bed_width.to_inches(),
        }),
        _ => None,
    }
}

/// Common practice, as [`Material::how_on`] says it in one sentence.
fn spread(of: &Material, ground: Ground, pass: Pass) -> Spread {
    match of.kind {
        Kind::Liquid => Spread::Dilute,
        Kind::Micronutrient => Spread::Carrier,
        Kind::Mulch => Spread::Lay,
        _ if pass.beside_the_crop() && ground != Ground::Standing => Spread::Row,
        Kind::Acid => Spread::Moist,
        Kind::Compost | Kind::Manure if ground == Ground::Standing => Spread::Thin,
        _ if ground == Ground::Beds => Spread::EvenBed,
        _ => Spread::Even,
    }
}

fn work_in(of: &Material, ground: Ground, pass: Pass) -> WorkIn {
    match of.kind {
        Kind::Liquid | Kind::Mulch => WorkIn::No,
        _ if ground == Ground::Standing => WorkIn::No,
        _ if pass.beside_the_crop() => WorkIn::Scratch,
        Kind::Manure => WorkIn::SameDay,
        Kind::Compost if of.raw_manure => WorkIn::SameDay,
        Kind::Lime | Kind::Acid => WorkIn::Depth,
        Kind::Compost => WorkIn::Compost,
        Kind::Meal | Kind::Plant => WorkIn::Meal,
        Kind::Mineral | Kind::Synthetic | Kind::Micronutrient => WorkIn::Mineral,
    }
}

fn water(of: &Material, ground: Ground, pass: Pass) -> Water {
    match of.kind {
        Kind::Liquid => Water::Label,
        Kind::Mulch | Kind::Lime | Kind::Compost | Kind::Manure => Water::Rain,
        _ if ground == Ground::Standing || pass.beside_the_crop() => Water::In,
        Kind::Synthetic => Water::In,
        _ => Water::Rain,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use agronomy::material::materials;

    #[test]
    fn roots_of_standing_plants_are_left_alone() {
        for m in materials() {
            for pass in Pass::ALL {
                assert_eq!(work_in(m, Ground::Standing, pass), WorkIn::No, "{}", m.id);
                if m.kind == Kind::Acid {
                    assert_eq!(water(m, Ground::Standing, pass), Water::In);
                }
            }
            // The sentence of the block sheet and the job sheet say the same.
            let how = m.how_on(Ground::Open);
            let worked = work_in(m, Ground::Open, Pass::Planting);
            if worked == WorkIn::No {
                assert!(!how.contains("work in") || m.kind == Kind::Liquid, "{how}");
            }
            if worked == WorkIn::SameDay {
                assert!(how.contains("same day"), "{how}");
            }
        }
    }
}
