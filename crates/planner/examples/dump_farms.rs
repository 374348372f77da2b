//! Prints two hundred small invented farms with their plans as JSON, for a check against other
//! solvers. Amounts on every other farm are weighed to the scale's steps; on the rest they are
//! free, so that the plan itself is the optimum.

use planner::{Budget, Lock, PlanError, Preference, Problem, season, solve};
use std::error::Error;

const FARMS: u64 = 200;

/// Options by seed, so that every kind of limit is met alone and with others.
fn limits(seed: u64, problem: &mut Problem) {
    let options = &mut problem.options;
    match seed % 7 {
        1 => options.most_materials_per_block = Some(2),
        2 => options.most_materials = Some(2 + (seed % 2) as u32),
        3 => options.material_cost = 15.0,
        4 => {
            options.budget = Some(Budget {
                money: 150.0 + (seed % 50) as f64 * 5.0,
                over_cost: None,
            });
        }
        5 => {
            options.budget = Some(Budget {
                money: 200.0,
                over_cost: Some(0.5),
            });
        }
        6 => {
            if let Some(material) = problem.materials.get(1) {
                options.prefer_less.push(Preference {
                    material: material.id.clone(),
                    penalty_per_lb: 0.4,
                });
            }
        }
        _ => {}
    }
    if seed.is_multiple_of(5)
        && let (Some(block), Some(material)) = (
            problem.blocks.first(),
            problem.materials.iter().find(|m| !m.packs.is_empty()),
        )
        && !block.refused.contains(&material.id)
    {
        let pass = problem.pass_id(0).to_owned();
        problem.options.locks.push(Lock {
            block: block.id.clone(),
            material: material.id.clone(),
            lb: (40.0 * block.acres).ceil(),
            pass,
        });
    }
}

fn farm(seed: u64) -> Problem {
    let (blocks, materials) = (1 + seed % 3, 3 + seed % 6);
    let passes = 1 + (seed / 3) % 3;
    let mut problem = season(seed, blocks as usize, materials as usize, passes as usize);
    limits(seed, &mut problem);
    if seed.is_multiple_of(2) {
        for material in &mut problem.materials {
            material.weigh_step_lb = 0.0;
        }
    }
    problem.options.gap = 1e-7;
    problem.options.seconds = 60.0;
    problem
}

fn main() -> Result<(), Box<dyn Error>> {
    let (mut out, mut seed) = (Vec::new(), 0);
    while out.len() < FARMS as usize {
        seed += 1;
        let problem = farm(seed);
        match solve(&problem) {
            Ok(plan) => out.push(serde_json::json!({
                "name": format!("farm {seed}"), "problem": problem, "plan": plan,
            })),
            // A held amount that breaks a rule: there is no plan to compare.
            Err(PlanError::Solver(what)) => return Err(what.into()),
            Err(_) => {}
        }
    }
    println!("{}", serde_json::to_string(&out)?);
    Ok(())
}
