//! What the warmth of the soil asks of the days on which a material goes on.

use super::groups::Groups;
use super::{Material, Pass};
use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;
use std::sync::OnceLock;

/// What a temperature of the soil is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// No spreading on a day that is not warmer.
    Above,
    /// No spreading before the soil stays colder.
    Below,
    /// Of the weeks ahead of planting only those that are as warm count.
    WorksFrom,
}

/// One bound on the warmth of the soil.
#[derive(Debug, Clone)]
pub struct Warmth {
    group: String,
    /// None: every pass.
    pass: Option<Pass>,
    pub holds: Holds,
    pub celsius: f64,
    pub why: String,
    pub source: Source,
}

impl Warmth {
    /// Whether a soil so warm bars the material on that day, or lets a day ahead of planting go uncounted.
    pub fn fails(&self, celsius: f64) -> bool {
        match self.holds {
            Holds::Above => celsius <= self.celsius,
            Holds::Below => celsius >= self.celsius,
            Holds::WorksFrom => celsius < self.celsius,
        }
    }
}

#[derive(Deserialize)]
struct Row {
    group: String,
    pass: String,
    holds: String,
    celsius: f64,
    why: String,
    source: String,
    evidence: String,
}

type Rows = (Groups, Vec<Warmth>);

fn parse() -> Result<Rows, TableError> {
    let groups = Groups::parse()?;
    let name = "materials/soil_warmth.csv";
    let text = include_str!("../../../../reference/materials/soil_warmth.csv");
    let mut rows = Vec::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        groups.known(&r.group, name, i + 2)?;
        let wrong = |word: &str| TableError {
            table: name.to_owned(),
            row: i + 2,
            problem: format!("“{word}” is no word of this table"),
        };
        rows.push(Warmth {
            pass: match r.pass.as_str() {
                "any" => None,
                key => Some(Pass::from_key(key).ok_or_else(|| wrong(key))?),
            },
            holds: match r.holds.as_str() {
                "above" => Holds::Above,
                "below" => Holds::Below,
                "works_from" => Holds::WorksFrom,
                other => return Err(wrong(other)),
            },
            group: r.group,
            celsius: r.celsius,
            why: r.why,
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
        });
    }
    Ok((groups, rows))
}

fn table() -> &'static Rows {
    static ALL: OnceLock<Rows> = OnceLock::new();
    ALL.get_or_init(|| parse().unwrap_or_default())
}

/// Every bound, in the order of the table.
pub fn warmth_rules() -> &'static [Warmth] {
    &table().1
}

/// What the warmth of the soil asks of a material in a pass.
pub fn soil_warmth(material: &Material, pass: Pass) -> Vec<&'static Warmth> {
    let (groups, rows) = table();
    rows.iter()
        .filter(|w| w.pass.is_none_or(|p| p == pass) && groups.holds(&w.group, material))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    fn held(id: &str, pass: Pass) -> Vec<(Holds, f64)> {
        soil_warmth(find(id).unwrap(), pass)
            .iter()
            .map(|w| (w.holds, w.celsius))
            .collect()
    }

    #[test]
    fn the_table_is_whole() {
        let (_, rows) = parse().unwrap();
        assert_eq!(rows.len(), 4);
        for m in materials() {
            for pass in Pass::ALL {
                assert!(held(&m.id, pass).contains(&(Holds::Above, 0.0)), "{}", m.id);
            }
        }
        assert!(held("urea", Pass::Autumn).contains(&(Holds::Below, 10.0)));
        assert_eq!(held("urea", Pass::Spring).len(), 1);
        assert_eq!(held("kcl", Pass::Autumn).len(), 1);
        assert!(held("sulfur", Pass::Spring).contains(&(Holds::WorksFrom, 10.0)));
        assert!(held("feather_meal", Pass::Spring).contains(&(Holds::WorksFrom, 10.0)));
        assert_eq!(held("alfalfa_meal", Pass::Spring).len(), 1);
    }

    #[test]
    fn the_bounds_hold_at_their_edges() {
        let of = |id: &str, pass, holds| {
            let all = soil_warmth(find(id).unwrap(), pass);
            all.into_iter().find(|w| w.holds == holds).unwrap()
        };
        // Exactly 0 °C is frozen, exactly 50 °F is not yet below it and is warm enough to work.
        let frozen = of("lime_calcitic", Pass::Spring, Holds::Above);
        assert!(frozen.fails(0.0) && frozen.fails(-0.1) && !frozen.fails(0.1));
        let cold = of("urea", Pass::Autumn, Holds::Below);
        assert!(cold.fails(10.0) && cold.fails(10.1) && !cold.fails(9.9));
        let works = of("sulfur", Pass::Spring, Holds::WorksFrom);
        assert!(!works.fails(10.0) && works.fails(9.9));
    }
}
