//! The crops: what pH they like, how much nitrogen they take, what a harvest carries off.

use crate::dose;
use crate::table::{self, TableError};
use crate::working::Source;
use quantity::Rate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// What a published nitrogen figure stands for. The two are credited differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NeedKind {
    /// All the nitrogen the crop must find, from soil and fertilizer together.
    Total,
    /// What to spread on ground of usual fertility; the soil's own share is already off.
    Recommendation,
}

/// One published nitrogen figure for a crop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NitrogenRate {
    /// lb N/acre
    pub low: f64,
    pub high: f64,
    /// lb N/acre: the source's own middle, or the middle of its range
    pub value: f64,
    pub kind: NeedKind,
    pub system: String,
    pub note: String,
    /// As printed, e.g. `150 kg/ha`.
    pub printed: String,
    /// The yield the figure goes with, where the source prints one.
    #[serde(default)]
    pub at_yield: Option<AtYield>,
    pub source: Source,
}

/// The yield that a nitrogen figure goes with, and how the figure moves with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AtYield {
    /// lb of fresh harvest per acre
    pub lb_per_acre: f64,
    /// lb N/acre for each such difference in percent of that yield; none where the source prints no
    /// rule for this crop.
    pub per_step: Option<YieldStep>,
}

/// So much more nitrogen for so much more harvest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct YieldStep {
    /// Difference in yield, percent
    pub pct: f64,
    /// lb N/acre
    pub lb_per_acre: f64,
    /// As printed, kg N/ha
    pub kg_per_ha: f64,
}

/// The pH range a crop is grown at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TargetPh {
    pub low: f64,
    pub high: f64,
    /// What the source adds, one sentence; empty where it adds nothing.
    #[serde(default)]
    pub note: String,
    /// Whether lime should stay off in the year this crop grows.
    #[serde(default)]
    pub no_lime_in_crop_year: bool,
    pub source: Source,
}

/// Where the part that is eaten grows; it decides how long raw manure must be in the ground before
/// harvest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Contact {
    /// In or on the soil, or where rain splashes soil on it
    Soil,
    /// Plainly above it
    Clear,
    /// Not grown to be eaten
    NotEaten,
}

/// The wait between working in raw manure and harvest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct RawManure {
    days: u16,
    source: Source,
}

/// What a harvest carries off, percent of fresh weight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Removal {
    pub n: f64,
    pub p2o5: f64,
    pub k2o: f64,
    pub source: Source,
}

/// A crop as the tables know it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Crop {
    pub key: String,
    pub name: String,
    pub group: String,
    pub aliases: Vec<String>,
    /// Whether the part that is eaten touches soil or soil particles; it decides the raw-manure
    /// interval. See [`Crop::raw_manure_days`].
    pub edible_touches_soil: bool,
    pub contact: Contact,
    raw_manure: RawManure,
    pub target_ph: Option<TargetPh>,
    /// Best first.
    pub nitrogen: Vec<NitrogenRate>,
    /// Usual yield, lb of fresh harvest per acre.
    pub usual_yield: Option<(f64, Source)>,
    pub removal: Option<Removal>,
}

#[derive(Deserialize)]
struct CropRow {
    key: String,
    name: String,
    group: String,
    aliases: String,
    edible_touches_soil: String,
    contact_source: String,
    contact_evidence: String,
}

#[derive(Deserialize)]
struct RawManureRow {
    edible_touches_soil: String,
    days: u16,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct NitrogenRow {
    crop: String,
    rank: u32,
    low: f64,
    high: f64,
    value: Option<f64>,
    unit: String,
    kind: String,
    system: String,
    note: String,
    table_yield_kg_ha: Option<f64>,
    yield_step_pct: Option<f64>,
    yield_step_kg_ha: Option<f64>,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct TargetRow {
    crop: String,
    low: f64,
    high: f64,
    note: String,
    lime_in_crop_year: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct YieldRow {
    crop: String,
    lb_per_acre: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RemovalRow {
    crop: String,
    n: f64,
    p2o5: f64,
    k2o: f64,
    source: String,
    evidence: String,
}

fn unknown(table: &str, row: usize, problem: String) -> TableError {
    TableError {
        table: table.to_owned(),
        row,
        problem,
    }
}

/// The wait of each kind of contact, by the word the crop table uses.
fn raw_manure_waits() -> Result<BTreeMap<String, (u16, Source)>, TableError> {
    let name = "crops/raw_manure.csv";
    let text = include_str!("../../../reference/crops/raw_manure.csv");
    table::rows::<RawManureRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            Ok((r.edible_touches_soil, (r.days, source)))
        })
        .collect()
}

/// The wait after raw manure that holds where nobody says which crop it is for: the longest of 7 CFR
/// 205.203(c)(1), days, with its source.
pub fn longest_raw_manure_wait() -> (u16, Source) {
    static LONGEST: OnceLock<Option<(u16, Source)>> = OnceLock::new();
    LONGEST
        .get_or_init(|| raw_manure_waits().ok()?.into_values().max_by_key(|w| w.0))
        .clone()
        // Nothing is spread too late where the table cannot be read, which a test rules out.
        .unwrap_or_else(|| (u16::MAX, Source::arithmetic()))
}

/// Parses the crops themselves, without what the other tables add.
fn load_crops(name: &str, text: &str) -> Result<Vec<Crop>, TableError> {
    let waits = raw_manure_waits()?;
    let mut crops = Vec::new();
    for (i, row) in table::rows::<CropRow>(name, text)?.into_iter().enumerate() {
        let word = row.edible_touches_soil.as_str();
        let contact = match word {
            "yes" => Contact::Soil,
            "no" => Contact::Clear,
            "not_eaten" => Contact::NotEaten,
            other => {
                return Err(unknown(
                    name,
                    i + 2,
                    format!("edible_touches_soil is “{other}”, not yes, no or not_eaten"),
                ));
            }
        };
        let assigned = table::source(name, i + 2, &row.contact_source, &row.contact_evidence)?;
        let (days, rule) = waits
            .get(word)
            .ok_or_else(|| unknown(name, i + 2, format!("no raw-manure wait for “{word}”")))?;
        let raw_manure = RawManure {
            days: *days,
            source: Source::new(
                format!("{}; this crop: {}", rule.text, assigned.text),
                rule.evidence.max(assigned.evidence),
            ),
        };
        crops.push(Crop {
            key: row.key,
            name: row.name,
            group: row.group,
            aliases: row
                .aliases
                .split(';')
                .map(str::trim)
                .filter(|a| !a.is_empty())
                .map(str::to_owned)
                .collect(),
            edible_touches_soil: contact == Contact::Soil,
            contact,
            raw_manure,
            target_ph: None,
            nitrogen: Vec::new(),
            usual_yield: None,
            removal: None,
        });
    }
    Ok(crops)
}

/// Parses the crop tables that come with the program.
pub fn load() -> Result<Vec<Crop>, TableError> {
    let text = include_str!("../../../reference/crops/crops.csv");
    let mut crops = load_crops("crops/crops.csv", text)?;
    let at: BTreeMap<String, usize> = crops
        .iter()
        .enumerate()
        .map(|(i, crop)| (crop.key.clone(), i))
        .collect();
    let find = |table: &str, row: usize, crop: &str| {
        at.get(crop)
            .copied()
            .ok_or_else(|| unknown(table, row, format!("“{crop}” is not in crops.csv")))
    };

    let name = "crops/nitrogen_need.csv";
    let text = include_str!("../../../reference/crops/nitrogen_need.csv");
    let mut ranked = Vec::new();
    for (i, row) in table::rows::<NitrogenRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let crop = find(name, i + 2, &row.crop)?;
        let lb = |v: f64| {
            dose::lb_per_acre(v, &row.unit).ok_or_else(|| {
                unknown(name, i + 2, format!("“{}” is not a unit of rate", row.unit))
            })
        };
        let kind = match row.kind.as_str() {
            "total" => NeedKind::Total,
            "recommendation" => NeedKind::Recommendation,
            other => return Err(unknown(name, i + 2, format!("“{other}” is not a kind"))),
        };
        let middle = row.value.unwrap_or((row.low + row.high) / 2.0);
        let printed = if (row.low - row.high).abs() < f64::EPSILON {
            format!("{} {}", quantity::plain(row.low, 4), row.unit)
        } else {
            format!(
                "{} to {} {}",
                quantity::plain(row.low, 4),
                quantity::plain(row.high, 4),
                row.unit
            )
        };
        let at_yield = at_yield(name, i + 2, &row)?;
        let rate = NitrogenRate {
            at_yield,
            low: lb(row.low)?,
            high: lb(row.high)?,
            value: lb(middle)?,
            kind,
            system: row.system,
            note: row.note,
            printed,
            source: table::source(name, i + 2, &row.source, &row.evidence)?,
        };
        ranked.push((crop, row.rank, rate));
    }
    ranked.sort_by_key(|(crop, rank, _)| (*crop, *rank));
    for (crop, _, rate) in ranked {
        crops[crop].nitrogen.push(rate);
    }

    let name = "crops/target_ph.csv";
    let text = include_str!("../../../reference/crops/target_ph.csv");
    for (i, row) in table::rows::<TargetRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let crop = find(name, i + 2, &row.crop)?;
        crops[crop].target_ph = Some(TargetPh {
            low: row.low,
            high: row.high,
            note: row.note,
            no_lime_in_crop_year: match row.lime_in_crop_year.as_str() {
                "" => false,
                "no" => true,
                other => {
                    let problem = format!("lime_in_crop_year is “{other}”, not no or empty");
                    return Err(unknown(name, i + 2, problem));
                }
            },
            source: table::source(name, i + 2, &row.source, &row.evidence)?,
        });
    }
    let name = "crops/yield.csv";
    let text = include_str!("../../../reference/crops/yield.csv");
    for (i, row) in table::rows::<YieldRow>(name, text)?.into_iter().enumerate() {
        let crop = find(name, i + 2, &row.crop)?;
        let source = table::source(name, i + 2, &row.source, &row.evidence)?;
        crops[crop].usual_yield = Some((row.lb_per_acre, source));
    }
    let name = "crops/removal.csv";
    let text = include_str!("../../../reference/crops/removal.csv");
    for (i, row) in table::rows::<RemovalRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let crop = find(name, i + 2, &row.crop)?;
        crops[crop].removal = Some(Removal {
            n: row.n,
            p2o5: row.p2o5,
            k2o: row.k2o,
            source: table::source(name, i + 2, &row.source, &row.evidence)?,
        });
    }
    Ok(crops)
}

/// The yield a nitrogen row goes with. A step without its size, or a size without its step, is an
/// error.
fn at_yield(table: &str, row: usize, of: &NitrogenRow) -> Result<Option<AtYield>, TableError> {
    let per_step = match (of.yield_step_pct, of.yield_step_kg_ha) {
        (None, None) => None,
        (Some(pct), Some(kg_per_ha)) if pct > 0.0 => Some(YieldStep {
            pct,
            lb_per_acre: Rate::kg_per_ha(kg_per_ha).to_lb_per_acre(),
            kg_per_ha,
        }),
        _ => {
            let problem = "yield_step_pct and yield_step_kg_ha belong together".to_owned();
            return Err(unknown(table, row, problem));
        }
    };
    match of.table_yield_kg_ha {
        Some(kg) if kg > 0.0 => Ok(Some(AtYield {
            lb_per_acre: Rate::kg_per_ha(kg).to_lb_per_acre(),
            per_step,
        })),
        None if per_step.is_none() => Ok(None),
        _ => {
            let problem = "a yield step needs the table’s yield, above zero".to_owned();
            Err(unknown(table, row, problem))
        }
    }
}

/// The crops that come with the program; none if the tables cannot be parsed, which a test rules out.
pub fn crops() -> &'static [Crop] {
    static CROPS: OnceLock<Vec<Crop>> = OnceLock::new();
    CROPS.get_or_init(|| load().unwrap_or_default())
}

/// A crop by its key.
pub fn find(key: &str) -> Option<&'static Crop> {
    crops().iter().find(|c| c.key == key)
}

/// A crop by key, name or another name, whatever the case.
pub fn find_by_name(name: &str) -> Option<&'static Crop> {
    let name = name.trim().to_lowercase();
    crops().iter().find(|c| {
        c.key == name
            || c.name.to_lowercase() == name
            || c.aliases.iter().any(|a| a.to_lowercase() == name)
    })
}

impl TargetPh {
    /// The pH to lime to: the middle of the range, to a tenth as labs print it.
    pub fn aim(&self) -> f64 {
        ((self.low + self.high) / 2.0 * 10.0).round() / 10.0
    }
}

impl Crop {
    /// Days from working in raw manure to harvest under the US organic rule, 7 CFR 205.203(c)(1):
    /// 120, 90, or 0 for a crop that is not eaten. The source carries the weaker mark of the rule and
    /// of the crop’s place in it.
    pub fn raw_manure_days(&self) -> (u16, Source) {
        (self.raw_manure.days, self.raw_manure.source.clone())
    }

    /// What a harvest carries off: lb of N, P2O5 and K2O per acre, with source. Without a yield of
    /// the grower’s own it is the table’s usual yield, and the source says so and carries the weaker
    /// mark of the two.
    pub fn carried_off(&self, yield_lb_per_acre: Option<f64>) -> Option<([f64; 3], Source)> {
        let removal = self.removal.as_ref()?;
        let given = yield_lb_per_acre.filter(|y| y.is_finite() && *y > 0.0);
        let (harvest, said, evidence) = match (given, &self.usual_yield) {
            (Some(y), _) => (
                y,
                format!("{} lb/acre harvested, as you gave", quantity::plain(y, 3)),
                removal.source.evidence,
            ),
            (None, Some((y, source))) => (
                *y,
                format!(
                    "no yield given: the table’s usual yield, {} lb/acre ({})",
                    quantity::plain(*y, 3),
                    source.text
                ),
                removal.source.evidence.max(source.evidence),
            ),
            (None, None) => return None,
        };
        let lb = |pct: f64| harvest * pct / 100.0;
        Some((
            [lb(removal.n), lb(removal.p2o5), lb(removal.k2o)],
            Source::new(
                format!("{said}; content by {}", removal.source.text),
                evidence,
            ),
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::working::Evidence;

    #[test]
    fn the_tables_parse_and_agree() {
        let crops = load().unwrap();
        let known = crops.iter().filter(|c| !c.nitrogen.is_empty()).count();
        assert!(known >= 35, "{known} crops have a nitrogen figure");
        for crop in &crops {
            for rate in &crop.nitrogen {
                assert!(
                    rate.low <= rate.value && rate.value <= rate.high,
                    "{}",
                    crop.key
                );
                assert!(
                    (0.0..=350.0).contains(&rate.value),
                    "{} {}",
                    crop.key,
                    rate.value
                );
            }
            if let Some(target) = &crop.target_ph {
                assert!(3.5 < target.low && target.low <= target.high && target.high < 8.0);
            }
            if let Some(removal) = &crop.removal {
                assert!(removal.n < 5.0 && removal.p2o5 < 2.0 && removal.k2o < 3.0);
            }
        }
    }

    #[test]
    fn every_crop_has_its_raw_manure_wait() {
        let days = |key: &str| find(key).unwrap().raw_manure_days().0;
        for key in [
            "kale",
            "collards",
            "chard",
            "tomato",
            "cucumber",
            "squash_summer",
            "carrot",
            "strawberry",
            "bean_snap",
            "rhubarb",
            "broccoli",
            "pepper",
            "pea",
        ] {
            assert_eq!(days(key), 120, "{key}");
        }
        for key in ["sweet_corn", "bean_pole", "raspberry", "blueberry"] {
            assert_eq!(days(key), 90, "{key}");
        }
        for crop in crops() {
            let (days, source) = crop.raw_manure_days();
            assert_eq!(days == 120, crop.edible_touches_soil, "{}", crop.key);
            assert_eq!(days == 0, crop.group == "cover", "{}", crop.key);
            // The rule was read; which crops it means is common practice.
            assert_eq!(source.evidence, Evidence::CommonPractice, "{}", crop.key);
            assert!(source.text.contains("205.203(c)(1)"), "{}", source.text);
        }
    }

    #[test]
    fn a_crop_without_its_contact_is_an_error() {
        let table = |word: &str| {
            format!(
                "key,name,group,aliases,edible_touches_soil,contact_source,contact_evidence\n\
                 kale,Kale,brassica,,{word},practice,common-practice\n"
            )
        };
        assert!(load_crops("crops.csv", &table("yes")).is_ok());
        for word in ["", "maybe"] {
            let problem = load_crops("crops.csv", &table(word)).unwrap_err();
            assert_eq!(problem.row, 2);
            assert!(problem.to_string().contains("edible_touches_soil"));
        }
    }

    #[test]
    fn potato_says_no_lime_in_its_year() {
        let target = |key: &str| find(key).unwrap().target_ph.clone().unwrap();
        for key in ["potato", "carrot"] {
            assert!(target(key).no_lime_in_crop_year);
            assert!(target(key).note.contains("no lime in the year"));
        }
        assert!(!target("beet").no_lime_in_crop_year);
        assert!(target("beet").note.is_empty());
    }

    #[test]
    fn a_usual_yield_is_said_to_be_one() {
        let beet = find("beet").unwrap();
        let (_, own) = beet.carried_off(Some(30_000.0)).unwrap();
        assert!(own.text.contains("30,000 lb/acre") && own.text.contains("you gave"));
        assert!(!own.text.contains("no yield given"));
        for bad in [None, Some(f64::NAN), Some(-1.0)] {
            let (_, usual) = beet.carried_off(bad).unwrap();
            assert!(
                usual
                    .text
                    .starts_with("no yield given: the table’s usual yield")
            );
            let (_, yields) = beet.usual_yield.as_ref().unwrap();
            assert!(usual.text.contains(&yields.text), "{}", usual.text);
        }
        // The weaker mark of the two decides, whichever it is.
        let mut weak = beet.clone();
        weak.usual_yield.as_mut().unwrap().1.evidence = Evidence::Memory;
        assert_eq!(weak.carried_off(None).unwrap().1.evidence, Evidence::Memory);
        assert_eq!(
            weak.carried_off(Some(1.0)).unwrap().1.evidence,
            beet.removal.as_ref().unwrap().source.evidence
        );
    }

    #[test]
    fn names_and_other_names_find_the_crop() {
        assert_eq!(find_by_name(" Rocket ").unwrap().key, "arugula");
        assert_eq!(find_by_name("TOMATO").unwrap().key, "tomato");
        assert!(find_by_name("plutonium").is_none());
    }

    #[test]
    fn a_larger_harvest_carries_off_more() {
        let beet = find("beet").unwrap();
        let (small, _) = beet.carried_off(Some(10_000.0)).unwrap();
        let (large, _) = beet.carried_off(Some(20_000.0)).unwrap();
        for (s, l) in small.iter().zip(large) {
            assert!((l - 2.0 * s).abs() < 1e-9);
        }
    }
}
