//! Two thousand random farms, mad ones among them: each is planned by the rules or refused with a
//! sentence.
#![allow(clippy::unwrap_used)]

use planner::*;
use std::sync::atomic::{AtomicU64, Ordering};

const FARMS: u64 = 2_000;

fn farm(seed: u64) -> Problem {
    let mut problem = if seed.is_multiple_of(2) {
        mad(seed)
    } else {
        let (blocks, materials, passes) = (1 + seed % 5, 2 + seed % 13, 1 + seed % 4);
        season(seed, blocks as usize, materials as usize, passes as usize)
    };
    problem.options.gap = 0.02;
    problem.options.seconds = 0.5;
    problem
}

#[test]
fn every_plan_keeps_every_rule_or_is_refused_in_a_sentence() {
    let next = AtomicU64::new(0);
    let (planned, refused, spread) = (AtomicU64::new(0), AtomicU64::new(0), AtomicU64::new(0));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= FARMS {
                        return;
                    }
                    let problem = farm(seed);
                    match solve(&problem) {
                        Ok(plan) => {
                            let wrong = verify(&problem, &plan);
                            assert_eq!(wrong, Vec::<String>::new(), "seed {seed}");
                            planned.fetch_add(1, Ordering::Relaxed);
                            spread.fetch_add(plan.amounts.len() as u64, Ordering::Relaxed);
                        }
                        Err(PlanError::Solver(what)) => panic!("seed {seed}: {what}"),
                        Err(error) => {
                            let text = error.to_string();
                            assert!(text.ends_with('.') && !text.contains(". "), "{text}");
                            refused.fetch_add(1, Ordering::Relaxed);
                        }
                    }
                }
            });
        }
    });
    let (planned, refused) = (planned.into_inner(), refused.into_inner());
    assert_eq!(planned + refused, FARMS);
    // Both ends are really reached, and plans are not all empty.
    assert!(
        planned > 1_500 && refused > 100,
        "{planned} planned, {refused} refused"
    );
    assert!(spread.into_inner() > 4 * planned);
}
