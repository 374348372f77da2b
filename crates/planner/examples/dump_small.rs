//! Prints small invented problems with their plans as JSON, for a check against another solver.

use planner::{Lock, Preference, Problem, generate, solve};
use std::error::Error;

fn cases() -> Vec<(String, Problem)> {
    let mut cases: Vec<(String, Problem)> =
        [(1, 2, 6), (2, 3, 8), (3, 3, 12), (4, 4, 12), (5, 2, 24)]
            .into_iter()
            .map(|(seed, blocks, materials)| {
                let name = format!("seed {seed}, {blocks} blocks, {materials} materials");
                (name, generate(seed, blocks, materials))
            })
            .collect();
    let mut settled = generate(6, 3, 12);
    if let (Some(block), Some(material)) = (
        settled.blocks.first(),
        settled.materials.iter().find(|m| !m.packs.is_empty()),
    ) {
        let lock = Lock {
            block: block.id.clone(),
            material: material.id.clone(),
            lb: 37.0,
            ..Lock::default()
        };
        settled.options.locks.push(lock);
    }
    if let Some(block) = settled.blocks.first_mut() {
        block.refused.clear();
        for need in &mut block.needs {
            need.ceiling_lb_per_acre = None;
        }
    }
    cases.push(("one amount settled".to_owned(), settled));
    let mut averse = generate(7, 3, 12);
    if let Some(material) = averse.materials.get(1) {
        averse.options.prefer_less.push(Preference {
            material: material.id.clone(),
            penalty_per_lb: 0.4,
        });
    }
    cases.push(("one material less liked".to_owned(), averse));
    cases
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = Vec::new();
    for (name, mut problem) in cases() {
        problem.options.gap = 1e-7;
        problem.options.seconds = 120.0;
        let plan = solve(&problem)?;
        out.push(serde_json::json!({"name": name, "problem": problem, "plan": plan}));
    }
    println!("{}", serde_json::to_string_pretty(&out)?);
    Ok(())
}
