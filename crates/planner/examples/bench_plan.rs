//! Times a plan of an invented farm.
//!
//! `cargo run --release -p planner --example bench_plan -- BLOCKS MATERIALS [SEED] [GAP] [SECONDS]`

use planner::{generate, solve, verify};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
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
