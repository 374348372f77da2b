//! Farms that are taken apart: the bound holds, locks stand, a warm start and a cancel do what
//! they say.
#![allow(clippy::unwrap_used)]

use planner::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

fn farm(seed: u64, blocks: usize) -> Problem {
    let mut problem = season(seed, blocks, 14, 3);
    problem.options.gap = 0.02;
    problem.options.seconds = 20.0;
    problem
}

#[test]
fn the_bound_is_below_what_the_whole_model_finds() {
    for seed in 1..4 {
        let problem = farm(seed, 8);
        let apart = solve(&problem).unwrap();
        assert_eq!(verify(&problem, &apart), Vec::<String>::new());
        let whole = solve_whole(&problem, &Watch::default()).unwrap();
        let slack = 1e-6 * whole.objective;
        assert!(apart.bound <= whole.objective + slack, "seed {seed}");
        assert!(whole.bound <= apart.objective + slack, "seed {seed}");
    }
}

/// Branches over the shed prove more than prices alone; what they prove must hold as well, under
/// budgets, counts and charges for each material too.
#[test]
fn what_branches_prove_is_below_the_optimum() {
    let mut raised = 0;
    for seed in 1..9 {
        let mut problem = season(seed, 6, 12, 3);
        problem.options.seconds = 2.0;
        match seed % 4 {
            1 => problem.options.most_materials = Some(4),
            2 => problem.options.material_cost = 40.0,
            3 => {
                problem.options.budget = Some(Budget {
                    money: 2_500.0,
                    over_cost: None,
                });
            }
            _ => {}
        }
        problem.options.gap = 0.2;
        let loose = solve(&problem).unwrap();
        problem.options.gap = 2e-4;
        let apart = solve(&problem).unwrap();
        assert_eq!(verify(&problem, &apart), Vec::<String>::new());
        problem.options.seconds = 8.0;
        let whole = solve_whole(&problem, &Watch::default()).unwrap();
        let slack = 1e-6 * whole.objective;
        assert!(apart.bound <= whole.objective + slack, "seed {seed}");
        assert!(whole.bound <= apart.objective + slack, "seed {seed}");
        if apart.bound > loose.bound + 1.0 {
            raised += 1;
        }
    }
    assert!(raised >= 4, "{raised}");
}

#[test]
fn a_changed_lock_is_planned_around_from_warm() {
    let mut problem = farm(5, 16);
    let (first, warm) = solve_warm(&problem, &Warm::default(), &Watch::default()).unwrap();
    assert!(!warm.is_empty());
    let amount = first.amounts[0].clone();
    problem.options.locks.push(Lock {
        block: amount.block.clone(),
        material: amount.material.clone(),
        pass: amount.pass.clone(),
        lb: amount.lb * 0.5,
    });
    let (plan, _) = solve_warm(&problem, &warm, &Watch::default()).unwrap();
    assert_eq!(verify(&problem, &plan), Vec::<String>::new());
    let held = plan
        .amounts
        .iter()
        .find(|a| {
            (&a.block, &a.material, &a.pass) == (&amount.block, &amount.material, &amount.pass)
        })
        .unwrap();
    assert!((held.lb - amount.lb * 0.5).abs() < 1e-9);
}

#[test]
fn a_cancelled_search_gives_a_sound_plan_and_says_so() {
    let mut problem = farm(6, 60);
    problem.options.gap = 0.0;
    let stop = Arc::new(AtomicBool::new(false));
    let heard = Arc::new(AtomicUsize::new(0));
    let (flag, count) = (stop.clone(), heard.clone());
    let watch = Watch::default().with_cancel(stop).with_progress(move |p| {
        assert!(p.bound <= p.objective + 1e-6);
        count.fetch_add(1, Ordering::Relaxed);
        flag.store(true, Ordering::Relaxed);
    });
    let (plan, _) = solve_warm(&problem, &Warm::default(), &watch).unwrap();
    assert_eq!(verify(&problem, &plan), Vec::<String>::new());
    assert_eq!(plan.status, Status::Cancelled);
    assert!(heard.load(Ordering::Relaxed) > 0);
}

#[test]
fn a_lock_says_what_it_costs() {
    let mut problem = farm(7, 5);
    problem.options.gap = 0.005;
    let (plan, warm) = solve_warm(&problem, &Warm::default(), &Watch::default()).unwrap();
    // Holding the largest amount down to nothing costs; letting go of it saves just that.
    let amount = plan
        .amounts
        .iter()
        .max_by(|a, b| a.lb.total_cmp(&b.lb))
        .unwrap();
    problem.options.locks.push(Lock {
        block: amount.block.clone(),
        material: amount.material.clone(),
        pass: amount.pass.clone(),
        lb: 0.0,
    });
    let held = solve(&problem).unwrap();
    let limits: Vec<Limit> = binding_limits(&problem, &held)
        .into_iter()
        .filter(|l| matches!(l, Limit::Lock(..)))
        .collect();
    assert_eq!(limits.len(), 1);
    let savings = savings(&problem, &held, &limits, &warm, &Watch::default()).unwrap();
    assert!(savings[0].saves <= savings[0].saves_at_most + 1e-9);
    assert!(savings[0].saves_at_most > 0.0);
    let direct = held.objective - plan.objective;
    assert!((savings[0].saves - direct).abs() <= 0.01 * plan.objective);
}
