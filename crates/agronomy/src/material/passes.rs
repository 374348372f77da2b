//! In which pass of the season a material goes on.

use super::Material;
use super::groups::Groups;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A time of the season at which ground is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pass {
    /// After the last harvest of the year before
    Autumn,
    /// Weeks ahead of planting
    Spring,
    /// Worked in some two weeks ahead of planting
    BeforePlanting,
    /// As the ground is made ready for planting
    Planting,
    /// Beside the standing crop
    Sidedress,
    /// Beside the crop once more, where the season's nitrogen is printed in so many parts
    SecondSidedress,
}

impl Pass {
    pub const ALL: [Self; 6] = [
        Self::Autumn,
        Self::Spring,
        Self::BeforePlanting,
        Self::Planting,
        Self::Sidedress,
        Self::SecondSidedress,
    ];

    /// Whether the crop stands.
    pub fn beside_the_crop(self) -> bool {
        matches!(self, Self::Sidedress | Self::SecondSidedress)
    }

    /// The pass whose rows serve where the table has none of the pass's own.
    fn like(self) -> Self {
        match self {
            Self::BeforePlanting => Self::Planting,
            Self::SecondSidedress => Self::Sidedress,
            other => other,
        }
    }

    pub fn key(self) -> &'static str {
        match self {
            Self::Autumn => "autumn",
            Self::Spring => "spring",
            Self::BeforePlanting => "before_planting",
            Self::Planting => "planting",
            Self::Sidedress => "sidedress",
            Self::SecondSidedress => "second_sidedress",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.key() == key)
    }

    /// As a grower says it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Autumn => "Autumn",
            Self::Spring => "Early spring",
            Self::BeforePlanting => "Before planting",
            Self::Planting => "At planting",
            Self::Sidedress => "Sidedress",
            Self::SecondSidedress => "Second sidedress",
        }
    }
}

/// How well a material fits a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    No,
    /// Only where the farm makes no better pass.
    Late,
    May,
    Best,
}

/// A material in a pass.
#[derive(Debug, Clone)]
pub struct InPass {
    pub fit: Fit,
    /// Share of its counted nitrogen that is left for the crop; none where the weeks of release tell.
    pub n_share: Option<f64>,
    /// Why, or when, in a few words.
    pub why: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    group: String,
    pass: String,
    may: String,
    n_share: Option<f64>,
    why: String,
    source: String,
    evidence: String,
}

type Rows = Vec<(String, Pass, InPass)>;

fn parse() -> Result<(Groups, Rows), TableError> {
    let groups = Groups::parse()?;
    let name = "materials/passes.csv";
    let text = include_str!("../../../../reference/materials/passes.csv");
    let mut rows = Vec::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        let at = i + 2;
        let wrong = |problem: String| TableError {
            table: name.to_owned(),
            row: at,
            problem,
        };
        groups.known(&r.group, name, at)?;
        if r.n_share.is_some_and(|s| !(0.0..=1.0).contains(&s)) {
            return Err(wrong("a share lies between 0 and 1".to_owned()));
        }
        rows.push((
            r.group,
            Pass::from_key(&r.pass).ok_or_else(|| wrong(format!("no pass “{}”", r.pass)))?,
            InPass {
                fit: match r.may.as_str() {
                    "no" => Fit::No,
                    "late" => Fit::Late,
                    "may" => Fit::May,
                    "best" => Fit::Best,
                    other => return Err(wrong(format!("“{other}” is no fit"))),
                },
                n_share: r.n_share,
                why: r.why,
                source: table::source(name, at, &r.source, &r.evidence)?,
            },
        ));
    }
    Ok((groups, rows))
}

/// How a material fits a pass: the first row of the table whose group holds it. None only where the
/// table does not know it, which a test rules out.
pub fn in_pass(material: &Material, pass: Pass) -> Option<&'static InPass> {
    static ALL: OnceLock<(Groups, Rows)> = OnceLock::new();
    let (groups, rows) = ALL.get_or_init(|| parse().unwrap_or_default());
    let row = |pass| {
        rows.iter()
            .find(|(group, p, _)| *p == pass && groups.holds(group, material))
            .map(|(_, _, found)| found)
    };
    row(pass).or_else(|| row(pass.like()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    #[test]
    fn every_material_has_a_pass_and_knows_all() {
        parse().unwrap();
        for material in materials() {
            let fits: Vec<Fit> = Pass::ALL
                .into_iter()
                .map(|p| in_pass(material, p).unwrap().fit)
                .collect();
            assert!(
                fits.iter().any(|f| *f >= Fit::May),
                "{}: {fits:?}",
                material.id
            );
        }
    }

    #[test]
    fn lime_goes_on_ahead_and_nitrate_beside_the_crop() {
        let fit = |id: &str, pass| in_pass(find(id).unwrap(), pass).unwrap().fit;
        assert_eq!(fit("lime_calcitic", Pass::Autumn), Fit::Best);
        assert_eq!(fit("lime_calcitic", Pass::Planting), Fit::Late);
        assert_eq!(fit("lime_hydrated", Pass::Planting), Fit::No);
        assert_eq!(fit("urea", Pass::Autumn), Fit::No);
        assert_eq!(fit("na_nitrate", Pass::Sidedress), Fit::Best);
        assert_eq!(fit("map", Pass::Sidedress), Fit::No);
        assert_eq!(fit("na_nitrate", Pass::SecondSidedress), Fit::Best);
        assert_eq!(fit("lime_hydrated", Pass::BeforePlanting), Fit::May);
        assert_eq!(fit("map", Pass::BeforePlanting), fit("map", Pass::Planting));
        // Ontario’s quick estimate: half of the nitrogen of autumn manure counts.
        let manure = in_pass(find("manure_dairy").unwrap(), Pass::Autumn).unwrap();
        assert_eq!(manure.n_share, Some(0.5));
    }
}
