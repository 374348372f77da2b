//! The budget of nitrogen, phosphate and potash of one field, every source a line.

use crate::adviser::{AdviserSheet, slight};
use agronomy::working::Source as Published;
use serde::Serialize;

/// What brings nutrients to the field, lb per acre of N, P2O5 and K2O that count in the season.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    pub name: String,
    pub lb: [f64; 3],
}

/// The sums, lb per acre of N, P2O5 and K2O.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Total {
    /// What the crop and the soil ask for; none where no rate can be given.
    pub asked: [Option<f64>; 3],
    /// From every source.
    pub given: [f64; 3],
}

impl Total {
    /// Given less asked; zero where the difference is nobody’s concern, none where no rate can be given.
    pub fn over(&self, at: usize) -> Option<f64> {
        let asked = self.asked[at]?;
        let over = self.given[at] - asked;
        Some(if slight(over, asked) { 0.0 } else { over })
    }
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Budget {
    /// What soil, earlier crops and water give.
    pub credits: Vec<Source>,
    /// What went on this season, by material.
    pub spread: Vec<Source>,
    /// What is still to go on by the plan, by material.
    pub planned: Vec<Source>,
    pub total: Total,
    /// What the harvest is reckoned to carry off, with where that is printed; none where no source does.
    pub removed: Option<([f64; 3], Published)>,
}

/// The lines of the account that the budget shows, in its order.
const NAMES: [planner::Nutrient; 3] = [
    planner::Nutrient::N,
    planner::Nutrient::P2o5,
    planner::Nutrient::K2o,
];

pub(super) fn of(sheet: &AdviserSheet, removed: Option<([f64; 3], Published)>) -> Budget {
    let mut budget = Budget {
        credits: Vec::new(),
        spread: Vec::new(),
        planned: Vec::new(),
        total: Total {
            asked: [None; 3],
            given: [0.0; 3],
        },
        removed,
    };
    for (at, nutrient) in NAMES.into_iter().enumerate() {
        let name = crate::block_sheet::nutrient_name(nutrient);
        let need = sheet.needs.iter().find(|n| n.nutrient == name);
        budget.total.asked[at] = need.and_then(|n| n.asked);
        let account = sheet.account.iter().find(|a| a.nutrient == name);
        let credits = need.map_or(&[][..], |n| &n.credits);
        let spread = account.map_or(&[][..], |a| &a.spread_by);
        let planned = account.map_or(&[][..], |a| &a.planned_by);
        for (list, lines) in [
            (&mut budget.credits, credits),
            (&mut budget.spread, spread),
            (&mut budget.planned, planned),
        ] {
            for (name, lb) in lines {
                add(list, name, at, *lb);
                budget.total.given[at] += lb;
            }
        }
    }
    budget
}

fn add(list: &mut Vec<Source>, name: &str, at: usize, lb: f64) {
    match list.iter_mut().find(|s| s.name == name) {
        Some(s) => s.lb[at] += lb,
        None => {
            let mut new = Source {
                name: name.to_owned(),
                lb: [0.0; 3],
            };
            new.lb[at] = lb;
            list.push(new);
        }
    }
}
