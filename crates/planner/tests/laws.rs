//! What must hold for every farm.
#![allow(clippy::unwrap_used)]

use planner::*;
use proptest::prelude::*;

fn exact(seed: u64, blocks: usize, materials: usize) -> Problem {
    let mut problem = generate(seed, blocks, materials);
    problem.options.gap = 1e-7;
    problem.options.seconds = 60.0;
    problem
}

fn settings() -> ProptestConfig {
    ProptestConfig {
        cases: 16,
        max_shrink_iters: 40,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// lb of each nutrient from the bags and stock that the plan uses up, over the farm.
fn from_the_shed(problem: &Problem, plan: &Plan, nutrient: Nutrient) -> f64 {
    problem
        .materials
        .iter()
        .map(|m| {
            let of = |id: &str| id == m.id;
            let bought: f64 = plan
                .purchases
                .iter()
                .filter(|p| of(&p.material))
                .map(|p| p.lb)
                .sum();
            let left: f64 = plan
                .leftover
                .iter()
                .filter(|l| of(&l.material))
                .map(|l| l.lb)
                .sum();
            let share: f64 = m
                .supplies
                .iter()
                .filter(|s| s.0 == nutrient)
                .map(|s| s.1)
                .sum();
            share * (m.stock_lb + bought - left)
        })
        .sum()
}

/// The same but for the last digit, which reading a number from text may change.
fn alike(a: &serde_json::Value, b: &serde_json::Value) -> bool {
    use serde_json::Value::{Array, Number, Object};
    match (a, b) {
        (Number(a), Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            (a - b).abs() <= 1e-14 * a.abs().max(b.abs())
        }
        (Array(a), Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b)),
        (Object(a), Object(b)) => {
            a.len() == b.len() && a.iter().all(|(k, a)| b.get(k).is_some_and(|b| alike(a, b)))
        }
        _ => a == b,
    }
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn plans_are_sound_and_conserve_mass(seed: u64, blocks in 1usize..6, materials in 1usize..16) {
        let mut problem = generate(seed, blocks, materials);
        problem.options.seconds = 5.0;
        let plan = solve(&problem).unwrap();
        prop_assert_eq!(verify(&problem, &plan), Vec::<String>::new());
        for nutrient in Nutrient::ALL {
            let ground: f64 = plan
                .balances
                .iter()
                .filter(|b| b.nutrient == nutrient)
                .map(|b| b.supplied_lb)
                .sum();
            let shed = from_the_shed(&problem, &plan, nutrient);
            prop_assert!((ground - shed).abs() <= 1e-6 * shed.max(1.0), "{ground} {shed}");
        }
        for balance in &plan.balances {
            if let Some(ceiling) = balance.ceiling_lb {
                prop_assert!(balance.supplied_lb <= ceiling + 1e-6);
            }
        }
        let stored = serde_json::to_value((&problem, &plan)).unwrap();
        let text = stored.to_string();
        let (asked, answer): (Problem, Plan) = serde_json::from_str(&text).unwrap();
        let back = serde_json::to_value((&asked, &answer)).unwrap();
        prop_assert!(alike(&stored, &back), "{stored}\n{back}");
        prop_assert_eq!(verify(&asked, &answer), Vec::<String>::new());
    }

    /// A larger need can only take surplus away, at what that surplus costs.
    #[test]
    fn more_need_never_costs_less(seed: u64, which: prop::sample::Index, more in 0.1f64..2.0) {
        let mut problem = exact(seed, 2, 12);
        let before = solve(&problem).unwrap();
        let block = &mut problem.blocks[1];
        let wanted: Vec<usize> = (0..block.needs.len())
            .filter(|i| block.needs[*i].lb_per_acre > 0.0)
            .collect();
        prop_assume!(!wanted.is_empty());
        let need = &mut block.needs[wanted[which.index(wanted.len())]];
        let extra = need.lb_per_acre * more;
        need.lb_per_acre += extra;
        let spared = need.surplus_cost * extra * block.acres;
        let after = solve(&problem).unwrap();
        prop_assert!(
            after.model_objective >= before.model_objective - spared - 1e-4 * before.objective.max(1.0),
            "{} then {}, {spared}", before.model_objective, after.model_objective
        );
    }

    #[test]
    fn more_need_never_costs_less_where_surplus_is_free(seed: u64, more in 0.1f64..2.0) {
        let mut problem = exact(seed, 2, 12);
        for need in &mut problem.blocks[0].needs {
            need.surplus_cost = 0.0;
        }
        let before = solve(&problem).unwrap();
        for need in &mut problem.blocks[0].needs {
            need.lb_per_acre *= 1.0 + more;
        }
        let after = solve(&problem).unwrap();
        prop_assert!(after.model_objective >= before.model_objective - 1e-4 * before.objective.max(1.0));
    }

    #[test]
    fn more_stock_never_costs_more(seed: u64, which in 0usize..12, more in 1.0f64..500.0) {
        let mut problem = exact(seed, 2, 12);
        let before = solve(&problem).unwrap();
        problem.materials[which].stock_lb += more;
        let after = solve(&problem).unwrap();
        prop_assert!(after.model_objective <= before.model_objective + 1e-4 * before.objective.max(1.0));
    }

    #[test]
    fn one_material_more_never_costs_more(seed: u64, which in 0usize..12) {
        let problem = exact(seed, 2, 12);
        let after = solve(&problem).unwrap();
        let mut fewer = problem;
        fewer.materials.remove(which);
        let before = solve(&fewer).unwrap();
        prop_assert!(after.model_objective <= before.model_objective + 1e-4 * before.objective.max(1.0));
    }

    #[test]
    fn settled_amounts_stand(seed: u64, which in 0usize..12, share in 0.0f64..1.0) {
        let mut problem = generate(seed, 3, 12);
        problem.options.seconds = 5.0;
        let first = solve(&problem).unwrap();
        // Settling part of what the first plan does can break no rule.
        prop_assume!(!first.amounts.is_empty());
        let amount = &first.amounts[which % first.amounts.len()];
        let lock = Lock {
            block: amount.block.clone(),
            material: amount.material.clone(),
            lb: amount.lb * share,
            ..Lock::default()
        };
        problem.options.locks = vec![lock.clone()];
        let plan = solve(&problem).unwrap();
        prop_assert_eq!(verify(&problem, &plan), Vec::<String>::new());
        let there = plan
            .amounts
            .iter()
            .find(|a| a.block == lock.block && a.material == lock.material)
            .map_or(0.0, |a| a.lb);
        prop_assert!((there - lock.lb).abs() < 1e-9);
    }

    #[test]
    fn the_same_question_has_the_same_answer(seed: u64) {
        let mut problem = generate(seed, 3, 12);
        problem.options.seconds = 60.0;
        let (mut a, mut b) = (solve(&problem).unwrap(), solve(&problem).unwrap());
        (a.seconds, b.seconds) = (0.0, 0.0);
        prop_assert_eq!(a, b);
    }
}

/// Every kind of fault that a plan can have is found.
#[test]
fn verify_finds_what_is_wrong() {
    let problem = generate(4, 3, 12);
    let sound = solve(&problem).unwrap();
    assert_eq!(verify(&problem, &sound), Vec::<String>::new());
    let broken = |change: &dyn Fn(&mut Plan), word: &str| {
        let mut plan = sound.clone();
        change(&mut plan);
        let found = verify(&problem, &plan).join("\n");
        assert!(found.contains(word), "“{found}” lacks “{word}”");
    };
    broken(&|p| p.amounts[0].lb += 1000.0, "do not come to");
    broken(&|p| p.amounts[0].lb += 0.013, "scale");
    broken(&|p| p.amounts[0].lb = 1.0, "evenly");
    broken(&|p| p.amounts[0].lb = 1e6, "more than may go there");
    broken(&|p| p.amounts[0].lb = f64::NAN, "no amount");
    broken(
        &|p| p.amounts[0].block = "elsewhere".into(),
        "not in the problem",
    );
    broken(&|p| p.amounts.push(p.amounts[0].clone()), "twice");
    broken(&|p| p.purchases[0].count += 1, "does not match");
    broken(&|p| p.purchases[0].cost += 1.0, "The bags cost");
    broken(&|p| p.cost -= 1.0, "The bags cost");
    broken(&|p| p.objective += 1.0, "objective");
    broken(&|p| p.bound = p.objective + 1.0, "in order");
    broken(&|p| p.gap += 0.5, "gap");
    broken(&|p| p.status = Status::Empty, "status");
    broken(&|p| p.balances[0].supplied_lb += 1.0, "does not follow");
    broken(&|p| p.balances[0].by_material.clear(), "does not follow");
    broken(&|p| drop(p.balances.remove(0)), "has no balance");
    broken(&|p| p.leftover[0].lb += 1.0, "do not come to");
    broken(
        &|p| {
            let balance = p.balances.iter_mut().find(|b| b.binding.is_some()).unwrap();
            balance.binding = None;
        },
        "reason",
    );
    let mut strict = problem.clone();
    let first = &sound.amounts[0];
    let at = |p: &Problem| p.blocks.iter().position(|b| b.id == first.block).unwrap();
    let b = at(&strict);
    strict.blocks[b].refused.push(first.material.clone());
    assert!(verify(&strict, &sound).join("\n").contains("refused"));
    let mut capped = problem.clone();
    for need in &mut capped.blocks[b].needs {
        need.ceiling_lb_per_acre = Some(0.0);
    }
    assert!(verify(&capped, &sound).join("\n").contains("ceiling"));
    let mut held = problem.clone();
    held.options.locks.push(Lock {
        block: first.block.clone(),
        material: first.material.clone(),
        lb: 0.0,
        ..Lock::default()
    });
    assert!(verify(&held, &sound).join("\n").contains("held"));
}
