//! What a pound short or over is taken to cost follows the soil's class and what else is short.

#![allow(clippy::unwrap_used)]

use agronomy::reading::Level;
use agronomy::soil::Analyte;
use farmbook::{BlockKind, Book};
use farmwork::weights::weight;
use farmwork::{demo, needs, planning};
use planner::Nutrient;
use std::collections::BTreeSet;
use tempfile::TempDir;

fn invented() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    (folder, book)
}

#[test]
fn money_follows_the_answer_of_the_crop() {
    let (_folder, book) = invented();
    let problem = planning::question(&book).unwrap().problem;
    let all = needs::all(&book).unwrap();
    let (mut shares, mut times) = (BTreeSet::new(), BTreeSet::new());
    for block in &problem.blocks {
        let on = all
            .iter()
            .find(|n| n.reading.block.id.to_string() == block.id)
            .unwrap();
        let level = |a| on.reading.reading(a).map(|r| r.level);
        for need in &block.needs {
            let (analyte, base) = match need.nutrient {
                Nutrient::P2o5 => (Analyte::P, weight("short_p2o5")),
                Nutrient::K2o => (Analyte::K, weight("short_k2o")),
                _ => continue,
            };
            let share = match level(analyte) {
                None | Some(Level::VeryLow | Level::Low) => 1.0,
                Some(Level::Medium) => weight("answer_medium"),
                Some(_) => weight("answer_rich"),
            };
            assert!(
                (need.shortage_cost - base * share).abs() < 1e-9,
                "{} {:?}: {}",
                block.name,
                need.nutrient,
                need.shortage_cost
            );
            shares.insert(share.to_bits());
            if need.nutrient == Nutrient::K2o {
                let mut expected = weight("over_k2o");
                if on.reading.block.kind == BlockKind::Tunnel {
                    expected *= weight("over_covered");
                }
                if level(Analyte::Mg).is_some_and(|l| l < Level::Optimum) {
                    expected *= weight("over_k2o_low_mg");
                }
                assert!(
                    (need.surplus_cost - expected).abs() < 1e-9,
                    "{}: {}",
                    block.name,
                    need.surplus_cost
                );
                times.insert(expected.to_bits());
            }
        }
    }
    // The demo's farm has ground on which it makes a difference.
    assert!(shares.len() > 1 && times.len() > 1, "{shares:?} {times:?}");
}
