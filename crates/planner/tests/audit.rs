//! The audit finds each fault that a plan with passes and suppliers can have.
#![allow(clippy::unwrap_used)]

use planner::*;

fn found(problem: &Problem, plan: &Plan, word: &str) {
    let found = verify(problem, plan).join("\n");
    assert!(found.contains(word), "“{found}” lacks “{word}”");
}

#[test]
fn faults_of_passes_deliveries_counts_and_money() {
    let mut problem = season(3, 4, 12, 3);
    problem.options.gap = 0.02;
    let sound = solve(&problem).unwrap();
    assert_eq!(verify(&problem, &sound), Vec::<String>::new());
    let first = sound.amounts[0].clone();

    let mut plan = sound.clone();
    plan.amounts[0].pass = "never".into();
    found(&problem, &plan, "which is not in the problem");
    let mut plan = sound.clone();
    let delivery = plan.deliveries.first_mut().unwrap();
    delivery.charge += 10.0;
    found(&problem, &plan, "The delivery from");
    let mut plan = sound.clone();
    plan.purchases[0].supplier = "nobody".into();
    found(&problem, &plan, "does not match");

    let mut other = problem.clone();
    let at = other
        .blocks
        .iter()
        .position(|b| b.id == first.block)
        .unwrap();
    other.blocks[at].shut.push(Shut {
        material: first.material.clone(),
        pass: first.pass.clone(),
        why: "harvest is near".into(),
    });
    found(&other, &sound, "harvest is near");
    let mut other = problem.clone();
    other.options.budget = Some(Budget {
        money: sound.cost / 2.0,
        over_cost: None,
    });
    found(&other, &sound, "more than the budget");
    other.options.budget = Some(Budget {
        money: sound.cost / 2.0,
        over_cost: Some(1.0),
    });
    found(&other, &sound, "over the budget");
    let mut other = problem.clone();
    other.options.most_materials = Some(1);
    found(&other, &sound, "The farm uses");
    let mut other = problem.clone();
    other.options.most_materials_per_block = Some(0);
    found(&other, &sound, "different materials");
    let mut other = problem.clone();
    other.passes[0].visit_cost += 1.0;
    other.passes[1].visit_cost += 1.0;
    found(&other, &sound, "objective");
    let beside = sound
        .amounts
        .iter()
        .find(|a| {
            sound
                .amounts
                .iter()
                .any(|b| a.block == b.block && a.pass == b.pass && a.material < b.material)
        })
        .unwrap();
    let with = sound
        .amounts
        .iter()
        .find(|b| b.block == beside.block && b.pass == beside.pass && b.material > beside.material)
        .unwrap();
    let mut other = problem.clone();
    other.options.incompatible.push(Incompatible {
        a: beside.material.clone(),
        b: with.material.clone(),
        why: String::new(),
    });
    found(&other, &sound, "may not meet");
}

#[test]
fn an_old_problem_and_an_old_plan_are_read() {
    let problem: Problem = serde_json::from_str(
        r#"{"blocks":[{"id":"a","name":"A","acres":1.0,"needs":[{"nutrient":"n","lb_per_acre":8.0,
        "ceiling_lb_per_acre":null,"ceiling_why":"","shortage_cost":20.0,"surplus_cost":1.0}],
        "refused":[]}],"materials":[{"id":"m","name":"M","supplies":[["n",0.1]],
        "packs":[{"label":"10 lb","lb":10.0,"price":5.0}],"stock_lb":0.0,
        "least_even_lb_per_acre":0.0,"most_lb_per_acre":null,"weigh_step_lb":0.5}],
        "options":{"gap":0.0,"seconds":5.0,"trip_cost":0.0,"locks":[],"prefer_less":[]}}"#,
    )
    .unwrap();
    let plan = solve(&problem).unwrap();
    assert!((plan.cost - 40.0).abs() < 1e-9);
    assert_eq!(verify(&problem, &plan), Vec::<String>::new());
    let mut stored = serde_json::to_value(&plan).unwrap();
    stored.as_object_mut().unwrap().remove("over_budget");
    let back: Plan = serde_json::from_value(stored).unwrap();
    assert_eq!(back, plan);
}
