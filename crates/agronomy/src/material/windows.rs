//! Between which days of a season a pass falls, and what the ground must be like.

use super::{Ground, Pass};
use crate::table::{self, TableError};
use crate::working::{Caution, Source};
use serde::Deserialize;
use std::sync::OnceLock;

/// What the pass goes over, as far as its days depend on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Field ground and raised beds under the sky
    Open,
    /// A tunnel, whose ground bears all winter
    Cover,
    /// Established perennials
    Standing,
    /// The surface around young plants, for a mulch
    Mulch,
}

impl Place {
    /// The place of a block: `covered` where a roof is over it.
    pub fn of(ground: Ground, covered: bool) -> Self {
        match (ground, covered) {
            (Ground::Standing, _) => Self::Standing,
            (_, true) => Self::Cover,
            _ => Self::Open,
        }
    }

    fn from_key(key: &str) -> Option<Self> {
        Some(match key {
            "open" => Self::Open,
            "cover" => Self::Cover,
            "standing" => Self::Standing,
            "mulch" => Self::Mulch,
            _ => return None,
        })
    }
}

/// Which side of the days is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// The pass opens; of several the first.
    Earliest,
    Best,
    /// The last day on which it does all that it is spread for.
    Latest,
    /// The last day on which it may go on at all.
    Stop,
}

/// The day from which an edge is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CountedFrom {
    Planting,
    /// The first day of harvest
    Harvest,
    /// The first sidedressing that is due
    Sidedress,
    /// The second that is printed
    SecondSidedress,
    /// The harvest of the year before
    LastHarvest,
    /// 1 January of the season
    NewYear,
}

/// One edge of a pass.
#[derive(Debug, Clone)]
pub struct PassEdge {
    pass: Pass,
    place: Place,
    pub edge: Edge,
    pub from: CountedFrom,
    /// Days after it; negative before.
    pub days: i64,
    pub why: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    pass: String,
    ground: String,
    edge: String,
    from: String,
    days: i64,
    why: String,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct ConditionRow {
    key: String,
    #[serde(rename = "where")]
    place: String,
    text: String,
    source: String,
    evidence: String,
}

fn parse_edges() -> Result<Vec<PassEdge>, TableError> {
    let name = "materials/windows.csv";
    let text = include_str!("../../../../reference/materials/windows.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            let wrong = |word: &str| TableError {
                table: name.to_owned(),
                row: i + 2,
                problem: format!("“{word}” is no word of this table"),
            };
            Ok(PassEdge {
                pass: Pass::from_key(&r.pass).ok_or_else(|| wrong(&r.pass))?,
                place: Place::from_key(&r.ground).ok_or_else(|| wrong(&r.ground))?,
                edge: match r.edge.as_str() {
                    "earliest" => Edge::Earliest,
                    "best" => Edge::Best,
                    "latest" => Edge::Latest,
                    "stop" => Edge::Stop,
                    other => return Err(wrong(other)),
                },
                from: match r.from.as_str() {
                    "planting" => CountedFrom::Planting,
                    "harvest" => CountedFrom::Harvest,
                    "sidedress" => CountedFrom::Sidedress,
                    "second_sidedress" => CountedFrom::SecondSidedress,
                    "last_harvest" => CountedFrom::LastHarvest,
                    "new_year" => CountedFrom::NewYear,
                    other => return Err(wrong(other)),
                },
                days: r.days,
                why: r.why,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

type Conditions = Vec<(String, Caution)>;

fn parse_conditions() -> Result<Conditions, TableError> {
    let name = "materials/conditions.csv";
    let text = include_str!("../../../../reference/materials/conditions.csv");
    table::rows::<ConditionRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if r.place != "outdoors" {
                return Err(TableError {
                    table: name.to_owned(),
                    row: i + 2,
                    problem: format!("“{}” is not outdoors", r.place),
                });
            }
            let source = table::source(name, i + 2, &r.source, &r.evidence)?;
            Ok((
                r.key,
                Caution {
                    text: r.text,
                    source,
                },
            ))
        })
        .collect()
}

/// The edges of a pass; none where it does not fall on such a place. A mulch that goes on at planting
/// has days of its own.
pub fn pass_edges(pass: Pass, place: Place) -> Vec<&'static PassEdge> {
    static ALL: OnceLock<Vec<PassEdge>> = OnceLock::new();
    ALL.get_or_init(|| parse_edges().unwrap_or_default())
        .iter()
        .filter(|e| e.pass == pass && e.place == place)
        .collect()
}

/// What the ground must be like wherever something is spread under the sky: the key and the words.
pub fn ground_conditions() -> &'static [(String, Caution)] {
    static ALL: OnceLock<Conditions> = OnceLock::new();
    ALL.get_or_init(|| parse_conditions().unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pass_has_its_days() {
        parse_edges().unwrap();
        for pass in Pass::ALL {
            for place in [Place::Open, Place::Cover, Place::Standing] {
                let edges = pass_edges(pass, place);
                let never = [Pass::BeforePlanting, Pass::Planting, Pass::SecondSidedress];
                if place == Place::Standing && never.contains(&pass) {
                    assert!(edges.is_empty(), "the plants stand already");
                    continue;
                }
                for edge in [Edge::Earliest, Edge::Best, Edge::Latest, Edge::Stop] {
                    assert!(
                        edges.iter().any(|e| e.edge == edge),
                        "{pass:?} {place:?} {edge:?}"
                    );
                }
            }
        }
        assert_eq!(pass_edges(Pass::Planting, Place::Mulch).len(), 4);
    }

    #[test]
    fn frozen_ground_and_water_are_spoken_of() {
        parse_conditions().unwrap();
        let keys: Vec<&str> = ground_conditions().iter().map(|c| c.0.as_str()).collect();
        assert_eq!(keys, ["frozen", "water", "rain"]);
    }
}
