//! The crops: what pH they like, how much nitrogen they take, what a harvest carries off.

use crate::dose;
use crate::table::{self, TableError};
use crate::working::Source;
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
    pub source: Source,
}

/// The pH range a crop is grown at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TargetPh {
    pub low: f64,
    pub high: f64,
    pub source: Source,
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
    /// Whether the part that is eaten touches soil; it decides the raw-manure interval.
    pub edible_touches_soil: bool,
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
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct TargetRow {
    crop: String,
    low: f64,
    high: f64,
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

/// Parses the crop tables that come with the program.
pub fn load() -> Result<Vec<Crop>, TableError> {
    let mut crops = Vec::new();
    let mut at = BTreeMap::new();
    let name = "crops/crops.csv";
    for row in table::rows::<CropRow>(name, include_str!("../../../reference/crops/crops.csv"))? {
        at.insert(row.key.clone(), crops.len());
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
            edible_touches_soil: row.edible_touches_soil == "yes",
            target_ph: None,
            nitrogen: Vec::new(),
            usual_yield: None,
            removal: None,
        });
    }
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
        let rate = NitrogenRate {
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

impl Crop {
    /// What a harvest carries off: lb of N, P2O5 and K2O per acre, with source.
    pub fn carried_off(&self, yield_lb_per_acre: Option<f64>) -> Option<([f64; 3], Source)> {
        let removal = self.removal.as_ref()?;
        let harvest = yield_lb_per_acre
            .filter(|y| y.is_finite() && *y > 0.0)
            .or_else(|| self.usual_yield.as_ref().map(|(y, _)| *y))?;
        let lb = |pct: f64| harvest * pct / 100.0;
        Some((
            [lb(removal.n), lb(removal.p2o5), lb(removal.k2o)],
            Source::new(
                format!(
                    "{} lb/acre harvested; content by {}",
                    quantity::plain(harvest, 3),
                    removal.source.text
                ),
                removal.source.evidence,
            ),
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
