//! What the standard asks of a plan, heading by heading, with where that was read.

use agronomy::table::{self, TableError};
use agronomy::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// One heading of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Section {
    pub key: String,
    pub heading: String,
    /// Which part of which standard it serves.
    pub part: String,
    pub asks: Vec<Ask>,
}

/// One thing that is asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ask {
    pub what: String,
    pub source: Source,
}

#[derive(Deserialize)]
struct Row {
    section: String,
    heading: String,
    part: String,
    asks: String,
    source: String,
    evidence: String,
}

fn load() -> Result<Vec<Section>, TableError> {
    let name = "planning/nutrient_plan.csv";
    let text = include_str!("../../../../reference/planning/nutrient_plan.csv");
    let mut out: Vec<Section> = Vec::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        let ask = Ask {
            source: table::source(name, i + 2, &r.source, &r.evidence)?,
            what: r.asks,
        };
        match out.last_mut().filter(|s| s.key == r.section) {
            Some(s) => s.asks.push(ask),
            None => out.push(Section {
                key: r.section,
                heading: r.heading,
                part: r.part,
                asks: vec![ask],
            }),
        }
    }
    Ok(out)
}

/// Every heading, in the order of the plan.
pub fn sections() -> &'static [Section] {
    static SECTIONS: OnceLock<Vec<Section>> = OnceLock::new();
    SECTIONS.get_or_init(|| load().unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_heading_stands_once_with_what_it_serves() {
        let all = load().unwrap();
        let keys: Vec<&str> = all.iter().map(|s| s.key.as_str()).collect();
        assert_eq!(
            keys,
            [
                "farm",
                "maps",
                "tests",
                "crops",
                "budget",
                "apply",
                "risk",
                "guidance",
                "upkeep",
                "records",
                "statement",
            ]
        );
        let text = include_str!("../../../../reference/planning/nutrient_plan.csv");
        for s in &all {
            assert!(!s.heading.is_empty() && !s.part.is_empty(), "{}", s.key);
            // Rows of one heading say the same of it.
            let rows = table::rows::<Row>("nutrient_plan", text).unwrap();
            for r in rows.iter().filter(|r| r.section == s.key) {
                assert_eq!((&r.heading, &r.part), (&s.heading, &s.part));
            }
            for ask in &s.asks {
                assert!(!ask.what.is_empty() && !ask.source.text.is_empty());
                // What was only recalled says so in its source too.
                assert_eq!(
                    ask.source.evidence.unconfirmed(),
                    ask.source.text.contains("recalled"),
                    "{}",
                    ask.what
                );
            }
        }
    }
}
