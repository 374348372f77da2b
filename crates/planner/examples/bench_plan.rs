//! Times a plan of an invented farm, or of problems from JSON files.
//!
//! `cargo run --release -p planner --example bench_plan -- BLOCKS MATERIALS [SEED] [GAP] [SECONDS]`
//! `cargo run --release -p planner --example bench_plan -- FILE.json...`

use planner::{Problem, generate, solve, verify};
use std::error::Error;

fn from_files(files: &[String]) -> Result<(), Box<dyn Error>> {
    for file in files {
        let problem: Problem = serde_json::from_str(&std::fs::read_to_string(file)?)?;
        let plan = solve(&problem)?;
        let wrong = verify(&problem, &plan);
        println!(
            "{file}: {:.3} s, objective {:.2}, bound {:.2}, gap {:.3} %, {:?}",
            plan.seconds,
            plan.objective,
            plan.bound,
            plan.gap * 100.0,
            plan.status
        );
        if !wrong.is_empty() {
            return Err(wrong.join("\n").into());
        }
    }
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if words.first().is_some_and(|w| w.ends_with(".json")) {
        return from_files(&words);
    }
    let word = |i: usize, other: &str| words.get(i).cloned().unwrap_or_else(|| other.to_owned());
    let (blocks, materials): (usize, usize) = (word(0, "14").parse()?, word(1, "30").parse()?);
    let seed: u64 = word(2, "1").parse()?;
    let mut problem = generate(seed, blocks, materials);
    problem.options.gap = word(3, "0.005").parse()?;
    problem.options.seconds = word(4, "60").parse()?;
    let plan = solve(&problem)?;
    let wrong = verify(&problem, &plan);
    println!(
        "{blocks} blocks x {materials} materials, seed {seed}: {:.3} s, bags {:.2}, objective {:.2} \
         (unavoidable {:.2}, bound {:.2}), gap {:.3} %, {} amounts, {:?}",
        plan.seconds,
        plan.cost,
        plan.objective,
        plan.unavoidable,
        plan.bound,
        plan.gap * 100.0,
        plan.amounts.len(),
        plan.status
    );
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(wrong.join("\n").into())
    }
}
