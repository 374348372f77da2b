//! What a block needs beside what went on and what is still to go on.

use crate::block_sheet::{self, BlockSheet};
use crate::calendar::{Application, State};
use crate::needs::BlockNeeds;
use crate::record::brings_here;
use crate::season::Days;
use crate::supply::Choice;
use agronomy::material::{self, Material};
use farmbook::Spread;
use planner::Nutrient;
use serde::Serialize;
use std::collections::BTreeSet;

/// What is accounted for.
const SHOWN: [Nutrient; 5] = [
    Nutrient::N,
    Nutrient::P2o5,
    Nutrient::K2o,
    Nutrient::Lime,
    Nutrient::Sulfur,
];

/// One nutrient’s account, lb per acre. It holds that `left = spread + planned − need`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AccountLine {
    pub nutrient: String,
    /// Whether a rate could be given; where not, it only comes along with other things.
    pub known: bool,
    pub asked: f64,
    /// The sum of what is credited.
    pub credits: f64,
    /// Never below zero.
    pub need: f64,
    /// What counts of what went on this season.
    pub spread: f64,
    /// The same by material.
    pub spread_by: Vec<(String, f64)>,
    /// What counts of what is still to go on by the plan.
    pub planned: f64,
    /// The same by material.
    pub planned_by: Vec<(String, f64)>,
    pub left: f64,
    /// Why it is not met, or why there is more, in words; empty where it is met or nothing is known.
    pub why: String,
}

impl AccountLine {
    /// Whether what is left is nobody’s concern: half a pound on an acre, or half a percent of the need.
    pub fn met(&self) -> bool {
        slight(self.left, self.need)
    }
}

/// Whether so many lb per acre beside a need are nobody’s concern.
pub(crate) fn slight(left: f64, need: f64) -> bool {
    left.abs() < 0.5_f64.max(need * 0.005)
}

pub(super) fn of(
    n: &BlockNeeds,
    sheet: Option<&BlockSheet>,
    done: &[&(&Spread, Material)],
    jobs: &[&Application],
    choices: &[Choice],
) -> Vec<AccountLine> {
    let acres = n.acres();
    let days = Days::of(n);
    let asked: BTreeSet<Nutrient> = SHOWN.into_iter().collect();
    let brings = |of: &Material, pass: &str| brings_here(of, days.as_ref(), pass, &asked);
    let mut spread = Sums::default();
    for (s, of) in done {
        spread.add(&of.name, &brings(of, &s.pass), s.weight.to_pounds() / acres);
    }
    let mut planned = Sums::default();
    for job in jobs.iter().filter(|a| a.state != State::Done) {
        let chosen = choices.iter().find(|c| c.material.id == job.material_id);
        let of = chosen
            .map(|c| &c.material)
            .or_else(|| material::find(&job.material_id));
        if let Some(of) = of {
            planned.add(&of.name, &brings(of, job.pass.key()), job.lb / acres);
        }
    }
    SHOWN
        .into_iter()
        .filter_map(|nutrient| {
            let line = n.line(nutrient);
            let known = line.is_some_and(|l| l.asked.is_some());
            let (on, to_come) = (spread.of(nutrient), planned.of(nutrient));
            let need = line.map_or(0.0, |l| l.need);
            let usual = matches!(nutrient, Nutrient::N | Nutrient::P2o5 | Nutrient::K2o);
            let moves = on.abs() + to_come.abs() > 0.5 || need > 0.0;
            (usual || moves).then(|| {
                let name = block_sheet::nutrient_name(nutrient);
                let of_sheet = sheet.and_then(|s| s.balance.iter().find(|b| b.nutrient == name));
                AccountLine {
                    known,
                    asked: line.and_then(|l| l.asked).unwrap_or(0.0),
                    credits: line.map_or(0.0, |l| l.credits.iter().map(|(_, lb)| lb).sum()),
                    need,
                    spread: on,
                    spread_by: spread.by(nutrient),
                    planned: to_come,
                    planned_by: planned.by(nutrient),
                    left: on + to_come - need,
                    why: of_sheet.and_then(|b| b.binding.clone()).unwrap_or_default(),
                    nutrient: name,
                }
            })
        })
        .collect()
}

/// lb per acre of each nutrient by material.
#[derive(Default)]
struct Sums(Vec<(Nutrient, String, f64)>);

impl Sums {
    fn add(&mut self, material: &str, per_lb: &[(Nutrient, f64)], lb: f64) {
        for (nutrient, share) in per_lb {
            let same = |(n, m, _): &&mut (Nutrient, String, f64)| n == nutrient && m == material;
            match self.0.iter_mut().find(same) {
                Some((_, _, sum)) => *sum += share * lb,
                None => self.0.push((*nutrient, material.to_owned(), share * lb)),
            }
        }
    }

    fn by(&self, nutrient: Nutrient) -> Vec<(String, f64)> {
        let mine = self.0.iter().filter(|(n, _, _)| *n == nutrient);
        mine.map(|(_, m, lb)| (m.clone(), *lb)).collect()
    }

    fn of(&self, nutrient: Nutrient) -> f64 {
        // The sum of nothing is a plain zero.
        self.by(nutrient).iter().map(|(_, lb)| lb).sum::<f64>() + 0.0
    }
}
