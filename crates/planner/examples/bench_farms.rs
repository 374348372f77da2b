//! Makes seeded farms of several sizes and solves each by the whole model alone and by prices.
//!
//! `cargo run --release -p planner --example bench_farms -- [BLOCKS...] [--materials N]
//! [--passes N] [--seeds N] [--whole-seconds N] [--seconds N] [--no-whole] [--plain] [--follow]`
//!
//! Every farm has several passes, suppliers that charge for delivery, price breaks, bands and clashes;
//! with `--plain` passes and bands alone.

use planner::{Lock, Plan, Problem, Warm, Watch, season, solve_warm, solve_whole, verify};
use std::error::Error;

struct Asked {
    blocks: Vec<usize>,
    materials: usize,
    passes: usize,
    seeds: u64,
    whole_seconds: f64,
    whole: bool,
    plain: bool,
    follow: bool,
    seconds: Option<f64>,
}

fn asked() -> Result<Asked, Box<dyn Error>> {
    let mut asked = Asked {
        blocks: Vec::new(),
        materials: 30,
        passes: 3,
        seeds: 1,
        whole_seconds: 60.0,
        whole: true,
        plain: false,
        follow: false,
        seconds: None,
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut next = || words.next().ok_or(format!("{word} wants a number"));
        match word.as_str() {
            "--materials" => asked.materials = next()?.parse()?,
            "--passes" => asked.passes = next()?.parse()?,
            "--seeds" => asked.seeds = next()?.parse()?,
            "--whole-seconds" => asked.whole_seconds = next()?.parse()?,
            "--seconds" => asked.seconds = Some(next()?.parse()?),
            "--no-whole" => asked.whole = false,
            "--follow" => asked.follow = true,
            "--plain" => asked.plain = true,
            blocks => asked.blocks.push(blocks.parse()?),
        }
    }
    if asked.blocks.is_empty() {
        asked.blocks = vec![16, 100, 1_000, 5_000];
    }
    Ok(asked)
}

/// Gap and seconds by the size of the farm.
fn budget(blocks: usize) -> (f64, f64) {
    match blocks {
        0..=16 => (0.005, 1.0),
        17..=100 => (0.01, 5.0),
        101..=1_000 => (0.02, 60.0),
        _ => (0.02, 600.0),
    }
}

/// Passes and nothing more: no deliveries, price breaks, least orders or clashes.
fn plain(problem: &mut Problem) {
    problem.suppliers.clear();
    problem.options.incompatible.clear();
    for pack in problem.materials.iter_mut().flat_map(|m| &mut m.packs) {
        pack.supplier.clear();
        pack.breaks.clear();
        pack.least_count = 0;
    }
}

fn row(how: &str, problem: &Problem, plan: &Plan) {
    let wrong = verify(problem, plan);
    println!(
        "{:>6} blocks {how:>6}: {:>8.3} s  objective {:>14.2}  bound {:>14.2}  gap {:>7.3} %  {:?}{}",
        problem.blocks.len(),
        plan.seconds,
        plan.objective,
        plan.bound,
        plan.gap * 100.0,
        plan.status,
        wrong
            .first()
            .map_or_else(String::new, |w| format!("  BROKEN: {w}"))
    );
}

/// The most memory that the process has held, in MB, where the system tells.
fn memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kb / 1024.0)
}

fn main() -> Result<(), Box<dyn Error>> {
    let asked = asked()?;
    for blocks in &asked.blocks {
        for seed in 1..=asked.seeds {
            let mut problem = season(seed, *blocks, asked.materials, asked.passes);
            let (gap, seconds) = budget(*blocks);
            if asked.plain {
                plain(&mut problem);
            }
            problem.options.gap = gap;
            problem.options.seconds = asked.seconds.unwrap_or(seconds);
            let mut watch = Watch::default();
            if asked.follow {
                watch = watch.with_progress(|p| eprintln!("  {p:?}"));
            }
            let (plan, warm) = solve_warm(&problem, &Warm::default(), &watch)?;
            row("prices", &problem, &plan);
            if let Some(amount) = plan.amounts.first() {
                // One amount is held at what it is less a half; the rest is planned anew.
                let mut held = problem.clone();
                held.options.locks.push(Lock {
                    block: amount.block.clone(),
                    material: amount.material.clone(),
                    lb: amount.lb / 2.0,
                    pass: amount.pass.clone(),
                });
                if *blocks <= 16 {
                    held.options.seconds = 0.28;
                }
                let (plan, _) = solve_warm(&held, &warm, &watch)?;
                row("warm", &held, &plan);
            }
            if asked.whole {
                problem.options.seconds = asked.whole_seconds;
                row(
                    "whole",
                    &problem,
                    &solve_whole(&problem, &Watch::default())?,
                );
            }
        }
    }
    if let Some(memory) = memory() {
        println!("most memory held: {memory:.0} MB");
    }
    Ok(())
}
