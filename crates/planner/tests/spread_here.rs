//! What went on before the plan counts in the most of a season, in the plan and in its check.
#![allow(clippy::unwrap_used)]

use planner::*;

/// One block of an acre that wants 100 lb of nitrogen, and a material of 10 % with a most of 600 lb in two
/// passes.
fn farm(spread: &[(f64, bool)]) -> Problem {
    Problem {
        blocks: vec![Block {
            id: "b".into(),
            name: "Barn".into(),
            acres: 1.0,
            needs: vec![Need {
                nutrient: Nutrient::N,
                lb_per_acre: 100.0,
                ceiling_lb_per_acre: None,
                ceiling_why: String::new(),
                shortage_cost: 60.0,
                surplus_cost: 1.0,
                band: None,
            }],
            spread_here: spread
                .iter()
                .map(|(lb, rest_to_come)| SpreadHere {
                    material: "m".into(),
                    lb_per_acre: *lb,
                    rest_to_come: *rest_to_come,
                })
                .collect(),
            ..Block::default()
        }],
        materials: vec![Material {
            id: "m".into(),
            name: "Meal".into(),
            supplies: vec![(Nutrient::N, 0.1)],
            packs: vec![Pack {
                label: "50 lb bag".into(),
                lb: 50.0,
                price: 10.0,
                ..Pack::default()
            }],
            least_even_lb_per_acre: 200.0,
            most_lb_per_acre: Some(600.0),
            weigh_step_lb: 0.25,
            ..Material::default()
        }],
        passes: ["early", "late"]
            .map(|id| Pass {
                id: id.into(),
                name: id.into(),
                visit_cost: 0.0,
            })
            .into(),
        ..Problem::default()
    }
}

fn lb(problem: &Problem) -> f64 {
    let plan = solve(problem).unwrap();
    assert_eq!(verify(problem, &plan), Vec::<String>::new());
    plan.amounts.iter().map(|a| a.lb).sum()
}

#[test]
fn the_most_of_a_season_is_less_by_what_went_on() {
    assert_eq!(lb(&farm(&[])), 600.0);
    assert_eq!(lb(&farm(&[(350.0, false)])), 250.0);
    assert_eq!(lb(&farm(&[(100.0, false), (250.0, true)])), 250.0);
    // Exactly at the limit, and above it.
    assert_eq!(lb(&farm(&[(600.0, true)])), 0.0);
    assert_eq!(lb(&farm(&[(900.0, false)])), 0.0);
}

#[test]
fn the_rest_of_a_job_may_be_less_than_what_is_spread_evenly_alone() {
    // 150 lb are left: too little by themselves, enough as the rest of a job.
    assert_eq!(lb(&farm(&[(450.0, false)])), 0.0);
    assert_eq!(lb(&farm(&[(450.0, true)])), 150.0);
    // A small part makes the rest a little less.
    assert_eq!(lb(&farm(&[(30.0, true), (400.0, false)])), 170.0);
}

#[test]
fn the_check_finds_a_plan_that_passes_it() {
    let free = farm(&[]);
    let plan = solve(&free).unwrap();
    for spread in [1.0, 350.0] {
        let said = verify(&farm(&[(spread, false)]), &plan);
        assert!(
            said.iter().any(|s| s.contains("more than may go there")),
            "{said:?}"
        );
    }
}

#[test]
fn what_is_held_is_refused_above_the_rest() {
    let held = |lb: f64| {
        let mut problem = farm(&[(350.0, false)]);
        problem.options.locks = vec![Lock {
            block: "b".into(),
            material: "m".into(),
            pass: "late".into(),
            lb,
        }];
        problem
    };
    assert_eq!(lb(&held(250.0)), 250.0);
    let said = solve(&held(251.0)).unwrap_err().to_string();
    assert!(said.contains("at most 250 lb"), "{said}");
    let mut wrong = farm(&[(1.0, false)]);
    wrong.blocks[0].spread_here[0].lb_per_acre = -1.0;
    let said = solve(&wrong).unwrap_err().to_string();
    assert!(said.contains("What went on Barn"), "{said}");
}

#[test]
fn a_plan_of_before_is_read_as_one_where_nothing_went_on() {
    let problem = farm(&[]);
    let text = serde_json::to_string(&problem).unwrap();
    assert!(!text.contains("spread_here"));
    let back: Problem = serde_json::from_str(&text).unwrap();
    assert_eq!(back, problem);
}
