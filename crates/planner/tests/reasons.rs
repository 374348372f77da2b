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
            ..Pack::default()
        }],
        stock_lb: 0.0,
        least_even_lb_per_acre: 0.0,
        most_lb_per_acre: None,
        weigh_step_lb: 0.5,
        ..Material::default()
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
        band: None,
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
            ..Block::default()
        }],
        materials,
        options: Options {
            gap: 0.0,
            ..Options::default()
        },
        ..Problem::default()
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
        ..Lock::default()
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

/// A bed of 32 ft2 in acres.
const BED: f64 = 32.0 / 43_560.0;

fn on_a_bed(needs: Vec<Need>, mut materials: Vec<Material>) -> Problem {
    for material in &mut materials {
        material.packs[0].price = 0.01;
    }
    let mut problem = farm(needs, materials);
    problem.blocks[0].acres = BED;
    problem
}

#[test]
fn a_ceiling_on_another_nutrient_stops_the_only_material() {
    // The phosphate that may not come would also cost more than the nitrogen is worth.
    let mut high = capped(P2o5, 0.0, 0.0, "very high phosphorus");
    high.surplus_cost = 50.0;
    let mut compost = material("compost", &[(N, 0.004), (P2o5, 0.008)]);
    compost.packs[0].lb = 1000.0;
    compost.packs[0].price = 30.0;
    let ceiling = Some(Binding::Ceiling {
        nutrient: P2o5,
        why: "very high phosphorus".into(),
    });
    for acres in [1.0, 0.02] {
        let mut problem = farm(vec![need(N, 80.0), high.clone()], vec![compost.clone()]);
        problem.blocks[0].acres = acres;
        let plan = sound(&problem);
        assert!(plan.amounts.is_empty());
        assert_eq!(of(&plan, N).binding, ceiling, "{acres} acres");
    }
    // No money can put it there, so it is the ceiling even where it would not pay; but it is the
    // price as soon as something else could be bought and is not worth it.
    let mut cheap = need(N, 80.0);
    cheap.shortage_cost = 1.0;
    let mut problem = farm(vec![cheap, high], vec![compost]);
    assert_eq!(of(&sound(&problem), N).binding, ceiling);
    problem.materials.push(material("meal", &[(N, 0.1)]));
    assert_eq!(of(&sound(&problem), N).binding, Some(Binding::Price));
}

#[test]
fn a_potash_surplus_does_not_hide_the_ceiling() {
    // All the nitrogen from compost would bring more potash than it is worth, some would not.
    let mut potash = need(K2o, 10.0);
    potash.surplus_cost = 20.0;
    let compost = material("compost", &[(N, 0.01), (P2o5, 0.01), (K2o, 0.02)]);
    let plan = sound(&farm(
        vec![need(N, 80.0), capped(P2o5, 0.0, 0.0, "high"), potash],
        vec![compost],
    ));
    let ceiling = Some(Binding::Ceiling {
        nutrient: P2o5,
        why: "high".into(),
    });
    assert_eq!(of(&plan, N).binding, ceiling);
    assert_eq!(of(&plan, K2o).binding, ceiling);
}

#[test]
fn the_better_of_two_materials_gives_the_reason() {
    // “a” is kept off by the ceiling; “b” may be spread but is not worth its bag.
    let a = material("a", &[(N, 0.1), (P2o5, 0.1)]);
    let mut b = material("b", &[(N, 0.1)]);
    b.packs[0].price = 500.0;
    let needs = vec![need(N, 8.0), capped(P2o5, 0.0, 0.0, "high")];
    let plan = sound(&farm(needs, vec![a.clone(), b.clone()]));
    assert!(matches!(
        of(&plan, N).binding,
        Some(Binding::Ceiling { .. })
    ));
    let mut needs = vec![need(N, 8.0), capped(P2o5, 0.0, 0.0, "high")];
    needs[0].shortage_cost = 4.0;
    let plan = sound(&farm(needs, vec![a, b]));
    assert_eq!(of(&plan, N).binding, Some(Binding::Price));
}

#[test]
fn the_scale_stops_what_is_less_than_its_finest_step() {
    // 0.0022 lb of borate; the finest step that is made is 1/64 lb.
    let mut boron = need(B, 0.3);
    boron.surplus_cost = 2_000.0;
    boron.shortage_cost = 2_000.0;
    let plan = sound(&on_a_bed(
        vec![boron],
        vec![material("borate", &[(B, 0.1)])],
    ));
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, B).binding, Some(Binding::Rounding));
}

#[test]
fn the_least_even_amount_stops_a_bed() {
    // Needs 0.6 lb, but less than 1.5 lb cannot be spread evenly.
    let mut meal = material("meal", &[(N, 0.1)]);
    meal.least_even_lb_per_acre = 2_000.0;
    let mut wants = need(N, 80.0);
    wants.surplus_cost = 60.0;
    let plan = sound(&on_a_bed(vec![wants], vec![meal]));
    assert!(plan.amounts.is_empty());
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::LeastEven {
            material: "meal".into()
        })
    );
}

#[test]
fn a_pack_is_not_worth_buying_for_a_bed() {
    let meal = material("meal", &[(N, 0.1)]);
    let mut problem = on_a_bed(vec![need(N, 80.0)], vec![meal]);
    problem.materials[0].packs[0].price = 48.0;
    let plan = sound(&problem);
    assert!(plan.amounts.is_empty());
    assert_eq!(of(&plan, N).binding, Some(Binding::Price));
}

#[test]
fn a_bed_is_weighed_finely_enough() {
    // 80 lb of nitrogen per acre is 0.0588 lb here: 0.59 lb of meal, on a scale of 0.25 lb.
    let mut meal = material("meal", &[(N, 0.1)]);
    meal.weigh_step_lb = 0.25;
    let problem = on_a_bed(vec![need(N, 80.0)], vec![meal]);
    assert_eq!(problem.materials[0].step_on(&problem.blocks[0]), 1.0 / 64.0);
    let plan = sound(&problem);
    let balance = of(&plan, N);
    let off = (balance.supplied_lb / balance.need_lb - 1.0).abs();
    assert!(off <= 0.05, "{off}");
    // The same scale does for a field.
    let field = farm(vec![need(N, 80.0)], problem.materials.clone());
    assert_eq!(field.materials[0].step_on(&field.blocks[0]), 0.25);
}

#[test]
fn least_and_most_that_meet_between_two_steps_leave_an_amount() {
    // 30.3 lb is the least and the most; the scale shows 30.0 and 30.5.
    let mut a = material("a", &[(N, 0.1)]);
    a.least_even_lb_per_acre = 30.3;
    a.most_lb_per_acre = Some(30.3);
    let plan = sound(&farm(vec![need(N, 8.0)], vec![a.clone()]));
    near(lb(&plan, "a"), 30.0);
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::Most {
            material: "a".into()
        })
    );
    // The most a little above the least, still no step between them.
    a.most_lb_per_acre = Some(30.45);
    near(
        lb(&sound(&farm(vec![need(N, 8.0)], vec![a.clone()])), "a"),
        30.0,
    );
    // A step between them is kept to; and the audit does not let the floor pass there.
    a.most_lb_per_acre = Some(30.6);
    let problem = farm(vec![need(N, 8.0)], vec![a.clone()]);
    let plan = sound(&problem);
    near(lb(&plan, "a"), 30.5);
    let mut low = plan.clone();
    low.amounts[0].lb = 30.0;
    assert!(verify(&problem, &low).join(" ").contains("evenly"));
    // A most that is truly below the least leaves nothing.
    a.most_lb_per_acre = Some(20.0);
    let plan = sound(&farm(vec![need(N, 8.0)], vec![a]));
    assert!(plan.amounts.is_empty());
    assert_eq!(
        of(&plan, N).binding,
        Some(Binding::Most {
            material: "a".into()
        })
    );
}
