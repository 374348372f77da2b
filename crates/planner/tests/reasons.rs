//! Small farms with one answer that can be worked out by hand, one for each reason.
#![allow(clippy::unwrap_used)]

use planner::*;

/// A material that supplies `supplies`, sold in 10 lb bags at 5 each, weighed to 0.5 lb.
fn material(id: &str, supplies: &[(Nutrient, f64)]) -> Material {
    Material {
        id: id.into(),
        name: id.to_uppercase(),
        supplies: supplies.to_vec(),
        packs: vec![Pack {
            label: "10 lb".into(),
            lb: 10.0,
            price: 5.0,
        }],
        stock_lb: 0.0,
        least_even_lb_per_acre: 0.0,
        most_lb_per_acre: None,
        weigh_step_lb: 0.5,
    }
}

fn need(nutrient: Nutrient, lb: f64) -> Need {
    Need {
        nutrient,
        lb_per_acre: lb,
        ceiling_lb_per_acre: None,
        ceiling_why: String::new(),
        shortage_cost: 20.0,
        surplus_cost: 1.0,
    }
}

fn capped(nutrient: Nutrient, lb: f64, ceiling: f64, why: &str) -> Need {
    Need {
        ceiling_lb_per_acre: Some(ceiling),
        ceiling_why: why.into(),
        ..need(nutrient, lb)
    }
}

/// One acre, so that lb per acre are lb.
fn farm(needs: Vec<Need>, materials: Vec<Material>) -> Problem {
    Problem {
        blocks: vec![Block {
            id: "east".into(),
            name: "East".into(),
            acres: 1.0,
            needs,
            refused: vec![],
        }],
        materials,
        options: Options {
            gap: 0.0,
            ..Options::default()
        },
    }
}

fn sound(problem: &Problem) -> Plan {
    let plan = solve(problem).unwrap();
    assert_eq!(verify(problem, &plan), Vec::<String>::new());
    assert!(
        plan.objective - plan.bound <= 1e-5 || plan.status != Status::WithinGap,
        "{plan:?}"
    );
    plan
}

fn of(plan: &Plan, nutrient: Nutrient) -> &Balance {
    plan.balances
        .iter()
        .find(|b| b.nutrient == nutrient)
        .unwrap()
}

fn lb(plan: &Plan, material: &str) -> f64 {
    plan.amounts
        .iter()
        .filter(|a| a.material == material)
        .map(|a| a.lb)
        .sum()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-6, "{a} is not {b}");
}

use Nutrient::*;

#[test]
fn a_need_that_is_met_has_no_reason() {
    let plan = sound(&farm(vec![need(N, 8.0)], vec![material("a", &[(N, 0.1)])]));
    near(lb(&plan, "a"), 80.0);
    near(plan.cost, 40.0);
    assert_eq!(plan.purchases[0].count, 8);
    assert_eq!(of(&plan, N).binding, None);
    assert_eq!(plan.status, Status::WithinGap);
}

#[test]
fn ceiling() {
    let needs = vec![need(N, 10.0), capped(P2o5, 0.0, 2.0, "high phosphorus")];
    let plan = sound(&farm(needs, vec![material("a", &[(N, 0.2), (P2o5, 0.1)])]));
    near(lb(&plan, "a"), 20.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::Ceiling {
            nutrient: P2o5,
            why: "high phosphorus".into()
        })
    );
    assert_eq!(
        of(&plan, P2o5).binding,
        Some(Binding::SharedWith {
            material: "a".into(),
            nutrient: N
        })
    );
}

#[test]
fn least_even_amount_is_more_than_is_worth_it() {
    let mut a = material("a", &[(N, 0.5)]);
    a.least_even_lb_per_acre = 100.0;
    let mut wants = need(N, 1.0);
    wants.surplus_cost = 10.0;
    let plan = sound(&farm(vec![wants], vec![a]));
    near(lb(&plan, "a"), 0.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::LeastEven {
            material: "a".into()
        })
    );
}

#[test]
fn least_even_amount_does_not_fit_under_the_ceiling() {
    let mut a = material("a", &[(N, 0.5)]);
    a.least_even_lb_per_acre = 100.0;
    let plan = sound(&farm(vec![capped(N, 10.0, 20.0, "rule")], vec![a]));
    near(lb(&plan, "a"), 0.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::LeastEven {
            material: "a".into()
        })
    );
}

#[test]
fn least_even_amount_brings_a_surplus() {
    let mut a = material("a", &[(N, 0.5)]);
    a.least_even_lb_per_acre = 40.0;
    let plan = sound(&farm(vec![need(N, 15.0)], vec![a]));
    near(lb(&plan, "a"), 40.0);
    near(of(&plan, N).over_lb, 5.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::LeastEven {
            material: "a".into()
        })
    );
}

#[test]
fn most_per_acre() {
    let mut a = material("a", &[(N, 0.1)]);
    a.most_lb_per_acre = Some(30.0);
    let plan = sound(&farm(vec![need(N, 8.0)], vec![a]));
    near(lb(&plan, "a"), 30.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::Most {
            material: "a".into()
        })
    );
}

#[test]
fn stock_used_up() {
    let mut a = material("a", &[(N, 0.1)]);
    a.packs.clear();
    a.stock_lb = 25.0;
    let plan = sound(&farm(vec![need(N, 8.0)], vec![a]));
    near(lb(&plan, "a"), 25.0);
    near(plan.cost, 0.0);
    near(plan.stock_used[0].lb, 25.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::StockUsedUp {
            material: "a".into()
        })
    );
}

#[test]
fn no_material() {
    let mut gone = material("gone", &[(B, 0.1)]);
    gone.packs.clear();
    let plan = sound(&farm(
        vec![need(N, 8.0), need(B, 1.0)],
        vec![material("a", &[(K2o, 0.1)]), gone],
    ));
    assert_eq!(of(&plan, N).binding, Some(Binding::NoMaterial));
    assert_eq!(of(&plan, B).binding, Some(Binding::NoMaterial));
    near(plan.unavoidable, 180.0);
    near(plan.objective, 180.0);
    near(plan.gap, 0.0);
    assert!(sound(&farm(vec![need(N, 1.0)], vec![])).amounts.is_empty());
}

#[test]
fn refused() {
    let mut problem = farm(vec![need(N, 8.0)], vec![material("a", &[(N, 0.1)])]);
    problem.blocks[0].refused = vec!["a".into(), "never heard of".into()];
    let plan = sound(&problem);
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, N).binding, Some(Binding::Refused));
}

#[test]
fn acidifier_is_refused_where_lime_is_needed() {
    let plan = sound(&farm(
        vec![need(Lime, 100.0), need(N, 5.0)],
        vec![
            material("lime", &[(Lime, 1.0)]),
            material("sour", &[(Sulfur, 0.2), (N, 0.2)]),
        ],
    ));
    near(lb(&plan, "lime"), 100.0);
    near(lb(&plan, "sour"), 0.0);
    assert_eq!(of(&plan, N).binding, Some(Binding::Refused));
}

#[test]
fn lime_and_acidifier_do_not_meet_where_neither_is_needed() {
    let problem = farm(
        vec![need(K2o, 5.0), need(N, 6.0)],
        vec![
            material("ash", &[(Lime, 0.3), (K2o, 0.1)]),
            material("sour", &[(Sulfur, 0.2), (N, 0.1)]),
        ],
    );
    let plan = sound(&problem);
    near(lb(&plan, "ash"), 0.0);
    near(lb(&plan, "sour"), 60.0);
    assert_eq!(of(&plan, K2o).binding, Some(Binding::Refused));
    assert!(!of(&plan, Sulfur).asked);
    assert_eq!(of(&plan, Sulfur).binding, None);
}

#[test]
fn locked_too_low_and_too_high() {
    let mut problem = farm(vec![need(N, 8.0)], vec![material("a", &[(N, 0.1)])]);
    let lock = |lb| Lock {
        block: "east".into(),
        material: "a".into(),
        lb,
    };
    let why = Some(Binding::Locked {
        material: "a".into(),
    });
    problem.options.locks = vec![lock(33.3)];
    let plan = sound(&problem);
    near(lb(&plan, "a"), 33.3);
    assert_eq!(of(&plan, N).binding, why);
    problem.options.locks = vec![lock(120.0)];
    let plan = sound(&problem);
    near(of(&plan, N).over_lb, 4.0);
    assert_eq!(of(&plan, N).binding, why);
    problem.options.locks = vec![lock(0.0)];
    let plan = sound(&problem);
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, N).binding, why);
}

#[test]
fn price_of_the_material_and_of_the_next_bag() {
    let mut wants = need(N, 8.0);
    wants.shortage_cost = 1.0;
    let plan = sound(&farm(vec![wants], vec![material("a", &[(N, 0.1)])]));
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, N).binding, Some(Binding::Price));
    // 7 bags bring 7 lb; the eighth would cost 5 and save 0.1 lb at 20.
    let plan = sound(&farm(vec![need(N, 7.1)], vec![material("a", &[(N, 0.1)])]));
    near(plan.cost, 35.0);
    near(of(&plan, N).short_lb, 0.1);
    assert_eq!(of(&plan, N).binding, Some(Binding::Price));
}

#[test]
fn surplus_shared_with_the_nutrient_the_material_is_for() {
    let plan = sound(&farm(
        vec![need(N, 8.0), need(P2o5, 1.0)],
        vec![material("a", &[(N, 0.1), (P2o5, 0.05)])],
    ));
    near(of(&plan, P2o5).over_lb, 3.0);
    assert_eq!(
        of(&plan, P2o5).binding,
        Some(Binding::SharedWith {
            material: "a".into(),
            nutrient: N
        })
    );
}

#[test]
fn rounding_short_and_over() {
    // 81.25 lb would be exact; the scale shows 81.0 (short 0.025 lb) or 81.5 (over 0.025 lb).
    let mut a = material("a", &[(N, 0.1)]);
    a.stock_lb = 200.0;
    let mut wants = need(N, 8.125);
    let plan = sound(&farm(vec![wants.clone()], vec![a.clone()]));
    near(lb(&plan, "a"), 81.5);
    near(of(&plan, N).over_lb, 0.025);
    assert_eq!(of(&plan, N).binding, Some(Binding::Rounding));
    wants.surplus_cost = 50.0;
    let plan = sound(&farm(vec![wants], vec![a]));
    near(lb(&plan, "a"), 81.0);
    near(of(&plan, N).short_lb, 0.025);
    assert_eq!(of(&plan, N).binding, Some(Binding::Rounding));
}

#[test]
fn unfinished_when_there_is_no_time() {
    // Without time the plan is the first one; it must still keep every rule and own up.
    let mut problem = generate(3, 14, 30);
    problem.options.seconds = 0.0;
    problem.options.gap = 0.0;
    let plan = solve(&problem).unwrap();
    assert_eq!(verify(&problem, &plan), Vec::<String>::new());
    assert_eq!(plan.status, Status::OutOfTime);
    assert!(plan.gap > 0.0 && plan.gap <= 1.0, "{}", plan.gap);
    assert!(plan.status.says().contains("time ran out"));
    let has = |b: &Balance| b.binding == Some(Binding::Unfinished);
    assert!(plan.balances.iter().any(has));
}

#[test]
fn blocks_share_a_bag() {
    let mut problem = farm(vec![need(N, 0.5)], vec![material("a", &[(N, 0.1)])]);
    let mut west = problem.blocks[0].clone();
    west.id = "west".into();
    problem.blocks.push(west);
    let plan = sound(&problem);
    assert_eq!(plan.purchases.len(), 1);
    assert_eq!(plan.purchases[0].count, 1);
    near(lb(&plan, "a"), 10.0);
}

#[test]
fn stock_goes_first_even_where_bags_are_free() {
    let mut a = material("a", &[(N, 0.1)]);
    a.stock_lb = 70.0;
    a.packs[0].price = 0.0;
    let plan = sound(&farm(vec![need(N, 8.0)], vec![a]));
    near(plan.stock_used[0].lb, 70.0);
    assert_eq!(plan.purchases[0].count, 1);
    assert!(plan.leftover.is_empty());
}

#[test]
fn a_trip_that_costs_more_than_it_brings_is_not_made() {
    let mut problem = farm(vec![need(N, 0.1)], vec![material("a", &[(N, 0.1)])]);
    problem.materials[0].stock_lb = 10.0;
    assert_eq!(sound(&problem).amounts.len(), 1);
    problem.options.trip_cost = 3.0;
    let plan = sound(&problem);
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, N).binding, Some(Binding::Price));
}

#[test]
fn a_material_liked_less_gives_way() {
    let (a, mut b) = (material("a", &[(N, 0.1)]), material("b", &[(N, 0.1)]));
    b.packs[0].price = 6.0;
    let mut problem = farm(vec![need(N, 8.0)], vec![a, b]);
    near(lb(&sound(&problem), "a"), 80.0);
    problem.options.prefer_less = vec![Preference {
        material: "a".into(),
        penalty_per_lb: 0.2,
    }];
    let plan = sound(&problem);
    near(lb(&plan, "b"), 80.0);
    near(plan.cost, 48.0);
}

#[test]
fn nothing_to_plan() {
    let plan = sound(&Problem::default());
    assert_eq!(plan.status, Status::Empty);
    assert!(plan.amounts.is_empty() && plan.balances.is_empty());
    // Settled amounts alone leave nothing to decide but the bags.
    let mut problem = farm(vec![need(N, 8.0)], vec![material("a", &[(N, 0.1)])]);
    problem.blocks.clear();
    assert_eq!(sound(&problem).status, Status::Empty);
}
