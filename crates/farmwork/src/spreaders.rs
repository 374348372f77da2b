//! What the farm’s own walks tell of its spreaders, and from there the setting for a job.

mod buckets;
mod typed;

pub(crate) use buckets::full_lb;
pub use buckets::{FullBucket, full_buckets};
pub use typed::{MEASURES, Typed};

use crate::job_sheet::JobSheet;
use crate::{Result, WorkError, words};
use agronomy::spreader::{self, AtSetting, Found, Laid, Reach, Walk, Way};
use agronomy::working::Figure;
use farmbook::{Book, SpreaderWalk};
use jiff::civil::Date;
use quantity::plain;
use serde::Serialize;

/// A walk of the book with what it says.
#[derive(Debug, Clone, Serialize)]
pub struct Told {
    pub kept: SpreaderWalk,
    #[serde(skip)]
    pub walk: Walk,
    /// ft that one trip covers.
    pub width_ft: f64,
    /// lb per 1,000 ft2 with its working.
    pub rate: Figure,
}

/// One spreader with one material.
#[derive(Debug, Clone, Serialize)]
pub struct Known {
    pub spreader: String,
    /// Key of the material table.
    pub material: String,
    /// Of the newest walk.
    pub way: Way,
    /// Newest first; never empty.
    pub walks: Vec<Told>,
    pub settings: Vec<AtSetting>,
}

/// What a spreader is to be set to for a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    pub spreader: String,
    pub way: Way,
    pub walked_on: Date,
    /// Equal passes over the ground.
    pub passes: u32,
    pub found: Found,
    /// ft of walking that a full bucket lasts in one pass; none where its weight is not known.
    pub feet_per_bucket: Option<f64>,
    /// By hand: what is counted, and how many of it go on a bed, or on the block where it is one piece.
    pub counted: Option<(String, f64)>,
}

/// What a walk of the book says.
///
/// # Errors
/// It cannot be read back, or holds a measure that cannot be.
pub fn told(kept: SpreaderWalk) -> Result<Told> {
    let stored = |why: String| WorkError::Stored("walk", why);
    let walk: Walk =
        serde_json::from_value(kept.walk.clone()).map_err(|e| stored(e.to_string()))?;
    let rate = walk.rate().map_err(|e| stored(e.to_string()))?;
    let width_ft = walk
        .width(&mut Figure::new(""))
        .map_err(|e| stored(e.to_string()))?;
    Ok(Told {
        kept,
        walk,
        width_ft,
        rate,
    })
}

/// Every spreader with every material it was walked with, the newest walk first.
///
/// # Errors
/// The book’s own.
pub fn all(book: &Book) -> Result<Vec<Known>> {
    let mut all: Vec<Known> = Vec::new();
    for kept in book.walks()? {
        let told = told(kept)?;
        let same = |k: &&mut Known| {
            k.material == told.kept.material && k.spreader.eq_ignore_ascii_case(&told.kept.spreader)
        };
        match all.iter_mut().find(same) {
            Some(known) => known.walks.push(told),
            None => all.push(Known {
                spreader: told.kept.spreader.clone(),
                material: told.kept.material.clone(),
                way: told.walk.way,
                walks: vec![told],
                settings: Vec::new(),
            }),
        }
    }
    for known in &mut all {
        let pairs: Vec<(String, f64)> = known
            .walks
            .iter()
            .map(|t| (t.kept.setting.clone(), t.rate.value))
            .collect();
        known.settings = spreader::at_settings(&pairs);
    }
    Ok(all)
}

/// The most spreaders that a job names.
const MOST_NAMED: usize = 2;
/// More than this nobody counts out by hand.
const MOST_COUNTED: f64 = 200.0;

/// What the spreaders known with a material are to be set to for a job of `lb_per_1000_ft2`, of which
/// each bed, or the block where it is one piece, takes `lb_each`; a full bucket weighs `bucket_lb`.
pub fn for_job(
    all: &[Known],
    material: &str,
    lb_per_1000_ft2: f64,
    lb_each: f64,
    bucket_lb: Option<f64>,
) -> Vec<Setting> {
    let of = all.iter().filter(|k| k.material == material);
    of.filter_map(|k| setting(k, lb_per_1000_ft2, lb_each, bucket_lb))
        .take(MOST_NAMED)
        .collect()
}

fn setting(
    known: &Known,
    lb_per_1000_ft2: f64,
    lb_each: f64,
    bucket_lb: Option<f64>,
) -> Option<Setting> {
    let newest = known.walks.first()?;
    let (passes, found) = spreader::with_passes(&known.settings, lb_per_1000_ft2)?;
    let counted = match &newest.walk.laid {
        Laid::Counted { of, each_lb, .. } if known.way == Way::Hand => {
            Some((of.clone(), lb_each / each_lb)).filter(|(_, count)| *count <= MOST_COUNTED)
        }
        _ => None,
    };
    // Who throws by hand and counted nothing goes by the buckets.
    if known.way == Way::Hand && counted.is_none() {
        return None;
    }
    let each_pass = lb_per_1000_ft2 / f64::from(passes);
    Some(Setting {
        spreader: known.spreader.clone(),
        way: known.way,
        walked_on: newest.kept.day,
        passes,
        found,
        feet_per_bucket: bucket_lb
            .filter(|_| known.way != Way::Hand)
            .and_then(|b| spreader::feet_per_bucket(b, each_pass, newest.width_ft)),
        counted,
    })
}

/// A mark of a dial between two others, to the tenth of the way that an eye can set.
pub fn mark(mark: f64) -> String {
    plain((mark * 10.0).round() / 10.0, 4)
}

/// How many passes, in words.
pub fn passes(n: u32) -> String {
    match n {
        1 => "in one pass".to_owned(),
        2 => "in two passes, half of it each".to_owned(),
        n => format!("in {n} equal passes"),
    }
}

/// How far a full bucket of a job goes, in a sentence; empty where nobody carries it in buckets.
pub fn goes(job: &JobSheet) -> String {
    let (Some(reach), Some(lb)) = (&job.bucket_goes, job.bucket_lb) else {
        return String::new();
    };
    let goes = match reach {
        Reach::Ground { ft2 } => format!("{} ft²", plain(ft2.round(), 4)),
        Reach::Beds { beds: 0, feet } => format!("{} ft of bed", plain(feet.max(1.0), 4)),
        Reach::Beds { beds, feet } => {
            let beds = match beds {
                1 => "1 bed".to_owned(),
                n => format!("{n} beds"),
            };
            if *feet < 1.0 {
                beds
            } else {
                format!("{beds} and {} ft", plain(*feet, 4))
            }
        }
    };
    format!(
        "One full bucket ({} gallons, {}) does {goes}.",
        plain(job.bucket_gallons, 3),
        words::lb(lb)
    )
}

/// The ground that a count of a job goes on.
pub fn on(job: &JobSheet) -> &'static str {
    if job.beds.is_some() {
        "a bed"
    } else {
        "in all"
    }
}

impl Setting {
    /// What to do, in one sentence; `on` is the ground that what is counted by hand goes on, such as `a bed`.
    pub fn says(&self, on: &str) -> String {
        let who = words::capital(&self.spreader);
        if let Some((of, count)) = &self.counted {
            let of = if count.round() > 1.0 {
                format!("{of}s")
            } else {
                of.clone()
            };
            let count = plain(count.round().max(1.0), 4);
            return format!("{who}: about {count} {of} {on}.");
        }
        let passes = passes(self.passes);
        match &self.found {
            Found::At { setting, .. } if setting.is_empty() => {
                format!("{who}: as it is, {passes}.")
            }
            Found::At { setting, .. } => format!("{who}: setting {setting}, {passes}."),
            Found::Between {
                mark: at,
                lower,
                upper,
            } => format!(
                "{who}: setting about {}, {passes}. It lies between the {lower} and {upper} that were walked: watch the first bed.",
                mark(*at)
            ),
            Found::AllMore { setting, .. } => format!(
                "{who}: every walk laid down more than this{}. Walk a smaller setting first.",
                at(setting, "the least")
            ),
            Found::AllLess { setting, .. } => format!(
                "{who}: every walk laid down less than this{}. Walk a larger setting first.",
                at(setting, "the most")
            ),
            Found::NoMarks { below, above } => format!(
                "{who}: between “{below}” and “{above}”. Walk a setting between them first."
            ),
        }
    }
}

fn at(setting: &str, what: &str) -> String {
    if setting.is_empty() {
        String::new()
    } else {
        format!(", {what} at {setting}")
    }
}
